"""The hands' own speed: how fast this groomer works on this dog, learned from recorded minutes.

A recorded entry says how long some work took; the profile says how long it usually takes. The logarithm of the quotient
is a measurement of the logarithm of the speed, by the same two-level shrinkage as the pace (``shrink``): the groomer on
this dog about the profile, each region about that. An entry of many regions counts once, spread over them by the
profile's minutes. The three spreads are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import exp, log, sqrt
from typing import NamedTuple

from attrs import field, frozen

from coatrules.learning.shrinkage import shrink
from coatrules.read_only import NOTHING, read_only

SPREAD = 0.30
"""Between groomers and dogs: two thirds work within about a third of the profile's minutes."""
REGION_SPREAD = 0.20
"""Between the regions of one dog."""
ERROR = 0.25
"""Of one entry: a clock read in passing, a pause not taken off."""
DOUBTFUL = 5.0
"""Times faster or slower than the profile: the entry is wrong rather than the hands unusual."""


class Timed(NamedTuple):
    """One recorded entry: minutes it took, and the profile's minutes for the same work in each of its regions.

    visit: the visit's place in the history. part: the region or group it was written under.
    """

    minutes: float
    usual: Mapping[str, float]
    visit: int = -1
    part: str = ""

    @property
    def usual_minutes(self) -> float:
        """The profile's minutes for the whole entry."""
        return sum(self.usual.values())


@frozen(kw_only=True)
class Speed:
    """How fast the work goes on this dog: 1 as the profile says, 1.25 a quarter faster. Minutes are divided by it.

    sd: standard deviation. entries: how many recorded ones it rests on. regions: of each region with a record.
    doubtful: entries left out as wrong.
    """

    mean: float = 1.0
    sd: float = 0.0
    entries: int = 0
    regions: Mapping[str, float] = field(default=NOTHING, converter=read_only)
    rejected: tuple[Timed, ...] = ()

    def of(self, region: str) -> float:
        """The speed to reckon with in a region."""
        return self.regions.get(region, self.mean)


def learn_speed(entries: Iterable[Timed]) -> Speed:
    """The speed from all recorded entries, in any order; exactly 1 where there is none. Entries that say no time, or of
    work for which the profile has no minutes, tell nothing and are passed over."""
    evidence: dict[str, tuple[float, float]] = {}
    rejected = []
    counted = 0
    for entry in entries:
        usual = entry.usual_minutes
        if entry.minutes <= 0 or usual <= 0:
            continue
        faster = log(usual / entry.minutes)
        if abs(faster) > log(DOUBTFUL):
            rejected.append(entry)
            continue
        counted += 1
        for region, minutes in entry.usual.items():
            precision = minutes / usual / ERROR**2
            before = evidence.get(region, (0.0, 0.0))
            evidence[region] = (before[0] + precision, before[1] + precision * faster)
    found = shrink(evidence, usual=0.0, spread=SPREAD, region_spread=REGION_SPREAD)
    mean = exp(found.mean)
    regions = {region: exp(of_region) for region, (of_region, _) in found.regions.items()}
    return Speed(mean=mean, sd=mean * sqrt(found.var), entries=counted, regions=regions, rejected=tuple(rejected))
