"""How an average dog is that a profile keeps: its outline before a visit, and what is ever done where, told from the shares,
intervals and rules that always hold. No orders are worked out: two years of each kind of coat, followed once."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from math import ceil
from statistics import median
from typing import Final, NamedTuple

from coatrules.check.subject import STRUCTURE
from coatrules.coat.growth import Growth
from coatrules.coat.measures import surface
from coatrules.coat.queue import grown, mass_of
from coatrules.formats.values import TaskKind
from coatrules.profile.compiled import CompiledProfile, CompiledRegion
from coatrules.profile.model import Effect

SETTLING_WEEKS: Final = 52
"""A coat that arrives grown out is brought round within a year, or once all of it has been pulled."""
SEEN_WEEKS: Final = 52
"""The year that is looked at then."""
MOST_VISITS: Final = 1000
"""Visits in which a coat goes round at the latest: a smaller share changes nothing that anybody sees."""


class KeptRegion(NamedTuple):
    """``share``: of the coat, pulled at an ordinary visit; 0 where nothing is. ``outline_mm``: before a visit."""

    region: CompiledRegion
    tasks: frozenset[TaskKind]
    share: float
    outline_mm: float


def kept_regions(compiled: CompiledProfile) -> dict[str, KeptRegion]:
    """Returns each region as it is on a dog of average pace that comes on time for two years."""
    every = compiled.profile.visit.every_weeks
    return {name: _kept(region, every) for name, region in compiled.regions.items()}


def _kept(region: CompiledRegion, every: float) -> KeptRegion:
    effects = list(_always(region))
    left = {task for effect in effects for task in effect.leave}
    tasks: set[TaskKind] = {routine.task for _, routine in region.routines}
    share, outline_mm = 0.0, region.growth.full_mm
    if region.growth.undercoat_weeks is not None and "card" in region.region.minutes:
        tasks.add("card")
    if (clipped := region.clipper_only) is not None:
        tasks.add("clip")
        regrown = region.growth.mm_per_week * max(every, clipped.every_weeks)
        outline_mm = min(outline_mm, clipped.leave_mm + regrown)
    elif region.hand is not None and "pull" not in left:
        share = region.hand.take.usual
        for take in (effect.take for effect in effects):
            share = min(max(share, take.at_least or 0.0), 1.0 if take.at_most is None else take.at_most)
        if mass_of(share):
            tasks.add("pull")
            outline_mm = settled_mm(region.growth, every, share)
    tasks.update(task for effect in effects for task in effect.add)
    return KeptRegion(region, frozenset(tasks - left), share, outline_mm)


def _always(region: CompiledRegion) -> Iterator[Effect]:
    """What the rules do that fire in a region whatever the dog."""
    facts = {"region": region.id, "groups": region.groups, "coat": region.region.coat}
    for index in region.firing_rules(facts):
        _, rule = region.rules[index]
        if rule.when.facts() <= STRUCTURE:
            yield rule.then


@lru_cache(maxsize=4096)
def settled_mm(growth: Growth, every: float, share: float) -> float:
    """Returns the outline in mm before a visit, the median of a year, once the coat has gone round."""
    visits = ceil((SETTLING_WEEKS + SEEN_WEEKS) / every) + ceil(min(1 / share, MOST_VISITS))
    coat = grown(0, growth)
    seen = []
    for visit in range(visits):
        day = round(visit * every * 7)
        if visit * every >= SETTLING_WEEKS:
            seen.append(surface(coat, growth, 1.0, day).outline_mm)
        coat = coat.pulled(growth, 1.0, day, share)
    return median(seen)
