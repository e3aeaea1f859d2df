"""A row of units: what it costs, and how the bouts of a zone are put into it.

Inserting work can only lengthen the rests of other zones and part two high ones, so zones may be put in one after another,
each as cheaply as it can be: a shortest path over its bouts and the gaps of the row.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from itertools import accumulate, pairwise
from typing import NamedTuple

from coatrules.order.units import CALM, Board

NEVER = 10**9
"""The price of what the rules forbid."""


class Timed(NamedTuple):
    """When each unit of a row ends; and how long the dog waits before each: ``idle``, beside the half-minute ``parting`` two high zones
    (all half-minutes)."""

    ends: list[int]
    idle: list[int]
    parting: list[int]


def timed(board: Board, row: Sequence[int]) -> Timed:
    """Returns the times of a row if each unit begins as soon as it may."""
    lanes, minutes, rests, high = board.lane, board.minutes, board.rests, board.high
    ready = [0] * len(rests)
    ends: list[int] = []
    idle, parting = [0] * len(row), [0] * len(row)
    now, after_high = 0, CALM
    for at, n in enumerate(row):
        lane = lanes[n]
        now += minutes[n]
        if lane == CALM:
            after_high = CALM
        else:
            if high[lane]:
                if after_high != CALM and after_high != lane:
                    parting[at] = 1
                    now += 1
                after_high = lane
            else:
                after_high = CALM
            wait = ready[lane] + minutes[n] - now
            if wait > 0:
                idle[at] = wait
                now += wait
            ready[lane] = now + rests[lane]
        ends.append(now)
    return Timed(ends, idle, parting)


def waits(board: Board, row: Sequence[int]) -> list[int]:
    """Returns how long the dog waits before each unit of a row (half-minutes)."""
    times = timed(board, row)
    return [idle + parting for idle, parting in zip(times.idle, times.parting, strict=True)]


def price(board: Board, row: Sequence[int]) -> int:
    """Returns what a row, or the beginning of one, costs; ``NEVER`` or more if the rules forbid it.

    It keeps the time as ``timed`` does, in its own loop: to call that would make a row take 4 parts in 10 longer (measured).
    """
    pairs, prices, lanes, minutes, plain = board.pairs, board.prices, board.lane, board.minutes, board.plain
    rests, high, last_by_hand, last_open = board.rests, board.high, board.last_by_hand, board.last_open
    most = prices.most_in_a_row
    by_hand, open_calm = last_by_hand != board.edge, last_open != board.edge  # whether calm units are still to come
    total = board.fixed + sum([pairs[one][two] for one, two in pairwise(row)])
    if row and open_calm and lanes[row[0]] != CALM:
        total += NEVER
    ready = [0] * len(rests)
    now = run = dirtiest = idle = 0
    calm = -1  # the last calm unit; they are numbered in their order
    after_high = CALM
    finishing = False
    for n in row:
        lane = lanes[n]
        if lane == CALM:
            run = 0
            calm = n
            after_high = CALM
            if n == last_by_hand:
                by_hand = False
            if n == last_open:
                open_calm = False
        else:
            wait = ready[lane] - now
            if high[lane]:
                if after_high != CALM and after_high != lane:  # a half-minute is in the price of the pair
                    now += 1
                    wait -= 1
                after_high = lane
            else:
                after_high = CALM
            if wait > 0:
                idle += wait
                now += wait
            ready[lane] = now + minutes[n] + rests[lane]
            run += 1
            if run > most:
                total += prices.in_a_row
            if finishing and plain[n]:
                total += prices.after_finish
        now += minutes[n]
        if plain[n]:
            continue
        unit = board.units[n]
        if unit.clips:
            if unit.soiled < dirtiest:
                total += prices.unclean * unit.clips
            else:
                dirtiest = unit.soiled
        if lane != CALM:
            if unit.finish:
                total += NEVER if calm < board.after[n] else 0
            elif finishing:
                total += prices.after_finish
            if unit.cuts and by_hand:
                total += prices.early_cut
            elif unit.cuts and calm >= board.first_comb and not unit.finish:
                total += prices.after_comb
        finishing = finishing or unit.finish
    return total + prices.idle * idle


class Filler:
    """Puts the bouts of a zone into a row. What was looked for once is remembered: a search comes by the same rows again."""

    def __init__(self, board: Board) -> None:
        self.board = board
        self._known: dict[tuple[int, ...], _Gaps] = {}
        self._made: dict[tuple[tuple[int, ...], int], list[int]] = {}

    def put_in(self, row: list[int], lane: int) -> list[int]:
        """Returns the row with the bouts of a zone put into its gaps as cheaply as they can be, in their order."""
        key = tuple(row)
        made = self._made.get((key, lane))
        if made is None:
            gaps = self._known.get(key)
            if gaps is None:
                gaps = self._known[key] = _gaps(self.board, row)
            made = self._made[key, lane] = _filled(self.board, gaps, self.board.chains[lane])
        return made


def _filled(board: Board, gaps_of: _Gaps, chain: Sequence[int]) -> list[int]:
    prices, rest = board.prices, board.rests[board.lane[chain[0]]]
    row, begins = gaps_of.row, gaps_of.begins
    costs = [_costs(board, gaps_of, n) for n in chain]
    reached = costs[0]
    if len(chain) == 1:
        return _put(row, chain, [reached.index(min(reached))])
    # For each gap the last one from which on a bout's rest is over; -1: there is none.
    far = [bisect_right(begins, now - rest) - 1 for now in begins]
    before = []  # for each bout but the last what it costs to have come to each gap
    for cost in costs[1:]:
        before.append(reached)
        least = [*accumulate(reached, min), NEVER]
        reached = [least[gap] + here for gap, here in zip(far, cost, strict=True)]
    cheapest = min(reached)
    if cheapest >= prices.idle:
        return _put(row, chain, _with_rests(costs, begins, far, rest, prices.idle))
    gaps = [reached.index(cheapest)]
    for reached in reversed(before):
        within = reached[: far[gaps[-1]] + 1]
        gaps.append(within.index(min(within)))
    return _put(row, chain, gaps[::-1])


def _put(row: list[int], chain: Sequence[int], gaps: Sequence[int]) -> list[int]:
    made: list[int] = []
    done = 0
    for gap, n in zip(gaps, chain, strict=True):
        made += row[done:gap]
        made.append(n)
        done = gap
    return made + row[done:]


def _with_rests(
    costs: Sequence[list[int]], begins: Sequence[int], far: Sequence[int], rest: int, idle: int
) -> list[int]:
    """Returns the cheapest gaps where the dog must wait: a half-minute that is missing between two bouts costs ``idle``."""
    reached = costs[0]
    ways = []
    for cost in costs[1:]:
        total, way = [], []
        least, at = NEVER, 0
        done = 0
        for gap, (now, last, here) in enumerate(zip(begins, far, cost, strict=True)):
            while done <= last:
                if reached[done] < least:
                    least, at = reached[done], done
                done += 1
            best, chosen = least, at
            for near in range(last + 1, gap + 1):
                missing = reached[near] + idle * (rest - now + begins[near])
                if missing < best:
                    best, chosen = missing, near
            total.append(best + here)
            way.append(chosen)
        reached = total
        ways.append(way)
    gaps = [reached.index(min(reached))]
    for way in reversed(ways):
        gaps.append(way[gaps[-1]])
    return gaps[::-1]


class _Gaps(NamedTuple):
    """The gaps of a row. ``before`` and ``after`` are the units at both sides; ``begins`` says when each begins,
    ``fillable`` the waits that a bout would fill, ``common`` what each costs any bout: the pair that it parts, and a run of
    tender bouts that it makes longer. Up to ``by_hand`` and ``open_calm`` calm work of those kinds is still to come; from ``combing``
    on calm places are combed; after ``finish`` the visit is ending. ``clipped`` are the gaps before places that are clipped."""

    row: list[int]
    before: list[int]
    after: list[int]
    begins: list[int]
    fillable: list[tuple[int, int]]
    common: list[int]
    by_hand: int
    open_calm: int
    combing: int
    finish: int
    clipped: list[int]


def _gaps(board: Board, row: list[int]) -> _Gaps:
    pairs, edge, most = board.pairs, board.edge, board.prices.most_in_a_row
    times = timed(board, row)
    size = len(row)
    before, after = [edge, *row], [*row, edge]
    common = [-pairs[one][two] for one, two in zip(before, after, strict=True)]
    run = 0
    for gap, n in enumerate(after):
        if gap < size and board.lane[n] != CALM:
            run += 1
            continue
        if run >= most:
            for within in range(gap - run, gap + 1):
                common[within] += board.prices.in_a_row
        run = 0
    cut_or_end = [gap for gap, n in enumerate(row) if not board.plain[n]]
    return _Gaps(
        row,
        before,
        after,
        [0, *times.ends],
        [(gap, wait) for gap, wait in enumerate(times.idle) if wait],
        common,
        by_hand=row.index(board.last_by_hand) + 1 if board.last_by_hand != edge else 0,
        open_calm=row.index(board.last_open) + 1 if board.last_open != edge else 0,
        combing=row.index(board.first_comb) + 1 if board.first_comb != edge else size + 1,
        finish=next((gap for gap in cut_or_end if board.units[row[gap]].finish), size),
        clipped=[gap for gap in cut_or_end if board.units[row[gap]].clips],
    )


def _costs(board: Board, gaps: _Gaps, n: int) -> list[int]:
    """Returns what a bout costs in each gap of a row."""
    prices = board.prices
    into, out = board.turned[n], board.pairs[n]
    cost = [here + into[one] + out[two] for here, one, two in zip(gaps.common, gaps.before, gaps.after, strict=True)]
    if gaps.open_calm:
        cost[0] = NEVER
    for gap, wait in gaps.fillable:
        cost[gap] -= prices.idle * min(wait, board.minutes[n])
    unit = board.units[n]
    size = len(gaps.row)
    if unit.finish:
        waits_for = board.after[n]
        first = gaps.row.index(waits_for) + 1 if waits_for >= 0 else 0
        cost[:first] = [NEVER] * first
        late = 0
        for gap in range(size, first, -1):
            other = board.units[gaps.row[gap - 1]]
            late += other.lane != CALM and not other.finish
            cost[gap - 1] += prices.after_finish * late
    else:
        for gap in range(gaps.finish + 1, size + 1):
            cost[gap] += prices.after_finish
    if unit.cuts:
        for gap in range(gaps.by_hand):
            cost[gap] += prices.early_cut
        if not unit.finish:
            for gap in range(max(gaps.by_hand, gaps.combing), size + 1):
                cost[gap] += prices.after_comb
        if unit.clips:
            _add_unclean(board, gaps, unit.soiled, unit.clips, cost)
    return cost


def _add_unclean(board: Board, gaps: _Gaps, soiled: int, clips: int, cost: list[int]) -> None:
    """Adds for each gap what a clipping bout there costs because something is clipped after what is dirtier."""
    unclean = board.prices.unclean
    after_dirtier = False
    for gap in gaps.clipped:
        unit = board.units[gaps.row[gap]]
        if unit.soiled > soiled:
            if not after_dirtier:
                after_dirtier = True
                for after in range(gap + 1, len(cost)):
                    cost[after] += unclean * clips
        elif unit.soiled < soiled and not after_dirtier:
            for before in range(gap + 1):
                cost[before] += unclean * unit.clips
