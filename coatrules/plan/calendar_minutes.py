"""The minutes of a visit that go by the calendar, whatever is pulled: carding, clipping and routines."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from coatrules.dog.state import DogState
from coatrules.formats.values import TaskKind
from coatrules.order.decide import CARD_FROM
from coatrules.profile.compiled import CompiledProfile, CompiledRegion

LEAST_CARDING = 0.5
"""Where the time is short raking goes down to so much of its time, as in a work order (common practice, no source)."""


class CalendarWork(NamedTuple):
    """What the calendar takes of one visit in minutes; short: some of it gave way, so that hair could be pulled too."""

    minutes: float
    short: bool


class _Due(NamedTuple):
    """Work that is due in a region: so many weeks past its time, for so many minutes."""

    overdue: float
    region: str
    kind: TaskKind
    minutes: float


def calendar_work(
    compiled: CompiledProfile,
    state: DogState,
    visits: Sequence[int],
    available: float,
    pulling: Sequence[float],
    covered_from: Mapping[str, int],
) -> list[CalendarWork]:
    """Returns the calendar work of each visit (ordinals, rising), each task done when it falls due as on the day itself.

    available: minutes of a visit. pulling: those of all usual shares, by visit. covered_from: the first visit (from 0) on which the
    coat of a region hides the skin: bare places are not carded. Of a visit that is too short for all of it and the usual pulling the
    calendar takes half at the most: raking is shortened, and what is least overdue waits.
    """
    last = {name: dict(state.regions[name].last) for name in compiled.regions}
    work = []
    for number, (day, usual) in enumerate(zip(visits, pulling, strict=True)):
        due = [
            one._replace(minutes=one.minutes / state.speed.of(one.region))
            for name, region in compiled.regions.items()
            for one in _due(compiled, region, last[name], day)
            if one.kind != "card" or number >= covered_from.get(name, 0)
        ]
        done, minutes = _within(due, max(available / 2, available - usual))
        for one in done:
            last[one.region][one.kind] = day
        work.append(CalendarWork(minutes, minutes < sum(one.minutes for one in due) - 1e-9))
    return work


def _within(due: Sequence[_Due], minutes: float) -> tuple[list[_Due], float]:
    """What is done of work that is due, and in how many minutes."""
    carding = [one for one in due if one.kind == "card"]
    whole = sum(one.minutes for one in carding)
    used = min(LEAST_CARDING * whole, minutes)
    done = list(carding)
    for one in sorted((one for one in due if one.kind != "card"), key=lambda one: -one.overdue):
        if used + one.minutes <= minutes:
            done.append(one)
            used += one.minutes
    return done, min(used + (1 - LEAST_CARDING) * whole, max(minutes, used))


def _due(
    compiled: CompiledProfile, region: CompiledRegion, last_day: Mapping[TaskKind, int], day: int
) -> Iterator[_Due]:
    """Yields the calendar work that a region needs on a day."""
    undercoat_weeks, card = region.growth.undercoat_weeks, region.region.minutes.get("card")
    kinds = set[TaskKind]()
    if undercoat_weeks is not None and card is not None:
        undercoat = min(1.0, (day - last_day["card"]) / 7 / undercoat_weeks) if "card" in last_day else 1.0
        if undercoat >= CARD_FROM:
            kinds.add("card")
            yield _Due(0.0, region.id, "card", card * undercoat)
    repeated: list[tuple[TaskKind, float, float]] = []
    if region.clipper_only is not None:
        repeated.append(("clip", region.clipper_only.every_weeks, region.region.minutes.get("clip", 0.0)))
    repeated += [(routine.task, routine.every_weeks, routine.minutes) for _, routine in region.routines]
    for kind, every_weeks, minutes in repeated:
        # Due when the due day is nearer to this visit than to the next ordinary one, as in a work order.
        waited = (
            (day - last_day[kind]) / 7 + compiled.profile.visit.every_weeks / 2 if kind in last_day else every_weeks
        )
        if waited >= every_weeks and kind not in kinds:
            kinds.add(kind)
            yield _Due(waited - every_weeks, region.id, kind, minutes)
