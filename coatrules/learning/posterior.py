"""What is known of one dog's hair: its pace, how long it grows, and the ages it arrived with, as weights on a grid."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from itertools import accumulate
from math import erfc, exp, log, sqrt
from typing import NamedTuple

from coatrules.coat.growth import Growth
from coatrules.learning.hand import length_error
from coatrules.learning.observations import Length, Observation

_FINER = 8  # cells a node is cut into where a quantile is read
POINTS = ((-sqrt(3), 1 / 6), (0.0, 2 / 3), (sqrt(3), 1 / 6))  # of a normal (Gauss and Hermite)


class Axis(NamedTuple):
    """The values of an unknown at the nodes of the grid, and the weight of each; the weights add up to 1."""

    values: tuple[float, ...]
    weights: tuple[float, ...]

    @property
    def mean(self) -> float:
        """The mean."""
        return _mean_and_sd(self)[0]

    @property
    def sd(self) -> float:
        """The standard deviation."""
        return _mean_and_sd(self)[1]

    def quantile(self, share: float) -> float:
        """Returns the value below which ``share`` (0 to 1) lies, of nodes that are evenly apart."""
        return Inverse(self.values, self.weights).at(share)


@lru_cache(maxsize=64)  # of the dog at hand they are asked for again with every region
def _mean_and_sd(axis: Axis) -> tuple[float, float]:
    mean = sum(value * weight for value, weight in zip(axis.values, axis.weights, strict=True))
    return mean, sqrt(sum(w * (value - mean) ** 2 for value, w in zip(axis.values, axis.weights, strict=True)))


class OfRegion(NamedTuple):
    """How likely a region's records are at some paces of that region, for each ``c`` and each age of its arrival (one if it
    has none). No paces at all: the region's pace is the dog's."""

    arrived: str | None
    paces: tuple[tuple[tuple[float, ...], ...], ...]
    chances: tuple[tuple[tuple[float, ...], ...], ...]

    def at(self, c: int, age: int, pace: float, spread: float) -> tuple[float, float]:
        """Returns mean and variance of the region's pace at a node, where the dog's pace is ``pace``."""
        if not self.paces:
            return pace, 0.0
        total = mean = square = 0.0
        for own, chance in zip(self.paces[c][age], self.chances[c][age], strict=True):
            off = own - pace
            part = chance * exp(-0.5 * (off / spread) ** 2)
            total += part
            mean += part * off
            square += part * off * off
        if total <= 1e-300:
            return pace, 0.0
        mean /= total
        return pace + mean, max(square / total - mean * mean, 0.0)


class OfArrival(NamedTuple):
    """The ages (weeks at pace 1, at the arrival) that a group may have had for each ``c``, rising, and their weights at each node."""

    ages: tuple[tuple[float, ...], ...]
    weights: tuple[tuple[float, ...], ...]


class Outlier(NamedTuple):
    """A record that does not fit all else that is known; it was left out. expected: the length in mm, or None."""

    measured: Observation
    expected: float | None


class Posterior(NamedTuple):
    """What is known of one dog's hair. Node ``i * len(c) + j`` of ``weights`` is the i-th pace and the j-th ``c``.

    prior_sds: of pace, ``c`` and a region's pace from the dog's, before any record. region_spread: how far the paces of this
    dog's regions lie from its own.
    pace: of the dog. final: the logarithm ``c`` of how many times as long as usual its hair grows. observations: records it
    rests on, one of many regions counting once. log_evidence: logarithm of how likely all of it was, but for a constant that
    the records alone decide.
    """

    pace: Axis
    final: Axis
    weights: tuple[float, ...]
    regions: Mapping[str, OfRegion]
    arrivals: Mapping[str, OfArrival]
    prior_sds: tuple[float, float, float]
    region_spread: float
    measure_mm: float
    observations: float
    log_evidence: float
    outliers: tuple[Outlier, ...] = ()

    def grows(self, cycle: Growth) -> Axis:
        """Returns the growing time of hair of a kind on this dog, in weeks at pace 1."""
        return Axis(tuple([cycle.grows_weeks * exp(c) for c in self.final.values]), self.final.weights)

    def typical(self, cycle: Growth) -> Growth:
        """Returns the cycle to reckon with on this dog: of the mean growing time (its geometric mean)."""
        return cycle.growing(cycle.grows_weeks * exp(self.final.mean))

    def pace_of(self, region: str) -> tuple[float, float]:
        """Returns mean and standard deviation of a region's pace."""
        of_region = self.regions.get(region)
        if of_region is None:
            return self.pace.mean, sqrt(self.pace.sd**2 + self.region_spread**2)
        mean = square = 0.0
        for weight, _, _, _, own, var in self.hypotheses(region, of_region.arrived):
            mean += weight * own
            square += weight * (own * own + var)
        return mean, sqrt(max(square - mean**2, 0.0))

    def arrival_age(self, group: str) -> Axis:
        """Returns the ages of the hair a group may have arrived with, in weeks at pace 1 (to a tenth), not evenly apart."""
        of_group = self.arrivals[group]
        width = len(self.final.values)
        found: dict[float, float] = {}
        for node, (weight, shares) in enumerate(zip(self.weights, of_group.weights, strict=True)):
            for age, share in zip(of_group.ages[node % width], shares, strict=True):
                found[round(age, 1)] = found.get(round(age, 1), 0.0) + weight * share
        return Axis(tuple(sorted(found)), tuple([found[age] for age in sorted(found)]))

    def median_arrival(self, group: str) -> float:
        """Returns the age to reckon with of the hair a group arrived with, in weeks at pace 1."""
        ages = self.arrival_age(group)
        reached, before, last = 0.0, 0.0, ages.values[0]
        for age, weight in zip(ages.values, ages.weights, strict=True):
            middle = reached + weight / 2  # half of a node's weight lies below it
            if middle >= 0.5:
                return last + (age - last) * (0.5 - before) / (middle - before)
            reached, before, last = reached + weight, middle, age
        return last

    def tail(self, one: Length) -> tuple[float, float]:
        """Returns how likely a length at least as far from what is expected was (two-sided), and the length expected."""
        # A measurement of many regions is one measurement: its error is no larger for that.
        below, expected = 0.0, 0.0
        cycle, error = one.cycle, length_error(self.measure_mm)
        for weight, _, c, age, own, var in self.hypotheses(one.region, one.arrived):
            grown = cycle.grows_weeks * exp(c)
            since = age + own * one.weeks - cycle.lag_weeks
            rate = cycle.mm_per_week * one.weeks if 0 < since < grown and not one.at_end else 0.0
            mm = cycle.mm_per_week * (grown if one.at_end else min(max(since, 0.0), grown))
            below += weight * 0.5 * erfc((mm - one.length_mm) / sqrt(2 * (error**2 + rate * rate * var)))
            expected += weight * mm
        return 2 * min(below, 1 - below), expected

    def hypotheses(
        self, region: str, arrived: str | None = None
    ) -> Iterable[tuple[float, float, float, float, float, float]]:
        """Yields all that is possible of a region: weight, the dog's pace, ``c``, the age its hair arrived with (weeks at pace
        1; 0 without ``arrived``), and mean and variance of the region's pace."""
        width = len(self.final.values)
        of_region = self.regions.get(region)
        group = of_region.arrived if of_region is not None and of_region.arrived is not None else arrived
        of_group = self.arrivals.get(group) if group is not None else None
        for node, weight in enumerate(self.weights):
            if weight < 1e-7:
                continue
            at_c = node % width
            k, c = self.pace.values[node // width], self.final.values[at_c]
            ages, shares = ((0.0,), (1.0,)) if of_group is None else (of_group.ages[at_c], of_group.weights[node])
            for at, (age, share) in enumerate(zip(ages, shares, strict=True)):
                if weight * share < 1e-8:
                    continue
                if of_region is None:
                    mean, var = k, self.region_spread**2
                else:
                    mean, var = of_region.at(at_c, at if of_region.arrived is not None else 0, k, self.region_spread)
                yield weight * share, k, c, age, mean, var


class Inverse:
    """Maps a share (0 to 1) to the value below which so much of the weight lies.

    Between nodes that are evenly apart the logarithm of the weight runs along the parabola through the nearest three, which
    a normal's does exactly; it is followed to half a step beyond the outermost.
    """

    def __init__(self, values: Sequence[float], weights: Sequence[float], fine: int = _FINER) -> None:
        self.values, reached = [], 0.0
        self.reached: list[float] = []
        if len(values) < 3:
            self.values, self.reached = list(values), list(accumulate(weights))
            self.half = 0.0
            return
        step = values[1] - values[0]
        logs = [log(max(weight, 1e-30)) for weight in weights]
        self.half = step / fine / 2
        for at, value in enumerate(values):
            middle = min(max(at, 1), len(values) - 2)
            before, here, after = logs[middle - 1 : middle + 2]
            slope, bend = (after - before) / 2, (after + before) / 2 - here
            for part in range(fine):
                off = (part + 0.5) / fine - 0.5
                x = off + at - middle
                reached += exp(min(here + slope * x + bend * x * x, 0.7)) / fine
                self.values.append(value + off * step)
                self.reached.append(reached)

    def at(self, share: float) -> float:
        """Returns the value below which ``share`` lies."""
        sought = share * self.reached[-1]
        at = min(bisect_left(self.reached, sought), len(self.values) - 1)
        before = self.reached[at - 1] if at else 0.0
        own = self.reached[at] - before
        return self.values[at] + self.half * (2 * (sought - before) / own - 1 if own > 0 else 0.0)
