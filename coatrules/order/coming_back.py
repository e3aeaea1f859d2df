"""When a dog comes back after a day's work: the window that its coat leaves, held back or moved up by how the day ended."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from attrs import evolve

from coatrules.catalogue.message import Message, message
from coatrules.coat.queue import WHOLE
from coatrules.dog.safety import STOP_RESTS_DAYS, Stage, puppy, strictest
from coatrules.dog.state import DogState
from coatrules.dog.whole_strip import NEARLY_ALL
from coatrules.order.next_visit import NextVisit, next_visit
from coatrules.order.reasons import VET_FIRST
from coatrules.order.show_ahead import clear_of_show
from coatrules.order.verdicts import Verdict
from coatrules.profile.compiled import CompiledProfile

REST_OF_IT_MINUTES, REST_OF_IT_DAYS = 60.0, 7
"""So much that a day on the table was too short for is done within so many days; less waits for the next visit (common practice,
no source)."""
PRACTISED_DAYS = 7, 14
"""Between so many days a dog that practised standing on the table comes back (common practice, no source)."""


def coming_back(
    compiled: CompiledProfile,
    state: DogState,
    verdicts: Mapping[str, Verdict],
    worked: Mapping[str, Verdict],
    stage: Stage,
    left_minutes: float,
) -> NextVisit:
    """Returns the window for the next visit after a day on which ``worked`` of all ``verdicts`` is done.

    left_minutes: of the work for which a whole day on the table was too short; 0 where there was time for less than a day.
    """
    # What a puppy practises sets no day: its coat waits until it comes out.
    practised = stage == "practice" and puppy(state.age_weeks, compiled.first_coat_weeks)
    bound = dict.fromkeys(verdicts, Verdict("forbid")) if practised else {**verdicts, **worked}
    visit = _held(next_visit(compiled, state, bound, worked), state, verdicts)
    if stage != "grown":
        visit = _practised(visit, state.day)
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
        if state.regions[name].last.get("pull") == state.day or (name in worked and _pulled(worked[name]))
    }
    return bool(begun) and any(name not in begun and _pulled(verdicts[name]) >= NEARLY_ALL * WHOLE for name in whole)


def _pulled(verdict: Verdict) -> int:
    return max((task.mass for task in verdict.tasks), default=0)


def held_back(state: DogState, verdicts: Mapping[str, Verdict]) -> Message | None:
    """Returns what must happen before the dog comes again: a veterinary surgeon must see it; None where nothing must."""
    if any(verdict.outcome != "forbid" for verdict in verdicts.values()):
        return message("hold.vet") if strictest(state.health) == "all" else None
    first = [verdict.because[0].rule for verdict in verdicts.values()]
    return message("hold.vet") if all(rule in VET_FIRST for rule in first) else None


def _held(visit: NextVisit, state: DogState, verdicts: Mapping[str, Verdict]) -> NextVisit:
    """The next visit, held back where something must happen first, and not before a place may be tried again where the dog
    refused every one."""
    if (hold := held_back(state, verdicts)) is not None:
        return evolve(visit, hold=hold)
    if any(verdict.outcome != "forbid" for verdict in verdicts.values()):
        return visit
    stopped = [own.stop_day for own in state.regions.values() if own.stop_day is not None]
    rests = [date.fromordinal(day + STOP_RESTS_DAYS) for day in stopped]
    again = min(rests, default=visit.best)
    return evolve(visit, earliest=max(visit.earliest, again), best=max(visit.best, again))


def _practised(visit: NextVisit, day: int) -> NextVisit:
    """The next visit of a dog that got used to the table: soon, whatever the coat; later only where every place must rest."""
    first, last = (date.fromordinal(day + days) for days in PRACTISED_DAYS)
    if visit.hold is not None or visit.earliest > last:
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
