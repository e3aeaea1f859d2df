"""How likely the records of one region are at paces of that region, at a growing time and an age at the arrival.

Lengths of hair of known age are summed up once, so that a node reads its own in a few steps however many there are; all
else (hair that arrived, verdicts, shares that came, counts of layers) is gone through. The nodes are laid where the lengths
put the pace, and over all that is possible where that guess was wrong.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from functools import lru_cache
from itertools import accumulate
from math import erfc, exp, inf, log, sqrt
from typing import NamedTuple

from coatrules.coat.growth import Growth
from coatrules.learning.observations import (
    STEPS,
    TRIED,
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

MEASURE_MM = (
    2.0  # the error of a measurement on a dog, as a standard deviation, where a profile does not say. No source
)
POINT_STEP = 0.8  # standard deviations from node to node of a region's pace and of an arrival's age
REACH = 2.4  # standard deviations either side that the grid holds
PASSES = 6

_MOST_STEPS = 12  # of a region's paces, either side
_SPLITS = 16  # ages tried between growing hair and hair at its end, to lay nodes


def arrived_in(parts: Sequence[Part]) -> str | None:
    return next((part.arrived for part in parts if part.arrived is not None), None)


def ripe_step(parts: Sequence[Part], cycle: Growth, grown: float, k: float, age: float) -> int:
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

    def __init__(self, lengths: Sequence[Length], rate: float, lag: float, measure_mm: float = MEASURE_MM) -> None:
        self.measure_mm = measure_mm
        lengths = sorted(lengths, key=lambda one: one.weeks)
        precision = [one.weight / measure_mm**2 for one in lengths]
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
            - (log(ratio) * self.measure_mm**2 * (self.n[-1] - self.n[high]) if ratio < 1 else 0.0)
        )


class RegionRecords:
    """All records of one region, or of several that have the same. ``measure_mm``: the error of a length, a standard deviation."""

    def __init__(self, records: Sequence[Observation], measure_mm: float = MEASURE_MM) -> None:
        self.count = 1
        self.measure_mm = measure_mm
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
                    add(_Term(one.weight, None, parts, one.length_mm, inf, measure_mm))
                elif one.at_end:
                    precision = one.weight / measure_mm**2
                    self.ended[0] += precision
                    self.ended[1] += precision * one.length_mm
                    self.ended[2] += precision * one.length_mm**2
                    add(_Term(one.weight, end_table(), parts, 0, 0, 0))
                elif one.arrived is not None:
                    self.arriving.append((one.weeks, one.length_mm, one.weight / measure_mm**2))
                else:
                    known.append(one)
            self.arrived = arrived_in(parts) or self.arrived
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
        self.known = _Known(known, cycle.mm_per_week, cycle.lag_weeks, measure_mm) if known else None

    def over(
        self, grown: float, age: float, spread: float, deviation: float, cell: float = 0.0
    ) -> tuple[tuple[float, ...], tuple[float, ...], float]:
        """Some paces of the region, and the chance of its records at each; the last is the logarithm of its scale.

        spread: of a region's pace before any record. deviation: of it from the dog's. cell: width of the grid's cells of ``c``.
        """
        middle, sd = self._guess(grown, age, spread)
        widest = 1.2 * spread
        paces: list[float] = []
        for _ in range(PASSES):
            # The deviation from the dog's pace makes the curve narrower still: the nodes are to tell it.
            step = POINT_STEP * sd
            if deviation < sd:
                step = min(step, 1.6 * sd * deviation / sqrt(sd * sd + deviation * deviation))
            step = min(step, self._kink(grown, age, middle, sd))
            reach = min(int(REACH * sd / step + 0.5), _MOST_STEPS)
            step = REACH * sd / (reach + 0.5)
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
        slow, fast = max(middle - REACH * sd, _LEAST_PACE), middle + REACH * sd
        ended, oldest = cycle.lag_weeks + grown, 0.0
        if self.known is not None:
            at = bisect_right(self.known.weeks, ended / slow)
            if at and self.known.weeks[at - 1] >= ended / fast:
                oldest = self.known.weeks[at - 1]
        for weeks, _, _ in self.arriving:
            if slow * weeks <= ended - age <= fast * weeks:
                oldest = max(oldest, weeks)
        return 1.6 * self.measure_mm / (cycle.mm_per_week * oldest) if oldest else inf

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
        ratio = 1 / (1 + (full * cell / self.measure_mm) ** 2 / 12)
        lost = log(ratio) * self.measure_mm**2
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
            return weight * table[ripe_step(parts, cycle, grown, k, age)]
        seen = k  # of layers; of hair of at least a length, its length
        if parts:
            weeks, _, _, arrived = parts[0]
            since = k * weeks + (age if arrived is not None else 0.0) - cycle.lag_weeks
            seen = cycle.mm_per_week * min(max(since, 0.0), grown)
        chance = erfc((least - seen) / (error * ROOT)) - (erfc((most - seen) / (error * ROOT)) if most < inf else 0)
        return weight * log(max(chance / 2, 1e-12))


@lru_cache(maxsize=256)
def _weighed(table: tuple[float, ...], weight: float) -> tuple[float, ...]:
    return tuple([weight * one for one in table])


ROOT = sqrt(2)
_LEAST_PACE = 0.05
