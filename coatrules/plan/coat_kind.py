"""What kind of coat stands on a region today: rolling, grown out, in one layer, or clipped."""

from __future__ import annotations

from math import inf
from typing import Final

from coatrules.coat.growth import Growth
from coatrules.coat.measures import standing
from coatrules.coat.queue import WHOLE, Coat
from coatrules.plan.results import CoatKind

MOSTLY = 0.5

NOT_YET_ROLLING: Final[tuple[CoatKind, ...]] = (
    # Page quoting the Border Terrier Club of America; Caledonian Dandie Dinmont Terrier Club: Grooming.
    "clipped",
    # Wire Fox Terrier Association (UK): Tutorial book 3, for taking the whole coat out once.
    "grown-out",
    # Miniature Schnauzer rolling guide, katewerk.com/roll.html (2000).
    "one-layer",
)
"""The kinds that are not yet a rolling coat, with the sources of what there is to know about each (``plan.coat-…``)."""


def coat_kind(coat: Coat, growth: Growth, pace: float, day: int) -> CoatKind:
    """The state of a coat on ``day``. Clipped: most of it is hair that a blade has shortened. Grown out: most is blown.

    One layer: all that stands is of one length, or nothing stands yet (just after a full strip).
    """
    last_cut = max((cut.day for cut in coat.cuts), default=-inf)
    cut_mass = sum([c.mass for c in coat.cohorts if c.day + growth.lag_weeks * 7 / pace < last_cut])
    if cut_mass >= MOSTLY * WHOLE:
        return "clipped"
    measures = standing(coat, growth, pace, day)
    if measures.blown_share >= MOSTLY:
        return "grown-out"
    return "rolling" if measures.layers > 1 else "one-layer"
