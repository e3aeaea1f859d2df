"""What is worked in a short time: rules 10, 12 and 13, and that nothing is put off that fits."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules.order.jobs import Job, Task, Zone
from coatrules.order.passes import arrange
from coatrules.order.short_time import Fitted, fit, fit_out_of_turn
from tests.support.passes import PLACES, Day, days, faults, job_on

AVAILABLE = st.integers(0, 120)


def with_late_work(day: Day) -> Day:
    """The same day on which every third task has waited two visits and a half too long."""
    jobs = [
        job._replace(
            tasks=tuple(
                [
                    task._replace(late=0.0 if (job.walk_order + number) % 3 else 2.5)
                    for number, task in enumerate(job.tasks)
                ]
            )
        )
        for job in day.jobs
    ]
    return Day(jobs, day.zones)


DAYS = days().map(with_late_work)


Shares = Mapping[str, Mapping[int, int]]


def worked(day: Day, found: Fitted, *more: tuple[str, int], shares: Shares | None = None) -> Day:
    """The jobs as they are worked: what is put off taken out, but for some, and hand work at its shares, rounded up."""
    jobs = []
    for job in day.jobs:
        tasks = []
        for index, task in enumerate(job.tasks):
            if index not in found.put_off.get(job.region, {}) or (job.region, index) in more:
                share = {**found.shares.get(job.region, {}), **(shares or {}).get(job.region, {})}.get(index, 8)
                half_minutes = max(1, (task.minutes * share + 7) // 8)
                tasks.append(task._replace(minutes=half_minutes))
        if tasks:
            jobs.append(job._replace(tasks=tuple(tasks)))
    return Day(jobs, day.zones)


def even(job: Job, task: Task) -> str | None:
    """What a task must stay even with; None where the dog said stop, or it is not done by hand."""
    if job.stop or task.kind not in ("card", "pull"):
        return None
    return f"the jacket: {task.kind}" if job.jacket else f"of {job.target}" if job.target else job.region


def by_hand(day: Day) -> dict[str, list[tuple[Job, int]]]:
    """The tasks that must stay even, by what with."""
    found: dict[str, list[tuple[Job, int]]] = {}
    for job in day.jobs:
        for index, task in enumerate(job.tasks):
            if name := even(job, task):
                found.setdefault(name, []).append((job, index))
    return found


def least(tasks: list[tuple[Job, int]], names: Iterable[str]) -> int:
    """The fewest eighths at which these tasks are worked together; raking of a jacket that is pulled goes down to a half."""
    pulled = [job.least_eighths for job, index in tasks if job.tasks[index].kind == "pull"]
    if not pulled and tasks[0][0].jacket:
        return 4 if any(name.endswith("pull") for name in names) else max(job.least_eighths for job, _ in tasks)
    return max(pulled, default=8)


@settings(max_examples=30)
@given(DAYS, AVAILABLE)
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
@given(DAYS, AVAILABLE)
def test_every_task_is_worked_or_put_off(day: Day, available: int) -> None:
    found = fit(day.jobs, day.zones, PLACES, available)
    all_tasks = {(job.region, n) for job in day.jobs for n in range(len(job.tasks))}
    done = {(slot.region, slot.task) for slot in found.arrangement.slots if slot.region is not None}
    put_off = {(region, n) for region, tasks in found.put_off.items() for n in tasks}
    assert done | put_off == all_tasks
    assert not done & put_off


@settings(max_examples=30)
@given(DAYS, AVAILABLE)
def test_a_layer_target_stays_even(day: Day, available: int) -> None:
    """Rule 12: all of it at one share or all put off, the jacket's targets as one; never below the low spot."""
    found = fit(day.jobs, day.zones, PLACES, available)
    together = by_hand(day)
    for tasks in together.values():
        levels = {
            0 if index in found.put_off.get(job.region, {}) else found.shares.get(job.region, {}).get(index, 8)
            for job, index in tasks
        }
        assert len(levels) == 1
        assert levels == {0} or min(levels) >= least(tasks, together)
    for job in day.jobs:
        for index in found.shares.get(job.region, {}):
            assert even(job, job.tasks[index]), "only hand work is reduced"


@settings(max_examples=30)
@given(DAYS, AVAILABLE)
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
    together = by_hand(day)
    for tasks in together.values():
        first, index = tasks[0]
        if index in found.put_off.get(first.region, {}):
            share = least(tasks, together)
        elif index in found.shares.get(first.region, {}):
            share = found.shares[first.region][index] + 1
        else:
            continue
        shares: dict[str, dict[int, int]] = {}
        for job, index in tasks:
            shares.setdefault(job.region, {})[index] = share
        assert too_long(worked(day, found, *((job.region, index) for job, index in tasks), shares=shares))


@settings(max_examples=30)
@given(DAYS, AVAILABLE)
def test_the_jacket_leads(day: Day, available: int) -> None:
    """Where its pulling is put off, or goes at less than half its share, nothing less pressing is done that it would fit instead of."""
    found = fit(day.jobs, day.zones, PLACES, available)
    together = by_hand(day)
    tasks = together.get("the jacket: pull", [])
    if not tasks:
        return
    first, index = tasks[0]
    share = found.shares.get(first.region, {}).get(index, 8)
    if index not in found.put_off.get(first.region, {}) and share >= 4:
        return
    share = least(tasks, together) if index in found.put_off.get(first.region, {}) else share + 1
    instead = [
        job._replace(tasks=tuple([task._replace(minutes=-(-task.minutes * share // 8)) for task in pulls]))
        for job in day.jobs
        if not job.stop and job.jacket and (pulls := [task for task in job.tasks if task.kind == "pull"])
    ]
    firm = {job.region for job in day.jobs if job.overdue or job.put_off >= 2 or any(task.finish for task in job.tasks)}
    assert firm or arrange(instead, day.zones, PLACES).minutes > available


@settings(max_examples=30)
@given(DAYS, AVAILABLE)
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
    assert found.shares == {"neck": {0: 5}, "back": {0: 5}, "croup": {0: 5}}
    assert found.put_off == {"foreleg": {0: "low-priority"}, "head": {0: "out-of-sight"}}
    assert found.arrangement.minutes == 36


def test_overdue_hygiene_stays_when_all_else_gives_way() -> None:
    """A dog fifteen weeks away with ten minutes on the table had a twentieth of its jacket pulled, and the groin left."""
    groin = GROIN._replace(tasks=(Task("clip", 8, 50, "clipper", 6.0),))
    found = fit([*JACKET, FEET, EARS, groin], {}, PLACES, 12)  # or a quarter of the jacket's share
    assert found.put_off.keys() == {"neck", "back", "croup", "head"}
    assert found.arrangement.minutes == 12


def test_where_the_dog_said_stop_gives_way_first_and_does_not_rise_by_waiting() -> None:
    """Rule 10."""
    stop = job_on("hindleg", ("pull", 8, "stone"))._replace(stop=True, priority=100.0, waited=30.0, put_off=3)
    found = fit([*JACKET, stop, FEET], {}, PLACES, 53)
    assert found.put_off == {"hindleg": {0: "said-stop"}}
    assert found.shares == {}


def test_a_routine_that_waited_long_comes_before_more_of_the_jacket_and_the_latest_first() -> None:
    tidy = Job("foreleg", 5, None, (Task("scissor", 6, 60, "scissors", late=2),), priority=65.0)
    comb = Job("hindleg", 7, None, (Task("comb", 6, 60, "comb", late=3),), priority=60.0)
    short = fit([*JACKET, tidy, comb, FEET], {}, PLACES, 24)
    assert short.put_off == {"foreleg": {0: "no-time"}}  # the comb is later, whatever its priority
    assert short.shares == {"neck": {0: 2}, "back": {0: 2}, "croup": {0: 2}}
    fresh = [job._replace(tasks=(job.tasks[0]._replace(late=1),)) for job in (tidy, comb)]
    assert set(fit([*JACKET, *fresh, FEET], {}, PLACES, 24).put_off) == {"foreleg", "hindleg"}


def test_a_jacket_that_was_not_raked_for_long_is_raked_before_it_is_pulled() -> None:
    def raked(late: float) -> list[Job]:
        return [
            job._replace(tasks=(Task("card", 8, 10, "rake", late=late), *job.tasks), walk_order=job.walk_order)
            for job in JACKET
        ]

    assert fit(raked(1), {}, PLACES, 14).put_off == {job.region: {0: "no-time"} for job in JACKET}
    assert fit(raked(2), {}, PLACES, 14).put_off == {job.region: {1: "no-time"} for job in JACKET}


def test_what_is_put_off_may_fill_a_rest() -> None:
    tender = job_on("forefoot", ("pull", 8, "stone"), zone="toes")._replace(target="feet", priority=90.0)
    found = fit([tender, LEG], {"toes": Zone("high", 4, 16)}, PLACES, 30)
    assert found.put_off == {}
