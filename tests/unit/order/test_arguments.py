"""What is asked for beside the dog: a day is a day and minutes are a visit, wherever they are asked for."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal
from typing import Any

import pytest

from coatrules import InputError, load_history, load_profile, work_order, work_orders
from coatrules.order.arguments import checked_minutes
from coatrules.plan import compare_intervals, plan_ahead, staged_strip
from coatrules.profile.compiled import compile_profile

np = pytest.importorskip("numpy", reason="the extra 'plan' is not installed")

PROFILE = load_profile("griffon-bruxellois-rough")
DOG: dict[str, Any] = {"format": 1, "dog": {"id": "pip"}}
DAY = date(2026, 3, 21)


def asked_in_every_way(day: Any, minutes: Any = None) -> list[Callable[[], object]]:
    return [
        lambda: work_order(PROFILE, DOG, date=day, minutes=minutes),
        lambda: list(work_orders([DOG], PROFILE, date=day, minutes=minutes)),
        lambda: plan_ahead(PROFILE, DOG, date=day, minutes=minutes, visits=2),
        lambda: plan_ahead(PROFILE, DOG, date=DAY, dates=[day], minutes=minutes),
        lambda: plan_ahead(PROFILE, DOG, date=DAY, show=day, minutes=minutes),
        lambda: staged_strip(PROFILE, DOG, date=day, show=date(2026, 6, 6)),
        lambda: staged_strip(PROFILE, DOG, date=DAY, show=day),
        lambda: compare_intervals(PROFILE, DOG, date=day, minutes=minutes, weeks=[3]),
    ]


@pytest.mark.parametrize("said", ["2026-03-21", datetime(2026, 3, 21, 9), 20260321])
@pytest.mark.parametrize("way", range(8))
def test_what_is_no_day_is_told_in_plain_words(said: object, way: int) -> None:
    with pytest.raises(InputError) as caught:
        asked_in_every_way(said)[way]()
    (problem,) = caught.value.problems
    assert problem.message == f"date must be a datetime.date: {said!r}"
    assert problem.hint == "Pass date(2026, 3, 21)."


@pytest.mark.parametrize("said", [0, 0.5, -1, 600.5, float("inf"), float("nan"), "90", "", b"90", [90]])
def test_what_are_no_minutes_of_a_visit_is_told(said: object) -> None:
    with pytest.raises(
        InputError, match=r"error: minutes (out of range|must be a number): .*\n    Fix: Use .*1 to 600\."
    ):
        checked_minutes(compile_profile(PROFILE), said)


def test_minutes_may_be_any_kind_of_number_and_are_the_profile_s_where_nothing_is_said() -> None:
    said = (90, 37.5, np.int64(90), np.float64(37.5), Decimal(600), 1, None)
    expected = [90.0, 37.5, 90.0, 37.5, 600.0, 1.0, PROFILE.visit.minutes]
    assert [checked_minutes(compile_profile(PROFILE), minutes) for minutes in said] == expected


@pytest.mark.parametrize(("day", "early"), [(date(2026, 1, 9), True), (date(2026, 1, 10), False), (DAY, False)])
def test_a_day_before_the_first_visit_is_noticed(day: date, early: bool) -> None:
    history = load_history({"format": 1, "dog": {"id": "pip"}, "visits": [{"visit": "2026-01-10"}]})
    told = [found for found in work_order(PROFILE, history, date=day).findings if found.code == "before-first-visit"]
    assert [found.severity for found in told] == ["warning"] * early
    assert all(found.params == {"day": date(2026, 1, 9), "first": date(2026, 1, 10)} for found in told)
