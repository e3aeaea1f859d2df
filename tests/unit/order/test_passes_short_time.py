"""What is worked in a short time: rules 10, 12 and 13, and that nothing is put off that fits."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules.order.jobs import Job, Task, Zone
from coatrules.order.passes import arrange
from coatrules.order.short_time import Fitted, fit, fit_out_of_turn
from tests.support.passes import PLACES, Day, days, faults, job_on

AVAILABLE = st.integers(0, 120)


def eighths(job: Job, task: Task, shares: Mapping[str, int]) -> int:
    """A pull goes down with its share, raking to a half at least, all else not at all."""
    share = shares.get(job.region, 8)
    return share if task.kind == "pull" else max(share, 4) if task.kind == "card" else 8


def worked(day: Day, found: Fitted, *more: tuple[str, int], shares: dict[str, int] | None = None) -> Day:
    """The jobs as they are worked: what is put off taken out, but for some, and pulls at their shares, rounded up."""
    jobs = []
    for job in day.jobs:
        tasks = []
        for index, task in enumerate(job.tasks):
            if index not in found.put_off.get(job.region, {}) or (job.region, index) in more:
                share = eighths(job, task, {**found.shares, **(shares or {})})
                half_minutes = max(1, (task.minutes * share + 7) // 8)
                tasks.append(task._replace(minutes=half_minutes))
        if tasks:
            jobs.append(job._replace(tasks=tuple(tasks)))
    return Day(jobs, day.zones)


def even(job: Job) -> str | None:
    """What a region must stay even with; None where the dog said stop, or nothing is pulled."""
    if job.stop or not any(task.kind in ("card", "pull") for task in job.tasks):
        return None
    return "the jacket" if job.jacket else f"of {job.target}" if job.target else job.region


def hand(job: Job) -> list[tuple[str, int]]:
    return [(job.region, n) for n, task in enumerate(job.tasks) if task.kind in ("card", "pull")]


@settings(max_examples=30)
@given(days(), AVAILABLE)
def test_it_fits_and_every_rule_of_the_table_holds(day: Day, available: int) -> None:
    found = fit(day.jobs, day.zones, PLACES, available)
    assert found.arrangement.minutes <= available
    # The slots tell tasks as they were given: count them among what is worked.
    kept = worked(day, found)
    index = {
        job.region: [n for n in range(len(job.tasks)) if n not in found.put_off.get(job.region, {})] for job in day.jobs
    }
    slots = [
        slot if slot.region is None else slot._replace(task=index[slot.region].index(slot.task or 0))
        for slot in found.arrangement.slots
    ]
    assert faults(slots, kept) == []


@settings(max_examples=30)
@given(days(), AVAILABLE)
def test_every_task_is_worked_or_put_off(day: Day, available: int) -> None:
    found = fit(day.jobs, day.zones, PLACES, available)
    all_tasks = {(job.region, n) for job in day.jobs for n in range(len(job.tasks))}
    done = {(slot.region, slot.task) for slot in found.arrangement.slots if slot.region is not None}
    put_off = {(region, n) for region, tasks in found.put_off.items() for n in tasks}
    assert done | put_off == all_tasks
    assert not done & put_off


@settings(max_examples=30)
@given(days(), AVAILABLE)
def test_a_layer_target_stays_even(day: Day, available: int) -> None:
    """Rule 12: all its hand work at one share or all put off, the jacket's targets as one; never below the low spot."""
    found = fit(day.jobs, day.zones, PLACES, available)
    levels: dict[str, set[int]] = {}
    for job in day.jobs:
        name = even(job)
        for index, task in enumerate(job.tasks):
            if name is not None and task.kind in ("card", "pull"):
                put_off = index in found.put_off.get(job.region, {})
                if put_off or task.kind == "pull":
                    levels.setdefault(name, set()).add(0 if put_off else eighths(job, task, found.shares))
        if job.region in found.shares and any(task.kind == "pull" for task in job.tasks):
            assert job.least_eighths <= found.shares[job.region] < 8
    assert all(len(found_levels) == 1 for found_levels in levels.values())


@settings(max_examples=30)
@given(days(), AVAILABLE)
def test_nothing_is_put_off_that_fits(day: Day, available: int) -> None:
    """Neither a task by itself, nor the hand work of a target at the least share, nor an eighth more of a target."""
    found = fit(day.jobs, day.zones, PLACES, available)

    def too_long(tried: Day) -> bool:
        return arrange(tried.jobs, tried.zones, PLACES).minutes > available

    for job in day.jobs:
        lost = found.put_off.get(job.region, {})
        if job.stop and lost:
            assert too_long(worked(day, found, *((job.region, n) for n in lost)))
        for n in lost:
            if not job.stop and job.tasks[n].kind not in ("card", "pull"):
                assert too_long(worked(day, found, (job.region, n)))
    for name in {even(job) for job in day.jobs} - {None}:
        members = [job for job in day.jobs if even(job) == name]
        pulled = [job for job in members if any(task.kind == "pull" for task in job.tasks)]
        least = max((job.least_eighths for job in pulled), default=8)
        if any(n in found.put_off.get(region, {}) for job in members for region, n in hand(job)):
            shares = dict.fromkeys([job.region for job in members], least)
            assert too_long(worked(day, found, *(place for job in members for place in hand(job)), shares=shares))
        elif pulled and pulled[0].region in found.shares:
            share = found.shares[pulled[0].region] + 1
            assert too_long(worked(day, found, shares=dict.fromkeys([job.region for job in members], share)))


@settings(max_examples=30)
@given(days(), AVAILABLE)
def test_out_of_turn_the_same_is_worked_and_put_off(day: Day, available: int) -> None:
    found = fit(day.jobs, day.zones, PLACES, available)
    quick, minutes = fit_out_of_turn(day.jobs, day.zones, PLACES, available)
    assert (quick.put_off, quick.shares, minutes) == (found.put_off, found.shares, found.arrangement.minutes)
    taken: Counter[tuple[object, ...]] = Counter()
    for slot in found.arrangement.slots:
        if slot.region is not None:
            taken[slot.region, slot.task, slot.kind] += slot.minutes
    assert taken == {(slot.region, slot.task, slot.kind): slot.minutes for slot in quick.arrangement.slots}


@settings(max_examples=30)
@given(days(), st.integers(0, 3))
def test_nothing_is_put_off_where_there_is_time(day: Day, over: int) -> None:
    whole = arrange(day.jobs, day.zones, PLACES)
    assert fit(day.jobs, day.zones, PLACES, whole.minutes + over) == Fitted(whole, {}, {})


@settings(max_examples=20)
@given(days(), AVAILABLE, st.randoms(use_true_random=False))
def test_the_order_jobs_are_given_in_does_not_matter(day: Day, available: int, chance: Random) -> None:
    shuffled = day.jobs[:]
    chance.shuffle(shuffled)
    assert fit(shuffled, day.zones, PLACES, available) == fit(day.jobs, day.zones, PLACES, available)


# ---- days to read

JACKET = [
    job_on(region, ("pull", 16, "fine knife"))._replace(target="jacket", jacket=True, priority=50.0)
    for region in ("neck", "back", "croup")
]
LEG = job_on("foreleg", ("pull", 16, "stone"))._replace(target="legs", least_eighths=5, priority=40.0)
FEET = Job("forefoot", 6, None, (Task("scissor", 4, 60, "scissors", finish=True),), priority=35.0)
EARS = Job("head", 9, None, (Task("clip", 8, 50, "clipper", 3.0),), priority=60.0, visible=False)
GROIN = Job("groin", 10, None, (Task("clip", 2, 50, "clipper", 6.0),), priority=60.0, overdue=True)


def test_the_jacket_is_taken_down_evenly_and_what_shows_is_kept() -> None:
    # The order in which things give way: common practice, no source.
    found = fit([*JACKET, LEG, FEET, EARS, GROIN], {}, PLACES, 36)
    assert found.shares == {"neck": 5, "back": 5, "croup": 5}
    assert found.put_off == {"foreleg": {0: "low-priority"}, "head": {0: "out-of-sight"}}
    assert found.arrangement.minutes == 36


def test_where_the_dog_said_stop_gives_way_first_and_does_not_rise_by_waiting() -> None:
    """Rule 10."""
    stop = job_on("hindleg", ("pull", 8, "stone"))._replace(stop=True, priority=100.0, waited=30.0, put_off=3)
    found = fit([*JACKET, stop, FEET], {}, PLACES, 53)
    assert found.put_off == {"hindleg": {0: "said-stop"}}
    assert found.shares == {}


def test_what_is_put_off_may_fill_a_rest() -> None:
    tender = job_on("forefoot", ("pull", 8, "stone"), zone="toes")._replace(target="feet", priority=90.0)
    found = fit([tender, LEG], {"toes": Zone("high", 4, 16)}, PLACES, 30)
    assert found.put_off == {}
