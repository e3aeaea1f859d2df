"""What is worked when the time is short: shares go down evenly, and what can best wait is put off, whole.

Shares go down in eighths, the same for all regions of a layer target, and the jacket as one, so that the coat stays even. The
jacket leads: before little of it is pulled it is not raked, and of the rest what shows stays longer. The order in which things
give way is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from enum import IntEnum, auto
from functools import partial
from typing import Literal, NamedTuple, TypeVar

from coatrules.order.jobs import LEAST_RAKED, PRICES, WHOLE_SHARE, Arrangement, Job, Prices, Slot, Stations, Task, Zone
from coatrules.order.passes import arrange

HALF, LEAST_WITH_RAKE = 4, 3
"""Eighths of the jacket's share: before less than the second is pulled it is not raked, and to pull the first then comes before all but
feet and overdue hygiene, which stays longest (common practice, no source)."""
WAITED_ENOUGH = 2
"""Work that has waited so many visits too long stays when other work of its kind gives way: hand work that was put off so often, and
raking, after the jacket; what comes round by the calendar, before the feet (common practice, no source)."""
Why = Literal["said-stop", "out-of-sight", "not-overdue", "low-priority", "no-time"]
"""Why work is put off: the dog said stop there last time; nobody sees it; it is clipped, cut or combed before it is overdue;
its layer target has the lowest priority; it is among what stays to the end (feet, beard, overdue hygiene, the
jacket, what has waited long enough)."""


class Stays(IntEnum):
    """How long work stays on the way down: the lowest gives way first."""

    SAID_STOP = auto()
    OUT_OF_SIGHT = auto()
    NOT_OVERDUE = auto()
    LOW_PRIORITY = auto()
    RAKING = auto()
    """Of a jacket that is pulled too."""
    LATE_ROUTINE = auto()
    FEET = auto()
    JACKET = auto()
    WAITED_HAND_WORK = auto()
    OVERDUE_HYGIENE = auto()

    @property
    def why(self) -> Why:
        """Why such work is put off."""
        return _WHYS.get(self, "no-time")


_WHYS: Mapping[Stays, Why] = {
    Stays.SAID_STOP: "said-stop",
    Stays.OUT_OF_SIGHT: "out-of-sight",
    Stays.NOT_OVERDUE: "not-overdue",
    Stays.LOW_PRIORITY: "low-priority",
}


class Fitted(NamedTuple):
    """What fits into the time.

    ``put_off`` holds for each region the tasks (their indices) that are put off, and why; ``shares`` of which tasks how many
    eighths are worked where it is not the whole. A slot's task is an index into the tasks of the job given.
    """

    arrangement: Arrangement
    put_off: Mapping[str, Mapping[int, Why]]
    shares: Mapping[str, Mapping[int, int]]


class _Bundle(NamedTuple):
    """Tasks that are put off together, or not at all. ``jacket`` marks its hand work; ``least`` is the fewest eighths that they may
    be reduced to."""

    tasks: tuple[tuple[int, int], ...]  # of which job, which task
    stays: Stays
    jacket: bool = False
    hand: bool = False
    least: int = WHOLE_SHARE
    rank: tuple[float, float, int, float, int] = (0.0, 0.0, 0, 0.0, 0)


T = TypeVar("T")

_Levels = dict[int, int]
"""For each bundle the eighths at which it is worked; 0: put off."""


def fit(
    jobs: Iterable[Job],
    zones: Mapping[str, Zone],
    stations: Stations,
    available: int,
    prices: Prices = PRICES,
) -> Fitted:
    """Returns what is worked within so many half-minutes, rests included, and in what order.

    Nothing is put off, and no share reduced, that would still fit. The order of ``jobs`` does not matter. Raises KeyError
    and ValueError as ``arrange`` does.
    """
    table = _Table(sorted(jobs, key=lambda job: job.walk_order))
    arranged = _remembered(lambda levels: arrange(table.jobs_at(levels), zones, stations, prices))
    levels = _that_fit(table, available, lambda levels: arranged(levels).minutes)
    return table.fitted(levels, arranged(levels))


def fit_out_of_turn(
    jobs: Iterable[Job],
    zones: Mapping[str, Zone],
    stations: Stations,
    available: int,
    prices: Prices = PRICES,
) -> tuple[Fitted, int]:
    """Returns the same with each task in one slot, in no order and without rests, for to find the order takes most of the time; and
    the half-minutes that it would take from the first to the last."""
    table = _Table(sorted(jobs, key=lambda job: job.walk_order))
    minutes = _remembered(
        lambda levels: arrange(table.jobs_at(levels), zones, stations, prices, minutes_only=True).minutes
    )
    levels = _that_fit(table, available, minutes)
    slots = [
        Slot(job.region, task.kind, task.minutes, index)
        for job in table.jobs_at(levels)
        for index, task in enumerate(job.tasks)
    ]
    return table.fitted(levels, Arrangement(tuple(slots), 0)), minutes(levels)


def _remembered(find: Callable[[_Levels], T]) -> Callable[[_Levels], T]:
    """What is found at some levels, each looked for once: the search comes by the same ones again."""
    seen: dict[tuple[int, ...], T] = {}

    def found_at(levels: _Levels) -> T:
        key = tuple(levels.values())
        if key not in seen:
            seen[key] = find(levels)
        return seen[key]

    return found_at


def _that_fit(table: _Table, available: int, minutes: Callable[[_Levels], int]) -> _Levels:
    """Returns the levels of what is worked. ``minutes``: how many half-minutes that takes, rests included."""
    levels = table.whole()
    aim = available
    while True:
        if table.minutes(levels) <= aim:
            spare = available - minutes(levels)
            if spare >= 0:
                break
            aim = max(0, table.minutes(levels) + spare)  # it rests longer than there is time: aim that much lower
        levels = table.raised(table.lowered(aim), partial(table.is_within, aim))

    # What is put off may go where the dog rests now, and fill the rests of other work.
    def fits(tried: _Levels) -> bool:
        return table.is_within(available, tried) and minutes(tried) <= available

    return table.raised(levels, fits)


class _Table:
    """The jobs of a day as bundles, listed in the order in which they give way."""

    def __init__(self, jobs: list[Job]) -> None:
        self.jobs = jobs
        self.bundles = sorted(_bundles(jobs), key=lambda one: (one.stays, one.rank))

    def whole(self) -> _Levels:
        """Returns the levels at which all is worked."""
        return dict.fromkeys(range(len(self.bundles)), WHOLE_SHARE)

    def lowered(self, aim: int) -> _Levels:
        """Returns the first levels on the way down at which the work alone takes no longer than ``aim``."""
        levels = self.whole()
        for rung in self._ladder():
            if self.minutes(levels) <= aim:
                break
            levels = {number: min(level, rung.get(number, level)) for number, level in levels.items()}
        return levels

    def _ladder(self) -> Iterator[_Levels]:
        every = [(number, bundle) for number, bundle in enumerate(self.bundles) if bundle.hand]

        def less(eighths: int, jacket: bool, others: bool) -> _Levels:
            return {n: max(eighths, one.least) for n, one in every if (jacket if one.jacket else others)}

        def off(stays: Stays) -> Iterator[_Levels]:
            return ({n: 0} for n, one in enumerate(self.bundles) if one.stays == stays)

        yield from off(Stays.SAID_STOP)
        yield from off(Stays.OUT_OF_SIGHT)
        yield less(6, jacket=True, others=True)
        yield from off(Stays.NOT_OVERDUE)
        yield less(HALF, jacket=False, others=True)
        yield from off(Stays.LOW_PRIORITY)
        yield less(HALF, jacket=True, others=False)
        yield less(LEAST_WITH_RAKE, jacket=True, others=False)
        yield from off(Stays.RAKING)
        yield less(2, jacket=True, others=False)
        yield from off(Stays.LATE_ROUTINE)
        yield from off(Stays.FEET)
        yield from off(Stays.JACKET)
        yield from off(Stays.WAITED_HAND_WORK)
        yield from off(Stays.OVERDUE_HYGIENE)

    def raised(self, levels: _Levels, fits: Callable[[_Levels], bool]) -> _Levels:
        """Returns the levels with all put back that fits, what gives way last first, and half of the jacket's share before what gives
        way before it; then shares raised eighth by eighth, the jacket's first, and last the places where the dog said stop; until
        nothing more fits."""
        refused: dict[int, _Levels] = {}

        def tried(number: int, level: int) -> bool:
            nonlocal levels
            other = {**levels, number: level}
            if refused.get(number) == levels or not fits(other):
                refused[number] = levels
                return False
            levels = other
            return True

        def put_back(numbers: Iterable[int]) -> None:
            for number in numbers:
                if levels[number] == 0:
                    tried(number, self.bundles[number].least)

        def raise_to(most: int, numbers: Iterable[int]) -> None:
            for number in numbers:
                while 0 < levels[number] < most and tried(number, levels[number] + 1):
                    pass

        last_first = range(len(self.bundles) - 1, -1, -1)
        refusing = [n for n in last_first if self.bundles[n].stays == Stays.SAID_STOP]
        to_the_end = [n for n in last_first if self.bundles[n].stays > Stays.RAKING]
        others = [n for n in last_first if n not in refusing and n not in to_the_end]
        pulled = [n for n in to_the_end if self.bundles[n].jacket]
        by_jacket = sorted(last_first, key=lambda n: not self.bundles[n].jacket)
        before = None
        while before != levels:
            before = levels
            put_back(to_the_end)
            raise_to(HALF, pulled)
            put_back(others)
            raise_to(WHOLE_SHARE, by_jacket)
            put_back(refusing)
        return levels

    def minutes(self, levels: _Levels) -> int:
        """Returns the half-minutes of the work alone."""
        return sum(
            self.jobs[job].tasks[task].at(level)
            for number, level in levels.items()
            if level
            for job, task in self.bundles[number].tasks
        )

    def is_within(self, aim: int, levels: _Levels) -> bool:
        """Returns whether the work alone takes no longer than ``aim``."""
        return self.minutes(levels) <= aim

    def jobs_at(self, levels: _Levels) -> list[Job]:
        """Returns the jobs with what is worked of them."""
        kept = self._kept(levels)
        return [
            job._replace(
                tasks=tuple(
                    [job.tasks[task]._replace(minutes=job.tasks[task].at(kept[n][task])) for task in sorted(kept[n])]
                )
            )
            for n, job in enumerate(self.jobs)
            if n in kept
        ]

    def _kept(self, levels: _Levels) -> dict[int, dict[int, int]]:
        """Returns for each job that is worked the eighths of each of its tasks that is."""
        kept: dict[int, dict[int, int]] = {}
        for number, level in levels.items():
            if level:
                for job, task in self.bundles[number].tasks:
                    kept.setdefault(job, {})[task] = level
        return kept

    def fitted(self, levels: _Levels, arrangement: Arrangement) -> Fitted:
        """Returns the answer, its slots telling the tasks as they were given."""
        kept = self._kept(levels)
        tasks = {self.jobs[n].region: sorted(kept[n]) for n in kept}
        slots = [
            slot if slot.region is None or slot.task is None else slot._replace(task=tasks[slot.region][slot.task])
            for slot in arrangement.slots
        ]
        put_off: dict[str, dict[int, Why]] = {}
        for number, level in levels.items():
            if not level:
                for job, task in self.bundles[number].tasks:
                    put_off.setdefault(self.jobs[job].region, {})[task] = self.bundles[number].stays.why
        shares = {
            self.jobs[n].region: reduced
            for n, tasks_at in kept.items()
            if (reduced := {task: level for task, level in tasks_at.items() if level < WHOLE_SHARE})
        }
        return Fitted(arrangement._replace(slots=tuple(slots)), put_off, shares)


def _bundles(jobs: list[Job]) -> Iterator[_Bundle]:
    """Yields what is put off together: a place that the dog said stop at; all that is pulled of a layer target, the jacket's targets
    as one; all raking of the jacket; each other task by itself."""
    by_hand: dict[str, list[tuple[int, int]]] = {}
    jacket: dict[str, list[tuple[int, int]]] = {}
    for n, job in enumerate(jobs):
        if job.stop:
            yield _Bundle(tuple([(n, task) for task in range(len(job.tasks))]), Stays.SAID_STOP, rank=_rank(job))
            continue
        for index, task in enumerate(job.tasks):
            if task.kind not in ("card", "pull"):
                stays = _routine_stays(job, task)
                late = task.late if stays == Stays.LATE_ROUTINE else 0.0
                yield _Bundle(((n, index),), stays, rank=_rank(job, late))
            elif job.jacket:
                jacket.setdefault(task.kind, []).append((n, index))
            else:
                by_hand.setdefault(job.region if job.target is None else f"target {job.target}", []).append((n, index))
    for kind, places in jacket.items():
        rakes = kind == "card" and "pull" in jacket
        least = LEAST_RAKED if rakes else max(jobs[n].least_eighths for n, _ in places)
        late = max(jobs[n].tasks[task].late for n, task in places) >= WAITED_ENOUGH
        stays = Stays.JACKET if not rakes else Stays.WAITED_HAND_WORK if late else Stays.RAKING
        yield _Bundle(tuple(places), stays, jacket=True, least=least, hand=True)
    for places in by_hand.values():
        pulled = [jobs[n].least_eighths for n, task in places if jobs[n].tasks[task].kind == "pull"]
        if max(jobs[n].put_off for n, _ in places) >= WAITED_ENOUGH:
            stays = Stays.WAITED_HAND_WORK
        else:
            stays = Stays.LOW_PRIORITY if any(jobs[n].visible for n, _ in places) else Stays.OUT_OF_SIGHT
        least = max(pulled, default=WHOLE_SHARE)
        yield _Bundle(tuple(places), stays, least=least, hand=True, rank=max(_rank(jobs[n]) for n, _ in places))


def _routine_stays(job: Job, task: Task) -> Stays:
    """Returns how long a task stays that is not done by hand."""
    if job.overdue:
        return Stays.OVERDUE_HYGIENE
    if task.finish:
        return Stays.FEET
    if task.late >= WAITED_ENOUGH:
        return Stays.LATE_ROUTINE
    return Stays.NOT_OVERDUE if job.visible else Stays.OUT_OF_SIGHT


def _rank(job: Job, late: float = 0.0) -> tuple[float, float, int, float, int]:
    """The lowest gives way first; of layer targets alike what comes first on the walk, for the head, which ends it, shows most. A
    place where the dog said stop does not rise by waiting. late: what counts before all else."""
    waited = (job.waited, 0) if job.stop else (0.0, job.put_off)
    shows = -job.walk_order if job.target is None else job.walk_order
    return late, job.priority - waited[0], waited[1], job.overgrown, shows
