"""The paces of a region at which its records are weighed: laid where its lengths put its pace, as finely as they tell it, and
over all that is possible where that guess was wrong."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from math import exp, inf, log, sqrt
from typing import NamedTuple

from coatrules.learning.hand import Lesson
from coatrules.learning.likelihood import RegionRecords

POINT_STEP = 0.8
"""Standard deviations from node to node of a region's pace and of an arrival's age."""
REACH = 2.4
"""Standard deviations either side that a grid holds."""
PASSES = 6
"""So often nodes are laid anew where they do not fit what they find."""

_REGION_REACH = 3.2  # standard deviations of a region's own paces: what was cut off here made a dog's pace too sure
_MOST_STEPS = 12  # of a region's paces, either side
_LEAST_PACE = 0.05


class Weighed(NamedTuple):
    """Some paces of a region, the chance of its records at each, the logarithm of the scale of those chances, and what the
    records tell at each."""

    paces: tuple[float, ...]
    chances: tuple[float, ...]
    log_scale: float
    lessons: list[Lesson]


def weighed(
    region: RegionRecords, grown: float, age: float, spread: float, deviation: float, cell: float = 0.0
) -> Weighed:
    """Returns the chances of a region's records, its hair growing so many weeks and being so old when it arrived.

    spread: of a region's pace before any record. deviation: of it from the dog's. cell: width of the grid's cells of ``c``.
    """
    middle, sd = _guess(region, grown, age, spread)
    widest = 1.2 * spread
    for _ in range(PASSES):
        # The deviation from the dog's pace makes the curve narrower still: the nodes are to tell it.
        step = POINT_STEP * sd
        if deviation < sd:
            step = min(step, 1.6 * sd * deviation / sqrt(sd * sd + deviation * deviation))
        step = min(step, _kink(region, grown, age, middle, sd))
        reach = min(int(_REGION_REACH * sd / step + 0.5), _MOST_STEPS)
        step = _REGION_REACH * sd / (reach + 0.5)
        paces = [max(middle + at * step, _LEAST_PACE) for at in range(-reach, reach + 1)]
        lessons = region.lessons_at(paces, grown, age, cell)
        logs = [one.log for one in lessons]
        chances = _scaled([log_ - 0.5 * ((k - 1) / spread) ** 2 for log_, k in zip(logs, paces, strict=True)])
        total = sum(chances)
        mean = sum(chance * k for chance, k in zip(chances, paces, strict=True)) / total
        found = sqrt(sum(chance * (k - mean) ** 2 for chance, k in zip(chances, paces, strict=True)) / total)
        outermost = max(chances[0], chances[-1])
        if outermost > 0.05 * total and widest > sd:
            middle, sd = 1.0, widest  # a guess that was wrong: all there is, as finely as its kinks ask
        elif outermost > 0.5 * total:
            middle = mean
        elif found < 0.5 * step:
            middle, sd = mean, max(found, step / 3)
        else:
            break
    return Weighed(tuple(paces), tuple(_scaled(logs)), max(logs) + log(step), lessons)


def _scaled(logs: Sequence[float]) -> list[float]:
    highest = max(logs)
    return [exp(one - highest) for one in logs]


def _kink(region: RegionRecords, grown: float, age: float, middle: float, sd: float) -> float:
    """The widest step that still tells where hair measured near its end began to be at its end."""
    cycle = region.cycle
    slow, fast = max(middle - _REGION_REACH * sd, _LEAST_PACE), middle + _REGION_REACH * sd
    ended, oldest = cycle.lag_weeks + grown, 0.0
    if region.known is not None:
        at = bisect_right(region.known.weeks, ended / slow)
        if at and region.known.weeks[at - 1] >= ended / fast:
            oldest = region.known.weeks[at - 1]
    for weeks, _, _ in region.arriving:
        if slow * weeks <= ended - age <= fast * weeks:
            oldest = max(oldest, weeks)
    return 1.6 * region.measure_mm / (cycle.mm_per_week * oldest) if oldest else inf


def _guess(region: RegionRecords, grown: float, age: float, spread: float) -> tuple[float, float]:
    """Where a region's pace lies by its lengths that are clearly short of the end, and how surely at the best."""
    cycle = region.cycle
    rate, lag = cycle.mm_per_week, cycle.lag_weeks
    prior = 1 / spread**2
    slope, of_lengths, lengths = prior, 0.0, 0.0
    if region.known is not None:
        ty, tt = region.known.growing(rate * grown, prior)
        slope += ty
        of_lengths += tt
        lengths += region.known.n[-1]
    if region.arriving:
        best = inf, 0.0, 0.0
        for at in range(len(region.arriving) + 1):
            ty = tt = miss = 0.0
            for weeks, mm, weight in region.arriving[:at]:
                v, y = rate * weeks, mm + rate * (lag - age)
                ty += weight * v * y
                tt += weight * v * v
                miss += weight * y * y
            off = (ty - tt) / (prior + tt)
            miss += (1 + off) * ((1 + off) * tt - 2 * ty) + prior * off * off
            miss += sum([weight * (mm - rate * grown) ** 2 for _, mm, weight in region.arriving[at:]])
            best = min(best, (miss, ty, tt))
        slope += best[1]
        of_lengths += best[2]
        lengths += sum([weight for _, _, weight in region.arriving])
    # Lengths of hair of one age are no surer together than the error that they share.
    return slope / (prior + of_lengths), 1 / sqrt(prior + of_lengths / (1 + region.hand * lengths))
