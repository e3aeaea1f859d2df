"""The minutes of a visit that go by the calendar, whatever is pulled: carding, clipping and routines."""

from __future__ import annotations

from collections.abc import Sequence

from coatrules.dog.state import DogState
from coatrules.formats.values import TaskKind
from coatrules.order.decide import CARD_FROM
from coatrules.profile.compiled import CompiledProfile, CompiledRegion


def calendar_minutes(compiled: CompiledProfile, state: DogState, visits: Sequence[int]) -> list[float]:
    """Minutes of calendar work at each visit (ordinals, rising), each task done when it falls due as on the day itself."""
    minutes_at = [0.0] * len(visits)
    for name, region in compiled.regions.items():
        if not (region.clipper_only or region.routines or "card" in region.region.minutes):
            continue
        last_day: dict[TaskKind, int] = dict(state.regions[name].last)
        for visit_index, day in enumerate(visits):
            for kind, minutes in _due(compiled, region, last_day, day).items():
                last_day[kind] = day
                minutes_at[visit_index] += minutes / state.speed.of(name)
    return minutes_at


def _due(
    compiled: CompiledProfile, region: CompiledRegion, last_day: dict[TaskKind, int], day: int
) -> dict[TaskKind, float]:
    """The calendar work that a region needs on a day, in minutes."""
    due: dict[TaskKind, float] = {}
    undercoat_weeks, card = region.growth.undercoat_weeks, region.region.minutes.get("card")
    if undercoat_weeks is not None and card is not None:
        undercoat = min(1.0, (day - last_day["card"]) / 7 / undercoat_weeks) if "card" in last_day else 1.0
        if undercoat >= CARD_FROM:
            due["card"] = card * undercoat
    repeated: list[tuple[TaskKind, float, float]] = []
    if region.clipper_only is not None:
        repeated.append(("clip", region.clipper_only.every_weeks, region.region.minutes.get("clip", 0.0)))
    repeated += [(routine.task, routine.every_weeks, routine.minutes) for _, routine in region.routines]
    for kind, every_weeks, minutes in repeated:
        # Due when the due day is nearer to this visit than to the next ordinary one, as in a work order.
        waited = (
            (day - last_day[kind]) / 7 + compiled.profile.visit.every_weeks / 2 if kind in last_day else every_weeks
        )
        if waited >= every_weeks:
            due.setdefault(kind, minutes)
    return due
