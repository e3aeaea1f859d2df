"""The linear program of a plan: what is chosen, what bounds it, and what it costs.

Chosen, for every part ``r`` of the coat and visit ``i``: the share ``p`` that is pulled, written as the usual share ``u`` plus
``more`` minus ``less``; ``P`` is its running sum. A ``Mark`` of the queue stands for ``share + P[after]``.

Bounds, all kept by every plan:

- ready hair only: ``P[i] <= ready mark``;
- cover straight after visit ``i`` at least the target's, from the first visit on which the untouched coat has it; before,
  no more than the target's ``low_spot`` is pulled (model.md, "How much to take");
- no more than ``at_most`` at one visit, and nothing where the dog's health forbids it;
- the minutes of a visit, less what is due there by the calendar (carding, clipping, routines).

Cost, the least wins:

- LATE for each share of hair that is blown or longer than wanted when the dog comes again, visit by visit;
- SHOW for each share of hair that is outside of the wanted lengths on the show day;
- 1 for each share pulled more or less than usual, so that the layers come out even.

With ``loosen`` late hair is all but forbidden, and cover, shares over ``at_most`` and minutes may be bought: what is
bought is the smallest loosening under which the dates and the targets agree.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import inf
from typing import TYPE_CHECKING, Any, NamedTuple

from attrs import frozen

from coatrules.extras import need
from coatrules.plan.marks import CoverLeft, Mark

if TYPE_CHECKING:
    import numpy as np
    from scipy.sparse import csr_array

    _Vector = np.ndarray[Any, np.dtype[np.float64]]

LATE, SHOW = 10.0, 100.0
LATE_LOOSENED, EVEN_LOOSENED = 1000.0, 0.01
COVER_PRICE, AT_MOST_PRICE, VISIT_PRICE = 2.0, 1.0, 1.0
"""Of loosening: the whole cover given up, the whole coat taken beyond ``at_most``, a whole visit's minutes more."""
SAFETY = 1e-6
"""Kept from every bound, so that the solver's own tolerance breaks none."""
SAFETY_MINUTES = 1e-3
"""Kept from every visit, so that rounding to whole parts per million takes no longer."""


@frozen
class Part:
    """Regions of one coat and target. A plan works them alike, so that the coat stays even.

    Sequences have an entry a visit; minutes are for all the regions at share 1.

    cover: None where the cover is not bounded at that visit. wanted: the least cover. show: the end of the hair that is
    too long on the show day, and of the hair that is long enough. excused: visits that a coat which is late already needs
    to go round once; loosening buys nothing for them.
    """

    regions: tuple[str, ...]
    minutes: float
    usual: tuple[float, ...]
    at_most: tuple[float, ...]
    ready: tuple[Mark, ...]
    late: tuple[Mark, ...]
    cover: tuple[CoverLeft | None, ...]
    wanted: float = 0.0
    show: tuple[Mark, Mark] | None = None
    excused: int = 0


class Program(NamedTuple):
    """The least ``cost @ x`` is sought with ``low <= matrix @ x <= high`` and ``0 <= x <= upper``."""

    cost: _Vector
    matrix: csr_array
    low: _Vector
    high: _Vector
    upper: _Vector


class Choice(NamedTuple):
    """What the program chose, by part and visit: shares pulled, and what loosening bought (shares, cover, minutes)."""

    pulled: tuple[tuple[float, ...], ...]
    over_at_most: tuple[tuple[float, ...], ...]
    cover_given: tuple[tuple[float, ...], ...]
    minutes_more: tuple[float, ...]
    cost: float


class _Rows:
    """Rows of a sparse matrix with their bounds, gathered entry by entry."""

    def __init__(self) -> None:
        self.rows: list[int] = []
        self.columns: list[int] = []
        self.values: list[float] = []
        self.low: list[float] = []
        self.high: list[float] = []

    def add(self, entries: Iterable[tuple[int, float]], *, low: float = -inf, high: float = inf) -> None:
        row = len(self.low)
        for column, value in entries:
            self.rows.append(row)
            self.columns.append(column)
            self.values.append(value)
        self.low.append(low)
        self.high.append(high)

    def matrix(self, width: int) -> csr_array:
        from scipy.sparse import csr_array

        return csr_array((self.values, (self.rows, self.columns)), shape=(len(self.low), width))


class _Columns:
    """Where each variable stands: blocks of one a part and visit, then one a part, then one a visit."""

    def __init__(self, parts: int, visits: int) -> None:
        self.parts, self.visits = parts, visits
        self.size = parts * visits
        self.summed, self.more, self.less, self.late, self.over, self.cover = (n * self.size for n in range(6))
        self.too_long = 6 * self.size
        self.minutes = self.too_long + parts
        self.width = self.minutes + visits

    def mark(self, part: int, mark: Mark, sign: float) -> list[tuple[int, float]]:
        """The entry of a mark's running sum."""
        return [(self.summed + part * self.visits + mark.after - 1, sign)] if mark.after else []


def program(parts: Sequence[Part], minutes: Sequence[float], *, loosen: bool = False) -> Program:
    """The matrices of the plan. ``minutes``: what there is for pulling at each visit. ``InputError`` without scipy."""
    need("plan", "scipy")
    import numpy as np

    col = _Columns(len(parts), len(minutes))
    rows = _Rows()
    cost, upper = np.zeros(col.width), np.full(col.width, np.inf)
    regions = np.repeat([float(len(part.regions)) for part in parts], col.visits)
    cost[col.more : col.late] = np.tile(regions * (EVEN_LOOSENED if loosen else 1.0), 2)
    cost[col.late : col.over] = regions * (LATE_LOOSENED if loosen else LATE)
    cost[col.over : col.cover] = regions * AT_MOST_PRICE
    cost[col.cover : col.too_long] = regions * COVER_PRICE
    cost[col.minutes :] = VISIT_PRICE / max(*minutes, 1.0)
    if not loosen:
        upper[col.over : col.too_long] = 0.0
        upper[col.minutes :] = 0.0
    for number, part in enumerate(parts):
        if loosen and part.excused:
            first = col.late + number * col.visits
            cost[first : first + part.excused - 1] = EVEN_LOOSENED * len(part.regions)
        for visit in range(col.visits):
            _visit_rows(col, rows, upper, number, part, visit)
        if part.show is not None:
            _show(col, rows, cost, number, part)
    for visit, there_are in enumerate(minutes):
        entries = [(col.minutes + visit, -1.0)]
        for number, part in enumerate(parts):
            here = number * col.visits + visit
            entries.append((col.summed + here, part.minutes))
            if visit:
                entries.append((col.summed + here - 1, -part.minutes))
        rows.add(entries, high=max(there_are - SAFETY_MINUTES, 0.0))
    return Program(cost, rows.matrix(col.width), np.array(rows.low), np.array(rows.high), upper)


def _visit_rows(col: _Columns, rows: _Rows, upper: _Vector, number: int, part: Part, visit: int) -> None:
    """One part at one visit: its share, and what bounds it."""
    here = number * col.visits + visit
    pulled = [(col.summed + here, 1.0)]
    share = [*pulled, *([(col.summed + here - 1, -1.0)] if visit else [])]
    usual, at_most = min(part.usual[visit], part.at_most[visit]), part.at_most[visit]
    split = [(col.more + here, -1.0), (col.less + here, 1.0), (col.over + here, -1.0)]
    rows.add([*share, *split], low=usual, high=usual)
    upper[col.more + here], upper[col.less + here] = at_most - usual, usual
    if not at_most:
        upper[col.over + here] = 0.0  # forbidden, not merely bounded
    ready, late, cover = part.ready[visit], part.late[visit], part.cover[visit]
    rows.add([*pulled, *col.mark(number, ready, -1.0)], high=ready.share)
    if late.share:
        rows.add([*pulled, (col.late + here, 1.0), *col.mark(number, late, -1.0)], low=late.share)
    if cover is not None:
        entries = [(col.summed + number * col.visits + after - 1, weight) for after, weight in cover.weights]
        rows.add([*entries, (col.cover + here, 1.0)], low=part.wanted + SAFETY - cover.constant)


def _show(col: _Columns, rows: _Rows, cost: _Vector, number: int, part: Part) -> None:
    """The cost of hair that is too long on the show day, or not long enough."""
    assert part.show is not None
    too_long, long_enough = part.show
    price = SHOW * len(part.regions)
    last = col.summed + (number + 1) * col.visits - 1
    rows.add([(last, 1.0), (col.too_long + number, 1.0), *col.mark(number, too_long, -1.0)], low=too_long.share)
    cost[col.too_long + number] = price
    cost[last] += price  # what is not long enough: 1 + all pulled - the mark
    for column, sign in col.mark(number, long_enough, -price):
        cost[column] += sign


def solve(ready: Program, parts: int, visits: int) -> Choice:
    """The cheapest plan. Leaving every region alone keeps every bound, so there always is one."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    found = milp(
        ready.cost, bounds=Bounds(0.0, ready.upper), constraints=LinearConstraint(ready.matrix, ready.low, ready.high)
    )
    if found.x is None:
        raise RuntimeError(f"the solver failed on a plan that has an answer: {found.message}")
    import numpy as np

    col = _Columns(parts, visits)

    def block(start: int) -> _Vector:
        values: _Vector = np.maximum(found.x[start : start + col.size].reshape(parts, visits), 0.0)
        return values

    summed = block(col.summed)
    return Choice(
        pulled=_rows(np.maximum(np.diff(summed, axis=1, prepend=0.0), 0.0)),
        over_at_most=_rows(block(col.over)),
        cover_given=_rows(block(col.cover)),
        minutes_more=tuple(np.maximum(found.x[col.minutes :], 0.0).tolist()),
        cost=float(found.fun),
    )


def _rows(matrix: _Vector) -> tuple[tuple[float, ...], ...]:
    return tuple(tuple(row) for row in matrix.tolist())
