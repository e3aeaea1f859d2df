"""The error that all lengths of a dog share: whoever measures it measures alike everywhere, and of when its hair comes through
no more is known than the weeks of its kind.

Each region's lengths tell something of that error at a node of the grid; what they tell is taken for a normal, so that what
several regions tell of the dog can be put together in closed form.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import exp, log, sqrt
from typing import NamedTuple

HAND = 1.25
"""The error that all lengths share, in errors of one length (a standard deviation): 2.5 mm at 2 mm, which at 4 mm a week is some
three quarters of a week of lag, whose own ends (1 and 4 weeks of 2) are a week and two from the middle. No source."""


def length_error(measure_mm: float) -> float:
    """Returns the error of a length by itself in mm, a standard deviation: its own, and that shared with all others."""
    return measure_mm * sqrt(1 + HAND**2)


class Lesson(NamedTuple):
    """What some records tell at a node: the logarithm of their likelihood over all errors of the hand, and the mean (mm) and
    variance of that error by these records alone."""

    log: float
    mean: float
    var: float


def together(lessons: Iterable[tuple[Lesson, int]], var: float) -> Lesson:
    """Returns what several records tell, each so many times. var: of the hand's error before any record."""
    logs, precision, weighted = 0.0, 1 / var, 0.0
    for one, times in lessons:
        own = min(one.var, var)  # what tells nothing of the error tells nothing against it
        logs += times * (one.log + 0.5 * (log(var / own) - one.mean**2 / own))
        precision += times * (1 / own - 1 / var)
        weighted += times * one.mean / own
    return Lesson(logs + 0.5 * (weighted**2 / precision - log(var * precision)), weighted / precision, 1 / precision)


def either(lessons: Iterable[Lesson]) -> tuple[Lesson, tuple[float, ...]]:
    """Returns the lesson where one of several is so, and the share of each."""
    cases = list(lessons)
    highest = max(one.log for one in cases)
    shares = [exp(one.log - highest) for one in cases]
    whole = sum(shares)
    shares = [share / whole for share in shares]
    mean = sum(share * one.mean for share, one in zip(shares, cases, strict=True))
    square = sum(share * (one.var + one.mean**2) for share, one in zip(shares, cases, strict=True))
    return Lesson(highest + log(whole), mean, square - mean**2), tuple(shares)
