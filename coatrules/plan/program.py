"""The linear program of a plan: what is chosen, what bounds it, and what it costs.

Chosen, for every class ``r`` of regions and visit ``i``: the share ``p`` that is pulled, written as the usual share ``u`` plus
``more`` minus ``less``; ``P`` is its running sum. A ``QueueBound`` of the queue stands for ``share + P[after]``.

Bounds, all kept by every plan:

- ready hair only: ``P[i] <= ready bound``;
- cover straight after visit ``i`` at least the target's, from the first visit on which the untouched coat has it; before,
  no more than the target's ``low_spot`` is pulled (DEVELOPERS.md, "How much");
- no more than ``at_most`` at one visit, and nothing where the dog's health forbids it; of growing hair not nearly everything;
- the minutes of a visit, less what is due there by the calendar (carding, clipping, routines).

Cost, the least wins:

- OVERGROWN_PRICE for each share of hair that is blown or longer than wanted when the dog comes again, visit by visit;
- SHOW_PRICE for each share of hair that is outside of the wanted lengths on the show day;
- 1 for each share pulled more or less than usual, so that the layers come out even;

each times the ``weight`` of the class, which says what gives way where the minutes do not reach.

With ``relax`` overgrown hair is all but forbidden, and cover, shares over ``at_most`` and minutes may be bought: what is
bought is the smallest relaxation under which the dates and the targets agree.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from attrs import frozen

from coatrules.extras import require_extra
from coatrules.plan.queue_bounds import CoverLeft, QueueBound

if TYPE_CHECKING:
    import numpy as np
    from scipy.sparse import csc_array

    _Vector = np.ndarray[Any, np.dtype[np.float64]]
    _Whole = np.ndarray[Any, np.dtype[np.int64]]

OVERGROWN_PRICE, SHOW_PRICE = 10.0, 100.0
OVERGROWN_PRICE_RELAXED, EVEN_PRICE_RELAXED = 1000.0, 0.01
COVER_PRICE, AT_MOST_PRICE, VISIT_PRICE = 2.0, 1.0, 1.0
"""Of relaxation: the whole cover given up, the whole coat taken beyond ``at_most``, a whole visit's minutes more."""
SAFETY = 1e-6
"""Kept from every bound, so that the solver's own tolerance breaks none."""
SAFETY_MINUTES = 1e-3
"""Kept from every visit, so that rounding to whole parts per million takes no longer."""


@frozen
class RegionClass:
    """Regions of one coat and target. A plan works them alike, so that the coat stays even.

    Sequences have an entry a visit; minutes are for all the regions at share 1.

    weight: what its shares cost against those of other classes.
    ripe: the most that ripe hair allows, which nothing buys more of. cover: None where it is not bounded. least_cover: straight
    after each visit, 0 before the coat has it. show: the end of the hair that is too long on the show day, and of the hair that is long
    enough. grace_visits: visits that a coat which is overgrown already needs to go round once; relaxation buys nothing
    for them.
    """

    regions: tuple[str, ...]
    minutes: float
    weight: float
    usual: tuple[float, ...]
    at_most: tuple[float, ...]
    ripe: tuple[float, ...]
    ready: tuple[QueueBound, ...]
    overgrown: tuple[QueueBound, ...]
    cover: CoverLeft | None
    least_cover: tuple[float, ...] = ()
    show: tuple[QueueBound, QueueBound] | None = None
    grace_visits: int = 0


class Program(NamedTuple):
    """The least ``cost @ x`` is sought with ``low <= matrix @ x <= high`` and ``0 <= x <= upper``."""

    cost: _Vector
    matrix: csc_array
    low: _Vector
    high: _Vector
    upper: _Vector
    relax: bool


class Choice(NamedTuple):
    """What the program chose, by class and visit: shares pulled, and what relaxation bought (shares, cover, minutes)."""

    pulled: tuple[tuple[float, ...], ...]
    over_at_most: tuple[tuple[float, ...], ...]
    cover_given: tuple[tuple[float, ...], ...]
    minutes_more: tuple[float, ...]
    cost: float


class _Rows:
    """Rows of a sparse matrix with their bounds, gathered block by block."""

    def __init__(self) -> None:
        self.rows: list[_Whole] = []
        self.columns: list[_Whole] = []
        self.values: list[_Vector] = []
        self.low: list[_Vector] = []
        self.high: list[_Vector] = []
        self.count = 0

    def begin(self, low: _Vector, high: _Vector) -> _Whole:
        """Begins rows with these bounds; returns their numbers."""
        import numpy as np

        self.low.append(low)
        self.high.append(high)
        self.count += len(low)
        return np.arange(self.count - len(low), self.count)

    def add(self, rows: _Whole, columns: _Whole, values: _Vector | float) -> None:
        """Puts one entry into each of the rows."""
        import numpy as np

        self.rows.append(rows)
        self.columns.append(columns)
        self.values.append(np.broadcast_to(values, rows.shape))

    def matrix(self, width: int) -> csc_array:
        import numpy as np
        from scipy.sparse import csc_array

        coordinates = np.concatenate(self.rows), np.concatenate(self.columns)
        return csc_array((np.concatenate(self.values), coordinates), shape=(self.count, width))


class _Columns:
    """Where each variable stands: blocks of one a class and visit, one a class, then what relaxation buys."""

    def __init__(self, classes: int, visits: int, relax: bool) -> None:
        self.classes, self.visits = classes, visits
        self.size = classes * visits
        self.summed, self.more, self.less, self.overgrown, self.too_long = (n * self.size for n in range(5))
        self.over = self.too_long + classes
        self.cover = self.over + self.size
        self.minutes = self.cover + self.size
        self.width = self.minutes + visits if relax else self.over


def program(
    classes: Sequence[RegionClass], minutes: Sequence[float], *, relax: bool = False, most_more: float = float("inf")
) -> Program:
    """The matrices of the plan. ``minutes``: what there is for pulling at each visit; ``most_more``: what may be bought beyond it.
    ``InputError`` without scipy."""
    require_extra("plan", "scipy")
    import numpy as np

    col = _Columns(len(classes), len(minutes), relax)
    rows = _Rows()
    at_most = np.array([region_class.at_most for region_class in classes]).ravel()
    usual = np.minimum(
        [region_class.usual for region_class in classes], [region_class.at_most for region_class in classes]
    ).ravel()
    upper = np.full(col.width, np.inf)
    upper[col.more : col.less], upper[col.less : col.overgrown] = at_most - usual, usual
    if relax:
        ripe = np.array([region_class.ripe for region_class in classes]).ravel()
        # What is forbidden altogether is not merely bounded.
        upper[col.over : col.cover] = np.where(at_most == 0, 0.0, np.maximum(ripe - at_most, 0.0))
        upper[col.minutes :] = most_more
    cost = _prices(col, classes, minutes, relax)

    here = np.arange(col.size)
    later = here[here % col.visits > 0]
    split = rows.begin(usual, usual)
    for block, sign in ((col.summed, 1.0), (col.more, -1.0), (col.less, 1.0)):
        rows.add(split, block + here, sign)
    rows.add(split[later], col.summed + later - 1, -1.0)
    _bound_sums(col, rows, [bound for region_class in classes for bound in region_class.ready], at_most=True)
    _bound_sums(col, rows, [bound for region_class in classes for bound in region_class.overgrown], at_most=False)
    covered, covered_at = _cover(col, rows, classes)
    for number, region_class in enumerate(classes):
        if region_class.show is not None:
            _show(col, rows, cost, number, region_class.show, SHOW_PRICE * _weight(region_class, relax))
    whole = np.repeat([region_class.minutes for region_class in classes], col.visits)
    time = rows.begin(np.full(col.visits, -np.inf), np.maximum(np.array(minutes) - SAFETY_MINUTES, 0.0))
    rows.add(time[here % col.visits], col.summed + here, whole)
    rows.add(time[later % col.visits], col.summed + later - 1, -whole[later])
    if relax:
        rows.add(split, col.over + here, -1.0)
        rows.add(covered, col.cover + covered_at, 1.0)
        rows.add(time, col.minutes + np.arange(col.visits), -1.0)
    low, high = np.concatenate(rows.low), np.concatenate(rows.high)
    return Program(cost, rows.matrix(col.width), low, high, upper, relax)


def _prices(col: _Columns, classes: Sequence[RegionClass], minutes: Sequence[float], relax: bool) -> _Vector:
    """What each variable costs, but for the show."""
    import numpy as np

    cost = np.zeros(col.width)
    weights = np.repeat([_weight(region_class, relax) for region_class in classes], col.visits)
    cost[col.more : col.overgrown] = np.tile(weights * (EVEN_PRICE_RELAXED if relax else 1.0), 2)
    cost[col.overgrown : col.too_long] = weights * (OVERGROWN_PRICE_RELAXED if relax else OVERGROWN_PRICE)
    if not relax:
        return cost
    cost[col.over : col.cover] = weights * AT_MOST_PRICE
    cost[col.cover : col.minutes] = weights * COVER_PRICE
    cost[col.minutes :] = VISIT_PRICE / max(*minutes, 1.0)
    for number, region_class in enumerate(classes):
        if region_class.grace_visits:
            first = col.overgrown + number * col.visits
            cost[first : first + region_class.grace_visits - 1] = EVEN_PRICE_RELAXED * len(region_class.regions)
    return cost


def _weight(region_class: RegionClass, relax: bool) -> float:
    """What the shares of a class cost against those of others: of what may be bought a region costs as much as any other."""
    return float(len(region_class.regions)) if relax else region_class.weight


def _bound_sums(col: _Columns, rows: _Rows, bounds: Sequence[QueueBound], *, at_most: bool) -> None:
    """Keeps each running sum at most its bound (ready hair), or, with what is overgrown paid for, at least (overgrown hair)."""
    import numpy as np

    here = np.arange(col.size)
    shares = np.array([bound.share for bound in bounds])
    after = np.array([bound.after for bound in bounds])
    without = np.full(col.size, np.inf)
    new = rows.begin(-without, shares) if at_most else rows.begin(shares, without)
    rows.add(new, col.summed + here, 1.0)
    bounded = here[after > 0]
    rows.add(new[bounded], col.summed + (bounded - bounded % col.visits) + after[bounded] - 1, -1.0)
    if not at_most:
        rows.add(new, col.overgrown + here, 1.0)


def _cover(col: _Columns, rows: _Rows, classes: Sequence[RegionClass]) -> tuple[_Whole, _Whole]:
    """Cover straight after each visit at least as wanted; returns the rows, and for each its index in a block."""
    import numpy as np

    low: list[float] = []
    bounded: list[int] = []
    begins: list[int] = []
    visits: list[int] = []
    after: list[int] = []
    weights: list[float] = []
    for begin, region_class in zip(range(0, col.size, col.visits), classes, strict=True):
        if region_class.cover is None:
            continue
        wanted = region_class.least_cover[region_class.cover.first :]
        low += [least + SAFETY - left for least, left in zip(wanted, region_class.cover.constant, strict=True)]
        bounded += range(begin + region_class.cover.first, begin + col.visits)
        begins += [begin] * len(region_class.cover.weights)
        visits += region_class.cover.visits
        after += region_class.cover.after
        weights += region_class.cover.weights
    new, indices = rows.begin(np.array(low), np.full(len(low), np.inf)), np.array(bounded, dtype=np.int64)
    block = np.array(begins, dtype=np.int64)
    row = new[np.searchsorted(indices, block + np.array(visits, dtype=np.int64))]
    rows.add(row, col.summed + block + np.array(after, dtype=np.int64) - 1, np.array(weights))
    return new, indices


def _show(
    col: _Columns, rows: _Rows, cost: _Vector, number: int, show: tuple[QueueBound, QueueBound], price: float
) -> None:
    """The cost of hair that is too long on the show day, or not long enough."""
    import numpy as np

    too_long, long_enough = show
    first = col.summed + number * col.visits
    last = first + col.visits - 1
    row = rows.begin(np.array([too_long.share]), np.array([np.inf]))
    rows.add(row, np.array([last]), 1.0)
    rows.add(row, np.array([col.too_long + number]), 1.0)
    if too_long.after:
        rows.add(row, np.array([first + too_long.after - 1]), -1.0)
    cost[col.too_long + number] = price
    cost[last] += price  # what is not long enough: 1 + all pulled - the bound
    if long_enough.after:
        cost[first + long_enough.after - 1] -= price


def solve(problem: Program, classes: int, visits: int) -> Choice:
    """The cheapest plan. Leaving every region alone keeps every bound, so there always is one."""
    from scipy.optimize import Bounds, LinearConstraint, milp

    # Without anything for sale there is little that presolving could leave out: it takes longer than it saves.
    solution = milp(
        problem.cost,
        bounds=Bounds(0.0, problem.upper),
        constraints=LinearConstraint(problem.matrix, problem.low, problem.high),
        options={"presolve": problem.relax},
    )
    if solution.x is None:
        raise RuntimeError(f"the solver failed on a plan that has an answer: {solution.message}")
    import numpy as np

    col = _Columns(classes, visits, problem.relax)

    def block(start: int) -> _Vector:
        values: _Vector = np.maximum(solution.x[start : start + col.size].reshape(-1, visits), 0.0)
        return values

    summed = block(col.summed)
    return Choice(
        pulled=_rows(np.maximum(np.diff(summed, axis=1, prepend=0.0), 0.0)),
        over_at_most=_rows(block(col.over)),
        cover_given=_rows(block(col.cover)),
        minutes_more=tuple(np.maximum(solution.x[col.minutes :], 0.0).tolist()),
        cost=float(solution.fun),
    )


def _rows(matrix: _Vector) -> tuple[tuple[float, ...], ...]:
    return tuple(tuple(row) for row in matrix.tolist())
