"""The order of work by passes: one tool over all places that need it, tender places visited in short bouts on the way.

Calm work is sorted by pass and place and never changes its order: the backbone. Each zone is cut into bouts, which are put
into the gaps of the row one zone after another, then taken out and put in again while the row becomes cheaper. Where it
still rests, the bouts are cut again so that unlike tools share one. Small days, and the ends of others, are
begun anew as well.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

from coatrules.order.bettering import out_of_place, several_zones, shifted, with_others, zone_by_zone
from coatrules.order.jobs import PRICES, Arrangement, Job, Prices, Slot, Stations, Zone
from coatrules.order.promising import LAST, SMALL_DAY, cheapest
from coatrules.order.row import Filler, price, waits
from coatrules.order.units import Board, Work, board, work

ALIKE = 128
"""So many orders of work are remembered, some tens of kB each."""
STARTS_FOLLOWED = 2
"""Of the rows begun differently so many, the cheapest, are bettered."""


def arrange(
    jobs: Iterable[Job],
    zones: Mapping[str, Zone],
    stations: Stations,
    prices: Prices = PRICES,
    *,
    minutes_only: bool = False,
) -> Arrangement:
    """Returns today's slots with the rests that they need. The order of ``jobs`` does not matter. With ``minutes_only`` they take as
    long, but it is the first row found in which the dog never rests, if there is one.

    Raises KeyError for a job in an unknown zone or at no station, ValueError for a task of no length.
    """
    # No row is made dearer on the way to the best one, and all that costs less than a rest is without one.
    enough = prices.idle if minutes_only else 0
    return _arranged(work(jobs, zones, stations), stations.apart, prices, enough)


@lru_cache(ALIKE)
def _arranged(today: Work, apart: tuple[tuple[int, ...], ...], prices: Prices, enough: int) -> Arrangement:
    """The cheapest order of work that is cut into chunks, or the first found that costs less than ``enough``. Dogs that need the same
    work of the same hands share it."""
    cut = board(today, apart, prices)
    row, cost = best_row(cut, enough)
    if cost >= prices.idle and cut.chains:
        shared = board(today, apart, prices, unlike=True)
        if len(shared.units) < len(cut.units):
            other, its_cost = best_row(shared, enough)
            if its_cost < cost:
                cut, row, cost = shared, other, its_cost
    return Arrangement(_slots(cut, row), cost)


def best_row(board: Board, enough: int = 0) -> tuple[list[int], int]:
    """Returns the cheapest row found, or the first that costs less than ``enough``, and its price."""
    if not board.chains:
        return board.backbone, price(board, board.backbone)
    filler = Filler(board)
    starts: list[tuple[int, list[int], list[int]]] = []
    for lanes in _starts(board):
        row = board.backbone
        for lane in lanes:
            row = filler.put_in(row, lane)
        cost = price(board, row)
        if cost < enough:
            return row, cost
        starts.append((cost, row, lanes))
    starts.sort(key=lambda start: start[0])
    followed = [zone_by_zone(filler, row, cost, lanes) for cost, row, lanes in starts[:STARTS_FOLLOWED]]
    row, cost = min(followed, key=lambda one: one[1])
    before = cost + 1
    while enough <= cost < before:
        before = cost
        row, cost = with_others(filler, *shifted(filler, *several_zones(filler, row, cost)))
    if cost >= enough:
        if len(row) <= SMALL_DAY:
            row, cost = cheapest(board, row, cost)
        elif out_of_place(board, row):
            row, cost = cheapest(board, row, cost, kept=len(row) - LAST)
    return row, cost


def _starts(board: Board) -> list[list[int]]:
    """Returns three orders in which the zones may be put in: most cutting first, short ones of tools that calm work does
    not need first, gentle ones first (which of many did best together was measured)."""
    units = board.units
    tools = {units[n].begin[0] for n in board.backbone}

    def length(lane: int) -> tuple[bool, int, int]:
        chain = board.chains[lane]
        time = sum([units[n].minutes for n in chain]) + board.rests[lane] * (len(chain) - 1)
        return not any(units[n].begin[0] in tools for n in chain), -time, lane

    def cutting(lane: int) -> float:
        chain = board.chains[lane]
        return sum([units[n].cuts for n in chain]) / len(chain)

    long_first = sorted(range(len(board.chains)), key=length)
    starts = [
        sorted(long_first, key=cutting)[::-1],
        long_first[::-1],
        sorted(long_first, key=board.high.__getitem__),
    ]
    return [start for number, start in enumerate(starts) if start not in starts[:number]]


def _slots(board: Board, row: Sequence[int]) -> tuple[Slot, ...]:
    slots: list[Slot] = []
    for n, wait in zip(row, waits(board, row), strict=True):
        if wait:
            slots.append(Slot(None, "rest", wait))
        slots += board.units[n].slots
    return tuple(slots)
