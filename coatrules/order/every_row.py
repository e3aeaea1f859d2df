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
    first_tool = [unit.begin[0] for unit in board.units]
    # For each lane the tools still to be taken up when so many of its units are done.
    tools = [[{first_tool[n] for n in lane[done:]} for done in range(len(lane) + 1)] for lane in lanes]
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
            if done == len(lane):
                continue
            more = [*begun, lane[done]]
            now = (*at[:number], done + 1, *at[number + 1 :])
            to_come = set().union(*[left[done] for left, done in zip(tools, now, strict=True)])
            to_come.discard(board.units[lane[done]].end[0])
            # No row that begins so costs less.
            bound = price(board, more) + board.prices.change * len(to_come)
            if bound < least:
                further.append((bound, more, now))
        stack += sorted(further, key=lambda one: -one[0])
    return best, least
