"""The order of work on the table: bouts, rests, and what is put off when the time is short.

All times are whole half-minutes, so that every sum is exact. A region in no zone is *calm*, one in a zone is *tender*.

How an order is found: calm work waits in one lane and each zone's bouts in a lane of their own, sorted by phase, tool and
place on the dog. The heads of the lanes are worked off, tender bouts spread evenly over the calm work; where that rests too
long, tender work as soon as it may return. Only where that order too rests longer than a bound says it must is a search
begun; it tries every other order, up to a fixed number of looks. Of six pieces of work it finds the least rest there is.

Calm work is never divided. Pieces of one zone that follow each other and together keep within its longest bout are one bout.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property, partial
from typing import Literal, NamedTuple

Kind = Literal["card", "pull", "clip", "scissor", "comb"]
Level = Literal["low", "medium", "high"]

# Kinds of one phase mingle over the dog; within a region they keep this order.
# Feet are rounded and the beard is combed when everything else is done: common practice, no source.
_PHASE: dict[Kind, int] = {"card": 0, "pull": 0, "clip": 1, "scissor": 2, "comb": 3}
_ORDER: dict[Kind, int] = {kind: order for order, kind in enumerate(_PHASE)}
_LEVEL: dict[Level, int] = {"low": 1, "medium": 2, "high": 3}
_HIGH = _LEVEL["high"]

# Beginnings of orders tried in one search, times pieces: six may have 1000, and needed 81 at most in 74,000 random tables.
_EFFORT = 6000


class Bouts(NamedTuple):
    """How a tender zone is worked: bouts no longer than ``at_most``, ``rest`` between two (half-minutes, 1 or more)."""

    level: Level
    at_most: int
    rest: int


class Task(NamedTuple):
    """One kind of work on a region and the half-minutes it takes (1 or more)."""

    kind: Kind
    minutes: int


class Job(NamedTuple):
    """All of today's work on one region, done whole or put off whole.

    ``place`` is its turn on a groomer's walk over the dog; no two jobs share one. ``priority`` runs from 0 to 100; between
    equals it counts how often in a row they were put off, then for how many weeks they are overgrown. ``zone`` is None for
    a calm region. ``tasks`` are done card, pull, clip, scissor, comb, however they are listed.
    """

    region: str
    place: int
    priority: float
    zone: str | None
    tasks: tuple[Task, ...]
    put_off: int = 0
    overgrown: float = 0.0

    @property
    def rank(self) -> tuple[float, int, float, int]:
        """The lowest is dropped first."""
        return self.priority, self.put_off, self.overgrown, -self.place


class Step(NamedTuple):
    """One step at the table: bout ``bout`` of ``bouts`` of that task, or a rest (no region, kind ``rest``)."""

    region: str | None
    kind: Kind | Literal["rest"]
    minutes: int
    bout: int
    bouts: int


class Arrangement(NamedTuple):
    """The steps in working order, rests included, and the regions put off, in the order they were dropped."""

    steps: tuple[Step, ...]
    deferred: tuple[str, ...]

    @property
    def minutes(self) -> int:
        """Half-minutes from the first step to the end of the last."""
        return sum(step.minutes for step in self.steps)


def arrange(jobs: Sequence[Job], zones: Mapping[str, Bouts], budget: int | None) -> Arrangement:
    """Today's steps, within ``budget`` half-minutes including rests (None: no limit).

    The job of lowest rank is dropped first (of equal priority the one least often put off, then the one least overgrown,
    then the one whose place comes later); then each dropped job that still fits is taken back, highest rank first. The
    order of ``jobs`` does not matter. Raises KeyError for a job in an unknown zone, ValueError for a task of no length.
    """
    if any(task.minutes < 1 for job in jobs for task in job.tasks):
        raise ValueError("a task takes half-minutes, 1 or more")
    kept = sorted(jobs, key=lambda job: job.rank)
    if budget is None:
        table = _Table(kept, zones)
        return Arrangement(table.steps(table.order()), ())
    fitting = _fit(kept, zones, budget)
    dropped: list[Job] = []
    while fitting is None:
        dropped.append(kept.pop(0))
        fitting = _fit(kept, zones, budget)
    # A job taken back can fill a rest and so make room for one refused before: look until nothing more fits.
    refused: dict[str, int] = {}  # by how many jobs were kept when it was
    while again := [job for job in reversed(dropped) if refused.get(job.region) != len(kept)]:
        for job in again:
            if (larger := _fit([*kept, job], zones, budget)) is not None:
                fitting = larger
                kept.append(job)
                dropped.remove(job)
            else:
                refused[job.region] = len(kept)
    return Arrangement(fitting.steps(fitting.order()), tuple(job.region for job in dropped))


def _fit(jobs: Sequence[Job], zones: Mapping[str, Bouts], budget: int) -> _Table | None:
    """The pieces of these jobs if they can all be done, with the rests they need, within the budget."""
    spare = budget - sum(task.minutes for job in jobs for task in job.tasks)
    if jobs and spare < 0:
        return None
    table = _Table(jobs, zones)
    fits = table.least_rest(table.start) <= spare and table.order(spare).rested <= spare
    return table if fits or not jobs else None


class _Piece(NamedTuple):
    """What is done in one go."""

    region: str
    kind: Kind
    phase: int
    minutes: int
    bout: int
    bouts: int


class _Path(NamedTuple):
    """A piece done after a wait, and the way there."""

    before: _Path | None
    piece: int
    wait: int


class _State(NamedTuple):
    """The work so far. ``lanes`` hold numbers of pieces still to do; lane 0 is calm work.

    ``ready`` says when each lane may be worked again, ``lane`` is the lane of the last piece (-1: none yet), ``worked``
    how long that bout has gone on, ``rested`` all rests together, ``calm`` the calm work since the last tender bout.
    """

    lanes: tuple[tuple[int, ...], ...]
    ready: tuple[int, ...]
    now: int
    lane: int
    worked: int
    rested: int
    calm: int
    path: _Path | None


_Option = tuple[int, int, bool, int, bool, int, int, int]
"""A piece that may come next; options sort by what a groomer would rather do.

The wait before it; its phase; whether it begins a bout, instead of going on with the last one; its turn (tender after calm,
calm after tender); whether it can wait; the need of its lane (the zone with most rests before it goes first); piece; lane.
"""


class _Table:
    """The pieces of some jobs, cut and sorted, and the ways to order them."""

    def __init__(self, jobs: Sequence[Job], zones: Mapping[str, Bouts]) -> None:
        names = sorted({job.zone for job in jobs if job.zone is not None})
        lane_of: dict[str | None, int] = {None: 0, **{name: lane for lane, name in enumerate(names, start=1)}}
        bouts = [zones[name] for name in names]
        self.level = [0, *(_LEVEL[zone.level] for zone in bouts)]
        self.signs = [0, *(1 if zone.level == "high" else -1 for zone in bouts)]
        self.at_most = [0, *(zone.at_most for zone in bouts)]
        # A bout ends only where something else begins, so even a zone that asks for no rest gets the shortest there is.
        self.rest = [0, *(max(1, zone.rest) for zone in bouts)]
        work = sorted(
            (
                # On calm regions one tool goes over the whole dog before the next is taken up.
                (_PHASE[task.kind], 0 if job.zone else _ORDER[task.kind], job.place, _ORDER[task.kind], job, task)
                for job in jobs
                for task in job.tasks
            ),
            key=lambda entry: entry[:4],
        )
        self.pieces: list[_Piece] = []
        lanes: list[list[int]] = [[] for _ in self.level]
        for phase, _, _, _, job, task in work:
            lane = lane_of[job.zone]
            sizes = _cut(task.minutes, self.at_most[lane]) if lane else (task.minutes,)
            for bout, minutes in enumerate(sizes, start=1):
                lanes[lane].append(len(self.pieces))
                self.pieces.append(_Piece(job.region, task.kind, phase, minutes, bout, len(sizes)))
        self.minutes = [piece.minutes for piece in self.pieces]
        self.phases = [piece.phase for piece in self.pieces]
        self.start = _State(tuple(map(tuple, lanes)), (0,) * len(lanes), 0, -1, 0, 0, 0, None)
        calm = sum(self.minutes[piece] for piece in lanes[0])
        count = sum(
            -(-sum(map(self.minutes.__getitem__, lane)) // self.at_most[n]) for n, lane in enumerate(lanes) if n
        )
        self.apart = calm / (count + 1)  # calm work between two tender bouts when they are spread over the day

    @cached_property
    def alike(self) -> list[int]:
        """For each piece a number that is the same for those that take as long and have as long work after them in their
        region: which of them comes first makes no difference to the rests."""
        numbers: dict[tuple[int, int, int], int] = {}
        after: dict[str, int] = {}
        alike = []
        for piece in reversed(self.pieces):
            own = (piece.phase, piece.minutes, after.get(piece.region, -1))
            after[piece.region] = numbers.setdefault(own, len(numbers))
            alike.append(after[piece.region])
        alike.reverse()
        return alike

    def options(self, state: _State, wide: bool, apart: float = 0) -> list[_Option]:
        """What may come next: the head of each lane, or (``wide``) the first piece of each region, of regions alike the first.

        Tender work is put behind calm work until that has gone on for ``apart`` since the last tender bout.
        """
        lanes, ready, now, last, worked, _, calm, _ = state
        level, phases, minutes = self.level, self.phases, self.minutes
        found = []
        calm_phase = phases[lanes[0][0]] if lanes[0] else len(_ORDER)
        after_high = last > 0 and level[last] == _HIGH
        gentlest = min((level[lane] for lane, left in enumerate(lanes) if left), default=0) if last < 0 else _HIGH
        # Something lies between any two high zones: once no more tender work is left to lie there, they go first.
        pressing = sum([sign * len(left) for sign, left in zip(self.signs, lanes, strict=True)]) >= 0
        for lane, left in enumerate(lanes):
            if not left or level[lane] > gentlest:
                continue
            wait = max(ready[lane] - now, 1 if after_high and level[lane] == _HIGH else 0)
            turn = 1 if lane == 0 else 2 if last > 0 or calm < apart else 0
            need = -len(left) * self.rest[lane]
            patient = not pressing or level[lane] < _HIGH
            for piece in self._heads(left) if wide else left[:1]:
                phase = phases[piece]
                if phase > calm_phase:
                    continue  # calm work of an earlier phase comes before it
                if lane and lane == last and worked + minutes[piece] <= self.at_most[lane]:
                    found.append((0, phase, False, turn, patient, need, piece, lane))
                else:
                    found.append((wait, phase, True, turn, patient, need, piece, lane))
        return found

    def _heads(self, left: tuple[int, ...]) -> Iterator[int]:
        """The first piece of every region in a lane; of regions with the same work before them the first will do."""
        regions, kinds = set(), set()
        for number in left:
            region, alike = self.pieces[number].region, self.alike[number]
            if region not in regions:
                regions.add(region)
                if alike not in kinds:
                    kinds.add(alike)
                    yield number

    def after(self, state: _State, option: _Option) -> _State:
        """The state when that piece is done."""
        wait, _, begins, _, _, _, piece, lane = option
        minutes, left = self.minutes[piece], state.lanes[lane]
        at = left.index(piece)
        lanes = (*state.lanes[:lane], left[:at] + left[at + 1 :], *state.lanes[lane + 1 :])
        now = state.now + wait + minutes
        ready = (*state.ready[:lane], now + self.rest[lane], *state.ready[lane + 1 :])
        worked = 0 if lane == 0 else minutes if begins else state.worked + minutes
        path = _Path(state.path, piece, wait)
        calm = 0 if lane else state.calm + minutes
        return _State(lanes, ready, now, lane, worked, state.rested + wait, calm, path)

    def straight(self, apart: float = 0) -> _State:
        """Working off the lanes from their heads, the best option each time."""
        state = self.start
        while options := self.options(state, wide=False, apart=apart):
            state = self.after(state, min(options))
        return state

    @cached_property
    def spread(self) -> _State:
        """The first order tried: the tender bouts spread over the calm work."""
        return self.straight(self.apart)

    def least_rest(self, state: _State) -> int:
        """A rest that no order from here does without.

        A zone's bouts have rests between them, and only calm work and other zones fill those; bouts of a later phase
        wait for the calm work before it, so only what is left from that phase on can fill theirs.
        """
        minutes, phases = self.minutes, self.phases
        calm_lane, *zones = state.lanes
        calm_from: dict[int, int] = {}  # calm work of this phase and later; phases from the last to the first
        calm = 0
        for piece in reversed(calm_lane):
            calm += minutes[piece]
            calm_from[phases[piece]] = calm
        first = phases[calm_lane[0]] if calm else 0
        if state.lane < 0 and calm:  # the day begins on calm work, before any bout
            calm_from[first] -= min(minutes[piece] for piece in calm_lane if phases[piece] == first)
        sizes = [[minutes[piece] for piece in left] for left in zones]
        tender = sum(map(sum, sizes))
        least = 0
        for lane, left in enumerate(zones, start=1):
            if not left:
                continue
            mine = sizes[lane - 1]
            filling = tender - sum(mine)
            rests = [self._waits(state, lane, mine) - filling - calm_from.get(first, 0)]
            for phase, calm in calm_from.items():
                late = mine[bisect_left(left, phase, key=phases.__getitem__) :] if phase > first else ()
                if len(late) > 1:
                    rests.append(self._returns(lane, late) - filling - calm)
            least = max(least, *rests)
        return least

    def _returns(self, lane: int, sizes: Sequence[int]) -> int:
        """The rests between a zone's bouts, if these pieces share as few bouts as they might."""
        at_most = self.at_most[lane]
        # Pieces longer than half a bout cannot share one.
        bouts = max(-(-sum(sizes) // at_most), sum(2 * size > at_most for size in sizes))
        return (bouts - 1) * self.rest[lane]

    def _waits(self, state: _State, lane: int, sizes: Sequence[int]) -> int:
        """The same, and the rest before the first of them."""
        at_most = self.at_most[lane]
        if lane == state.lane and state.worked + min(sizes) <= at_most:  # the last bout may go on
            return (-(-(state.worked + sum(sizes)) // at_most) - 1) * self.rest[lane]
        return max(0, state.ready[lane] - state.now) + self._returns(lane, sizes)

    def order(self, enough: int = 0) -> _State:
        """The best order found; the search for a better one ends when it rests no longer than ``enough``."""
        best = self.spread
        if best.rested <= enough:
            return best
        best = min(best, self.straight(), key=lambda state: state.rested)
        if best.rested <= enough:
            return best
        enough = max(enough, self.least_rest(self.start))
        return self._search(best, enough)

    def _search(self, best: _State, enough: int) -> _State:
        """The order of least rest, of equals the one a groomer would rather follow; ``best`` where none betters it."""
        seen: dict[object, int] = {}
        stack: list[Iterator[_State]] = [iter([self.start])]
        looks = _EFFORT // len(self.pieces)
        if looks <= len(self.pieces):
            return best  # it would stop before it came to the end of any order
        while stack and looks and best.rested > enough:
            state = next(stack[-1], None)
            if state is None:
                stack.pop()
                continue
            looks -= 1
            if state.rested + self.least_rest(state) >= best.rested:
                continue
            waits = tuple(max(0, ready - state.now) for ready in state.ready)
            place = (state.lanes, waits, state.lane, state.worked)
            if seen.get(place, best.rested) <= state.rested:
                continue
            seen[place] = state.rested
            options = sorted(self.options(state, wide=True))
            if options:
                stack.append(map(partial(self.after, state), options))
            else:
                best = state
        return best

    def steps(self, state: _State) -> tuple[Step, ...]:
        """The way to a state, a rest being a step of its own."""
        steps: list[Step] = []
        path = state.path
        while path is not None:
            piece = self.pieces[path.piece]
            steps.append(Step(piece.region, piece.kind, piece.minutes, piece.bout, piece.bouts))
            if path.wait:
                steps.append(Step(None, "rest", path.wait, 1, 1))
            path = path.before
        return tuple(reversed(steps))


def _cut(minutes: int, at_most: int) -> tuple[int, ...]:
    """The fewest near-equal parts that are no longer than ``at_most``, longer parts first."""
    count = -(-minutes // at_most)
    size, over = divmod(minutes, count)
    return (size + 1,) * over + (size,) * (count - over)
