"""Keys ``x-...`` of a profile: another program's own, kept with every value, handed back, and never looked at."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from referencing import Registry

from coatrules import Engine, InputError, Profile
from coatrules.formats.resources import schema

OWN: dict[str, Any] = {
    "x-tenant": "north",
    "x-revision": 7,
    "x-note": {"by": None, "rows": [1, None, {"a": None}]},
    "x-none": None,
}
PARENT: dict[str, Any] = {"format": 2, "id": "house", "label": "House", "extends": "griffon-bruxellois-rough", **OWN}
CHILD: dict[str, Any] = {
    "format": 2,
    "id": "kid",
    "label": "Kid",
    "extends": "house",
    "regimes": {"pet": {"label": "Kid, pet"}},
}
RULES: dict[str, Any] = {
    "format": 2,
    "id": "house-rules",
    "label": "Rules",
    "extends": "points-of-the-dog",
    "over": ["kid"],
    "x-rules": 1,
}
ENGINE = Engine(shelves=[{"house": PARENT, "kid": {**CHILD, "x-revision": 1}, "house-rules": RULES}])


def own(data: dict[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in data.items() if key.startswith("x-")}


def test_are_handed_back_with_every_value_and_read_again() -> None:
    data = ENGINE.profile("house").to_dict()
    assert own(data) == OWN
    again = Profile.from_dict(data)
    assert again.to_dict() == data
    assert own(again.to_dict()) == OWN


def test_are_a_profile_s_own_in_each_of_its_regimes_and_not_taken_over() -> None:
    kid = ENGINE.profile("kid")
    assert kid.extras == kid.regimes["pet"].extras == {"x-revision": 1}
    assert own(ENGINE.merged("kid")) == {"x-revision": 1}
    data = kid.to_dict()
    assert data["regimes"] == {"pet": {"label": "Kid, pet"}}
    assert Profile.from_dict(data).to_dict() == data


def test_are_never_looked_at() -> None:
    bare = {key: value for key, value in PARENT.items() if not key.startswith("x-")}
    plain = Engine(shelves=[{"house": bare}])
    assert plain.profile("house") == ENGINE.profile("house")
    assert plain.profile("house").sha256 == ENGINE.profile("house").sha256
    assert ENGINE.check("house") == plain.check("house")
    dog = {"format": 1, "dog": {"id": "tip", "profile": "house"}}
    day = date(2026, 3, 21)
    assert ENGINE.order(dog, date=day).to_dict() == plain.order(dog, date=day).to_dict()
    compared = ENGINE.compare(bare, PARENT)
    assert compared.changes == ()
    assert {change.path[0] for change in compared.silent} == {"x-tenant", "x-revision", "x-note"}


def test_pass_the_schema_and_stay_where_they_are_in_a_text() -> None:
    judge = Draft202012Validator(schema("profile"), registry=Registry())
    assert judge.is_valid(PARENT)
    assert not judge.is_valid({**PARENT, "X-tenant": 1})
    text = "format: 2\nid: kid  # the pup's\nlabel: Kid\nextends: house\nx-b: {c: null}\nx-a:\n"
    assert ENGINE.check_text(text) == []
    assert ENGINE.tidied(text) == text
    assert "x-b: {c: null}" in ENGINE.migrated(text.replace("format: 2", "format: 1"))


@pytest.mark.parametrize("key", ["x_tenant", "X-tenant", "tenant"])
def test_are_those_that_begin_so_and_no_others(key: str) -> None:
    with pytest.raises(InputError) as caught:
        ENGINE.profile({**PARENT, key: 1})
    assert [problem.code for problem in caught.value.problems] == ["schema-unknown-key"]


def test_stand_beside_the_keys_of_the_profile_itself_only() -> None:
    with pytest.raises(InputError) as caught:
        ENGINE.profile({**PARENT, "visit": {"every_weeks": 3, "x-tenant": 1}})
    assert [problem.path for problem in caught.value.problems] == [("visit", "x-tenant")]
