"""One posterior of a dog's pace, the final length of its hair and the ages it arrived with, on a grid.

The dog's pace ``k`` is normal about 1; its hair grows ``exp(c)`` times as long as the profile says, ``c`` normal about 0;
each region's pace deviates from the dog's, normal about it; hair that arrived at an age nobody wrote down has that age
as a third unknown of its group, summed over. Pace says when, growing time says how long: the final length does not
contain the pace.

At each node of ``c`` (and of an arrival's age) the likelihood of a region's records is worked out at a few paces of that
region, laid where its lengths put them, and spread to the dog's paces by the normal deviation between regions. All of it
is a rectangle rule on nodes a fraction of a standard deviation apart, which for such smooth curves is exact to far
below a measurement's error. Where what is known is narrower than the grid, the grid is laid anew about it.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from itertools import accumulate
from math import erfc, exp, inf, log, pi, sqrt
from typing import NamedTuple

from coatrules.coat.ripening import HairCycle
from coatrules.learning.observations import (
    STEPS,
    TRIED,
    Arrival,
    AtLeast,
    Came,
    Felt,
    Layers,
    Length,
    Observation,
    Part,
    came_table,
    end_table,
    verdict_table,
)

FINAL_SPREAD = 0.25  # of c: within one kennel final lengths differed by a factor of three
CONTRARY = 3.5  # standard deviations from all else that is known: one honest record in two thousand

_NODES = 9
_REACH = 2.4  # standard deviations either side that the grid holds
_POINT_STEP = 0.8  # standard deviations from node to node of a region's pace and of an arrival's age
_ENDED_POINTS = 3  # ages of hair that was at its end when it arrived and was measured
_MAYBE_ENDED_POINTS = 6  # and of hair that was first measured later
_FINER = 8  # cells a node is cut into where a quantile is read
_MOST_STEPS = 12  # of a region's paces, either side
_SPLITS = 16  # ages tried between growing hair and hair at its end, to lay nodes
_POINTS = ((-sqrt(3), 1 / 6), (0.0, 2 / 3), (sqrt(3), 1 / 6))  # of a normal (Gauss and Hermite)
_FINE = 0.8  # a spread of less than so many steps of the grid is not told by it
_PASSES = 6
_SUSPECT = 2.0  # standard deviations from which a record is looked at twice
_CLEAR = 3.0  # the same where so many others are known that one cannot draw them all to itself
_MANY = 12  # records up to which one can


class Axis(NamedTuple):
    """The values of an unknown at the nodes of the grid, and the weight of each; the weights add up to 1."""

    values: tuple[float, ...]
    weights: tuple[float, ...]

    @property
    def mean(self) -> float:
        """The mean."""
        return sum(value * weight for value, weight in zip(self.values, self.weights, strict=True))

    @property
    def sd(self) -> float:
        """The standard deviation."""
        mean = self.mean
        return sqrt(sum(w * (value - mean) ** 2 for value, w in zip(self.values, self.weights, strict=True)))

    def quantile(self, share: float) -> float:
        """Returns the value below which ``share`` (0 to 1) lies, of nodes that are evenly apart."""
        return Inverse(self.values, self.weights).at(share)


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

    pace: of the dog. final: the logarithm ``c`` of how many times as long as usual its hair grows. observations: records it
    rests on, one of many regions counting once. log_evidence: logarithm of how likely all of it was, but for a constant that
    the records alone decide.
    """

    pace: Axis
    final: Axis
    weights: tuple[float, ...]
    regions: Mapping[str, OfRegion]
    arrivals: Mapping[str, OfArrival]
    region_spread: float
    observations: float
    log_evidence: float
    outliers: tuple[Outlier, ...] = ()

    def grows(self, cycle: HairCycle) -> Axis:
        """Returns the growing time of hair of a kind on this dog, in weeks at pace 1."""
        return Axis(tuple([cycle.grows_weeks * exp(c) for c in self.final.values]), self.final.weights)

    def typical(self, cycle: HairCycle) -> HairCycle:
        """Returns the cycle to reckon with on this dog: of the mean growing time (its geometric mean)."""
        return cycle._replace(grows_weeks=cycle.grows_weeks * exp(self.final.mean))

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

    def expected_ripe(self, region: str, cycle: HairCycle, parts: Sequence[Part]) -> float:
        """Returns the mean over all that is possible of the ripe share (0 to 1) of a sample of a region's hair."""
        total = 0.0
        for weight, _, c, age, own, var in self.hypotheses(region, _arrived(parts)):
            grown = cycle.grows_weeks * exp(c)
            for point, chance in _POINTS:
                total += weight * chance * _ripe_step(parts, cycle, grown, own + point * sqrt(var), age) / STEPS
        return total

    def tail(self, one: Length) -> tuple[float, float]:
        """Returns how likely a length at least as far from what is expected was (two-sided), and the length expected."""
        # A measurement of many regions is one measurement: its error is no larger for that.
        below, expected = 0.0, 0.0
        cycle = one.cycle
        for weight, _, c, age, own, var in self.hypotheses(one.region, one.arrived):
            grown = cycle.grows_weeks * exp(c)
            since = age + own * one.weeks - cycle.lag_weeks
            rate = cycle.mm_per_week * one.weeks if 0 < since < grown and not one.at_end else 0.0
            mm = cycle.mm_per_week * (grown if one.at_end else min(max(since, 0.0), grown))
            below += weight * 0.5 * erfc((mm - one.length_mm) / sqrt(2 * (MEASURE_MM**2 + rate * rate * var)))
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


MEASURE_MM = 2.0  # the error of a measurement on a dog, as a standard deviation. No source


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


def learn(
    observations: Iterable[Observation],
    arrivals: Mapping[str, Arrival] | None = None,
    *,
    pace_spread: float,
    region_spread: float = 0.10,
    final_spread: float = FINAL_SPREAD,
    contrary_sd: float = inf,
) -> Posterior:
    """Returns what all records say of a dog's hair, in whatever order they come.

    arrivals: the groups whose age at the arrival is unknown; a record may name one. pace_spread: standard deviation of
    the pace between dogs. region_spread: between the regions of one dog. final_spread: of ``c`` between dogs. What lies more
    than ``contrary_sd`` standard deviations from what all the rest foretells is left out, the furthest first.
    ``ValueError`` for spreads below 0.
    """
    if min(pace_spread, region_spread, final_spread) < 0:
        raise ValueError("spreads must be 0 or more")
    grid = _Grid(arrivals or {}, pace_spread, region_spread, final_spread)
    records = sorted(observations, key=_place)
    outliers: list[Outlier] = []
    found = grid.posterior(records)
    if contrary_sd < inf:
        least = erfc(contrary_sd / sqrt(2))
        while (worst := grid.furthest(records, found, least)) is not None:
            at, expected = worst
            outliers.append(Outlier(records.pop(at), expected))
            found = grid.posterior(records)
    return found._replace(outliers=tuple(outliers))


def _place(one: Observation) -> tuple[str, str, int, int, str]:
    return one.region, type(one).__name__, one.day, one.visit, repr(one)


def _arrived(parts: Sequence[Part]) -> str | None:
    return next((part.arrived for part in parts if part.arrived is not None), None)


def _ripe_step(parts: Sequence[Part], cycle: HairCycle, grown: float, k: float, age: float) -> int:
    """The ripe share of a sample in hundredths."""
    over = cycle.spread * grown
    from_ = cycle.lag_weeks + grown - over
    ripe = 0.0
    for weeks, share, kept, arrived in parts:
        stopped = (k * weeks + (age if arrived is not None else 0.0) - from_) / over
        if stopped >= 1:
            ripe += share
        elif stopped > 1 - kept:
            ripe += share * (1 - (1 - stopped) / kept)
    return int(ripe * STEPS + 0.5)


class _Term(NamedTuple):
    """A record that is no length: of ripeness (``table`` of a sample), of hair of at least a length, or of layers."""

    weight: float
    table: tuple[float, ...] | None
    parts: tuple[Part, ...]
    least: float
    most: float
    error: float


class _Known:
    """Lengths of hair of known age: sums up to each age, so that any node reads its own in a few steps."""

    def __init__(self, lengths: Sequence[Length], rate: float, lag: float) -> None:
        lengths = sorted(lengths, key=lambda one: one.weeks)
        precision = [one.weight / MEASURE_MM**2 for one in lengths]
        mm = [one.length_mm for one in lengths]
        full = [x + rate * lag for x in mm]  # so that growing hair lies on a line through the origin
        weeks = [rate * one.weeks for one in lengths]
        self.weeks = [one.weeks for one in lengths]

        def sums(*factors: Sequence[float]) -> list[float]:
            products = precision
            for factor in factors:
                products = [product * x for product, x in zip(products, factor, strict=True)]
            return [0.0, *accumulate(products)]

        self.n, self.x, self.xx = sums(), sums(mm), sums(mm, mm)
        self.yy, self.ty, self.tt = sums(full, full), sums(weeks, full), sums(weeks, weeks)
        splits = [at for at in range(1, len(lengths)) if self.weeks[at] > self.weeks[at - 1]]
        self.splits = [0, *splits[:: len(splits) // _SPLITS + 1], len(lengths)]

    def growing(self, full: float, precision: float) -> tuple[float, float]:
        """Slope and precision of the pace by the lengths up to an age, all older hair being at its end: as fits best."""
        best = inf, 0.0, 0.0
        for at in self.splits:
            ty, tt = self.ty[at], self.tt[at]
            off = (ty - tt) / (precision + tt)  # of the pace from 1
            pace = 1 + off
            miss = self.yy[at] - 2 * pace * ty + pace * pace * tt + precision * off * off
            miss += self.xx[-1] - self.xx[at] - 2 * full * (self.x[-1] - self.x[at])
            miss += full * full * (self.n[-1] - self.n[at])
            best = min(best, (miss, ty, tt))
        return best[1:]

    def miss(self, k: float, lag: float, grown: float, rate: float, ratio: float = 1.0) -> float:
        """The sum of squared misses, each times its precision, at a pace. ratio: what the precision of a length at its end is
        lessened by, as the end is known to a cell of the grid only; the sum then holds twice the logarithm of that loss."""
        low, high = bisect_right(self.weeks, lag / k), bisect_left(self.weeks, (lag + grown) / k)
        high = max(low, high)
        full = rate * grown
        return (
            self.xx[low]
            + (self.yy[high] - self.yy[low])
            - 2 * k * (self.ty[high] - self.ty[low])
            + k * k * (self.tt[high] - self.tt[low])
            + ratio
            * (
                (self.xx[-1] - self.xx[high])
                - 2 * full * (self.x[-1] - self.x[high])
                + full * full * (self.n[-1] - self.n[high])
            )
            - (log(ratio) * MEASURE_MM**2 * (self.n[-1] - self.n[high]) if ratio < 1 else 0.0)
        )


class _Region:
    """All records of one region, or of several that have the same."""

    def __init__(self, records: Sequence[Observation]) -> None:
        self.count = 1
        self.cycle = cycle = records[0].cycle
        self.arrived: str | None = None
        known: list[Length] = []
        self.arriving: list[tuple[float, float, float]] = []  # weeks since the arrival, mm, precision
        self.ended = [0.0, 0.0, 0.0]  # precision, times mm, times mm squared
        terms: dict[tuple[object, ...], _Term] = {}

        def add(one: _Term) -> None:
            key = one[1:]  # what was said in the same words of hair as old is one term with the weight of all
            terms[key] = one._replace(weight=one.weight + terms[key].weight) if key in terms else one

        for one in records:
            if isinstance(one, Layers):
                add(_Term(one.weight, None, (), one.least, one.most, one.error))
                continue
            if isinstance(one, Felt):
                parts = one.tenth
                add(_Term(one.weight, verdict_table(one.comes), parts, 0, 0, 0))
            elif isinstance(one, Came):
                parts = one.asked
                add(_Term(one.weight, came_table(round(one.share * TRIED)), parts, 0, 0, 0))
            else:
                parts = (Part(one.weeks, arrived=one.arrived),)
                if isinstance(one, AtLeast):
                    add(_Term(one.weight, None, parts, one.length_mm, inf, MEASURE_MM))
                elif one.at_end:
                    precision = one.weight / MEASURE_MM**2
                    self.ended[0] += precision
                    self.ended[1] += precision * one.length_mm
                    self.ended[2] += precision * one.length_mm**2
                    add(_Term(one.weight, end_table(), parts, 0, 0, 0))
                elif one.arrived is not None:
                    self.arriving.append((one.weeks, one.length_mm, one.weight / MEASURE_MM**2))
                else:
                    known.append(one)
            self.arrived = _arrived(parts) or self.arrived
        self.arriving.sort()
        self.terms = tuple(terms.values())
        simple = [one for one in self.terms if one.table is not None and len(one.parts) == 1 and one.parts[0].kept == 1]
        self.others = tuple([one for one in self.terms if one not in simple])
        # Of one cohort of which nothing has ripened yet: weeks, whether they count from the arrival, weighed table.
        self.simple = tuple(
            [
                (one.parts[0].weeks, one.parts[0].arrived is not None, _weighed(one.table or (), one.weight))
                for one in simple
            ]
        )
        self.known = _Known(known, cycle.mm_per_week, cycle.lag_weeks) if known else None

    def over(
        self, grown: float, age: float, spread: float, deviation: float, cell: float = 0.0
    ) -> tuple[tuple[float, ...], tuple[float, ...], float]:
        """Some paces of the region, and the chance of its records at each; the last is the logarithm of its scale.

        spread: of a region's pace before any record. deviation: of it from the dog's. cell: width of the grid's cells of ``c``.
        """
        middle, sd = self._guess(grown, age, spread)
        widest = 1.2 * spread
        paces: list[float] = []
        for _ in range(_PASSES):
            # The deviation from the dog's pace makes the curve narrower still: the nodes are to tell it.
            step = _POINT_STEP * sd
            if deviation < sd:
                step = min(step, 1.6 * sd * deviation / sqrt(sd * sd + deviation * deviation))
            step = min(step, self._kink(grown, age, middle, sd))
            reach = min(int(_REACH * sd / step + 0.5), _MOST_STEPS)
            step = _REACH * sd / (reach + 0.5)
            paces = [max(middle + at * step, _LEAST_PACE) for at in range(-reach, reach + 1)]
            logs = self.logs_at(paces, grown, age, cell)
            posterior = [log_ - 0.5 * ((k - 1) / spread) ** 2 for log_, k in zip(logs, paces, strict=True)]
            highest = max(posterior)
            chances = [exp(one - highest) for one in posterior]
            total = sum(chances)
            mean = sum(chance * k for chance, k in zip(chances, paces, strict=True)) / total
            found = sqrt(sum(chance * (k - mean) ** 2 for chance, k in zip(chances, paces, strict=True)) / total)
            edge = max(chances[0], chances[-1]) > 0.05 * total
            if edge and widest > sd:
                middle, sd = 1.0, widest  # a guess that was wrong: all there is, as finely as its kinks ask
            elif edge and max(chances[0], chances[-1]) > 0.5 * total:
                middle = mean
            elif found < 0.5 * step:
                middle, sd = mean, max(found, step / 3)
            else:
                break
        highest = max(logs)
        return tuple(paces), tuple([exp(one - highest) for one in logs]), highest + log(step)

    def _kink(self, grown: float, age: float, middle: float, sd: float) -> float:
        """The widest step that still tells where hair measured near its end began to be at its end."""
        cycle = self.cycle
        slow, fast = max(middle - _REACH * sd, _LEAST_PACE), middle + _REACH * sd
        ended, oldest = cycle.lag_weeks + grown, 0.0
        if self.known is not None:
            at = bisect_right(self.known.weeks, ended / slow)
            if at and self.known.weeks[at - 1] >= ended / fast:
                oldest = self.known.weeks[at - 1]
        for weeks, _, _ in self.arriving:
            if slow * weeks <= ended - age <= fast * weeks:
                oldest = max(oldest, weeks)
        return 1.6 * MEASURE_MM / (cycle.mm_per_week * oldest) if oldest else inf

    def _guess(self, grown: float, age: float, spread: float) -> tuple[float, float]:
        """Where a region's pace lies by its lengths that are clearly short of the end, and how surely."""
        cycle = self.cycle
        rate, lag = cycle.mm_per_week, cycle.lag_weeks
        precision = 1 / spread**2
        total, slope = precision, precision
        if self.known is not None:
            ty, tt = self.known.growing(rate * grown, precision)
            slope += ty
            total += tt
        if self.arriving:
            best = inf, 0.0, 0.0
            for at in range(len(self.arriving) + 1):
                ty = tt = miss = 0.0
                for weeks, mm, weight in self.arriving[:at]:
                    v, y = rate * weeks, mm + rate * (lag - age)
                    ty += weight * v * y
                    tt += weight * v * v
                    miss += weight * y * y
                off = (ty - tt) / (precision + tt)
                miss += (1 + off) * ((1 + off) * tt - 2 * ty) + precision * off * off
                miss += sum([weight * (mm - rate * grown) ** 2 for _, mm, weight in self.arriving[at:]])
                best = min(best, (miss, ty, tt))
            slope += best[1]
            total += best[2]
        return slope / total, 1 / sqrt(total)

    def logs_at(self, paces: Sequence[float], grown: float, age: float, cell: float = 0.0) -> list[float]:
        """Log likelihood of all records at some paces of the region, lengths at their end averaged over a cell of ``c``."""
        cycle = self.cycle
        rate, lag = cycle.mm_per_week, cycle.lag_weeks
        full, known, since = rate * grown, self.known, age - lag
        # An end so many times surer than the cells are wide would fall between two nodes.
        ratio = 1 / (1 + (full * cell / MEASURE_MM) ** 2 / 12)
        lost = log(ratio) * MEASURE_MM**2
        fixed = 0.0
        if self.ended[0]:
            fixed = ratio * (self.ended[2] - 2 * full * self.ended[1] + full * full * self.ended[0])
            fixed -= lost * self.ended[0]
        logs = self.terms_at(paces, grown, age) if self.terms else [0.0] * len(paces)
        for at, k in enumerate(paces):
            miss = fixed if known is None else fixed + known.miss(k, lag, grown, rate, ratio)
            for weeks, mm, precision in self.arriving:
                length = since + k * weeks
                if length >= grown:
                    miss += precision * (ratio * (mm - full) ** 2 - lost)
                else:
                    off = mm - rate * length if length > 0 else mm
                    miss += precision * off * off
            logs[at] -= 0.5 * miss
        return logs

    def terms_at(self, paces: Sequence[float], grown: float, age: float) -> list[float]:
        """Log likelihood of all that is no length at some paces of the region."""
        cycle = self.cycle
        scale = STEPS / (cycle.spread * grown)
        from_ = cycle.lag_weeks + (1 - cycle.spread) * grown
        rows = [
            (weeks, ((age if arrived else 0.0) - from_) * scale + 0.5, table) for weeks, arrived, table in self.simple
        ]
        found = []
        for k in paces:
            scaled, total = k * scale, 0.0
            for weeks, base, table in rows:
                step = scaled * weeks + base
                total += table[0 if step <= 0 else int(step) if step < STEPS else STEPS]
            for one in self.others:
                total += self._term_at(one, k, grown, age)
            found.append(total)
        return found

    def _term_at(self, one: _Term, k: float, grown: float, age: float) -> float:
        cycle = self.cycle
        weight, table, parts, least, most, error = one
        if table is not None:
            return weight * table[_ripe_step(parts, cycle, grown, k, age)]
        seen = k  # of layers; of hair of at least a length, its length
        if parts:
            weeks, _, _, arrived = parts[0]
            since = k * weeks + (age if arrived is not None else 0.0) - cycle.lag_weeks
            seen = cycle.mm_per_week * min(max(since, 0.0), grown)
        chance = erfc((least - seen) / (error * _ROOT)) - (erfc((most - seen) / (error * _ROOT)) if most < inf else 0)
        return weight * log(max(chance / 2, 1e-12))


@lru_cache(maxsize=256)
def _weighed(table: tuple[float, ...], weight: float) -> tuple[float, ...]:
    return tuple([weight * one for one in table])


_ROOT = sqrt(2)
_LEAST_PACE = 0.05


class _Grid(NamedTuple):
    """What is known before any record."""

    arrivals: Mapping[str, Arrival]
    pace_spread: float
    region_spread: float
    final_spread: float

    def posterior(self, records: Sequence[Observation]) -> Posterior:
        by_region: dict[str, list[Observation]] = {}
        for one in records:
            by_region.setdefault(one.region, []).append(one)
        classes: dict[tuple[object, ...], _Region] = {}
        names: dict[str, _Region] = {}
        for name, own in by_region.items():
            key = tuple([(type(one).__name__, *one[1:]) for one in own])
            if key in classes:
                classes[key].count += 1
            else:
                classes[key] = _Region(own)
            names[name] = classes[key]
        weight = sum(one.weight for one in records)
        paces = _nodes(1.0, self.pace_spread * _REACH)
        finals = _nodes(0.0, self.final_spread * _REACH)
        for _ in range(_PASSES):
            found = self._over(names, list(classes.values()), paces, finals, weight)
            k, c = _narrowed(found.pace), _narrowed(found.final)
            if (k is None and c is None) or not records:
                break
            paces, finals = k or paces, c or finals
        return found

    def _over(
        self,
        names: Mapping[str, _Region],
        regions: Sequence[_Region],
        paces: tuple[float, ...],
        finals: tuple[float, ...],
        observations: float,
    ) -> Posterior:
        alone = [region for region in regions if region.arrived is None]
        groups = {name: [region for region in regions if region.arrived == name] for name in self.arrivals}
        curves: dict[int, tuple[list[tuple[tuple[float, ...], ...]], list[tuple[tuple[float, ...], ...]]]] = {
            id(region): ([], []) for region in regions
        }
        ages_of: dict[str, list[tuple[float, ...]]] = {name: [] for name in groups}
        shares_of: dict[str, list[list[tuple[float, ...]]]] = {name: [] for name in groups}  # by c, then by pace
        columns = []
        cell = _step(finals) if len(finals) > 1 else 0.0
        for c in finals:
            factor = exp(c)
            prior = -0.5 * (c / self.final_spread) ** 2 if self.final_spread else 0.0
            column = [prior - (0.5 * ((k - 1) / self.pace_spread) ** 2 if self.pace_spread else 0.0) for k in paces]
            for region in alone:
                for at, one in enumerate(self._of_region(region, factor, (0.0,), paces, curves, cell)[0]):
                    column[at] += one
            for name, members in groups.items():
                ages, priors = self._ages(self.arrivals[name], members, paces, factor)
                ages_of[name].append(ages)
                rows = [list(prior_of_pace) for prior_of_pace in priors]  # by pace, then by age
                for region in members:
                    for at_age, of_paces in enumerate(self._of_region(region, factor, ages, paces, curves, cell)):
                        for at, one in enumerate(of_paces):
                            rows[at][at_age] += one
                shares_of[name].append([])
                for at, row in enumerate(rows):
                    highest = max(row)
                    shares = [exp(one - highest) for one in row]
                    whole = sum(shares)
                    column[at] += highest + log(whole)
                    shares_of[name][-1].append(tuple([share / whole for share in shares]))
            columns.append(column)
        logs = [columns[j][i] for i in range(len(paces)) for j in range(len(finals))]
        highest = max(logs)
        weights = [exp(one - highest) for one in logs]
        whole = sum(weights)
        weights = [weight / whole for weight in weights]
        width = len(finals)
        return Posterior(
            pace=Axis(paces, tuple([sum(weights[at : at + width]) for at in range(0, len(weights), width)])),
            final=Axis(finals, tuple([sum(weights[at::width]) for at in range(width)])),
            weights=tuple(weights),
            regions={
                name: OfRegion(region.arrived, *(tuple(curve) for curve in curves[id(region)]))
                for name, region in names.items()
            },
            arrivals={
                name: OfArrival(
                    tuple(ages_of[name]), tuple([of_c[i] for i in range(len(paces)) for of_c in shares_of[name]])
                )
                for name in groups
            },
            region_spread=self.region_spread,
            observations=observations,
            log_evidence=highest + log(whole) + log(_step(paces) * _step(finals)),
        )

    def _of_region(
        self,
        region: _Region,
        factor: float,
        ages: Sequence[float],
        paces: Sequence[float],
        curves: Mapping[int, tuple[list[tuple[tuple[float, ...], ...]], list[tuple[tuple[float, ...], ...]]]],
        cell: float,
    ) -> list[list[float]]:
        """The log likelihood of a region's records for each age and each pace of the dog; its curves are kept."""
        grown = region.cycle.grows_weeks * factor
        count, deviation = region.count, self.region_spread
        if not deviation:
            return [[count * one for one in region.logs_at(paces, grown, age, cell)] for age in ages]
        spread = sqrt(self.pace_spread**2 + deviation**2)
        scale = log(deviation * sqrt(2 * pi))
        slope = -0.5 / deviation**2
        rows, own_paces, own_chances = [], [], []
        for age in ages:
            nodes, chances, log_scale = region.over(grown, age, spread, deviation, cell)
            own_paces.append(nodes)
            own_chances.append(chances)
            pairs = [(node, chance) for node, chance in zip(nodes, chances, strict=True) if chance > 1e-12]
            row = []
            for k in paces:
                total = 1e-300
                for node, chance in pairs:
                    off = node - k
                    total += chance * exp(slope * off * off)
                row.append(count * (log(total) + log_scale - scale))
            rows.append(row)
        of_paces, of_chances = curves[id(region)]
        of_paces.append(tuple(own_paces))
        of_chances.append(tuple(own_chances))
        return rows

    def _ages(
        self, arrival: Arrival, members: Sequence[_Region], paces: Sequence[float], factor: float
    ) -> tuple[tuple[float, ...], list[list[float]]]:
        """The nodes of an arrival's age (weeks at pace 1), and for each pace the logarithm of the prior weight of each.

        Half of all hair arrives at its end, half still grows, any age of either as likely; none is older than the dog.
        Where its length was measured, most nodes lie where growing hair is about as long: others would count for nothing.
        """
        cycle = arrival.cycle
        grown, lag = cycle.grows_weeks * factor, cycle.lag_weeks
        ripens, ended = lag + (1 - cycle.spread) * grown, lag + grown
        oldest = ended + cycle.rests_weeks

        def below(age: float) -> float:
            if age <= ripens:
                return 0.5 * max(age - lag, 0.0) / (ripens - lag)
            return 0.5 + 0.5 * min(age - ripens, oldest - ripens) / (oldest - ripens)

        def at(share: float) -> float:
            if share <= 0.5:
                return lag + 2 * share * (ripens - lag)
            return ripens + (2 * share - 1) * (oldest - ripens)

        limits = [oldest if arrival.dog_weeks is None else min(oldest, k * arrival.dog_weeks) for k in paces]
        top = below(max(limits))
        if top <= 0:  # a dog younger than its hair takes to show
            return (max(limits),), [[0.0] for _ in paces]
        cells: list[tuple[float, float]] = []
        first = min((one for region in members for one in region.arriving), default=None)
        if first is not None:
            weeks, mm, _ = first
            error = MEASURE_MM / cycle.mm_per_week
            sd = sqrt(error**2 + (self.pace_spread**2 + self.region_spread**2) * weeks**2)
            step = min(_POINT_STEP * sd, 1.2 * error)
            middle, stop = lag + mm / cycle.mm_per_week - weeks, ended - weeks * paces[0]
            reach = int(_REACH * sd / step + 0.5)
            for point in range(-reach, reach + 1):
                low, high = middle + (point - 0.5) * step, middle + (point + 0.5) * step
                low, high = max(low, lag), min(high, stop)
                if high > low:
                    cells.append((low, high))
            from_ = below(max(cells[-1][1] if cells else 0.0, ended - weeks * paces[-1], lag))
            points = _MAYBE_ENDED_POINTS if weeks else _ENDED_POINTS
        else:
            from_, points = 0.0, _NODES
        if top > from_:
            share = (top - from_) / points
            cells += [(at(from_ + share * point), at(from_ + share * (point + 1))) for point in range(points)]
        ages = tuple([(low + high) / 2 for low, high in cells])
        priors = []
        for limit in limits:
            shares = [below(min(high, limit)) - below(min(low, limit)) for low, high in cells]
            whole = below(limit)
            if whole <= 0:
                shares[0] = whole = 1.0
            priors.append([log(max(share / whole, 1e-12)) for share in shares])
        return ages, priors

    def furthest(
        self, records: Sequence[Observation], found: Posterior, least: float
    ) -> tuple[int, float | None] | None:
        """Of all records less likely than ``least`` by what the rest foretells, the place of the least likely one."""
        if len(records) > _MANY:
            # One of many moves the rest but little: what is not far off by itself is not far off by the others.
            doubt = erfc(_CLEAR / _ROOT)
            paces = {region: found.pace_of(region)[0] for region in found.regions}
            suspects = [
                at for at, one in enumerate(records) if self._likely_at_mean(one, found, paces[one.region]) < doubt
            ]
        else:
            strained = abs(found.pace.mean - 1) > _SUSPECT * self.pace_spread or (
                abs(found.final.mean) > _SUSPECT * self.final_spread
            )
            doubt = erfc(_SUSPECT / _ROOT)
            if not strained and all(self._likely(one, found)[0] > doubt for one in records):
                return None
            suspects = list(range(len(records)))
        worst: tuple[float, int, float | None] | None = None
        for at in suspects:
            rest = self.posterior([*records[:at], *records[at + 1 :]])
            likely, expected = self._likely(records[at], rest)
            if likely < least and (worst is None or likely < worst[0]):
                worst = likely, at, expected
        return None if worst is None else worst[1:]

    def _likely(self, one: Observation, found: Posterior) -> tuple[float, float | None]:
        if isinstance(one, Length):
            return found.tail(one)
        region, arrived = _Region([one._replace(weight=1.0)]), None
        arrived = region.arrived
        likely = 0.0
        for weight, _, c, age, own, var in found.hypotheses(one.region, arrived):
            grown = one.cycle.grows_weeks * exp(c)
            logs = region.terms_at([own + point * sqrt(var) for point, _ in _POINTS], grown, age)
            likely += weight * sum(chance * exp(log_) for (_, chance), log_ in zip(_POINTS, logs, strict=True))
        return likely, None

    def _likely_at_mean(self, one: Observation, found: Posterior, pace: float) -> float:
        """How likely a record was on a dog that is just as expected; of hair that arrived, by all that is possible."""
        grown = one.cycle.grows_weeks * exp(found.final.mean)
        if isinstance(one, Length) and one.arrived is None and not one.at_end:
            mm = one.cycle.mm_per_week * min(max(pace * one.weeks - one.cycle.lag_weeks, 0.0), grown)
            return erfc(abs(one.length_mm - mm) / (MEASURE_MM * _ROOT))
        region = _Region([one._replace(weight=1.0)])
        if region.arrived is not None or not region.terms:
            return self._likely(one, found)[0]
        return exp(region.terms_at((pace,), grown, 0.0)[0])


def _nodes(middle: float, reach: float) -> tuple[float, ...]:
    if not reach:
        return (middle,)
    return tuple([middle + reach * (2 * at / (_NODES - 1) - 1) for at in range(_NODES)])


def _step(nodes: Sequence[float]) -> float:
    return nodes[1] - nodes[0] if len(nodes) > 1 else 1.0


def _narrowed(axis: Axis) -> tuple[float, ...] | None:
    """New nodes where these are too wide for what is known, or end too early; None where they serve."""
    if len(axis.values) == 1:
        return None
    step, sd = _step(axis.values), axis.sd
    if max(axis.weights[0], axis.weights[-1]) > 0.05:
        return _nodes(axis.mean, max(_REACH * sd, (axis.values[-1] - axis.values[0]) / 2))
    return None if sd >= _FINE * step else _nodes(axis.mean, _REACH * max(sd * 1.1, step / 4))
