"""Fits the growth figures of every kind of coat to the rows of ``profiles/evidence/growth.csv``, and nothing else.

Run ``python -m tests.trade.growth_fit`` for the table of figures, ``--bootstrap`` for their ranges too, ``--held-out`` for every row
predicted without it. Times are weeks, lengths mm. No code of coatrules is used, so the shipped figures can be held against it.

The hair of a coat that was pulled on one day shows at the skin after ``lag`` weeks and grows ``rate`` mm a week. The first hair stops
after ``(1 - spread) * grows`` weeks of growth, the last after ``grows``; between them they stop evenly. A hair is loose ``rests`` weeks
after it stopped. ``lag`` and ``rests`` are common to all kinds; ``rate`` and ``grows`` differ by kind, and a kind with few rows leans on
the others. ``spread`` is held, for no row identifies it. A row about dogs in general is asked of the average kind.
"""

from __future__ import annotations

import argparse
import csv
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from math import exp, log
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

TABLE = Path(__file__).resolve().parents[2] / "profiles" / "evidence" / "growth.csv"
KINDS = ("terrier", "skirted", "companion", "gundog", "schnauzer")

# What the method assumes; none of it comes from a row.
LAG = 2.0  # held, for rows of strip to length cannot tell lag from rate: 1 with a slower rate and 4 with a quicker one fit alike
SPREAD = 0.35  # held, for no row identifies it
GRIP_MM = 8.0  # a hair that can be gripped
SHOWS_MM = 2.5  # a new hair that is seen: 2 to 3 mm, as E019 notes
BACK_MM = 25.4  # a coat that is back: the inch of E003 and E004, where a row names no length
NEAR = 1.15  # a prediction is near that misses the row's interval by no more than this factor
TOUCHES = 1.01  # figures are rounded, so a hundredth is no miss
KIND_SD = 0.25  # how far rate and weeks of growth of a kind lie from the average kind, on the log scale
RESTS_PRIOR = (8.0, 0.5)  # median, and sd on the log scale

Array = NDArray[np.float64]


class Row(NamedTuple):
    """A row that the fit uses: ``low`` to ``high``, and for what a strip leads to ``at_low`` to ``at_high`` mm."""

    id: str
    what: str
    breed: str
    kind: str
    low: float
    high: float
    at_low: float
    at_high: float
    publisher: str


@dataclass(frozen=True)
class Coat:
    """The growth figures of one kind of coat."""

    lag: float
    rate: float
    grows: float
    rests: float
    spread: float = SPREAD

    @property
    def full_mm(self) -> float:
        return self.rate * self.grows

    @property
    def half_ripe(self) -> float:
        return self.lag + self.grows * (1 - self.spread / 2)

    @property
    def first_loose(self) -> float:
        return self.lag + self.grows * (1 - self.spread) + self.rests

    @property
    def all_loose(self) -> float:
        return self.lag + self.grows + self.rests

    @property
    def resting_share(self) -> float:
        """Share of hair at rest in a coat out of step that nobody pulls."""
        return self.rests / (self.half_ripe + self.rests)

    def length(self, weeks: float) -> float:
        return self.rate * min(max(weeks - self.lag, 0.0), self.grows)

    def weeks_to(self, mm: float) -> float:
        """Weeks from a strip until the hair stands so long; what lies beyond its end is counted on at the same rate."""
        return self.lag + mm / self.rate


@dataclass(frozen=True)
class Fit:
    """The figures of every kind, and of the average kind under ``general``."""

    coats: Mapping[str, Coat]

    def coat(self, row: Row) -> Coat:
        return self.coats[row.kind]


@cache
def rows() -> tuple[Row, ...]:
    """Returns the rows that the table marks ``fit``, in its order."""

    def number(text: str) -> float:
        return float(text) if text else float("nan")

    with TABLE.open(encoding="utf-8", newline="") as file:
        return tuple(
            Row(
                one["id"],
                one["what"],
                one["breed"],
                one["kind"],
                number(one["low"]),
                number(one["high"]),
                number(one["at_low"]),
                number(one["at_high"]),
                one["publisher"],
            )
            for one in csv.DictReader(file)
            if one["used"] == "fit"
        )


# ---- what the model says to a row

# Predicted low and high end of the row's own figure. A point has both ends alike.
SAYS: dict[str, Callable[[Coat, Row], tuple[float, float]]] = {
    # the row's weeks lead to a length, which the row gives in `at_low` to `at_high`: asked in weeks, so that all rows have one scale
    "strip_to_length": lambda coat, row: (coat.weeks_to(row.at_low), coat.weeks_to(row.at_high)),
    "strip_to_coat": lambda coat, _: (coat.weeks_to(BACK_MM),) * 2,
    "strip_to_grip": lambda coat, _: (coat.weeks_to(GRIP_MM),) * 2,
    "pluck_to_visible": lambda coat, _: (coat.weeks_to(SHOWS_MM),) * 2,
    "final_length": lambda coat, _: (coat.full_mm,) * 2,
    "ripe_after": lambda coat, _: (coat.half_ripe,) * 2,
    "full_strip_interval": lambda coat, _: (coat.half_ripe, coat.all_loose),  # a choice inside a window
    "blown_after": lambda coat, _: (coat.all_loose,) * 2,
    "telogen_share": lambda coat, _: (100 * coat.resting_share,) * 2,
}
WINDOWS = frozenset({"full_strip_interval"})


def is_point(row: Row) -> bool:
    return row.what not in WINDOWS


def factor_outside(row: Row, fit: Fit) -> float:
    """How far the prediction lies outside the row, as a factor of 1 or more; 1 where the two overlap."""
    low, high = SAYS[row.what](fit.coat(row), row)
    floor = max(row.low, 1.0)  # a share of 0 has no logarithm
    return max(1.0, low / row.high, floor / high)


def inside(row: Row, fit: Fit) -> bool:
    return factor_outside(row, fit) <= TOUCHES


def near(row: Row, fit: Fit) -> bool:
    return factor_outside(row, fit) <= NEAR


# ---- the fit


def _coats(parameters: Array, lag: float, spread: float) -> dict[str, Coat]:
    rests, rate, grows, *kinds = parameters
    figures = {"general": (rate, grows)}
    for place, kind in enumerate(KINDS):
        figures[kind] = (rate + kinds[2 * place], grows + kinds[2 * place + 1])
    return {name: Coat(lag, exp(one), exp(other), exp(rests), spread) for name, (one, other) in figures.items()}


def fitted(used: Iterable[Row], *, lag: float = LAG, spread: float = SPREAD) -> Fit:
    """Returns the figures whose predictions lie least outside the rows' intervals.

    What a row costs is the square of the log of its factor outside, and beyond ``NEAR`` no more than in proportion, so that rows
    which contradict each other do not tear at the rest (Huber's loss). Inside its interval a row costs nothing.
    """
    chosen = tuple(used)
    scale = log(NEAR)

    def cost(parameters: Array) -> float:
        fit = Fit(_coats(parameters, lag, spread))
        off = np.array([log(factor_outside(row, fit)) for row in chosen]) / scale
        rows_cost = float(np.sum(np.where(off < 1, 0.5 * off**2, off - 0.5)))
        rests = (parameters[0] - log(RESTS_PRIOR[0])) / RESTS_PRIOR[1]
        return rows_cost + 0.5 * float(rests**2 + np.sum((parameters[3:] / KIND_SD) ** 2))

    start = np.array([log(RESTS_PRIOR[0]), log(4.0), log(14.0), *([0.0] * (2 * len(KINDS)))])
    best = minimize(cost, start, method="BFGS", options={"gtol": 1e-3})
    best = minimize(cost, best.x, method="Powell", options={"xtol": 1e-4, "ftol": 1e-7})
    return Fit(_coats(best.x, lag, spread))


# ---- how good it is


class Score(NamedTuple):
    """How many rows are met: of those with a point, of all, and within ``NEAR`` of both; and how far off the rows are on average."""

    inside_points: int
    inside: int
    near_points: int
    near: int
    mean_factor: float


def score(factors: Mapping[Row, float]) -> Score:
    points = {row: factor for row, factor in factors.items() if is_point(row)}
    return Score(
        sum(factor <= TOUCHES for factor in points.values()),
        sum(factor <= TOUCHES for factor in factors.values()),
        sum(factor <= NEAR for factor in points.values()),
        sum(factor <= NEAR for factor in factors.values()),
        sum(factors.values()) / len(factors),
    )


def in_sample() -> dict[Row, float]:
    """Returns how far outside its row each prediction lies that used the row."""
    fit = fitted(rows())
    return {row: factor_outside(row, fit) for row in rows()}


def held_out(group: Callable[[Row], str]) -> dict[Row, float]:
    """Returns how far outside its row each prediction lies that used no row of the same group: its id, publisher or breed."""
    factors: dict[Row, float] = {}
    for name in dict.fromkeys(map(group, rows())):
        fit = fitted(row for row in rows() if group(row) != name)
        factors |= {row: factor_outside(row, fit) for row in rows() if group(row) == name}
    return {row: factors[row] for row in rows()}


def misses(factors: Mapping[Row, float]) -> list[str]:
    return [row.id for row, factor in factors.items() if factor > TOUCHES]


# ---- ranges


class Range(NamedTuple):
    low: float
    high: float


def ranges(samples: int = 200) -> dict[str, dict[str, Range]]:
    """Returns for each kind the range of ``rate``, ``grows`` and ``full_mm``, and under ``general`` that of ``rests``.

    The 10th to 90th per cent of fits to rows drawn anew from the table, widened by fits with the lag held at 1 and 4 weeks and
    the spread at 0.1 and 0.6. The draws are the same every time.
    """
    source = np.random.default_rng(20)
    table = rows()
    draws = [fitted([table[i] for i in source.integers(0, len(table), len(table))]) for _ in range(samples)]
    edges = [fitted(table, lag=1), fitted(table, lag=4), fitted(table, spread=0.1), fitted(table, spread=0.6)]
    found: dict[str, dict[str, Range]] = {}
    for kind in (*KINDS, "general"):
        found[kind] = {}
        for figure in ("rate", "grows", "full_mm", "rests"):
            low, high = np.quantile([getattr(fit.coats[kind], figure) for fit in draws], [0.1, 0.9])
            held = [getattr(fit.coats[kind], figure) for fit in edges]
            found[kind][figure] = Range(min(float(low), *held), max(float(high), *held))
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description="Fits the growth figures to the rows of evidence.")
    parser.add_argument("--bootstrap", action="store_true", help="show ranges too")
    parser.add_argument(
        "--held-out", action="store_true", help="predict every row without it, its publisher or its breed"
    )
    arguments = parser.parse_args()
    fit = fitted(rows())
    wide = ranges() if arguments.bootstrap else {}
    print(
        f"lag {LAG:g} weeks and spread {SPREAD:g} held; hair is loose {fit.coats['general'].rests:.1f} weeks after it stopped"
    )
    print("kind        rows  mm a week  grows weeks  full mm  half ripe  loose from-to")
    for kind, coat in fit.coats.items():
        count = sum(row.kind == kind for row in rows())
        print(
            f"{kind:11} {count:4} {coat.rate:10.2f} {coat.grows:12.1f} {coat.full_mm:8.1f} {coat.half_ripe:10.1f}"
            f"  {coat.first_loose:.1f}-{coat.all_loose:.1f}"
        )
        for figure, one in wide.get(kind, {}).items():
            print(f"{'':16} {figure} {one.low:.2f} to {one.high:.2f}")
    trials = {"in sample": in_sample}
    if arguments.held_out:
        trials |= {
            "row held out": lambda: held_out(lambda row: row.id),
            "publisher held out": lambda: held_out(lambda row: row.publisher),
            "breed held out": lambda: held_out(lambda row: row.breed),
        }
    for name, trial in trials.items():
        factors = trial()
        print(f"{name}: {score(factors)}\n  misses {' '.join(misses(factors))}")


if __name__ == "__main__":
    main()
