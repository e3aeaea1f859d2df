"""A case writes alike visits once: the dog is the same as where each visit was written by itself, and so is what is told of it."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import InputError, work_order
from coatrules.check import examine
from coatrules.dog.loading import load_history
from coatrules.formats.schema_faults import validator
from coatrules.profile.case_history import entries, in_series, written_out
from coatrules.profile.loading import load_profile
from coatrules.reading import read_yaml
from tests.support.strategies import START, histories

PULLED = {"work": {"jacket": {"card": True, "pull": 0.25}}}


def dog(*visits: dict[str, Any]) -> dict[str, Any]:
    return {"dog": {"id": "fern"}, "visits": list(visits)}


def by_itself(*days: str) -> dict[str, Any]:
    return {"format": 1, **dog(*({"visit": day, **PULLED} for day in days))}


@pytest.mark.parametrize(
    ("series", "days"),
    [
        ({"visits": 2, "every_weeks": 4}, ["2026-01-05", "2026-02-02"]),
        ({"visits": 3, "every_weeks": 2}, ["2026-01-05", "2026-01-19", "2026-02-02"]),
        ({"visits": 3, "every_weeks": 0.5}, ["2026-01-05", "2026-01-09", "2026-01-12"]),  # the nearest whole day
    ],
)
def test_a_series_is_the_visits_that_it_stands_for(series: dict[str, Any], days: list[str]) -> None:
    short = dog({"visit": "2026-01-05", "series": series, **PULLED})
    assert load_history(written_out(short)) == load_history(by_itself(*days))
    assert entries(short) == (0,) * len(days)
    assert validator("profile#history").is_valid(short)


def test_a_history_that_says_its_format_is_read_as_before() -> None:
    whole = by_itself("2026-01-05", "2026-02-02")
    assert load_history(written_out(whole)) == load_history(whole)
    assert entries(whole) == (0, 1)


@settings(max_examples=30)
@given(histories(), st.integers(1, 6), st.integers(1, 40))
def test_what_is_written_once_is_read_as_it_was(history: dict[str, Any], times: int, days: int) -> None:
    """Also after a row of alike visits that came at one interval, in weeks or not."""
    first = date.fromisoformat(history["visits"][-1]["visit"]) if history["visits"] else START
    row = [{"visit": (first + timedelta(days=days * (n + 1))).isoformat(), **PULLED} for n in range(times)]
    history["visits"] += row
    short = in_series(history)
    assert load_history(written_out(short)) == load_history(history)
    assert len(short["visits"]) <= len(history["visits"]) - (times - 1 if days % 7 == 0 else 0)


@pytest.mark.parametrize(
    "others",
    [
        [{"visit": "2026-03-02", "work": {"jacket": {"pull": 0.25}}}],  # another work
        [{"visit": "2026-03-03", **PULLED}],  # a day late
        [{"visit": "2026-02-02", **PULLED}],  # the same day again
    ],
)
def test_visits_that_are_not_alike_stay_by_themselves(others: list[dict[str, Any]]) -> None:
    row = [{"visit": day, **PULLED} for day in ("2026-01-05", "2026-02-02")]
    series = {"visit": "2026-01-05", "series": {"visits": 2, "every_weeks": 4}, **PULLED}
    assert in_series(dog(*row, *others))["visits"] == [series, *others]


CASE = """\
format: 2
id: mine
label: Mine
extends: griffon-bruxellois-rough
cases:
  rolls:
    history:
      dog: {id: fern}
      visits:
        - {visit: 2026-01-05, series: {visits: 4, every_weeks: 3}, work: {jacket: {pull: 0.2}}}
        - {visit: 2026-04-06, work: {back: {pull: 0.2}}}
    date: 2026-04-27
    expect: {rules: [legs-a-fifth]}
"""


def test_the_case_of_a_profile_has_each_visit_by_itself() -> None:
    case = load_profile(read(CASE)).cases["rolls"]
    days = [visit.day.isoformat() for visit in load_history(case.history).visits]
    assert days == ["2026-01-05", "2026-01-26", "2026-02-16", "2026-03-09", "2026-04-06"]
    assert work_order("griffon-bruxellois-rough", case.history, date=case.date).facts["back"]["layers"] == 4


def read(text: str) -> dict[str, Any]:
    data: dict[str, Any] = read_yaml(text)[0].data
    return data


@pytest.mark.parametrize(
    ("right", "wrong", "code", "place"),
    [
        ("{back:", "{bakc:", "unknown-part", (11, 38)),
        ("visits: 4,", "visits: 40,", "visit-after-case", (10, 11)),
        ("visits: 4,", "visits: 1,", "schema-too-low", (10, 48)),
        ("every_weeks: 3}", "every_weeks: 3, until: x}", "schema-unknown-key", (10, 67)),
        ("visits: 4, ", "", "schema-missing-key", (10, 39)),
        ("every_weeks: 3", "every_weeks: 0", "schema-too-low", (10, 64)),
        ("visit: 2026-01-05", "visit: 2026-02-30", "schema-format", (10, 19)),
        ("{pull: 0.2}}}\n        -", "{pull: 2}}}\n        -", "schema-too-high", (10, 90)),
    ],
)
def test_a_fault_is_told_where_the_series_is_written(
    right: str, wrong: str, code: str, place: tuple[int, int], tmp_path: Any
) -> None:
    assert CASE.count(right) == 1
    file = tmp_path / "mine.yaml"
    file.write_text(CASE.replace(right, wrong), encoding="utf-8")
    assert [(one.code, (one.line, one.column)) for one in examine(file)] == [(code, place)]


def test_a_sound_case_with_a_series_has_no_finding(tmp_path: Any) -> None:
    file = tmp_path / "mine.yaml"
    file.write_text(CASE, encoding="utf-8")
    assert examine(file) == []


def test_a_dog_has_no_more_visits_than_in_a_file_of_its_own() -> None:
    long = {"visit": "2000-01-03", "series": {"visits": 100, "every_weeks": 1}}
    with pytest.raises(InputError) as refused:
        load_history(written_out(dog(*[long] * 11)))
    assert [problem.code for problem in refused.value.problems] == ["too-many"]
