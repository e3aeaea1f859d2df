"""Between which bounds of a region's pace as many layers stand as were counted.

A count says which hair is long enough to grip and which is not: no point on a scale, but two ends of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import inf
from typing import NamedTuple

from coatrules.coat.growth import Growth
from coatrules.coat.measures import LAYER_MASS, standing
from coatrules.coat.queue import Coat

LEAST, MOST = 0.4, 2.5
"""Paces that are tried: outside of these the record is wrong rather than the dog unusual."""


def shows_weeks(growth: Growth) -> float:
    """Returns the age in weeks at pace 1 at which hair is long enough to grip, so that its layer is counted."""
    return growth.lag_weeks + growth.ready_mm / growth.mm_per_week


class Stretch(NamedTuple):
    """Paces between which the same number of layers stands."""

    least: float
    most: float
    layers: int


def stretches(coat: Coat, growth: Growth, day: int, slowest: float = LEAST, fastest: float = MOST) -> list[Stretch]:
    """Returns the layers that stand on ``day`` at every pace from ``slowest`` to ``fastest``, from slow to fast. The coat must be uncut.

    Between two paces at which a hair is just long enough to grip, or two neighbours just part or run together, nothing changes:
    one pace of each such stretch is tried.
    """
    ages = [(day - pulled) / 7 for mass, pulled, _ in coat.cohorts if mass >= LAYER_MASS and pulled < day]
    rate, shows, gap = growth.mm_per_week, shows_weeks(growth), growth.layer_gap_mm
    together = (
        growth.lag_weeks + (growth.full_mm - gap) / rate
    )  # the older is full grown, the younger as near as can be
    breaks = {weeks / age for age in ages for weeks in (shows, together)}
    breaks |= {gap / rate / (older - younger) for older, younger in pairwise(ages)}
    ends = pairwise([slowest, *sorted(pace for pace in breaks if slowest < pace < fastest), fastest])
    return [Stretch(low, high, standing(coat, growth, (low + high) / 2, day).layers) for low, high in ends]


def bounds_of_count(layers: int, found: Sequence[Stretch]) -> tuple[float, float]:
    """Returns the bounds of the pace at which as many layers stand; the first above the second where at no pace. An end that is
    the end of all stretches is unbounded: 0 or infinity."""
    fits = [stretch for stretch in found if stretch.layers == layers]
    if not fits:
        return inf, 0.0
    least, most = fits[0].least, fits[-1].most
    return (0.0 if least == found[0].least else least), (inf if most == found[-1].most else most)
