"""Visits that nobody wrote down: where a dog stayed away for long, and what was seen fits better if it was worked meanwhile."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import combinations, pairwise
from math import log
from statistics import median, median_low
from typing import NamedTuple

from coatrules.coat.queue import Pull
from coatrules.dog.region_log import RegionLog

LONG_GAP = 1.5
"""Usual intervals from which the time between two visits may hide one. No source."""
_PRIOR = 0.05  # that it does. No source
_LATEST = 3  # places looked into: of what is older much was seen since
_FEWEST_VISITS = 4  # from which a dog has a usual interval


class Forgotten(NamedTuple):
    """A visit that most likely was never written down: about which day, and between which visits that were (ordinals)."""

    day: int
    after: int
    before: int


def may_be_missing(days: Iterable[int]) -> list[Forgotten]:
    """Returns the visits that may be missing among those on record: one in each place of the usual row, of the latest places."""
    visits = sorted(set(days))
    if len(visits) < _FEWEST_VISITS:
        return []
    usual = median(later - day for day, later in pairwise(visits))
    return [
        Forgotten(after + place * (before - after) // places, after, before)
        for after, before in pairwise(visits)
        if before - after > LONG_GAP * usual
        for places in [max(round((before - after) / usual), 2)]
        for place in range(1, places)
    ][-_LATEST:]


def with_visits(logs: Mapping[str, RegionLog], forgotten: Iterable[Forgotten]) -> dict[str, RegionLog]:
    """Returns the logs with the usual share of each region pulled at visits that nobody wrote down."""
    days = [visit.day for visit in forgotten]
    found = {}
    for name, trail in logs.items():
        usual = median_low([pull.mass for pull in trail.pulls]) if trail.pulls else 0
        found[name] = trail.with_pulls([Pull(day, usual) for day in days if usual])
    return found


def likely_forgotten(
    places: Sequence[Forgotten], evidence: Callable[[Sequence[Forgotten]], float]
) -> tuple[Forgotten, ...]:
    """Returns the visits that together are the likeliest to be missing; none, mostly.

    evidence: the logarithm of how likely the record is with some of them.
    """
    odds = log(_PRIOR / (1 - _PRIOR))
    together = [some for count in range(len(places) + 1) for some in combinations(places, count)]
    return max(together, key=lambda some: evidence(some) + odds * len(some))
