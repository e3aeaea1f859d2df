"""A breed for which weeks are published has a worked case that keeps them (``profiles/evidence/statements.csv``)."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest

from tests.trade.asked import profile_of, profiles_of, statements

# Stripped whole so many times a year, it is said, and here rolled or tidied at home: no dog comes by those weeks.
ROLLED = {
    "giant-schnauzer": "once or twice",
    "irish-glen-of-imaal-terrier": "about once",
    "spinone-italiano": "twice, by a professional",
}
SCHEDULES = {"visit", "strip", "before-show", "after-strip", "after-body", "grip", "fluff-out", "first-strip"}
ROWS = [row for row in statements().values() if row["weeks_of"] in SCHEDULES and not row["yields_to"]]
SCHEDULED = sorted({row["breed"] for row in ROWS})


def day(value: Any) -> date:
    return value if isinstance(value, date) else date.fromisoformat(value)


def weeks_in(history: Any, last: date) -> Iterator[float]:
    """The weeks of a case: from visit to visit, to the show, and of age."""
    days = [*(day(visit["visit"]) for visit in history.get("visits", ())), last]
    dog = history["dog"]
    for number, one in enumerate(days):
        yield from ((later - one).days / 7 for later in days[number + 1 :])
        if "show" in dog:
            yield (day(dog["show"]) - one).days / 7
        if "born" in dog:
            yield (one - day(dog["born"])).days / 7


def kept(breed: str) -> set[str]:
    """The rows on a breed whose weeks some case keeps, to half a week."""
    profiles = [profile_of(name) for name in profiles_of()[breed]]
    cases = [case for one in profiles for whole in (one, *one.regimes.values()) for case in whole.cases.values()]
    weeks = [passed for case in cases for passed in weeks_in(case.history, case.date)]
    return {
        row["id"]
        for row in ROWS
        if row["breed"] == breed
        and any(float(row["low_weeks"]) - 0.5 <= passed <= float(row["high_weeks"]) + 0.5 for passed in weeks)
    }


@pytest.mark.parametrize("breed", SCHEDULED)
def test_a_published_schedule_has_a_worked_case(breed: str) -> None:
    assert bool(kept(breed)) is (breed not in ROLLED)


def test_enough_breeds_have_a_published_schedule() -> None:
    assert len(SCHEDULED) - len(ROLLED) >= 20
