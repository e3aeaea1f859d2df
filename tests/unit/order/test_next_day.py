"""The days after a visit: its share is asked for once, what was left of it is asked for, and the next visit stays where it was."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from math import floor
from typing import Any

import pytest

from coatrules import Engine, WorkOrder, load_history, load_profile, work_order
from coatrules.book.due import due
from coatrules.order.engine import order
from coatrules.order.next_visit import leading_regions
from coatrules.profile.compiled import CompiledProfile, compile_profile
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
            asks_for_nothing_again(profile, min(1 + index % 10, floor(3.5 * interval)))


def minutes_asked(profile: str, days: list[int], shares: float = 1.0) -> list[float]:
    """The minutes of pulling that are asked for so many days after a visit at which so much of it was done."""
    visits = visits_before(profile, 600)
    for name, work in visits[-1]["work"].items():
        visits[-1]["work"][name] = {**work, "pull": work["pull"] * shares} if "pull" in work else work
    asked = (order(compiled_of(profile), of(*visits), DAY + timedelta(days=d), 600, in_turn=False) for d in days)
    return [sum(step.minutes for step in today.steps if step.share) for today in asked]


def compiled_of(profile: str) -> CompiledProfile:
    return compile_profile(load_profile(profile))


@pytest.mark.parametrize("profile", ["border-terrier", "airedale-terrier", "cairn-terrier", "affenpinscher"])
def test_the_share_grows_from_day_to_day_once_half_the_interval_is_over(profile: str) -> None:
    """On the sixth day of two weeks next to nothing was asked for, on the seventh the whole share: 68 minutes."""
    interval = round(load_profile(profile).visit.every_weeks * 7)
    asked = minutes_asked(profile, list(range(1, interval + 1)))
    assert sum(asked[: interval // 2]) <= asked[-1] / 10
    assert asked == sorted(asked)
    assert max(later - before for before, later in pairwise(asked)) <= 0.3 * asked[-1]
    assert 0.3 * asked[-1] < asked[round(interval * 0.75)] < 0.7 * asked[-1]


@pytest.mark.slow
@pytest.mark.parametrize("number", range(4))
def test_no_packaged_profile_asks_for_all_where_it_asked_for_nothing_the_day_before(number: int) -> None:
    for index, profile in enumerate(ids()):
        if index % 4 == number:
            interval = round(load_profile(profile).visit.every_weeks * 7)
            if interval >= 7:
                days = list(range(interval // 2 - 1, interval + 1))
                asked = minutes_asked(profile, days)
                assert max(later - before for before, later in pairwise(asked)) <= 0.5 * max(asked) + 1, profile


def test_what_was_left_of_a_share_is_asked_for_first_and_grows_too() -> None:
    """Half was done: the other half belongs to that visit for a week of two, and then the new share is added to it day by day."""
    asked = minutes_asked("border-terrier", [1, 7, 8, 9, 10, 11, 12, 13, 14], 0.5)
    assert asked[1] == pytest.approx(asked[0], rel=0.1)
    assert asked == sorted(asked)
    assert max(later - before for before, later in pairwise(asked)) <= 0.2 * asked[-1]


@pytest.mark.parametrize("days", [3, 7])
@pytest.mark.parametrize("profile", ["border-terrier", pytest.param("cairn-terrier", marks=pytest.mark.slow)])
def test_half_on_each_of_two_days_a_week_apart_or_less_is_one_visit(profile: str, days: int) -> None:
    before = visits_before(profile, count=2)[:1]
    whole = work_order(profile, of(*before), date=DAY, minutes=300)
    first = work_order(profile, of(*before), date=DAY, minutes=whole.minutes_planned / 2)
    history = of(*before, {"visit": DAY.isoformat(), **as_planned(first)})
    second = work_order(profile, history, date=DAY + timedelta(days=days), minutes=300)
    both, once = pulled(first, second), pulled(whole)
    assert both.keys() >= once.keys()
    assert all(both[region] == pytest.approx(once[region], abs=0.031) for region in once)  # less is not worth a pull
    third = {"visit": (DAY + timedelta(days=days)).isoformat(), **as_planned(second)}
    done = of(*before, {"visit": DAY.isoformat(), **as_planned(first)}, third)
    assert not pulled(work_order(profile, done, date=DAY + timedelta(days=min(days + 2, 8))))


@pytest.mark.parametrize("profile", ["border-terrier", "miniature-schnauzer", "cairn-terrier"])
def test_no_window_begins_before_hair_is_asked_for_again(profile: str) -> None:
    compiled, visits = compiled_of(profile), visits_before(profile, 600)
    window = due(compiled, of(*visits), DAY).visit
    leads = leading_regions(compiled)
    asked = pulled(order(compiled, of(*visits), window.earliest, 600)).keys() & leads
    assert len(asked) >= len(leads) / 2 > 0


def test_where_nothing_is_pulled_the_window_begins_when_half_the_interval_is_over() -> None:
    """It began the day after the visit."""
    compiled = compiled_of("otterhound")
    window = due(compiled, of(*visits_before("otterhound")), DAY).visit
    assert (window.earliest - DAY).days == 21
    assert (window.best - DAY).days == 42


@pytest.mark.parametrize(("share", "stays"), [(0.04, True), (0.12, False)])
def test_a_little_work_before_the_interval_is_over_does_not_begin_it_anew(share: float, stays: bool) -> None:
    """Common practice, no source: what comes along at a bath is no visit; it moved the next one by nine days."""
    visits, bath = visits_before("border-terrier", 600), DAY + timedelta(days=9)
    told = due(compiled_of("border-terrier"), of(*visits), DAY).visit.best
    visits.append({"visit": bath.isoformat(), "work": {"jacket": {"pull": share}}})
    best = due(compiled_of("border-terrier"), of(*visits), bath).visit.best
    assert best == (told if stays else bath + timedelta(days=14))


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


def test_short_visits_a_few_days_early_do_not_call_the_dog_in_within_days() -> None:
    """In an hour a third of a large dog's share is pulled: that is all of its visit, and the interval counts from it."""
    compiled, visits, day = compiled_of("airedale-terrier"), visits_before("airedale-terrier", 60), DAY
    for _ in range(2):
        day += timedelta(days=11)
        today = order(compiled, of(*visits), day, 60, in_turn=False)
        visits.append({"visit": day.isoformat(), **as_planned(today)})
        assert pulled(today)
        assert today.next_visit.best == day + timedelta(days=14)


@pytest.mark.slow
@pytest.mark.parametrize("number", range(4))
def test_ordinary_visits_leave_no_empty_window_and_no_small_part_sets_it(number: int) -> None:
    """Of 240 visits as planned two windows were empty; brows and other small parts called the whole dog in."""
    for index, profile in enumerate(ids()):
        compiled, visits, day = compiled_of(profile), list[dict[str, Any]](), DAY
        for _ in range(4 if index % 4 == number else 0):
            today = order(compiled, of(*visits), day, in_turn=False)
            visits.append({"visit": day.isoformat(), **as_planned(today)})
            window, leads = today.next_visit, leading_regions(compiled)
            assert not window.clash, (profile, day)
            small = [b for b in window.binding if b.region not in leads and b.why != "clipping"]
            assert not small, (profile, day)
            assert window.earliest <= window.best <= (window.latest or window.best), (profile, day)
            day = window.best


def test_hair_that_was_felt_to_hold_is_left_until_the_next_visit_or_another_verdict() -> None:
    visits = visits_before("border-terrier")
    visits[-1]["seen"] = {"jacket": {"comes": "holds"}}
    visits[-1]["work"]["back"]["pull"] = 0.05
    day = DAY + timedelta(days=2)
    held = work_order("border-terrier", of(*visits), date=day)
    assert "back" not in pulled(held)
    assert (
        held.left_alone["back"][-1].text
        == "The hair was felt to hold on Saturday 4 April 2026: until the next visit it is left, or less of it taken."
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
