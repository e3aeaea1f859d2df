"""What kind of coat stands on a region today: rolling, grown out, in one layer, or clipped."""

from __future__ import annotations

from math import inf

from coatrules.coat.growth import Growth
from coatrules.coat.measures import standing
from coatrules.coat.queue import WHOLE, Coat
from coatrules.plan.results import CoatKind

MOSTLY = 0.5

ADVICE: dict[CoatKind, str] = {
    # Page quoting the Border Terrier Club of America; Caledonian Dandie Dinmont Terrier Club: Grooming.
    "clipped": "cut by a blade. The cut hair must be pulled before the coat is itself again; two or three times round by hand "
    "may be needed (published for Border Terriers), and some coats take many months or never come back (published for "
    "Dandie Dinmont Terriers).",
    # Wire Fox Terrier Association (UK): Tutorial book 3, for taking the whole coat out once.
    "grown-out": "grown out. The plan builds layers a little at each visit; some take the whole coat out once instead and then "
    "work without a break.",
    # Miniature Schnauzer rolling guide, katewerk.com/roll.html (2000).
    "one-layer": "in one length. Work begins as soon as the new hair can be gripped; two times round may be needed until the "
    "coat is even.",
}
"""What to know about each state that is not yet a rolling coat, said after the regions it holds for."""


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
