"""The ages that hair may have had when it arrived, where nobody wrote them down: where to weigh them, and their prior.

Half of all hair arrives at its end, half still grows, any age of either as likely; none is older than the dog.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import log, sqrt

from coatrules.learning.hand import length_error
from coatrules.learning.likelihood import RegionRecords
from coatrules.learning.observations import Arrival
from coatrules.learning.region_paces import POINT_STEP, REACH

_POINTS = 9  # where nothing was measured
_ENDED_POINTS = 3  # ages of hair that was at its end when it arrived and was measured
_MAYBE_ENDED_POINTS = 6  # and of hair that was first measured later


def arrival_ages(
    arrival: Arrival,
    members: Sequence[RegionRecords],
    paces: Sequence[float],
    factor: float,
    region_sd: float,
    measure_mm: float,
) -> tuple[tuple[float, ...], list[list[float]]]:
    """Returns the nodes of an arrival's age (weeks at pace 1), and for each pace the logarithm of the prior weight of each.

    factor: so many times as long as usual the hair grows. region_sd: of a region's pace before any record. Where the hair was
    measured, most nodes lie where growing hair is about as long: others would count for nothing.
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
    if first is None:
        growing, points = 0.0, _POINTS
    else:
        weeks, mm, _ = first
        error = length_error(measure_mm) / cycle.mm_per_week
        sd = sqrt(error**2 + (region_sd * weeks) ** 2)
        step = min(POINT_STEP * sd, 1.2 * error)
        middle, stop = lag + mm / cycle.mm_per_week - weeks, ended - weeks * paces[0]
        reach = int(REACH * sd / step + 0.5)
        for point in range(-reach, reach + 1):
            low, high = max(middle + (point - 0.5) * step, lag), min(middle + (point + 0.5) * step, stop)
            if high > low:
                cells.append((low, high))
        growing = below(max(cells[-1][1] if cells else 0.0, ended - weeks * paces[-1], lag))
        points = _MAYBE_ENDED_POINTS if weeks else _ENDED_POINTS
    if top > growing:
        share = (top - growing) / points
        cells += [(at(growing + share * point), at(growing + share * (point + 1))) for point in range(points)]
    return tuple([(low + high) / 2 for low, high in cells]), [_log_priors(cells, limit, below) for limit in limits]


def _log_priors(cells: Sequence[tuple[float, float]], limit: float, below: Callable[[float], float]) -> list[float]:
    """The logarithm of the share that lies in each cell, of all ages up to a limit; ``below``: the share below an age."""
    shares = [below(min(high, limit)) - below(min(low, limit)) for low, high in cells]
    whole = below(limit)
    if whole <= 0:
        shares[0] = whole = 1.0
    return [log(max(share / whole, 1e-12)) for share in shares]
