"""The cheapest row of a small day, or the cheapest end of a row: rows are begun unit by unit, and of those of one length the most promising
are followed.

This is a beam search over how far each lane has come. A begun row is left where it must cost as much as the best row known, or where
another has come as far, ends alike, is no dearer and has to wait no longer. Where never more than ``FOLLOWED`` are left, the row
found is the cheapest there is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import reduce
from operator import le, or_
from typing import NamedTuple

from coatrules.order.row import NEVER
from coatrules.order.units import CALM, Board

SMALL_DAY = 24
"""Units: of so few, rows are begun anew."""
LAST = 16
"""Of a longer one, so many units at the end, where a bout is out of place (24 took twice the time, and left 5 of 343 days more than 5 %
dearer than the best row known; 16 left 9, none 21: measured)."""
FOLLOWED = 300
"""So many begun rows of one length are followed, at most."""

Placed = tuple[int, ...]
"""How many units of each lane stand in the row."""


def cheapest(board: Board, row: list[int], cost: int, kept: int = 0) -> tuple[list[int], int]:
    """Returns the cheapest row found whose first units, so many as are ``kept``, are those of the one given, and its price: the one given,
    where none is cheaper. The lanes keep their order."""
    search = _Search(board)
    begun = [search.begun(row[:kept])._replace(row=())]
    for _ in row[kept:]:
        begun = sorted(search.further(begun, cost - board.fixed), key=search.promise)[:FOLLOWED]
    return ([*row[:kept], *begun[0].row], begun[0].cost + board.fixed) if begun else (row, cost)


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


class _Way(NamedTuple):
    """What follows from how far the lanes have come. ``last_calm``: the last calm unit (-1: there is none yet); of the units still to come
    ``tools``: what they begin with, a bit each, ``left``: their half-minutes, ``sure``: what they cost for coming later."""

    ending: bool
    dirtiest: int
    last_calm: int
    tools: int
    left: int
    sure: int = 0


class _Step(NamedTuple):
    """One unit more, where the lanes have come so far: what it ``costs`` whatever stands just before it, how far they have come then, what
    is ``sure`` to come on top, and the half-minutes of work still to come."""

    lane: int
    unit: int
    costs: int
    placed: Placed
    sure: int
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
        # For each lane, when so many of its units stand in the row: the half-minutes that the others take with their rests. A lane that is
        # done asks for no rest more, which is taken from the one it still has.
        self.spans = [
            [
                sum([board.minutes[n] for n in lane[done:]]) + rest * (len(lane) - done - 1)
                for done in range(len(lane) + 1)
            ]
            for lane, rest in zip(self.lanes, self.rests, strict=True)
        ]
        self.kept_back = board.prices.change if board.backbone else 0
        self._ways: dict[Placed, _Way] = {}
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
        after_high = one.lane != CALM and self.high[one.lane]
        steps = self._steps.get(one.placed)
        if steps is None:
            steps = self._steps[one.placed] = list(self._steps_from(one.placed))
        for lane, n, costs, placed, sure, left in steps:
            cost, passed, run = one.cost + pairs[n] + costs, minutes[n], 0
            if self.zones[lane] != CALM:
                run = min(one.run + 1, prices.most_in_a_row)
                if one.run == run:
                    cost += prices.in_a_row
                idle = one.wait[lane]
                if after_high and self.high[lane] and one.lane != lane:
                    passed += 1  # a half-minute between two high zones is in the price of the two
                    idle -= 1
                if idle > 0:
                    cost += prices.idle * idle
                    passed += idle
            bound = cost + sure
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
        here = self._way(placed)
        for at, lane in enumerate(self.lanes):
            if placed[at] == len(lane):
                continue
            n = lane[placed[at]]
            costs = self._from_now_on(n, here)
            if self.zones[at] != CALM:
                if here.last_calm < board.after[n] or (not any(placed) and board.last_open != board.edge):
                    continue
                if board.units[n].cuts and self._by_hand(here):
                    costs += prices.early_cut
            further = (*placed[:at], placed[at] + 1, *placed[at + 1 :])
            there = self._way(further)
            changes = (there.tools & ~self.ends[n]).bit_count()  # at least one to each other tool
            yield _Step(at, n, costs, further, there.sure + prices.change * changes, there.left)

    def _way(self, placed: Placed) -> _Way:
        found = self._ways.get(placed)
        if found is None:
            units = self.board.units
            done = [units[n] for lane, its in zip(self.lanes, placed, strict=True) for n in lane[:its]]
            to_come = [n for lane, its in zip(self.lanes, placed, strict=True) for n in lane[its:]]
            found = _Way(
                ending=any(unit.finish for unit in done),
                dirtiest=max([unit.soiled for unit in done if unit.clips], default=0),
                last_calm=placed[0] - 1 if self.board.backbone else -1,  # calm units are numbered in their order
                tools=reduce(or_, [self.begins[n] for n in to_come], 0),
                left=sum([self.board.minutes[n] for n in to_come]),
            )
            if found.ending or found.dirtiest or found.last_calm >= self.board.first_comb:
                found = found._replace(sure=sum([self._from_now_on(n, found) for n in to_come]))
            self._ways[placed] = found
        return found

    def _by_hand(self, way: _Way) -> bool:
        """Whether calm places are still to be carded or pulled."""
        return way.last_calm < self.board.last_by_hand != self.board.edge

    def _from_now_on(self, n: int, way: _Way) -> int:
        """What a unit costs where the lanes have come so far, and whenever it comes later."""
        board, prices, unit = self.board, self.board.prices, self.board.units[n]
        cost = prices.unclean * unit.clips if unit.soiled < way.dirtiest else 0
        if unit.lane != CALM and not unit.finish:
            cost += prices.after_finish * way.ending
            if unit.cuts and way.last_calm >= board.first_comb and not self._by_hand(way):
                cost += prices.after_comb
        return cost


def _no_worse(one: _Begun, other: _Begun) -> bool:
    """Whether nothing speaks for the other of two that have come as far and end alike."""
    return one.cost <= other.cost and all(map(le, one.wait, other.wait))
