"""Lengths of hair of known age, summed up once: a node of the grid reads its own in a few steps, however many there are."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from itertools import accumulate
from math import inf

from coatrules.learning.observations import Length

_SPLITS = 16  # ages tried between growing hair and hair at its end, to lay nodes


class KnownLengths:
    """Lengths of hair of known age: sums up to each age, so that any node reads its own in a few steps."""

    def __init__(self, lengths: Sequence[Length], rate: float, lag: float, measure_mm: float) -> None:
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
        self.y, self.t = sums(full), sums(weeks)
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

    def misses(
        self, k: float, lag: float, grown: float, rate: float, ratio: float = 1.0
    ) -> tuple[float, float, float, float]:
        """At a pace: the sum of the precisions, of the misses times them, and of their squares; and how many lengths are at
        their end, by precision. ratio: what the precision of those is lessened by, as the end is known to a cell only."""
        low, high = bisect_right(self.weeks, lag / k), bisect_left(self.weeks, (lag + grown) / k)
        high = max(low, high)
        full = rate * grown
        n, x = self.n[-1] - self.n[high], self.x[-1] - self.x[high]
        ty, tt = self.ty[high] - self.ty[low], self.tt[high] - self.tt[low]
        return (
            self.n[high] + ratio * n,
            self.x[low] + self.y[high] - self.y[low] - k * (self.t[high] - self.t[low]) + ratio * (x - full * n),
            self.xx[low]
            + (self.yy[high] - self.yy[low])
            + k * (k * tt - 2 * ty)
            + ratio * (self.xx[-1] - self.xx[high] - full * (2 * x - full * n)),
            n,
        )
