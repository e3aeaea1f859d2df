"""The first and last good day of one region: when its hair is long and ripe enough, and when it is overgrown.

Each is told for the typical dog, and as the age of some hair (``learning.draws``), so that it can be told for any dog.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal, NamedTuple

from coatrules.coat.growth import days_to_age, ripening_days
from coatrules.coat.measures import (
    LAYER_MASS,
    cohort_at,
    covers,
    days_until_blown,
    days_until_longer,
    days_until_pull_possible,
    hair_lengths,
)
from coatrules.coat.queue import WHOLE, Coat
from coatrules.coat.ripening import HORIZON_DAYS, days_until_ripe
from coatrules.dog.state import RegionState
from coatrules.dog.strippable import RIPE_FROM
from coatrules.learning.draws import Event, Milestone, when_long, when_loose, when_ripe
from coatrules.profile.compiled import CompiledRegion

Bound = Literal["earliest", "latest"]
Why = Literal["ready", "blown", "too-long", "undercoat", "clipping"]


class Limit(NamedTuple):
    """A first or last good day of a region on the typical dog, in days from the day looked from, 0 where it is past; ``event``
    tells it for any dog, None where the calendar sets it."""

    bound: Bound
    region: str
    why: Why
    days: int
    event: Event | None


class Ask(NamedTuple):
    """What is to be pulled of a region: a mass (parts per million), the least cover that it leaves (0 to 1), and whether that much
    is asked of ripe hair only."""

    mass: int
    at_least: float
    ripe: bool


def first_days(
    region: CompiledRegion, own: RegionState, pace: float, day: int, coat: Coat, ask: Ask
) -> Iterator[Limit]:
    """Yields from when on a region's ``coat``, as it is on ``day``, gives what is asked of it."""
    growth = own.growth
    days = days_until_pull_possible(coat, growth, pace, day, ask.mass, ask.at_least)
    if days is not None:
        yield Limit("earliest", region.id, "ready", days, _ready_event(own, coat, day + days, ask, pace))
    if ask.ripe:
        enough = round(RIPE_FROM * WHOLE)
        days = days_until_ripe(coat.cohorts, growth, pace, day, enough)
        days = HORIZON_DAYS if days is None else days
        yield Limit("earliest", region.id, "ready", days, _ripe_event(own, coat, enough, pace))


def last_days(region: CompiledRegion, own: RegionState, pace: float, day: int, coat: Coat) -> Iterator[Limit]:
    """Yields up to when nothing of a region's ``coat``, as it is on ``day``, is overgrown that is not so tomorrow: no visit can meet
    what is, but the hair that will be overgrown next does. What is thinner than a layer binds nothing."""
    growth, target, tomorrow = own.growth, region.target, day + 1
    coat = Coat(tuple([cohort for cohort in coat.cohorts if cohort.mass >= LAYER_MASS]), coat.cuts)
    if target is None or not coat.cohorts:
        return
    blown = days_until_blown(coat, growth, pace, tomorrow)
    if blown is not None and not coat.cuts:  # cut hair is stripped whole, not rolled: no day of its blowing binds
        wait = ripening_days(growth, pace).loose
        event = _event(own, tomorrow + blown - wait, when_loose(growth, 1.0), pace)
        yield Limit("latest", region.id, "blown", blown, event)
    longest = target.longest_mm
    if longest is not None and longest[1] < growth.full_mm:
        days = days_until_longer(coat, growth, pace, tomorrow, longest[1])
        if days:
            event = _length_event(own, coat, tomorrow + days, longest[1], pace)
            yield Limit("latest", region.id, "too-long", days, event)


def _event(own: RegionState, pulled: int, milestone: Milestone, pace: float) -> Event:
    """When hair pulled on a day reaches an age; hair that came with the dog has the age that its group's hair may have had."""
    if own.group is not None and pulled == own.start:
        since = round(own.arrival_weeks * 7 / pace)
        return Event(milestone, pulled + since, own.group)
    return Event(milestone, pulled)


def _length_event(own: RegionState, coat: Coat, day: int, mm: float, pace: float) -> Event:
    """When hair that is so long on ``day`` is: by its age, or by the cut since which it has grown."""
    growth = own.growth
    for cut in coat.cuts:
        weeks = max(mm - cut.leave_mm, 0.0) / growth.mm_per_week
        if cut.day + days_to_age(weeks, pace) >= day - 1:
            return Event(Milestone(0, 0, 0, weeks), cut.day)
    wait = days_to_age(growth.age_at(min(mm, growth.full_mm)), pace)
    pulled = min((cohort.day for cohort in coat.cohorts), key=lambda own_day: abs(own_day + wait - day))
    return _event(own, pulled, when_long(growth, mm), pace)


def _ripe_event(own: RegionState, coat: Coat, mass: int, pace: float) -> Event:
    """When so much is ripe: the part that is missing of the cohort that makes it up, all older hair being ripe by then."""
    for cohort in coat.cohorts:
        if cohort.mass >= mass:
            break
        mass -= cohort.mass
    return _event(
        own, cohort.day, when_ripe(own.growth, min(mass / cohort.mass, 1.0), cohort.mass / cohort.at_pull), pace
    )


def _ready_event(own: RegionState, coat: Coat, day: int, ask: Ask, pace: float) -> Event:
    """When a pull is possible that is on ``day``: as soon as the last hair of it is long enough, or the youngest covers."""
    growth, last = own.growth, cohort_at(coat, ask.mass)
    if not ask.at_least or covers(coat, growth, pace, day - 1, ask.mass, ask.at_least):
        return _length_event(own, Coat((last,), coat.cuts), day, growth.ready_mm, pace)
    # What covers more than on the day before is hair that stands and did not hide the skin yet: on a dog of another pace the youngest
    # such is as long at another time, and so, near enough, is the rest.
    before, lengths = (hair_lengths(coat, growth, pace, on) for on in (day - 1, day))
    growing = [
        (cohort, mm)
        for cohort, was, mm in zip(coat.cohorts, before, lengths, strict=True)
        if mm > 0 and was < growth.cover_mm
    ]
    youngest, mm = growing[-1] if growing else (last, lengths[0])
    return _length_event(own, Coat((youngest,), coat.cuts), day, min(mm, growth.cover_mm), pace)
