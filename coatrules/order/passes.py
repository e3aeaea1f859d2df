"""The order of work by passes: one tool over all places that need it, tender places visited in short bouts on the way.

Calm work is sorted by pass and place and never changes its order: the backbone. Each zone is cut into bouts, which are put
into the gaps of the row one zone after another, then taken out and put in again while the row becomes cheaper. Where it
still rests, the bouts are cut again so that unlike tools share one. Of a short day every order is tried.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from coatrules.order.every_row import SHORT_DAY, cheapest
from coatrules.order.jobs import PRICES, Arrangement, Job, Prices, Slot, Stations, Zone
from coatrules.order.row import price, put_in, timing
from coatrules.order.units import Board, Work, board, work

ROUNDS = 3
"""How often every zone is taken out and put in again: a fourth round hardly finds anything (measured)."""


def arrange(
    jobs: Iterable[Job], zones: Mapping[str, Zone], stations: Stations, prices: Prices = PRICES
) -> Arrangement:
    """Returns today's slots with the rests that they need. The order of ``jobs`` does not matter.

    Raises KeyError for a job in an unknown zone or at no station, ValueError for a task of no length.
    """
    return arranged(work(jobs, zones, stations), stations, prices)


def arranged(today: Work, stations: Stations, prices: Prices = PRICES) -> Arrangement:
    """Returns the same from jobs that are cut into chunks."""
    cut = board(today, stations, prices)
    row, cost = _best(cut)
    if cost >= prices.idle and cut.chains:
        shared = board(today, stations, prices, unlike=True)
        if len(shared.units) < len(cut.units):
            other, its_cost = _best(shared)
            if its_cost < cost:
                cut, row, cost = shared, other, its_cost
    return Arrangement(_slots(cut, row), cost)


def _best(board: Board) -> tuple[list[int], int]:
    """Returns the cheapest row found, and its price."""
    if not board.chains:
        return board.backbone, price(board, board.backbone)
    tools = {board.units[n].begin[0] for n in board.backbone}

    def first(lane: int) -> tuple[bool, int, int]:
        chain = board.chains[lane]
        length = sum([board.units[n].minutes for n in chain]) + board.rests[lane] * (len(chain) - 1)
        return not any([board.units[n].begin[0] in tools for n in chain]), -length, lane

    lanes = sorted(range(len(board.chains)), key=first)
    row, cost = _grown(board, lanes)
    gentle = sorted(lanes, key=lambda lane: board.high[lane])
    if gentle != lanes:
        other, its_cost = _grown(board, gentle)
        if its_cost < cost:
            row, cost = other, its_cost
    if len(board.units) <= SHORT_DAY:
        row, cost = cheapest(board, row, cost)
    return row, cost


def _grown(board: Board, lanes: Sequence[int]) -> tuple[list[int], int]:
    """Returns the row that begins as the backbone, zones put in in this order and again until nothing improves."""
    row = board.backbone
    for lane in lanes:
        row = put_in(board, row, board.chains[lane])
    cost = price(board, row)
    if len(lanes) == 1:
        return row, cost
    units = board.units
    for _ in range(ROUNDS):
        before = cost
        for lane in lanes:
            other = put_in(board, [n for n in row if units[n].lane != lane], board.chains[lane])
            if other != row and (its_cost := price(board, other)) < cost:
                row, cost = other, its_cost
        if cost == before:
            break
    return row, cost


def _slots(board: Board, row: Sequence[int]) -> tuple[Slot, ...]:
    slots: list[Slot] = []
    for n, wait in zip(row, timing(board, row).waits, strict=True):
        if wait:
            slots.append(Slot(None, "rest", wait))
        slots += board.units[n].slots
    return tuple(slots)
