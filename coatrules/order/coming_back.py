"""When a dog comes back after a day's work: the window that its coat leaves, held back or moved up by how the day ended."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import date, timedelta

from attrs import evolve

from coatrules.catalogue.message import Message, message
from coatrules.coat.queue import WHOLE
from coatrules.dog.safety import STOP_RESTS_DAYS, Stage, puppy, strictest
from coatrules.dog.state import DogState
from coatrules.dog.strippable import NEARLY_ALL
from coatrules.order.clipped_coat import let_grow, most_from
from coatrules.order.good_days import Why
from coatrules.order.next_visit import NextVisit, next_visit
from coatrules.order.reasons import VET_FIRST
from coatrules.order.show_ahead import clear_of_show
from coatrules.order.verdicts import Verdict, all_forbidden
from coatrules.profile.compiled import CompiledProfile

REST_OF_IT_MINUTES, REST_OF_IT_DAYS = 60.0, 7
"""So much that a day on the table was too short for is done within so many days; less waits for the next visit (common practice,
no source)."""
BY_CALENDAR: Collection[Why] = ("clipping", "undercoat")
"""What is due by the calendar, whatever the coat."""
STRIP_WAITS_DAYS = 28
"""So long a clipped coat that can be stripped waits for a usual visit (common practice, no source: two months to three after the clip)."""
GROWING_DAYS = 14
"""No sooner does a dog come back whose clipped coat is let grow: weekly visits found nothing to do (common practice, no source)."""
PRACTISED_DAYS = 7, 14
"""Between so many days a dog that practised standing on the table comes back (common practice, no source)."""


def coming_back(
    compiled: CompiledProfile,
    state: DogState,
    verdicts: Mapping[str, Verdict],
    worked: Mapping[str, Verdict],
    stage: Stage,
    left_minutes: float,
    *,
    of_strip: bool = False,
) -> NextVisit:
    """Returns the window for the next visit after a day on which ``worked`` of all ``verdicts`` is done, ``of_strip`` as part of a
    whole strip; ``compiled``: what the dog is worked by from then on.

    left_minutes: of the work for which a whole day on the table was too short; 0 where there was time for less than a day.
    """
    # What a puppy practises sets no day: its coat waits until it comes out. So does a clipped coat until it can be stripped.
    practised = stage == "practice" and puppy(state.age_weeks, compiled.first_coat_weeks)
    growing = let_grow(compiled, state, worked, of_strip=of_strip)
    bound = {**verdicts, **worked, **dict.fromkeys(verdicts if practised else growing, Verdict("forbid"))}
    visit = _held(_kept_up(next_visit(compiled, state, bound, worked)), state, verdicts)
    if growing:
        visit = _for_strip(visit, state.day, most_from(growing.values()))
    if stage != "grown":
        visit = _practised(visit, state, refused=all_forbidden(verdicts))
    elif left_minutes >= REST_OF_IT_MINUTES or _half_stripped(compiled, state, verdicts, worked):
        visit = _soon(visit, state.day)
    return clear_of_show(visit, state)


def _half_stripped(
    compiled: CompiledProfile, state: DogState, verdicts: Mapping[str, Verdict], worked: Mapping[str, Verdict]
) -> bool:
    """Whether the day leaves a coat that comes out whole begun and not done."""
    whole = [
        name for name, region in compiled.regions.items() if region.target is not None and region.target.full_strip
    ]
    begun = {
        name
        for name in whole
        if state.regions[name].last.get("pull") == state.day or (name in worked and worked[name].pulled)
    }
    return bool(begun) and any(name not in begun and verdicts[name].pulled >= NEARLY_ALL * WHOLE for name in whole)


def _kept_up(visit: NextVisit) -> NextVisit:
    """The next visit where the coat that leads is ready later than the calendar's work bears waiting: that work is what it is for."""
    last = next((binding for binding in visit.binding if binding.bound == "latest"), None)
    if not visit.clash or last is None or last.why not in BY_CALENDAR:
        return visit
    best = min(visit.best, last.day)
    return evolve(visit, earliest=best, best=best, binding=(last,), clash=False)


def _for_strip(visit: NextVisit, day: int, ready: date) -> NextVisit:
    """The next visit of a clipped coat that is let grow: a usual one, or the day from which it can be stripped where that comes within
    half an interval after it, or long before it."""
    today = date.fromordinal(day)
    if visit.hold is not None or visit.planned is None or ready <= today:
        return visit
    usual = max(visit.planned, today + timedelta(days=GROWING_DAYS))
    if visit.best < usual and (visit.latest is None or visit.latest >= usual):
        visit = evolve(visit, best=usual, planned=usual)
    if usual - timedelta(days=STRIP_WAITS_DAYS) <= ready <= usual or ready > usual + (usual - today) / 2:
        return visit
    latest = None if visit.latest is None else max(visit.latest, ready)
    return evolve(visit, earliest=ready, best=ready, latest=latest, clash=False)


def held_back(state: DogState, verdicts: Mapping[str, Verdict]) -> Message | None:
    """Returns what must happen before the dog comes again: a veterinary surgeon must see it; None where nothing must."""
    if not all_forbidden(verdicts):
        return message("hold.vet") if strictest(state.health) == "all" else None
    first = [verdict.because[0].rule for verdict in verdicts.values()]
    return message("hold.vet") if all(rule in VET_FIRST for rule in first) else None


def _held(visit: NextVisit, state: DogState, verdicts: Mapping[str, Verdict]) -> NextVisit:
    """The next visit, held back where something must happen first, and not before a place may be tried again where the dog
    refused every one."""
    if (hold := held_back(state, verdicts)) is not None:
        return evolve(visit, hold=hold)
    if not all_forbidden(verdicts):
        return visit
    again = _tried_again(state) or visit.best
    return evolve(visit, earliest=max(visit.earliest, again), best=max(visit.best, again))


def _tried_again(state: DogState) -> date | None:
    """Returns the first day on which a place where the dog said stop may be tried again; None where it did not."""
    stopped = [own.stop_day for own in state.regions.values() if own.stop_day is not None]
    return date.fromordinal(min(stopped) + STOP_RESTS_DAYS) if stopped else None


def _practised(visit: NextVisit, state: DogState, *, refused: bool) -> NextVisit:
    """The next visit of a dog that got used to the table: soon, whatever the coat; later only where it ``refused`` every place, and must
    rest there."""
    first, last = (date.fromordinal(state.day + days) for days in PRACTISED_DAYS)
    again = _tried_again(state) if refused else None
    if visit.hold is not None or (again is not None and again > last):
        return visit
    return evolve(visit, earliest=first, best=first, planned=first, latest=last, binding=(), clash=False)


def _soon(visit: NextVisit, day: int) -> NextVisit:
    """The next visit where the rest of the day's work is for another one: within a week, or the end of the window before it."""
    if visit.hold is not None:
        return visit
    first, last = (date.fromordinal(day + days) for days in (1, REST_OF_IT_DAYS))
    if visit.latest is not None and visit.latest < last:
        last = max(first, visit.latest)
    best = min(visit.best, last)
    return evolve(
        visit, earliest=min(visit.earliest, first), best=best, planned=best, latest=last, binding=(), clash=False
    )
