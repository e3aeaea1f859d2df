"""What other programs hand over: ids and keys of their own, and values as database drivers give them."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import InputError, load_history, load_profile, work_order
from coatrules.check.case_from_history import case_text
from coatrules.dog.history import History
from coatrules.formats.structure import structure
from coatrules.formats.unstructure import document_data
from coatrules.order.arguments import checked_day
from coatrules.reading import read_yaml

DAY = date(2026, 3, 21)
PROFILE = load_profile("griffon-bruxellois-rough")


def history(dog: dict[str, Any], *visits: dict[str, Any]) -> dict[str, Any]:
    return {"format": 1, "dog": dog, "visits": list(visits)}


def problem_of(data: dict[str, Any]) -> tuple[str, tuple[str | int, ...]]:
    with pytest.raises(InputError) as refused:
        load_history(data)
    (problem,) = refused.value.problems
    assert problem.hint
    return problem.code, problem.path


@pytest.mark.parametrize(
    "dog_id", [17, 0, -3, 2**63 - 1, "9f3c", str(UUID(int=7)), "Pip the First", "狗", "a" * 200, " ", "../../etc"]
)
def test_an_id_is_kept_as_it_is(dog_id: str | int) -> None:
    order = work_order(PROFILE, history({"id": dog_id}), date=DAY)
    assert order.dog_id == dog_id
    assert type(order.dog_id) is type(dog_id)
    assert order.to_dict()["dog"] == {"id": dog_id, "name": str(dog_id)}


@pytest.mark.parametrize(
    ("dog_id", "code"),
    [
        ("", "schema-empty"),
        ("a" * 201, "schema-too-long"),
        ("a\nb", "dog-id-control-character"),
        ("a\n", "dog-id-control-character"),
        ("\x85", "control-character"),
        (2**63, "number"),
        (True, "schema-type"),
        (1.5, "schema-type"),
        (["a"], "schema-type"),
        (None, "schema-empty"),
    ],
)
def test_what_is_no_id_is_refused(dog_id: Any, code: str) -> None:
    assert problem_of(history({"id": dog_id})) == (code, ("dog", "id"))


words = st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "S", "Zs"]))  # what a file can hold
plain = st.recursive(
    st.none() | st.booleans() | st.integers(1 - 2**63, 2**63 - 1) | words,
    lambda inner: st.lists(inner) | st.dictionaries(words, inner),
)


@settings(max_examples=12)
@given(st.dictionaries(words.map("x-".__add__), plain, max_size=3), st.dictionaries(words.map("x-".__add__), plain))
def test_keys_of_other_programs_are_kept_and_handed_back(of_dog: dict[str, Any], of_visit: dict[str, Any]) -> None:
    data = history({"id": "pip", **of_dog}, {"visit": "2026-01-31", "work": {"back": {"pull": 0.2}}, **of_visit})
    assert document_data(load_history(data)) == data
    assert hash(load_history(data).dog) == hash(load_history(data).dog)


def test_they_change_nothing() -> None:
    visit = {"visit": "2026-01-31", "work": {"back": {"pull": 0.2}}}
    bare = work_order(PROFILE, history({"id": "pip"}, visit), date=DAY)
    more = work_order(PROFILE, history({"id": "pip", "x-salon": {"a": [1]}}, {**visit, "x-by": "K."}), date=DAY)
    assert more.to_dict() == bare.to_dict()


def test_they_may_stand_at_every_level() -> None:
    # They were refused anywhere but of the dog and of a visit.
    own: Any = {"x-by": [{"name": "K."}]}
    visit = {"visit": "2026-01-31", "work": {"back": {"pull": 0.2, **own}}, "seen": {"back": {"layers": 2, **own}}}
    data = history({"id": "pip", **own}, {**visit, "events": {"season": "2026-01-03", **own}, **own})
    data |= {"arrival": {"back": {"grown_weeks": 9, **own}}, **own}
    loaded = load_history(data)
    assert loaded.to_dict() == data
    assert load_history(loaded.to_dict()) == loaded
    bare = work_order(PROFILE, _without_own(data), date=DAY).to_dict()
    assert work_order(PROFILE, data, date=DAY).to_dict() == bare


def _without_own(data: Any) -> Any:
    if isinstance(data, dict):
        return {key: _without_own(value) for key, value in data.items() if not key.startswith("x-")}
    return list(map(_without_own, data)) if isinstance(data, list) else data


def test_values_of_database_drivers_are_read_as_their_text_would_be() -> None:
    work = {"pull": Decimal("0.2"), "clip": Decimal(3), "minutes": Decimal("7.5")}
    given_values = history(
        {"id": "pip", "born": date(2023, 3, 4)},
        {"visit": date(2026, 1, 31), "work": {"back": work}, "seen": {"back": {"layers": Decimal(3)}}},
    )
    as_text = history(
        {"id": "pip", "born": "2023-03-04"},
        {
            "visit": "2026-01-31",
            "work": {"back": {"pull": 0.2, "clip": 3, "minutes": 7.5}},
            "seen": {"back": {"layers": 3}},
        },
    )
    assert load_history(given_values) == load_history(as_text)
    assert document_data(structure(given_values, History)) == as_text


@pytest.mark.parametrize(
    ("data", "code", "path"),
    [
        (history({"id": "pip", "born": datetime(2023, 3, 4)}), "schema-format", ("dog", "born")),
        (history({"id": "pip", "note": date(2023, 3, 4)}), "schema-type", ("dog", "note")),
        (history({"id": "pip", "name": Decimal(1)}), "schema-type", ("dog", "name")),
        (history({"id": Decimal(1)}), "", ()),
        (history({"id": "pip"}, {"visit": date.max}), "date-out-of-range", ("visits", 0, "visit")),
        (history({"id": "pip"}, {"visit": "9999-12-31"}), "date-out-of-range", ("visits", 0, "visit")),
        (history({"id": "pip"}, {"visit": date.min}), "date-out-of-range", ("visits", 0, "visit")),
        (history({"id": "pip"}, {"visit": "1899-12-31"}), "date-out-of-range", ("visits", 0, "visit")),
        (history({"id": "pip"}, {"visit": "2200-01-01"}), "date-out-of-range", ("visits", 0, "visit")),
        (history({"id": "pip"}, {"visit": "20260131"}), "schema-format", ("visits", 0, "visit")),
        (
            history({"id": "pip"}, {"visit": DAY, "work": {"back": {"pull": Decimal("NaN")}}}),
            "number-not-finite",
            ("visits", 0, "work", "back", "pull"),
        ),
        (
            history({"id": "pip"}, {"visit": DAY, "work": {"back": {"pull": Decimal(2)}}}),
            "schema-too-high",
            ("visits", 0, "work", "back", "pull"),
        ),
        (
            history({"id": "pip"}, {"visit": DAY, "seen": {"back": {"layers": Decimal("2.5")}}}),
            "schema-type",
            ("visits", 0, "seen", "back", "layers"),
        ),
    ],
)
def test_what_they_give_elsewhere_is_refused_with_its_path(
    data: dict[str, Any], code: str, path: tuple[str | int, ...]
) -> None:
    if not code:
        assert load_history(data).dog.id == 1
        return
    assert problem_of(data) == (code, path)


def test_a_case_made_of_a_history_tells_nothing_of_the_owner() -> None:
    visit = {"visit": "2026-01-31", "work": {"body": {"pull": 0.2}}, "x-by": "Somebody"}
    dog = load_history(history({"id": "Pip of next door", "x-owner": "Somebody"}, visit))
    (name, case), *_ = read_yaml(case_text(PROFILE, dog, DAY))[0].data["cases"].items()
    assert name == "dog-2026-03-21"
    assert case["history"]["dog"] == {"id": "dog"}
    assert set(case["history"]["visits"][0]) == {"visit", "work"}


@pytest.mark.parametrize("day", [date.min, date(1899, 12, 31), date(2200, 1, 1), date.max])
def test_a_day_that_no_dog_sees_is_refused(day: date) -> None:
    with pytest.raises(InputError, match="date out of range"):
        checked_day(day)


@pytest.mark.parametrize("day", ["1900-01-01", "2199-12-31"])
def test_the_first_and_the_last_day_are_worked_with(day: str) -> None:
    work = {"visit": day, "work": {"body": {"pull": 0.2}}}
    assert work_order(PROFILE, history({"id": "pip"}, work), date=date.fromisoformat(day)).date.isoformat() == day


def test_a_dog_born_after_a_visit_yet_to_come_is_refused_too() -> None:
    later = {**history({"id": "pip", "born": "2026-05-01"}), "visits": [{"visit": "2026-04-01", "note": "booked"}]}
    with pytest.raises(InputError) as refused:
        work_order(PROFILE, later, date=DAY)
    (problem,) = refused.value.problems
    assert (problem.code, problem.path) == ("born-after-visit", ("dog", "born"))
