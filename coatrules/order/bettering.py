"""Five ways to make a row of units cheaper; each returns the row and its price, never a dearer one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain, combinations

from coatrules.order.row import Filler, price
from coatrules.order.units import CALM, Board

ROUNDS = 4
"""How often every zone is taken out and put in again, at most."""
TAKEN_OUT, CHOICES = 3, 3
"""So many zones are taken out and put in together, in so many choices of them, after all zones that one tool works in. 16 choices without
those by tool, and only once, took a tenth more looks and left rows 0.3 % dearer (measured)."""
LONGEST_RUN = 4
"""Bouts in a row that are shifted together, at most."""


def zone_by_zone(filler: Filler, row: list[int], cost: int, lanes: Sequence[int]) -> tuple[list[int], int]:
    """Takes each zone out and puts it in again, in turn, until nothing improves."""
    board = filler.board
    lane_of = board.lane
    in_vain, left = 0, ROUNDS * len(lanes)
    while left and in_vain < len(lanes) > 1:
        lane = lanes[-left % len(lanes)]
        left -= 1
        in_vain += 1
        other = filler.put_in([n for n in row if lane_of[n] != lane], lane)
        if other != row and (its_cost := price(board, other)) <= cost:  # an equal row may open a way to a cheaper one
            if its_cost < cost:
                in_vain = 0
            row, cost = other, its_cost
    return row, cost


def several_zones(filler: Filler, row: list[int], cost: int) -> tuple[list[int], int]:
    """Takes several zones out and puts them in again, the first or the last of them first: all that one tool works in, then those that
    the row is dearest for."""
    row, cost = _put_in_anew(filler, row, cost, _by_tool(filler.board))
    return _put_in_anew(filler, row, cost, _dearest(filler.board, row, cost))


def _put_in_anew(
    filler: Filler, row: list[int], cost: int, choices: Sequence[tuple[int, ...]]
) -> tuple[list[int], int]:
    board = filler.board
    lane_of = board.lane
    for choice in choices:
        others = [n for n in row if lane_of[n] not in choice]
        for order in (choice, choice[::-1]):
            other = others
            for lane in order:
                other = filler.put_in(other, lane)
            if other != row and (its_cost := price(board, other)) <= cost:
                row, cost = other, its_cost
    return row, cost


def _by_tool(board: Board) -> list[tuple[int, ...]]:
    """For each tool the zones that it works in, where there are several; the fewest first."""
    lanes_of: dict[str, dict[int, None]] = {}
    for lane, units in enumerate(board.chains):
        for n in units:
            lanes_of.setdefault(board.units[n].begin[0][0], {})[lane] = None
    choices = dict.fromkeys([tuple(lanes) for lanes in lanes_of.values() if len(lanes) > 1])
    return sorted(choices, key=len)


def _dearest(board: Board, row: list[int], cost: int) -> list[tuple[int, ...]]:
    """The choices of zones that the row would be cheapest without."""
    lane_of, lanes = board.lane, range(len(board.chains))
    saved = [cost - price(board, [n for n in row if lane_of[n] != lane]) for lane in lanes]
    choices = combinations(lanes, min(TAKEN_OUT, len(lanes)))
    return sorted(choices, key=lambda choice: -sum([saved[n] for n in choice]))[:CHOICES]


def with_others(filler: Filler, row: list[int], cost: int) -> tuple[list[int], int]:
    """Takes each zone that is out of place out together with one other zone, then with two, and puts them in again."""
    board = filler.board
    for more in (1, 2):
        for lane in out_of_place(board, row):
            others = [other for other in range(len(board.chains)) if other != lane]
            choices = [(lane, *some) for some in combinations(others, more)]
            row, cost = _put_in_anew(filler, row, cost, choices)
    return row, cost


def out_of_place(board: Board, row: Sequence[int]) -> list[int]:
    """Returns the zones with a bout where only need puts one: a cutting tool before the calm hand work is done, any work after the
    visit began to end, a clean place clipped after a dirtier one, and that one before it."""
    units, lane_of = board.units, board.lane
    by_hand = row.index(board.last_by_hand) if board.last_by_hand != board.edge else 0
    finish = next((at for at, n in enumerate(row) if units[n].finish), len(row))
    early = [lane_of[n] for n in row[:by_hand] if units[n].cuts]
    late = [lane_of[n] for n in row[finish:] if not units[n].finish]
    clipped = [n for n in row if units[n].clips]
    unclean = [
        lane_of[n]
        for before, after in combinations(clipped, 2)
        if units[before].soiled > units[after].soiled
        for n in (after, before)
    ]
    return [lane for lane in dict.fromkeys(early + late + unclean) if lane != CALM]


def shifted(filler: Filler, row: list[int], cost: int) -> tuple[list[int], int]:
    """Shifts runs of bouts, of different zones too, to where they break less, and single bouts anywhere while the dog rests;
    until nothing improves."""
    board = filler.board
    better: tuple[list[int], int] | None = row, cost
    while better is not None:
        row, cost = better
        ways = chain(_shifts(board, row), _anywhere(board, row) if cost >= board.prices.idle else ())
        better = next(((other, its_cost) for other in ways if (its_cost := price(board, other)) < cost), None)
    return row, cost


def _anywhere(board: Board, row: list[int]) -> Iterator[list[int]]:
    """Yields the rows with one bout at another place; a zone's bouts stay in order."""
    lane_of = board.lane
    for at, n in enumerate(row):
        if lane_of[n] != CALM:
            others = row[:at] + row[at + 1 :]
            low, high = at, at
            while low > 0 and lane_of[others[low - 1]] != lane_of[n]:
                low -= 1
            while high < len(others) and lane_of[others[high]] != lane_of[n]:
                high += 1
            for gap in range(low, high + 1):
                if gap != at:
                    yield [*others[:gap], n, *others[gap:]]


def _shifts(board: Board, row: list[int]) -> Iterator[list[int]]:
    """Yields the rows with one run of bouts shifted so that the pairs it makes cost less; a zone's bouts stay in order."""
    pairs, lane_of, size = board.pairs, board.lane, len(row)
    ends = [board.edge, *row, board.edge]  # ends[gap] lies before a gap, ends[gap + 1] after it
    for start in range(size):
        lanes = set()
        for stop in range(start + 1, min(size, start + LONGEST_RUN) + 1):
            first, last = row[start], row[stop - 1]
            if lane_of[last] == CALM:
                break
            lanes.add(lane_of[last])
            saved = pairs[ends[start]][first] + pairs[last][ends[stop + 1]] - pairs[ends[start]][ends[stop + 1]]
            if saved <= 0:
                continue
            for gap in range(start - 1, -1, -1):
                if lane_of[row[gap]] in lanes:
                    break
                one, two = ends[gap], ends[gap + 1]
                if pairs[one][first] + pairs[last][two] - pairs[one][two] < saved:
                    yield row[:gap] + row[start:stop] + row[gap:start] + row[stop:]
            for gap in range(stop + 1, size + 1):
                if lane_of[row[gap - 1]] in lanes:
                    break
                one, two = ends[gap], ends[gap + 1]
                if pairs[one][first] + pairs[last][two] - pairs[one][two] < saved:
                    yield row[:start] + row[stop:gap] + row[start:stop] + row[gap:]
