"""A row of units: what it costs, how a zone's bouts are put into it, and every row of a short day.

Inserting work can only lengthen the rests of other zones and part two high ones, so zones may be put in one after another,
each as cheaply as it can be: a shortest path over its bouts and the gaps of the row.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from coatrules.order.units import CALM, Board

NEVER = 10**9
"""The price of what the rules forbid."""


class Timing(NamedTuple):
    """For each unit of a row when it ends, and how long the dog waits before it (half-minutes)."""

    ends: list[int]
    waits: list[int]


def timing(board: Board, row: Sequence[int]) -> Timing:
    """Returns when each unit of a row ends if each begins as soon as it may."""
    units, rests, high = board.units, board.rests, board.high
    ready = [0] * len(rests)
    ends, waits = [], []
    now, after_high = 0, CALM
    for n in row:
        lane, minutes = units[n][:2]
        wait = 0
        if lane == CALM:
            now += minutes
            after_high = CALM
        else:
            wait = ready[lane] - now
            if wait < 1:
                wait = 1 if after_high not in (CALM, lane) and high[lane] else 0
            now += wait + minutes
            ready[lane] = now + rests[lane]
            after_high = lane if high[lane] else CALM
        ends.append(now)
        waits.append(wait)
    return Timing(ends, waits)


def price(board: Board, row: Sequence[int]) -> int:
    """Returns what a row costs; ``NEVER`` or more if the rules forbid it."""
    units, pairs, prices = board.units, board.pairs, board.prices
    by_hand = open_calm = 0  # calm units still to come: pulled or carded; not of the finish
    for n in board.backbone:
        by_hand += units[n].by_hand
        open_calm += not units[n].finish
    total = board.fixed
    if row and open_calm and units[row[0]].lane != CALM:
        total += NEVER
    last, run, dirtiest, finishing = board.edge, 0, 0, False
    for n in row:
        lane, _, _, _, _, hand, cuts, finish, soiled, clips, _ = units[n]
        total += pairs[last][n]
        last = n
        if clips:
            if soiled < dirtiest:
                total += prices.unclean * clips
            else:
                dirtiest = soiled
        if lane == CALM:
            run = 0
            by_hand -= hand
            open_calm -= not finish
        else:
            run += 1
            if run > prices.most_in_a_row:
                total += prices.in_a_row
            if finish:
                if open_calm:
                    total += NEVER
            elif finishing:
                total += prices.after_finish
            if cuts and by_hand:
                total += prices.early_cut
        finishing = finishing or finish
    idle = sum(timing(board, row).waits)
    return total + prices.idle * (idle - _parted(board, row))


def _parted(board: Board, row: Sequence[int]) -> int:
    """Returns how many half-minutes of rest ``Board.pairs`` has counted already: one for two high zones side by side."""
    units, high = board.units, board.high
    count, last = 0, CALM
    for n in row:
        lane = units[n].lane
        count += lane != last and lane != CALM and last != CALM and high[lane] and high[last]
        last = lane
    return count


def put_in(board: Board, row: list[int], chain: Sequence[int]) -> list[int]:
    """Returns the row with the bouts of a zone put into its gaps as cheaply as they can be, in their order."""
    units, prices, edge = board.units, board.prices, board.edge
    lane = units[chain[0]].lane
    rest, is_high = board.rests[lane], board.high[lane]
    size = len(row)
    before, after = [edge, *row], [*row, edge]
    ends, waits = timing(board, row)
    begins = [0, *ends]  # when a gap begins

    # What every bout costs in each gap: the link that it breaks, and the run of tender bouts that it makes longer.
    most, in_a_row = prices.most_in_a_row, prices.in_a_row
    pairs = board.pairs
    common = [-pairs[one][two] for one, two in zip(before, after, strict=True)]
    first_calm_gap = hand_gap = calm_gap = 0
    finish_gap, runs, run = size + 1, [0], 0
    soiled_before, clean_after = False, 0
    for gap, n in enumerate(row, start=1):
        unit = units[n]
        if unit.lane == CALM:
            run = 0
            if unit.by_hand:
                hand_gap = gap
            if not unit.finish:
                calm_gap = gap
                first_calm_gap = 1
        else:
            run += 1
        if unit.finish and finish_gap > size:
            finish_gap = gap
        soiled_before = soiled_before or unit.soiled > 0
        clean_after += unit.clips
        runs.append(run)
    behind = 0
    for gap in range(size, -1, -1):
        if gap < size:
            behind = 0 if units[row[gap]].lane == CALM else behind + 1
        ahead = runs[gap]
        if ahead + behind >= most:
            common[gap] += in_a_row * (ahead + 1 + behind - most - max(0, ahead - most) - max(0, behind - most))

    # Waits that a bout would fill: one half-minute between two high zones is in the price of the link already.
    fillable = []
    if any(waits):
        for gap, wait in enumerate(waits):
            if wait:
                two_high = gap > 0 and pairs[row[gap - 1]][row[gap]] >= prices.idle
                if wait > two_high:
                    fillable.append((gap, wait - two_high))

    reached: list[int] = []
    ways: list[list[int]] = []
    for number, n in enumerate(chain):
        unit = units[n]
        into, out = board.turned[n], pairs[n]
        cost = [c + into[one] + out[two] for c, one, two in zip(common, before, after, strict=True)]
        if first_calm_gap:
            cost[0] = NEVER
        for gap, wait in fillable:
            cost[gap] -= prices.idle * min(wait, unit.minutes)
        if unit.finish:
            for gap in range(calm_gap):
                cost[gap] = NEVER
            late = 0
            for gap in range(size, calm_gap, -1):
                other = units[row[gap - 1]]
                late += other.lane != CALM and not other.finish
                cost[gap - 1] += prices.after_finish * late
        else:
            for gap in range(finish_gap, size + 1):
                cost[gap] += prices.after_finish
        if unit.cuts:
            for gap in range(hand_gap):
                cost[gap] += prices.early_cut
        if unit.clips and (unit.soiled or soiled_before) and clean_after:
            for gap, extra in enumerate(_unclean(board, row, unit.soiled, unit.clips)):
                cost[gap] += extra
        if number == 0:
            reached = cost
            continue
        way = [0] * (size + 1)
        total = [0] * (size + 1)
        far, least, at = -1, NEVER, 0
        for gap in range(size + 1):
            now = begins[gap]
            while far < gap and now - begins[far + 1] >= rest:
                far += 1
                if reached[far] < least:
                    least, at = reached[far], far
            best, chosen = least, at
            if least >= prices.idle:
                for near in range(far + 1, gap + 1):
                    missing = reached[near] + prices.idle * (rest - now + begins[near])
                    if missing < best:
                        best, chosen = missing, near
            total[gap] = best + cost[gap]
            way[gap] = chosen
        reached = total
        ways.append(way)
    gap = min(range(size + 1), key=reached.__getitem__)
    gaps = [gap]
    for way in reversed(ways):
        gap = way[gap]
        gaps.append(gap)
    gaps.reverse()
    made: list[int] = []
    done = 0
    for gap, n in zip(gaps, chain, strict=True):
        made += row[done:gap]
        made.append(n)
        done = gap
    return made + row[done:]


def _unclean(board: Board, row: Sequence[int], soiled: int, clips: int) -> list[int]:
    """Returns for each gap what a clipping bout there costs because something is clipped after what is dirtier."""
    units, unclean = board.units, board.prices.unclean
    cost = []
    dirtier = False
    cleaner = sum([units[n].clips for n in row if units[n].soiled < soiled])
    for n in (*row, board.edge):
        cost.append(unclean * (clips * dirtier + cleaner))
        if n != board.edge and units[n].clips:
            dirtier = dirtier or units[n].soiled > soiled
            cleaner -= units[n].clips * (units[n].soiled < soiled)
    return cost
