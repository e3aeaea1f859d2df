"""How pressing the work in a region is: what waits when the time is short."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from coatrules.formats.values import TaskKind
from coatrules.order.facts import number
from coatrules.order.region_today import RegionToday
from coatrules.order.verdicts import Task
from coatrules.profile.compiled import CompiledProfile, CompiledRegion

BASE: Mapping[TaskKind, int] = {"clip": 60, "pull": 50, "card": 40, "scissor": 35, "comb": 30}
"""Priority before anything is overdue: hygiene first, finish last (common practice, no source)."""
STOP_SINKS = 40.0
"""By so much a place where the dog said stop comes after the others: the first to be put off."""


def priority_parts(today: RegionToday, tasks: Sequence[Task]) -> dict[str, float]:
    """Returns the points that make up the priority of a region's tasks, without those that are 0."""
    main = max(tasks, key=lambda task: BASE[task.kind])
    overdue = max(_overdue(today, task) for task in tasks)
    parts = {
        "base": float(BASE[main.kind]),
        "overdue": round(min(30.0, 6.0 * overdue), 1),
        # What the dog refused has not waited: put off again and again, it would come first on the day with least time.
        "put_off": 0.0 if today.own.last_reaction == "stop" else min(30.0, 10.0 * today.own.put_off),
        "stop": -STOP_SINKS if today.own.last_reaction == "stop" else 0.0,
        "rules": float(sum([effect.priority for effect, _ in today.fired])),
    }
    return {name: value for name, value in parts.items() if value}


def _overdue(today: RegionToday, task: Task) -> float:
    """Returns the weeks by which a task is late."""
    return weeks_late(today.compiled, today.region, today.own.last, today.first_visit, today.day, task.kind)


def weeks_late(
    compiled: CompiledProfile,
    region: CompiledRegion,
    last: Mapping[TaskKind, int],
    first_visit: int | None,
    day: int,
    kind: TaskKind,
) -> float:
    """Returns the weeks by which work has waited too long in a region, since the dog first came where it never was done."""
    since = last.get(kind, first_visit)
    if since is None:
        return 0.0
    return max(0.0, (day - since) / 7 - _every_weeks(region, kind, compiled.profile.visit.every_weeks))


def _every_weeks(region: CompiledRegion, kind: TaskKind, visit_weeks: float) -> float:
    """Returns the weeks after which work comes round in a region."""
    if kind == "clip" and region.clipper_only is not None:
        return region.clipper_only.every_weeks
    if kind == "card":
        return region.growth.undercoat_weeks or visit_weeks
    return next((routine.every_weeks for _, routine in region.routines if routine.task == kind), visit_weeks)


def overgrown(today: RegionToday) -> float:
    """Returns the weeks since when the oldest hair is longer than wanted, or blown; 0 where no hand work is wanted."""
    if today.region.hand is None:
        return 0.0
    growth, longest = today.own.growth, today.region.hand.longest_mm
    blown = number(today.facts["oldest_weeks"]) - growth.blown_weeks / today.pace
    if longest is None:
        return max(0.0, blown)
    too_long = (number(today.facts["longest_mm"]) - longest[1]) / growth.mm_per_week / today.pace
    return max(0.0, blown, too_long)
