"""The days after a visit: its share is asked for once, what was left of it is asked for, and the next visit stays where it was."""

from __future__ import annotations

from datetime import date, timedelta
from math import ceil
from typing import Any

import pytest

from coatrules import Engine, WorkOrder, load_history, load_profile, work_order
from coatrules.book.due import due
from coatrules.order.engine import order
from coatrules.profile.compiled import compile_profile
from coatrules.profile.shelves import ids
from coatrules.recording.entry import as_planned

DAY = date(2026, 4, 4)


def of(*visits: dict[str, Any]) -> Any:
    return load_history({"format": 1, "dog": {"id": "d", "born": "2022-04-01"}, "visits": list(visits)})


def pulled(*orders: WorkOrder) -> dict[str, float]:
    shares: dict[str, float] = {}
    for of_day in orders:
        for step in of_day.steps:
            if step.share and step.region and step.bout == 1:
                shares[step.region] = shares.get(step.region, 0.0) + step.share
    return shares


def visits_before(profile: str, minutes: float | None = None, count: int = 2) -> list[dict[str, Any]]:
    """As many visits as planned, the last on ``DAY``."""
    compiled = compile_profile(load_profile(profile))
    visits: list[dict[str, Any]] = []
    for ago in range(count - 1, -1, -1):
        day = DAY - ago * timedelta(weeks=compiled.profile.visit.every_weeks)
        today = order(compiled, of(*visits), day, minutes, in_turn=False)
        visits.append({"visit": day.isoformat(), **as_planned(today)})
    return visits


def asks_for_nothing_again(profile: str, days: int) -> None:
    """But for what the time was too short for, as it is on giants, however long the day."""
    compiled = compile_profile(load_profile(profile))
    visits = visits_before(profile, 600, 2)
    day = order(compiled, of(*visits[:-1]), DAY, 600, in_turn=False)
    left = {step.region for step in day.steps if any(reason.rule == "coat.short-day" for reason in step.because)}
    left |= set(visits[-1].get("put_off", ()))
    again = order(compiled, of(*visits), DAY + timedelta(days=days), in_turn=False)
    minutes = sum(step.minutes for step in again.steps if step.share and step.region not in left)
    assert 10 * minutes <= day.minutes_planned


@pytest.mark.parametrize(("profile", "days"), [("border-terrier", 1), ("cairn-terrier", 6)])
def test_the_day_after_a_visit_asks_for_no_more_of_its_share(profile: str, days: int) -> None:
    """70 of 93 profiles wanted some 36 minutes of pulling more."""
    asks_for_nothing_again(profile, days)


@pytest.mark.slow
@pytest.mark.parametrize("number", range(4))
def test_no_packaged_profile_asks_for_the_share_of_a_visit_twice(number: int) -> None:
    for index, profile in enumerate(ids()):
        if index % 4 == number:
            interval = load_profile(profile).visit.every_weeks
            asks_for_nothing_again(profile, min(1 + index % 7, ceil(3.5 * interval) - 1))


@pytest.mark.parametrize("profile", ["border-terrier", pytest.param("cairn-terrier", marks=pytest.mark.slow)])
def test_half_on_each_of_two_days_within_a_week_is_one_visit(profile: str) -> None:
    before = visits_before(profile, count=2)[:1]
    whole = work_order(profile, of(*before), date=DAY, minutes=300)
    first = work_order(profile, of(*before), date=DAY, minutes=whole.minutes_planned / 2)
    history = of(*before, {"visit": DAY.isoformat(), **as_planned(first)})
    second = work_order(profile, history, date=DAY + timedelta(days=3), minutes=300)
    both, once = pulled(first, second), pulled(whole)
    assert both.keys() >= once.keys()
    assert all(both[region] == pytest.approx(once[region], abs=0.031) for region in once)  # less is not worth a pull
    third = {"visit": (DAY + timedelta(days=3)).isoformat(), **as_planned(second)}
    done = of(*before, {"visit": DAY.isoformat(), **as_planned(first)}, third)
    assert not pulled(work_order(profile, done, date=DAY + timedelta(days=5)))


def test_a_dog_that_comes_at_its_interval_or_a_little_early_gets_its_share() -> None:
    visits = visits_before("border-terrier")
    interval = load_profile("border-terrier").visit.every_weeks * 7
    for early in (0, 5):
        later = work_order("border-terrier", of(*visits), date=DAY + timedelta(days=interval - early), minutes=300)
        assert pulled(later).keys() >= {"back", "ribs", "thighs"}


def test_the_next_visit_stays_where_the_last_one_put_it() -> None:
    """Asked again a day later, the interval began anew."""
    visits = visits_before("border-terrier")
    told = work_order("border-terrier", of(*visits[:-1]), date=DAY).next_visit
    history = of(*visits)
    compiled = compile_profile(load_profile("border-terrier"))
    for days in (1, 6):
        later = work_order("border-terrier", history, date=DAY + timedelta(days=days)).next_visit
        assert (later.best, later.earliest) == (told.best, told.earliest)
        assert due(compiled, history, DAY + timedelta(days=days)).visit.best == told.best
    wash = {"visit": (DAY + timedelta(days=2)).isoformat(), "work": {"beard": {"comb": True}}}
    assert due(compiled, of(*visits, wash), DAY + timedelta(days=3)).visit.best == told.best


def test_hair_that_was_felt_to_hold_is_left_until_the_next_visit_or_another_verdict() -> None:
    visits = visits_before("border-terrier")
    visits[-1]["seen"] = {"jacket": {"comes": "holds"}}
    visits[-1]["work"]["back"]["pull"] = 0.05
    day = DAY + timedelta(days=2)
    held = work_order("border-terrier", of(*visits), date=day)
    assert "back" not in pulled(held)
    assert (
        held.left_alone["back"][-1].text
        == "The hair was felt to hold on Saturday 4 April 2026: it is tried again at the next visit."
    )
    comes = Engine().with_seen(of(*visits), "back: comes easily", date=day, profile="border-terrier")
    assert "back" in pulled(work_order("border-terrier", comes, date=day))


def test_the_sheet_says_that_the_share_is_done() -> None:
    from coatrules.report.sheet import sheet

    history = of(*visits_before("border-terrier", 300))
    shown = sheet(work_order("border-terrier", history, date=DAY + timedelta(days=2)))
    assert "Pulled on 4 Apr: this visit's share is done." in shown


def test_a_first_coat_goes_on_from_one_short_visit_to_the_next() -> None:
    """Common practice, no source: of a puppy coat whatever is left comes out, day by day, ten minutes at most."""
    dog = {"id": "d", "born": (DAY - timedelta(weeks=16)).isoformat()}
    visits: list[dict[str, Any]] = []
    for days in (0, 7, 14):
        history = load_history({"format": 1, "dog": dog, "visits": visits})
        today = work_order("miniature-schnauzer", history, date=DAY + timedelta(days=days))
        assert pulled(today) or not days  # on its first day it only gets used to the table
        visits.append({"visit": today.date.isoformat(), **as_planned(today)})
