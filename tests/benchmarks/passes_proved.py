"""The order of work by passes beside the best row there is, on small days: ``python -m tests.benchmarks.passes_proved FILE``.

FILE and the days are those of ``tests.benchmarks.passes_exact``. What is searched is how far each lane has come: A* (Hart, Nilsson and
Raphael, IEEE Transactions on Systems Science and Cybernetics 4:100-107, 1968), whose bound is the cheapest way on without rests. It
proves more of these days than a general solver does, and a row that it finds is priced again by ``coatrules.order.row``.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from functools import cached_property, lru_cache
from heapq import heappop, heappush
from math import prod
from pathlib import Path
from statistics import mean
from typing import NamedTuple

from coatrules.order.passes import best_row
from coatrules.order.row import NEVER, price
from coatrules.order.units import CALM, Board
from tests.benchmarks.passes import small_boards

MOST_STATES, MOST_LOOKS = 300_000, 400_000
"""Days with more than the first are left out, and a search that looks at more than the second is given up."""

Placed = tuple[int, ...]
"""How many units of each lane stand in the row."""


class _Step(NamedTuple):
    placed: Placed
    lane: int  # of the lanes searched
    unit: int
    run: int  # tender bouts in a row, up to the most that cost nothing
    cost: int


class Search:
    """The rows of one day."""

    def __init__(self, day: Board) -> None:
        self.day = day
        self.lanes = [lane for lane in (day.backbone, *day.chains) if lane]
        self.whole = tuple(map(len, self.lanes))
        self.left = lru_cache(maxsize=None)(self._left)
        self.so_far = lru_cache(maxsize=None)(self._so_far)

    @cached_property
    def states(self) -> int:
        """How many combinations of places the lanes have."""
        return prod(length + 1 for length in self.whole)

    def _so_far(self, placed: Placed) -> tuple[bool, int, int]:
        """Whether the visit has begun to end, the dirtiest place clipped, and the last calm unit (-1: none)."""
        units = [n for lane, count in zip(self.lanes, placed, strict=True) for n in lane[:count]]
        dirtiest = max((self.day.units[n].soiled for n in units if self.day.units[n].clips), default=0)
        calm = max((n for n in units if self.day.lane[n] == CALM), default=-1)
        return any(self.day.units[n].finish for n in units), dirtiest, calm

    def steps(self, placed: Placed, last: int, run: int) -> Iterator[_Step]:
        """Yields what may come next, and what it costs without its rest."""
        day, prices = self.day, self.day.prices
        ending, dirtiest, calm = self.so_far(placed)
        for at, lane in enumerate(self.lanes):
            if placed[at] == len(lane):
                continue
            n = lane[placed[at]]
            unit = day.units[n]
            cost, tender = 0 if last == day.edge else day.pairs[last][n], day.lane[n] != CALM
            if tender:
                begins_visit = last == day.edge and day.last_open not in (day.edge, calm)
                if begins_visit or (unit.finish and calm < day.after[n]):
                    continue
                cost += prices.in_a_row * (run >= prices.most_in_a_row) + prices.after_finish * (
                    ending and not unit.finish
                )
                if unit.cuts and day.last_by_hand != day.edge and calm < day.last_by_hand:
                    cost += prices.early_cut
                elif unit.cuts and not unit.finish and calm >= day.first_comb:
                    cost += prices.after_comb
            if unit.clips and unit.soiled < dirtiest:
                cost += prices.unclean * unit.clips
            on = (*placed[:at], placed[at] + 1, *placed[at + 1 :])
            yield _Step(on, at, n, min(run + 1, prices.most_in_a_row) if tender else 0, cost)

    def _left(self, placed: Placed, last: int, run: int) -> int:
        """The price of the cheapest way on if the dog never rested."""
        if placed == self.whole:
            return 0
        return min(
            (one.cost + self.left(one.placed, one.unit, one.run) for one in self.steps(placed, last, run)),
            default=NEVER,
        )

    def rested(self, step: _Step, last: int, wait: tuple[int, ...]) -> tuple[int, tuple[int, ...]]:
        """How long the dog waits before a step, and then for each lane; ``wait``: before it."""
        day, lane = self.day, self.day.lane[step.unit]
        high_before = last != day.edge and day.lane[last] not in (CALM, lane) and day.high[day.lane[last]]
        parting = int(lane != CALM and high_before and day.high[lane])  # which is in the price of the two
        idle = max(0, wait[step.lane] - parting)
        passed = idle + parting + day.minutes[step.unit]
        rest = 0 if lane == CALM else day.rests[lane]
        return idle, tuple([rest if at == step.lane else max(0, one - passed) for at, one in enumerate(wait)])

    def best(self) -> tuple[list[int], int] | None:
        """Returns the cheapest row and its price; None where the search was given up."""
        day = self.day
        start = (0,) * len(self.lanes)
        heap: list[tuple[int, int, int, Placed, int, int, tuple[int, ...], tuple[int, ...]]]
        heap = [(self.left(start, day.edge, 0), 0, 0, start, day.edge, 0, start, ())]
        known: dict[tuple[Placed, int, int], list[tuple[int, tuple[int, ...]]]] = {}
        looks = number = 0
        while heap and looks < MOST_LOOKS:
            _, _, cost, placed, last, run, wait, row = heappop(heap)
            if placed == self.whole:
                return list(row), cost + day.fixed
            others = known.setdefault((placed, last, run), [])
            if any(its <= cost and all(a <= b for a, b in zip(before, wait, strict=True)) for its, before in others):
                continue
            others.append((cost, wait))
            looks += 1
            for step in self.steps(placed, last, run):
                idle, later = self.rested(step, last, wait)
                so_far = cost + step.cost + day.prices.idle * idle
                left = self.left(step.placed, step.unit, step.run)
                if left < NEVER:
                    number += 1
                    entry = step.placed, step.unit, step.run, later, (*row, step.unit)
                    heappush(heap, (so_far + left, number, so_far, *entry))
        return None


def main() -> None:
    """Measures and prints."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("days", type=Path)
    parser.add_argument("--count", type=int, default=30)
    parser.add_argument("--every", type=int, default=4, help="of each day every so manieth region")
    args = parser.parse_args()
    ratios, unproved = [], 0
    for name, units in small_boards(args.days, args.count, args.every):
        search = Search(units)
        best = search.best() if search.states <= MOST_STATES else None
        if best is None:
            unproved += 1
            continue
        row, least = best
        assert price(units, row) == least, "the two ways to price a row agree"
        _, cost = best_row(units)
        ratios.append(cost / least if least else 1.0)
        if cost > least:
            print(f"{name}: {units.edge} units, {cost} beside {least}, {ratios[-1]:.3f} times", flush=True)
    print(
        f"{len(ratios)} days proved, {unproved} not; {sum(one == 1 for one in ratios)} the best; on average {mean(ratios):.4f} "
        f"of the best price, at most {max(ratios):.3f}"
    )


if __name__ == "__main__":
    main()
