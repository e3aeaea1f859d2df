"""When to come back: the first and last good day of every region, and the window they leave together."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from datetime import date, timedelta
from math import floor
from typing import Literal

from attrs import frozen

from coatrules.coat import WHOLE, Coat, days_until_blown, days_until_longer, days_until_pull_possible, mass_of, standing
from coatrules.compiled import CompiledProfile, RegionPlan
from coatrules.decide import Verdict
from coatrules.record import Record

Bound = Literal["earliest", "latest"]


@frozen
class Binding:
    """What sets an end of the window: a region and the reason."""

    bound: Bound
    region: str
    why: Literal["ready", "blown", "too-long", "undercoat", "clipping"]
    day: date


@frozen
class NextVisit:
    """The window for the next visit. ``best`` is the profile's interval, moved into the window.

    binding: what sets each end; empty where nothing does. clash: the window is empty, the two ends disagree.
    """

    earliest: date
    best: date
    latest: date | None
    binding: tuple[Binding, ...]
    clash: bool = False


def next_visit(
    plan: CompiledProfile, record: Record, verdicts: Mapping[str, Verdict], worked: Collection[str]
) -> NextVisit:
    """The window for the next visit, if today's work is done as ordered."""
    today = date.fromordinal(record.day)
    earliest: Binding | None = None
    latest: Binding | None = None
    for name, region in plan.regions.items():
        if verdicts[name].outcome == "forbid":
            continue
        verdict = verdicts[name] if name in worked else None
        coat = after_work(region, record, verdict)
        for bound in _bounds(plan, region, record, coat, verdict):
            if bound.bound == "earliest":
                earliest = bound if earliest is None or bound.day > earliest.day else earliest
            else:
                latest = bound if latest is None or bound.day < latest.day else latest
    first = earliest.day if earliest is not None else today + timedelta(days=1)
    last = latest.day if latest is not None else None
    best = max(today + timedelta(days=round(plan.profile.visit.every_weeks * 7)), first)
    if last is not None:
        best = min(best, last)  # of two ends that disagree the later harm is the overgrown coat
    binding = tuple(bound for bound in (earliest, latest) if bound is not None)
    return NextVisit(first, best, last, binding, clash=last is not None and first > last)


def after_work(region: RegionPlan, record: Record, verdict: Verdict | None) -> Coat:
    """The region's coat once today's work on it is done."""
    coat = record.regions[region.id].coat
    for task in verdict.tasks if verdict is not None else ():
        if task.mass:
            coat = coat.pulled(region.growth, record.pace.of(region.id), record.day, task.mass / WHOLE)
        if task.leave_mm is not None:
            coat = coat.clipped(record.day, task.leave_mm)
    return coat


def _bounds(
    plan: CompiledProfile, region: RegionPlan, record: Record, coat: Coat, verdict: Verdict | None
) -> Iterator[Binding]:
    """The first and last good days of one region. A day that is past already sets no end: nothing can meet it."""
    growth, pace, day = region.growth, record.pace.of(region.id), record.day
    own = record.regions[region.id]
    done = {task.kind for task in verdict.tasks} if verdict is not None else set()

    def bound(
        end: Bound, why: Literal["ready", "blown", "too-long", "undercoat", "clipping"], days: float | None
    ) -> Iterator[Binding]:
        if days is not None and days > 0:
            yield Binding(end, region.id, why, date.fromordinal(day + floor(days)))

    if region.clipper_only is not None:
        last = day if "clip" in done else own.last.get("clip")
        if last is not None:
            # Calendar work is done at the visit nearest to its day (decide), so half an interval late is not yet late.
            weeks = region.clipper_only[1].every_weeks + plan.profile.visit.every_weeks / 2
            yield from bound("latest", "clipping", last + weeks * 7 - day)
        return
    if region.target is not None:
        target = region.target[1]
        at_least = target.cover.at_least if target.cover is not None and not target.full_strip else 0.0
        mass = mass_of(target.take.usual)
        if at_least and standing(coat, growth, pace, day).cover < at_least:
            # A low spot is worked lightly whatever its cover: it does not hold the visit back.
            at_least, mass = 0.0, mass_of(target.take.low_spot)
        if mass:
            yield from bound("earliest", "ready", days_until_pull_possible(coat, growth, pace, day, mass, at_least))
        yield from bound("latest", "blown", days_until_blown(coat, growth, pace, day))
        if target.longest_mm is not None:
            yield from bound("latest", "too-long", days_until_longer(coat, growth, pace, day, target.longest_mm[1]))
    if growth.undercoat_weeks is not None and "card" in region.region.minutes:
        last = day if "card" in done else own.last.get("card")
        if last is not None:
            yield from bound("latest", "undercoat", last + growth.undercoat_weeks * 7 - day)
