"""How pressing the work in a region is: what waits when the time is short."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from coatrules.formats.values import TaskKind
from coatrules.order.facts import number
from coatrules.order.region_today import RegionToday
from coatrules.order.verdicts import Task
from coatrules.profile.compiled import CompiledRegion

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
    if task.kind == "clip" and today.region.clipper_only is not None:
        return clipping_late(today.region, today.own.last, today.first_visit, today.day)
    last = today.own.last.get(task.kind)
    if last is None and task.kind == "pull":  # never pulled: it has waited since the dog first came
        last = today.first_visit
    if last is None:
        return 0.0
    every = today.compiled.profile.visit.every_weeks
    if task.kind == "card":
        every = today.region.growth.undercoat_weeks or every
    else:
        every = next((r.every_weeks for _, r in today.region.routines if r.task == task.kind), every)
    return max(0.0, (today.day - last) / 7 - every)


def clipping_late(region: CompiledRegion, last: Mapping[TaskKind, int], first_visit: int | None, day: int) -> float:
    """Returns the weeks by which a place that is only clipped has waited too long, since the dog first came where it never was."""
    since = last.get("clip", first_visit)
    if since is None or region.clipper_only is None:
        return 0.0
    return max(0.0, (day - since) / 7 - region.clipper_only.every_weeks)


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
