"""Whole strips ahead, one after the other, as a clipped coat is brought back: each day as its order would ask it, carried out.

What is not ready waits for the next visit, and what a day is too short for is done within a week: no program could choose better.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date as Date
from datetime import timedelta
from typing import NamedTuple

from attrs import evolve

from coatrules.book.due import due
from coatrules.catalogue.message import message
from coatrules.dog.history import History, Visit
from coatrules.dog.regime import worked_by
from coatrules.dog.state import state_on
from coatrules.dog.whole_strip import strip_begun
from coatrules.formats.structure import structure
from coatrules.order.arguments import checked_day
from coatrules.order.clipped_coat import strip_waits
from coatrules.order.engine import order
from coatrules.order.salon import Salon
from coatrules.plan.ahead import carry_out
from coatrules.plan.dates import HALF_YEAR, checked_count
from coatrules.plan.inputs import plan_inputs, region_classes_of
from coatrules.plan.outcome import notes_of, outlook_of
from coatrules.plan.program import Choice
from coatrules.plan.results import Plan, PlannedVisit
from coatrules.profile.compiled import CompiledProfile, compile_profile
from coatrules.profile.model import Profile
from coatrules.profile.whole_strip import whole_strip
from coatrules.recording.entry import as_planned

OF_ROLLING = ("plan.coat-grown-out", "plan.coat-one-layer")
"""Codes of notes on how layers are built, which a strip does not."""


class _Day(NamedTuple):
    """A visit ahead: the minutes of its order, and the shares that it asks, by region."""

    day: Date
    minutes: float
    shares: Mapping[str, float]


def plan_strips(
    profile: Profile,
    history: History,
    *,
    date: Date,
    visits: int | None = None,
    minutes: float | None = None,
    salon: Salon | None = None,
) -> Plan:
    """Returns the visits on which a coat is stripped out whole, again and again, as of ``date``: so many, or those of half a year. With
    a salon they are on its open days.

    Needs no solver. Raises ``InputError`` as ``plan_ahead`` does.
    """
    worked = worked_by(profile, history, checked_day(date))
    stripped = evolve(whole_strip(worked), rolled=None)
    compiled = compile_profile(stripped)
    count = None if visits is None else checked_count(visits)
    days = _days(compiled, compile_profile(worked.rolled or worked), history, date, count, minutes, salon)
    inputs = plan_inputs(stripped, history, date, tuple([one.day for one in days]), minutes)
    classes = [evolve(found, regions=(name,)) for found in region_classes_of(inputs) for name in found.regions]
    pulled = tuple([tuple([one.shares.get(found.regions[0], 0.0) for one in days]) for found in classes])
    carried = carry_out(inputs, classes, Choice(pulled, (), (), (), 0.0))
    regions = {
        region: outlook_of(inputs, region, carried.visits, carried.coats[region], None) for region in inputs.regions
    }
    states = {name: outlook.state for name, outlook in regions.items()}
    return Plan(
        dog_id=history.dog.id,
        dog_name=history.dog.called,
        profile_id=compiled.profile.id,
        profile_label=compiled.profile.label,
        date=date,
        visits=tuple([_as_ordered(visit, one) for visit, one in zip(carried.visits, days, strict=True)]),
        regions=regions,
        set_on=None,
        clashes=(),
        loosenings=(),
        notes=(message("plan.strips"), *[note for note in notes_of(inputs, states) if note.code not in OF_ROLLING]),
    )


def _as_ordered(visit: PlannedVisit, day: _Day) -> PlannedVisit:
    """Returns the visit with the minutes of its order, in which work that is due may wait."""
    pulling = sum(region.minutes for region in visit.regions.values())
    return evolve(visit, minutes=day.minutes, calendar_minutes=max(0.0, day.minutes - pulling))


def _days(
    compiled: CompiledProfile,
    rolled: CompiledProfile,
    history: History,
    date: Date,
    count: int | None,
    minutes: float | None,
    salon: Salon | None,
) -> list[_Day]:
    """Returns the visits ahead, the first on the day itself where nothing was done on it yet, each as soon as the order of the one
    before it says. Until a clipped coat can be stripped its orders are those of the profile that rolls it."""
    found: list[_Day] = []
    past = due(compiled, history, date, salon, minutes)
    day = past.day if past.last is not None else date
    if past.last == day:
        day += timedelta(days=1)
    while len(found) < count if count is not None else (day - date).days <= HALF_YEAR * 7:
        waits = strip_begun(rolled, history, day) is None and strip_waits(rolled, state_on(rolled, history, day))
        by = rolled if waits else compiled
        today = order(by, history, day, minutes, in_turn=False)
        shares = {step.region: step.share for step in today.steps if step.region is not None and step.share}
        found.append(_Day(day, today.minutes_planned, shares))
        visit = structure({"visit": day.isoformat(), **as_planned(today)}, Visit)
        history = evolve(history, visits=(*history.visits, visit))
        not_before = day + timedelta(days=1)
        ahead = today.next_visit
        day = max(ahead.best, not_before) if salon is None else salon.open_day(history.dog.id, ahead, not_before)
    return found
