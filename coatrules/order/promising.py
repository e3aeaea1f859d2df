"""The cheapest row of a small day, or the cheapest end of a row: rows are begun unit by unit, and of those of one length the most promising
are followed.

This is a beam search over how far each lane has come. A begun row is left where it must cost as much as the best row known, or where
another has come as far, ends alike, is no dearer and has to wait no longer. Where never more than ``FOLLOWED`` are left, the row
found is the cheapest there is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import reduce
from itertools import accumulate
from operator import add, le, or_
from typing import NamedTuple

from coatrules.order.row import NEVER
from coatrules.order.units import CALM, Board

SMALL_DAY = 24
"""Units: of so few, rows are begun anew."""
LAST = 16
"""Of a longer one, so many units at the end, where a bout is out of place (24 took twice the time, and left 5 of 343 days more than 5 %
dearer than the best row known, not 9; 21 without: measured)."""
FOLLOWED = 300
"""So many begun rows of one length are followed, at most."""

Placed = tuple[int, ...]
"""How many units of each lane stand in the row."""


def cheapest(board: Board, row: list[int], cost: int, kept: int = 0) -> tuple[list[int], int]:
    """Returns the cheapest row found whose first units, so many as are ``kept``, are those of the one given, and its price: the one given,
    where none is cheaper. The lanes keep their order."""
    search = _Search(board)
    begun = [search.begun(row[:kept])]
    for _ in row[kept:]:
        begun = sorted(search.further(begun, cost - board.fixed), key=search.promise)[:FOLLOWED]
    return (list(begun[0].row), begun[0].cost + board.fixed) if begun else (row, cost)


class _Begun(NamedTuple):
    """The beginning of a row: what any row that begins so costs at least, what it costs itself, and its last unit and its lane. ``run``:
    tender bouts in a row, up to the most that cost nothing; ``wait``: how long each lane still rests (half-minutes)."""

    bound: int
    cost: int
    placed: Placed
    last: int
    lane: int
    run: int
    wait: tuple[int, ...]
    row: tuple[int, ...]


class _Step(NamedTuple):
    """One unit more, where the lanes have come so far: what it ``costs`` whatever stands before it, how far they have come then, what the
    other tools still to come cost at least, and the half-minutes of work still to come."""

    lane: int
    unit: int
    costs: int
    placed: Placed
    changes: int
    left: int


class _Search:
    def __init__(self, board: Board) -> None:
        self.board = board
        self.lanes = [lane for lane in (board.backbone, *board.chains) if lane]
        self.zones = [board.lane[lane[0]] for lane in self.lanes]
        self.rests = [0 if zone == CALM else board.rests[zone] for zone in self.zones]
        self.high = [zone != CALM and board.high[zone] for zone in self.zones]
        bits: dict[object, int] = {}
        self.begins = [bits.setdefault(unit.begin[0], 1 << len(bits)) for unit in board.units]
        self.ends = [bits.get(unit.end[0], 0) for unit in board.units]
        minutes = board.minutes
        # For each lane, of what is left when so many of its units stand in the row: the tools, the half-minutes, and those with its rests.
        self.tools = [_sums_from([self.begins[n] for n in lane], or_) for lane in self.lanes]
        self.work = [_sums_from([minutes[n] for n in lane]) for lane in self.lanes]
        # A lane that is done asks for no rest more, which is taken from the one it still has.
        self.spans = [
            [work + rest * (len(lane) - done - 1) for done, work in enumerate(works)]
            for lane, works, rest in zip(self.lanes, self.work, self.rests, strict=True)
        ]
        self.kept_back = board.prices.change if board.backbone else 0
        self._steps: dict[Placed, list[_Step]] = {}

    def begun(self, row: Sequence[int]) -> _Begun:
        """The beginning that a row is."""
        none = (0,) * len(self.lanes)
        one = _Begun(0, 0, none, self.board.edge, CALM, 0, none, ())
        for n in row:
            one = next(more for more in self._with_another(one, NEVER) if more.last == n)
        return one

    def promise(self, one: _Begun) -> int:
        """The less, the more promising. Calm work kept back may fill a rest yet: a unit of it is worth a change of tool (measured)."""
        return one.bound + self.kept_back * one.placed[0]

    def further(self, begun: Sequence[_Begun], least: int) -> Iterator[_Begun]:
        """Yields what the begun rows may become with one unit more, where they may cost less than ``least``."""
        ended: dict[tuple[Placed, int, int], list[_Begun]] = {}
        for one in begun:
            for more in self._with_another(one, least):
                others = ended.setdefault((more.placed, more.last, more.run), [])
                if not any(_no_worse(other, more) for other in others):
                    others[:] = [other for other in others if not _no_worse(more, other)]
                    others.append(more)
        for others in ended.values():
            yield from others

    def _with_another(self, one: _Begun, least: int) -> Iterator[_Begun]:
        prices, minutes, pairs = self.board.prices, self.board.minutes, self.board.pairs[one.last]
        steps = self._steps.get(one.placed)
        if steps is None:
            steps = self._steps[one.placed] = list(self._steps_from(one.placed))
        for lane, n, costs, placed, changes, left in steps:
            cost, passed, run = one.cost + pairs[n] + costs, minutes[n], 0
            if self.zones[lane] != CALM:
                run = min(one.run + 1, prices.most_in_a_row)
                if one.run == run:
                    cost += prices.in_a_row
                idle = one.wait[lane]
                if self.high[lane] and one.lane not in (CALM, lane) and self.high[one.lane]:
                    passed += 1  # a half-minute between two high zones is in the price of the two
                    idle -= 1
                if idle > 0:
                    cost += prices.idle * idle
                    passed += idle
            bound = cost + changes
            if bound >= least:
                continue
            wait = [rest - passed if rest > passed else 0 for rest in one.wait]
            wait[lane] = self.rests[lane]
            # The lane with the longest way to go takes that long, and there may be less to do meanwhile.
            longest = max([rest + spans[done] for rest, spans, done in zip(wait, self.spans, placed, strict=True)])
            if longest > left:
                bound += prices.idle * (longest - left)
                if bound >= least:
                    continue
            yield _Begun(bound, cost, placed, n, lane, run, tuple(wait), (*one.row, n))

    def _steps_from(self, placed: Placed) -> Iterator[_Step]:
        board, prices = self.board, self.board.prices
        before = [board.units[n] for lane, done in zip(self.lanes, placed, strict=True) for n in lane[:done]]
        ending = any(unit.finish for unit in before)
        dirtiest = max((unit.soiled for unit in before if unit.clips), default=0)
        last_calm = placed[0] - 1 if board.backbone else -1  # calm units are numbered in their order
        for at, lane in enumerate(self.lanes):
            if placed[at] == len(lane):
                continue
            n = lane[placed[at]]
            unit = board.units[n]
            costs = prices.unclean * unit.clips if unit.soiled < dirtiest else 0
            if self.zones[at] != CALM:
                if last_calm < board.after[n] or (not before and board.last_open != board.edge):
                    continue
                if ending and not unit.finish:
                    costs += prices.after_finish
                if unit.cuts and board.last_by_hand != board.edge and last_calm < board.last_by_hand:
                    costs += prices.early_cut
                elif unit.cuts and not unit.finish and last_calm >= board.first_comb:
                    costs += prices.after_comb
            further = (*placed[:at], placed[at] + 1, *placed[at + 1 :])
            tools = [tools[done] for tools, done in zip(self.tools, further, strict=True)]
            changes = (reduce(or_, tools) & ~self.ends[n]).bit_count()
            left = sum([work[done] for work, done in zip(self.work, further, strict=True)])
            yield _Step(at, n, costs, further, prices.change * changes, left)


def _no_worse(one: _Begun, other: _Begun) -> bool:
    """Whether nothing speaks for the other of two that have come as far and end alike."""
    return one.cost <= other.cost and all(map(le, one.wait, other.wait))


def _sums_from(numbers: Sequence[int], add: Callable[[int, int], int] = add) -> list[int]:
    """The sums of what is left of the numbers, from none taken to all."""
    return [*accumulate(reversed(numbers), add, initial=0)][::-1]
