"""Every row of a short day, so that its cheapest one is found."""

from __future__ import annotations

from coatrules.order.row import price
from coatrules.order.units import Board

SHORT_DAY = 9
"""Units: of so few every order is tried."""
LOOKS = 3000
"""Beginnings of rows that are looked at, at most."""


def cheapest(board: Board, row: list[int], cost: int) -> tuple[list[int], int]:
    """Returns the cheapest row and its price, or the one given where none is cheaper or ``LOOKS`` beginnings have been seen.

    The lanes keep their order; a beginning that costs as much as the best row is not followed.
    """
    lanes = [lane for lane in (board.backbone, *board.chains) if lane]
    whole = sum(map(len, lanes))
    best, least, looks = row, cost, LOOKS
    stack: list[tuple[int, list[int], tuple[int, ...]]] = [(0, [], (0,) * len(lanes))]
    while stack and looks:
        so_far, begun, at = stack.pop()
        if so_far >= least:
            continue
        looks -= 1
        if len(begun) == whole:
            best, least = begun, so_far
            continue
        further = []
        for lane, (units, done) in enumerate(zip(lanes, at, strict=True)):
            if done < len(units):
                more = [*begun, units[done]]
                # A beginning never costs more than the rows that begin with it.
                further.append((price(board, more), more, (*at[:lane], done + 1, *at[lane + 1 :])))
        stack += sorted(further, key=lambda one: -one[0])
    return best, least
