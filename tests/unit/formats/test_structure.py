"""The strict structuring and the JSON Schema, two ways to judge a document, held to the same verdict on damaged documents."""

from __future__ import annotations

import copy
from datetime import date, datetime
from functools import cache
from math import inf, nan
from types import MappingProxyType
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator, FormatChecker
from referencing import Registry

from coatrules import InputError, work_order
from coatrules.dog.history import History
from coatrules.dog.loading import load_history
from coatrules.formats.documents import idle_nulls, merge_patch
from coatrules.formats.resources import schema
from coatrules.formats.schema_branches import resolved
from coatrules.formats.schema_faults import validator
from coatrules.formats.structure import structure
from coatrules.problems import Problem, path_text
from coatrules.profile.loading import load_profile
from coatrules.profile.model import Profile
from tests.support.every_key import HISTORY, PROFILE
from tests.support.paths import BAD

KINDS: dict[str, type] = {"profile": Profile, "history": History}

DOCUMENTS = {"profile": PROFILE, "history": HISTORY}

SMALL = [None, True, False, 0, -1, 1, 1.0, 2.5, 20, 300.1, -0.0, 1e9, 2**53, 2**53 + 1, 10**400, -(2**60), "", " ", "x"]
TEXTS = [
    "Bad Id",
    "back",
    "a-b",
    "a_b",
    "2026-03-21",
    "2026-02-30",
    "20260321",
    "VBO:0200642",
    "high",
    "pull",
    "y" * 2001,
]
NESTED: list[Any] = [[], {}, [[]], [{}], ["back"], [1, 2], [None], {"a": {}}, {"a": None}, {"pull": 3}, {"minimum": 1}]
CONDITIONS: list[Any] = [
    {"enum": []},
    {"const": [["x"], 1]},
    {"not": {}},
    {"anyOf": [{}]},
    {"Odd name": 1},
    {"cover": {}},
]
VALUES: list[Any] = [*SMALL, *TEXTS, *NESTED, *CONDITIONS]
KEYS = ["x", "Bad Id", "a_b", "", "if", "not", "anyOf", "minimum", "const", "cover", "source", "minutes", "because"]


def containers(value: Any) -> list[Any]:
    """All mappings and lists of a document that hold anything, itself first."""
    if not isinstance(value, dict | list):
        return []
    inner = value.values() if isinstance(value, dict) else value
    return [*([value] if value else []), *(found for one in inner for found in containers(one))]


def values(value: Any) -> list[Any]:
    """All values in a document."""
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return [value, *(found for one in inner for found in values(one))]


@st.composite
def damage_to(draw: st.DrawFn, name: str, sound: dict[str, Any]) -> tuple[str, Any]:
    """A document with one to three things changed: dropped, added, renamed, wrapped, replaced, exchanged."""
    document = copy.deepcopy(sound)
    for _ in range(draw(st.integers(1, 3))):
        places = containers(document)
        if not places:
            break
        place = draw(st.sampled_from(places))
        key = draw(st.sampled_from(sorted(place) if isinstance(place, dict) else range(len(place))))
        match draw(st.sampled_from(["drop", "add", "rename", "wrap", "value", "value", "exchange"])):
            case "drop":
                del place[key]
            case "add" if isinstance(place, dict):
                place[draw(st.sampled_from(KEYS))] = copy.deepcopy(draw(st.sampled_from(VALUES)))
            case "add":
                place.append(copy.deepcopy(draw(st.sampled_from(VALUES))))
            case "rename" if isinstance(place, dict):
                place[draw(st.sampled_from(KEYS))] = place.pop(key)
            case "wrap":
                place[key] = [place[key]] if draw(st.booleans()) else {"a": place[key]}
            case "exchange":
                place[key] = copy.deepcopy(draw(st.sampled_from(values(sound))))
            case _:
                place[key] = copy.deepcopy(draw(st.sampled_from(VALUES)))
    return name, document


def damaged() -> st.SearchStrategy[tuple[str, Any]]:
    return st.one_of(*(damage_to(name, document) for name, document in DOCUMENTS.items()))


def fits(name: str, document: object) -> bool:
    try:
        structure(document, KINDS[name])
    except Exception:
        return False
    return True


LARGEST = 2**53  # whole numbers beyond it are not told apart everywhere (RFC 8259, section 6)
NUMBER = {"type": "number", "minimum": -LARGEST, "maximum": LARGEST}
VALUE, TEST, CONDITION = ({"$ref": f"#/$defs/{name}"} for name in ("any_value", "any_test", "condition"))


def combined(part: dict[str, Any]) -> dict[str, Any]:
    some = {"allOf": [part], "minProperties": 1}
    parts = {"type": "array", "items": some, "minItems": 1}
    return {"anyOf": parts, "allOf": parts, "not": some}


# What conditions are to the engine, whatever the facts are: typed facts and histories of cases are the schema's alone.
UNTYPED: dict[str, Any] = {
    "any_value": {"anyOf": [{"type": ["string", "boolean"]}, NUMBER, {"type": "array", "items": VALUE}]},
    "any_test": {
        "anyOf": [
            {"type": ["string", "boolean"]},
            NUMBER,
            {
                "type": "object",
                "properties": {
                    "const": VALUE,
                    "enum": {"type": "array", "items": VALUE, "minItems": 1},
                    **dict.fromkeys(("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum"), NUMBER),
                    "contains": TEST,
                    **combined(TEST),
                },
                "additionalProperties": False,
            },
        ]
    },
    "condition": {
        "type": "object",
        "properties": combined(CONDITION),
        "propertyNames": {
            "pattern": "\\S",
            "not": {
                "enum": [
                    "const",
                    "contains",
                    "enum",
                    "exclusiveMaximum",
                    "exclusiveMinimum",
                    "maximum",
                    "minimum",
                ]
            },
        },
        "additionalProperties": TEST,
    },
    "expectation": CONDITION,
    "history": {"type": "object"},
}


@cache
def untyped(name: str) -> Any:
    """The schema of a whole document as its validator has it, less what it says of facts and of the histories of cases."""
    typed = validator(name)
    definitions = typed.schema.get("$defs", {}) | (UNTYPED if name == "profile" else {})
    schema = {**typed.schema, "$defs": definitions}
    return type(typed)(schema, format_checker=typed.format_checker, registry=Registry())


@pytest.mark.parametrize("name", DOCUMENTS)
def test_both_accept_what_is_right(name: str) -> None:
    assert fits(name, DOCUMENTS[name])
    assert validator(name).is_valid(DOCUMENTS[name])


def rule(condition: Any) -> tuple[str, Any]:
    document = copy.deepcopy(PROFILE)
    document["rules"]["all"]["if"] = condition
    return "profile", document


# The reference: JSON Schema draft 2020-12, by the jsonschema package.
@settings(max_examples=200, derandomize=True)
@given(damaged())
@example(rule({"minimum": 3}))
@example(rule({"cover": {"const": ["a", ["b"]]}}))
@example(rule({"cover": {"enum": [["a"], 1]}}))
@example(rule({"cover": {}}))
@example(rule({}))
@example(rule({"not": {}}))
@example(rule({"anyOf": []}))
@example(rule({"anyOf": [{}]}))
@example(rule({"cover": {"not": {}}}))
@example(rule({"groups": {"contains": {}}}))
@example(rule({"cover": 2**53}))
@example(rule({"cover": 2**53 + 1}))
@example(rule({"cover": {"minimum": -(2**53) - 1}}))
@example(rule({"cover": {"const": [[2**60]]}}))
@example(rule({"cover": {"minimum": True}}))
@example(rule({"cover": [1]}))
@example(rule({" ": 1}))
@example(rule({"Any name": 1}))
def test_both_ways_give_the_same_verdict(case: tuple[str, Any]) -> None:
    name, document = case
    assert fits(name, document) == untyped(name).is_valid(document)
    assert not validator(name).is_valid(document) or fits(name, document), "what the schema accepts the engine reads"


BASE = {key: value for key, value in PROFILE.items() if key not in ("extends", "regime")}
HEAD = {"format": 2, "id": "child", "label": "Child", "extends": "every-key"}
JUDGE = Draft202012Validator(schema("profile"), format_checker=FormatChecker(["date"]), registry=Registry())


def nulls(value: Any) -> bool:
    inner = value.values() if isinstance(value, dict) else ()
    return value is None or any(map(nulls, inner))


def inherited(document: Any) -> dict[str, Any]:
    """A damaged document as a file that builds on the right one: only what differs stays in it, or nothing would be a part."""
    return {**{key: value for key, value in document.items() if value != BASE.get(key)}, **HEAD}


@settings(max_examples=200, derandomize=True)
@given(damage_to("profile", BASE))
@example(("profile", {"rules": {"all": None}}))
@example(("profile", {"rules": {"all": {"if": {"cover": {"minimum": None}}, "then": {"take": None}}}}))
@example(("profile", {"coats": {"jacket": {"undercoat_weeks": None, "source": {"full_mm": None}}}}))
@example(("profile", {"cases": {"one": {"because": None}}}))
def test_a_part_is_right_where_what_it_makes_with_its_base_is(case: tuple[str, Any]) -> None:
    _, document = case
    if not isinstance(document, dict):
        return
    part = inherited(document)
    cases = part.get("cases", BASE["cases"])  # none is inherited
    merged = {**merge_patch(BASE, part), **({} if cases is None else {"cases": cases})}
    if validator("profile").is_valid(merged) and not [*idle_nulls(BASE, part)]:
        assert JUDGE.is_valid(part), [e.message for e in JUDGE.iter_errors(part)]
    if JUDGE.is_valid(part) and not nulls(part):
        errors = resolved(validator("profile").iter_errors(merged))
        told = [e for e in errors if e.validator not in ("required", "minProperties")]
        assert not told, told[0].message


def test_the_damage_leaves_right_documents_and_makes_wrong_ones() -> None:
    # A comparison of verdicts shows nothing where the verdict is always the same.
    verdicts = {True: 0, False: 0}

    @settings(max_examples=100, derandomize=True, database=None)
    @given(damaged())
    def count(case: tuple[str, Any]) -> None:
        verdicts[fits(*case)] += 1

    count()
    assert min(verdicts.values()) >= 5, verdicts


def test_what_is_structured_keeps_what_was_written() -> None:
    history = structure(HISTORY, History)
    assert history.dog.name == "Pip"
    assert history.visits[0].work["anus"].scissor == 12.5
    assert history.visits[0].work["body"].scissor is True
    assert history.visits[0].work["anus"].clip == 3
    assert history.visits[0].work["toes"].clip is True
    assert history.visits[0].day.isoformat() == "2026-01-31"
    profile = structure(PROFILE, Profile)
    assert profile.rules["all"].when.facts() >= {"cover", "skin", "legs_to_body", "see_through", "region", "groups"}
    assert profile.layer_targets["body"].longest_mm == (15.0, 35.0)
    assert profile.coats["jacket"].source == {"full_mm": "guide", "ready_mm": "practice"}


SOUND = load_profile(BAD / "known" / "sound.yaml")


def profile_that_loads() -> dict[str, Any]:
    """The document with every key, with what it names in place."""
    document = {key: value for key, value in copy.deepcopy(PROFILE).items() if key not in ("extends", "regime")}
    document["methods"]["fine-rake"] = {"label": "Fine rake", "does": "card"}
    document["cases"]["one"]["history"] = {"format": 1, "dog": {"id": "pip"}}
    return document


def history_that_loads() -> dict[str, Any]:
    document = copy.deepcopy(HISTORY)
    del document["dog"]["regime"]
    document["arrival"] = {"body": {"grown_weeks": 20}, "toes": {"clipped_mm": 6, "clipped_weeks": 3}}
    return document


@settings(max_examples=150, derandomize=True)
@given(st.one_of(damage_to("profile", profile_that_loads()), damage_to("history", history_that_loads())))
def test_a_damaged_document_ends_in_an_order_or_in_problems_with_a_mend(case: tuple[str, Any]) -> None:
    name, document = case
    if not isinstance(document, dict):
        return  # files of another kind are in tests/bad
    profile, history = (document, HISTORY_OF_SOUND) if name == "profile" else (SOUND, document)
    problems: tuple[Problem, ...] = ()
    try:
        work_order(profile, history, date=date(2026, 3, 21))
    except InputError as error:
        problems = error.problems
    assert all(problem.message and problem.hint for problem in problems), problems


HISTORY_OF_SOUND: dict[str, Any] = {
    "format": 1,
    "dog": {"id": "pip"},
    "visits": [{"visit": "2026-01-31", "work": {"back": {"pull": 0.2, "card": True}}, "reactions": {"back": "stop"}}],
}


@pytest.mark.parametrize(
    ("said", "message", "path"),
    [
        ({"dog": {"id": "a", "born": datetime(2020, 1, 1)}}, "invalid date: 2020-01-01 00:00:00", "dog.born"),
        ({"arrival": {"back": {"grown_weeks": nan}}}, "unusable number: 'nan'", "arrival.back.grown_weeks"),
        ({"visits": ({"visit": "2026-01-31", "work": {"back": {"pull": inf}}},)}, "'inf'", "visits[0].work.back.pull"),
        ({"visits": ({"visit": "31.1.2026"},)}, "invalid date", "visits[0].visit"),
        ({"arrival": {3: {"grown_weeks": 2}}}, "key must be text: 3", "arrival"),
        ({1: 2}, "key must be text: 1", ""),
    ],
)
def test_data_that_no_file_can_hold_is_refused_in_words(said: dict[Any, Any], message: str, path: str) -> None:
    with pytest.raises(InputError) as refused:
        load_history({"format": 1, "dog": {"id": "a"}} | said)
    (problem,) = refused.value.problems
    assert message in problem.message
    assert path_text(problem.path) == path
    assert problem.hint


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ((), ""),
        (("visits", 2, "work"), "visits[2].work"),
        (
            ("cases", "a", "expect", "regions", "back", "anyOf", 0, "not", "allOf", 1, "cover", "minimum"),
            "cases.a.expect.regions.back.anyOf[0].not.allOf[1].cover.minimum",
        ),
        (("rules", "a", "if", *["not"] * 20), "rules.a.if.not.not.not.not … not.not.not"),
        (("rules", "a", "if", *["anyOf", 0] * 20), "rules.a.if.anyOf[0].anyOf[0] … [0].anyOf[0]"),
        (("x" * 500,), "x" * 59 + "…"),
    ],
)
def test_a_path_is_said_in_a_line_however_deep_it_lies(path: tuple[str | int, ...], said: str) -> None:
    assert path_text(path) == said
    assert Problem(code="amount.yes", path=path).path == path, "programs get it whole"
    assert len(str(Problem(code="amount.yes", path=path))) < 90


def test_a_very_long_key_is_not_said_whole() -> None:
    with pytest.raises(InputError) as refused:
        load_history({"format": 1, "dog": {"id": "a"}, "x" * 500: 1})
    assert len(str(refused.value)) < 300


def test_mappings_and_tuples_of_any_kind_are_taken() -> None:
    visits = (MappingProxyType({"visit": "2026-01-31", "put_off": ("back",)}),)
    assert load_history({"format": 1, "dog": {"id": "a"}, "visits": visits}).visits[0].put_off == ("back",)


def test_what_is_damaged_here_makes_orders_when_whole() -> None:
    for profile, history in ((profile_that_loads(), HISTORY_OF_SOUND), (SOUND, history_that_loads())):
        assert work_order(profile, history, date=date(2026, 3, 21)).left_alone is not None
