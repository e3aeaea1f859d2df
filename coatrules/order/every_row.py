"""Every row of a short day, so that its cheapest one is found."""

from __future__ import annotations

from coatrules.order.row import price
from coatrules.order.units import Board

SHORT_DAY = 7
"""Units: of so few every order is tried."""
LOOKS = 2000
"""Beginnings of rows that are looked at, at most."""


def cheapest(board: Board, row: list[int], cost: int) -> tuple[list[int], int]:
    """Returns the cheapest row and its price, or the one given where none is cheaper or ``LOOKS`` beginnings have been seen.

    The lanes keep their order. A beginning is not followed if with the changes of tool still to come it costs as much as
    the best row.
    """
    lanes = [lane for lane in (board.backbone, *board.chains) if lane]
    whole = sum(map(len, lanes))
    tool = [(unit.begin[0], unit.end[0]) for unit in board.units]
    best, least, looks = row, cost, LOOKS
    stack: list[tuple[int, list[int], tuple[int, ...]]] = [(0, [], (0,) * len(lanes))]
    while stack and looks:
        bound, begun, at = stack.pop()
        if bound >= least:
            continue
        looks -= 1
        if len(begun) == whole:
            best, least = begun, bound
            continue
        further = []
        for number, (lane, done) in enumerate(zip(lanes, at, strict=True)):
            if done < len(lane):
                more = [*begun, lane[done]]
                # No row that begins so costs less: of each tool still to be taken up there is one change at least.
                to_come = set()
                for other, (units, behind) in enumerate(zip(lanes, at, strict=True)):
                    to_come.update([tool[n][0] for n in units[behind + (other == number) :]])
                bound = price(board, more) + board.prices.change * len(to_come - {tool[lane[done]][1]})
                if bound < least:
                    further.append((bound, more, (*at[:number], done + 1, *at[number + 1 :])))
        stack += sorted(further, key=lambda one: -one[0])
    return best, least
