"""How likely the records of one region are at paces of that region, at a growing time and an age at the arrival.

Lengths of hair of known age come summed up (``known_lengths``); all else (hair that arrived, verdicts, shares that came,
counts of layers) is gone through.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import erfc, inf, log, sqrt
from typing import NamedTuple

from coatrules.coat.growth import Growth
from coatrules.learning.hand import HAND, Lesson, length_error
from coatrules.learning.known_lengths import KnownLengths
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

MEASURE_MM = 2.0
"""The error of a measurement on a dog, as a standard deviation, where a profile does not say. No source."""
ROOT = sqrt(2)


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


class RegionRecords:
    """All records of one region, or of several that have the same. ``measure_mm``: the error of a length, a standard deviation."""

    def __init__(self, records: Sequence[Observation], measure_mm: float = MEASURE_MM) -> None:
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
                    add(_Term(one.weight, None, parts, one.length_mm, inf, length_error(measure_mm)))
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
        self.measured = any(isinstance(one, Length) for one in records)
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
        self.hand = (HAND * measure_mm) ** 2
        self.known = KnownLengths(known, cycle.mm_per_week, cycle.lag_weeks, measure_mm) if known else None

    def lessons_at(self, paces: Sequence[float], grown: float, age: float, cell: float = 0.0) -> list[Lesson]:
        """What all records tell at some paces of the region, lengths at their end averaged over a cell of ``c``."""
        cycle, known, hand = self.cycle, self.known, self.hand
        rate, lag = cycle.mm_per_week, cycle.lag_weeks
        full, since = rate * grown, age - lag
        # An end so many times surer than the cells are wide would fall between two nodes.
        ratio = 1 / (1 + (full * cell / self.measure_mm) ** 2 / 12)
        lost = log(ratio) * self.measure_mm**2
        n_end, x_end, xx_end = self.ended
        of_ended = (
            ratio * n_end,
            ratio * (x_end - full * n_end),
            ratio * (xx_end - full * (2 * x_end - full * n_end)) - lost * n_end,
        )
        logs = self.terms_at(paces, grown, age) if self.terms else [0.0] * len(paces)
        lessons = []
        for k, log_ in zip(paces, logs, strict=True):
            precision, miss, square = of_ended  # of all lengths, the latter two times their precision
            if known is not None:
                of_known, miss_known, square_known, n_known = known.misses(k, lag, grown, rate, ratio)
                precision += of_known
                miss += miss_known
                square += square_known - lost * n_known
            for weeks, mm, of_length in self.arriving:
                length = since + k * weeks
                if length >= grown:
                    square -= lost * of_length
                    of_length *= ratio
                off = mm - rate * min(max(length, 0.0), grown)
                precision += of_length
                miss += of_length * off
                square += of_length * off * off
            loss = 1 + hand * precision
            mean = hand * miss / loss
            lessons.append(Lesson(log_ - 0.5 * (square - mean * miss + log(loss)), mean, hand / loss))
        return lessons

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
