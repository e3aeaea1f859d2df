"""A coat kept by the engine's own orders, and the same hair followed by hand: a second way to compute what stands."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

from attrs import frozen

from coatrules import Profile, Step, WorkOrder, work_order
from coatrules.coat.growth import Growth
from coatrules.profile.model import LayerTarget


def regions_of(profile: Profile, *names: str) -> set[str]:
    """Groups written out, without the library's own expansion."""
    regions = set()
    for name in names:
        regions |= regions_of(profile, *profile.groups[name]) if name in profile.groups else {name}
    return regions


def targets(profile: Profile) -> dict[str, LayerTarget]:
    """The layer target of each region; for profiles whose targets do not overlap."""
    return {
        region: target for target in profile.layer_targets.values() for region in regions_of(profile, *target.regions)
    }


def carried_out(order: WorkOrder) -> dict[str, Any]:
    """The visit that a groomer records who did just what the order says."""
    work: dict[str, dict[str, Any]] = {}
    for step in order.steps:
        if step.region is None:
            continue
        done = work.setdefault(step.region, {})
        match step.task:
            case "pull":
                done["pull"] = step.share
            case "clip":
                done["clip"] = step.leave_mm if step.leave_mm is not None else True
            case task:
                done[task] = True
    return {"visit": order.date.isoformat(), "work": work, "put_off": list(order.deferred)}


class Hair:
    """The hair of one region in portions ``[share, weeks since pulled]``, oldest first: DEVELOPERS.md with plain floats."""

    def __init__(self, kind: Growth) -> None:
        self.kind = kind
        self.portions = [[1.0, kind.blown_weeks]]  # grown out

    def length(self, weeks: float) -> float:
        return min(self.kind.full_mm, self.kind.mm_per_week * (weeks - self.kind.lag_weeks))

    def grow(self, weeks: float) -> None:
        for portion in self.portions:
            portion[1] += weeks

    def pull(self, share: float) -> None:
        remaining = share
        for portion in self.portions:
            pulled = min(remaining, portion[0]) if self.length(portion[1]) >= 0 else 0.0
            portion[0] -= pulled
            remaining -= pulled
        self.portions = [p for p in self.portions if p[0] > 1e-9] + [[share - remaining, 0.0]]

    def standing(self) -> list[tuple[float, float]]:
        return [(share, self.length(age)) for share, age in self.portions if share > 1e-9 and self.length(age) >= 0]

    def cover(self) -> float:
        return sum(share * min(1.0, mm / self.kind.cover_mm) for share, mm in self.standing())

    def outline(self) -> float:
        standing = self.standing()
        total = sum(share for share, _ in standing)
        reached = 0.0
        for share, mm in standing:
            reached += share
            if reached >= total / 10 - 1e-9:
                return mm
        return 0.0

    def layers(self) -> int:
        lengths = [mm for share, mm in self.standing() if share >= 0.02 - 1e-9 and mm >= self.kind.ready_mm - 1e-9]
        return bool(lengths) + sum(
            longer - shorter >= self.kind.layer_gap_mm - 1e-9 for longer, shorter in pairwise(lengths)
        )


@frozen(eq=False)
class Moment:
    cover: float
    outline_mm: float
    layers: int


@frozen(eq=False)
class Visit:
    week: float
    order: WorkOrder
    before: Mapping[str, Moment]
    after: Mapping[str, Moment]

    def shares(self) -> dict[str, float]:
        return {s.region: s.share for s in self.order.steps if s.region is not None and s.share is not None}


def simulated(profile: Profile, visits: int, start: date) -> Iterator[Visit]:
    """A dog that arrives grown out and comes at the profile's interval, worked just as each order says."""
    every = profile.visit.every_weeks
    history: dict[str, Any] = {"format": 1, "dog": {"id": "sim"}, "visits": []}
    hair = {region: Hair(profile.coats[profile.regions[region].coat]) for region in targets(profile)}

    def moments() -> dict[str, Moment]:
        return {region: Moment(h.cover(), h.outline(), h.layers()) for region, h in hair.items()}

    for number in range(visits):
        order = work_order(profile, history, date=start + timedelta(weeks=number * every))
        before = moments()
        visit = carried_out(order)
        history["visits"].append(visit)
        for region, done in visit["work"].items():
            if "pull" in done:
                hair[region].pull(done["pull"])
        yield Visit(week=number * every, order=order, before=before, after=moments())
        for h in hair.values():
            h.grow(every)


def runs(steps: Sequence[Step], zone: set[str]) -> list[tuple[float, float, float]]:
    """Each unbroken stretch at a place: when it begins, its minutes, when it ends."""
    stretches: list[tuple[float, float, float]] = []
    now = 0.0
    for step in steps:
        end = now + step.minutes
        if step.region in zone:
            begin = stretches.pop()[0] if stretches and stretches[-1][2] == now else now
            stretches.append((begin, end - begin, end))
        now = end
    return stretches
