"""The dog's own pace, learned from the lengths that were measured on it.

Each measured length is one point on a line through the origin whose slope is that region's pace: for hair neither cut
nor full grown, ``length + mm_per_week * breakthrough_weeks = pace * mm_per_week * age``. The dog's pace is normal about
1, a region's about the dog's, a measurement about the truth: the answer is the closed form of a two-level normal model.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import sqrt
from typing import NamedTuple

from attrs import field, frozen

from coatrules.coat import Growth

LEAST, MOST = 0.4, 2.5  # outside of this the record is wrong rather than the dog unusual


class Observation(NamedTuple):
    """The longest hair of a region, measured: its age in calendar weeks, its length in mm, and how such hair grows."""

    region: str
    age_weeks: float
    length_mm: float
    growth: Growth


@frozen
class Pace:
    """How fast this dog's coat comes, 1 being the profile's typical dog: mean and standard deviation.

    observations: how many lengths it rests on. regions: mean and standard deviation of each measured region.
    doubtful: regions whose lengths alone give a pace outside 0.4 to 2.5; they count for nothing here.
    """

    mean: float
    sd: float
    observations: int = 0
    regions: Mapping[str, tuple[float, float]] = field(factory=dict)
    doubtful: tuple[str, ...] = ()

    def of(self, region: str) -> float:
        """The pace to plan a region with: its own, or the dog's where nothing was measured there."""
        return self.regions[region][0] if region in self.regions else self.mean


def learn(
    observations: Iterable[Observation], *, spread: float, region_spread: float = 0.10, measure_mm: float = 2.0
) -> Pace:
    """The pace of a dog, from lengths measured on it and what its breed is like.

    spread: standard deviation of the pace between dogs. region_spread: between the regions of one dog. measure_mm: of
    a measurement. Lengths of hair that is under the skin or full grown tell no pace and are passed over. ``ValueError``
    for spreads below 0 or a measurement without error.
    """
    if spread < 0 or region_spread < 0 or measure_mm <= 0:
        raise ValueError("spreads must be 0 or more, and the error of a measurement more than 0 mm")
    slopes, counts = _slopes(observations, measure_mm)
    doubtful = tuple(sorted(region for region, (slope, _) in slopes.items() if not LEAST <= slope <= MOST))
    for region in doubtful:
        del slopes[region]

    region_var = region_spread**2
    # Multiplied through by the prior's variance, so that a spread of 0 (a pace that is known) needs no case of its own.
    weights = {region: spread**2 / (var + region_var) for region, (_, var) in slopes.items()}
    total = 1 + sum(weights.values())
    mean = (1 + sum(weight * slopes[region][0] for region, weight in weights.items())) / total
    dog_var = spread**2 / total

    regions = {}
    for region, (slope, var) in slopes.items():
        own = region_var / (region_var + var)
        region_sd = sqrt(own * var + (1 - own) ** 2 * dog_var)
        regions[region] = (own * slope + (1 - own) * mean, region_sd)
    return Pace(mean, sqrt(dog_var), sum(counts[region] for region in slopes), regions, doubtful)


def _slopes(
    observations: Iterable[Observation], measure_mm: float
) -> tuple[dict[str, tuple[float, float]], dict[str, int]]:
    """Each region's least-squares slope through the origin with its variance, and the number of lengths behind it."""
    sums: dict[str, tuple[float, float]] = {}
    counts: dict[str, int] = {}
    for region, age_weeks, length_mm, growth in observations:
        if age_weeks <= 0 or not 0 < length_mm < growth.full_mm:
            continue
        x = growth.mm_per_week * age_weeks
        y = length_mm + growth.mm_per_week * growth.breakthrough_weeks
        xy, xx = sums.get(region, (0.0, 0.0))
        sums[region] = (xy + x * y, xx + x * x)
        counts[region] = counts.get(region, 0) + 1
    return {region: (xy / xx, measure_mm**2 / xx) for region, (xy, xx) in sums.items()}, counts
