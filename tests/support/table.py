"""The table of a grooming day: its rules and every order there is, written without the library's code, and days to try."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from hypothesis import strategies as st

from coatrules.order.sequence import Arrangement, Bouts, Job, Kind, Step, Task

KINDS: tuple[Kind, ...] = ("card", "pull", "clip", "scissor", "comb")
PHASE = {"card": 0, "pull": 0, "clip": 1, "scissor": 2, "comb": 3}
LEVEL = {"calm": 0, "low": 1, "medium": 2, "high": 3}

# ---- the rules, read off the finished steps: written without the library's code


def faults(steps: Sequence[Step], jobs: Sequence[Job], zones: Mapping[str, Bouts]) -> list[str]:
    """Every rule of the table that these steps break; steps may be the beginning of an order."""
    problems = []
    zone = {job.region: job.zone for job in jobs} | {None: None}
    if steps and steps[0].region is None:
        problems.append("begins with a rest")
    problems += [
        "two rests in a row" for first, second in pairwise(steps) if first.region is None and second.region is None
    ]
    for region in {step.region for step in steps if step.region}:
        kinds = [KINDS.index(step.kind) for step in steps if step.region == region]
        if kinds != sorted(kinds):
            problems.append(f"{region}: kinds out of order")

    # bouts: runs of steps in one zone, with when they begin and end
    bouts: list[tuple[str | None, int, int]] = []
    now = 0
    for step in steps:
        name = zone[step.region]
        if bouts and name is not None and bouts[-1][0] == name:
            bouts[-1] = (name, bouts[-1][1], now + step.minutes)
        else:
            bouts.append((name, now, now + step.minutes))
        now += step.minutes
    last_end: dict[str, int] = {}
    for name, begin, end in bouts:
        if name is None:
            continue
        if end - begin > zones[name].at_most:
            problems.append(f"{name}: bout of {end - begin}")
        if name in last_end and begin - last_end[name] < zones[name].rest:
            problems.append(f"{name}: rest of {begin - last_end[name]}")
        last_end[name] = end
    for (first, _, _), (second, _, _) in pairwise(bouts):
        if first and second and zones[first].level == zones[second].level == "high":
            problems.append(f"{second} straight after {first}")
    return problems


def first_faults(first: Step, jobs: Sequence[Job], zones: Mapping[str, Bouts]) -> list[str]:
    level = {job.region: LEVEL[zones[job.zone].level if job.zone else "calm"] for job in jobs}
    return [] if first.region and level[first.region] == min(level.values()) else ["begins on a tender region"]


def phase_faults(steps: Sequence[Step], jobs: Sequence[Job]) -> list[str]:
    calm = {job.region for job in jobs if job.zone is None}
    return [
        f"{step.kind} on {step.region} before {later.kind} on {later.region}"
        for at, step in enumerate(steps)
        for later in steps[at + 1 :]
        if step.region and later.region in calm and PHASE[step.kind] > PHASE[later.kind]
    ]


def worked(steps: Sequence[Step]) -> dict[tuple[str, Kind], list[Step]]:
    steps_by_work: dict[tuple[str, Kind], list[Step]] = {}
    for step in steps:
        if step.region is not None:
            assert step.kind != "rest"
            steps_by_work.setdefault((step.region, step.kind), []).append(step)
    return steps_by_work


def rested(steps: Sequence[Step]) -> int:
    return sum(step.minutes for step in steps if step.region is None)


# ---- every order there is


Left = tuple[tuple[Step, ...], ...]


def pieces(jobs: Sequence[Job], zones: Mapping[str, Bouts]) -> Left:
    """For each region what is left to do, cut as the rules say: the fewest parts, none differing by more than one."""
    chains = []
    for job in jobs:
        chain: list[Step] = []
        for task in job.tasks:
            at_most = zones[job.zone].at_most if job.zone else task.minutes
            count = next(n for n in range(1, task.minutes + 1) if n * at_most >= task.minutes)
            sizes = sorted(((task.minutes + n) // count for n in range(count)), reverse=True)
            chain += [Step(job.region, task.kind, size, n, count) for n, size in enumerate(sizes, start=1)]
        chains.append(tuple(chain))
    return tuple(chains)


def orders(
    steps: tuple[Step, ...], left: Left, jobs: Sequence[Job], zones: Mapping[str, Bouts], waits: Sequence[int]
) -> Iterator[tuple[Step, ...]]:
    """Every order that breaks no rule, each piece after each of these rests."""
    if not any(left):
        if not phase_faults(steps, jobs):
            yield steps
        return
    for at, chain in enumerate(left):
        if not chain:
            continue
        rest_left = (*left[:at], chain[1:], *left[at + 1 :])
        for wait in waits:
            more = (*steps, *([Step(None, "rest", wait, 1, 1)] if wait else []), chain[0])
            if not faults(more, jobs, zones) and (steps or not first_faults(more[0], jobs, zones)):
                yield from orders(more, rest_left, jobs, zones, waits)


def least_rest_by_trying(jobs: Sequence[Job], zones: Mapping[str, Bouts], waits: Sequence[int]) -> int:
    return min(rested(steps) for steps in orders((), pieces(jobs, zones), jobs, zones, waits))


def count_pieces(jobs: Sequence[Job], zones: Mapping[str, Bouts]) -> int:
    return sum(map(len, pieces(jobs, zones)))


def least_rest_by_least_waits(jobs: Sequence[Job], zones: Mapping[str, Bouts]) -> int:
    """As ``least_rest_by_trying``, but each piece comes after the shortest rest that breaks no rule."""
    best = 10**9

    def go(steps: tuple[Step, ...], left: Left) -> None:
        nonlocal best
        if not any(left):
            best = min(best, rested(steps))
        for at, chain in enumerate(left):
            for wait in range(10) if chain else ():
                more = (*steps, *([Step(None, "rest", wait, 1, 1)] if wait else []), chain[0])
                if rested(more) >= best:
                    break
                if faults(more, jobs, zones) or phase_faults(more, jobs) or first_faults(more[0], jobs, zones):
                    continue
                go(more, (*left[:at], chain[1:], *left[at + 1 :]))
                break

    go((), pieces(jobs, zones))
    return best


# ---- dogs of every kind


@st.composite
def tables(
    draw: st.DrawFn, regions: int = 8, minutes: int = 12, longest_rest: int = 12, tasks: int = 3
) -> tuple[list[Job], dict[str, Bouts]]:
    level = st.sampled_from(["low", "medium", "high"])
    bouts = st.builds(Bouts, level, st.integers(1, 6), st.integers(1, longest_rest))
    zones = draw(st.dictionaries(st.sampled_from(["feet", "face", "groin"]), bouts, max_size=3))
    walk_orders = draw(st.lists(st.integers(0, 50), min_size=1, max_size=regions, unique=True))
    jobs = []
    for walk_order in walk_orders:
        kinds = draw(st.lists(st.sampled_from(KINDS), min_size=1, max_size=tasks, unique=True))
        work = tuple(Task(kind, draw(st.integers(1, minutes))) for kind in sorted(kinds, key=KINDS.index))
        zone = draw(st.sampled_from([None, *sorted(zones)]))
        waited = draw(st.integers(0, 2)), draw(st.sampled_from([0.0, 1.5]))
        jobs.append(
            Job(f"r{walk_order}", walk_order, draw(st.sampled_from([10.0, 40.0, 62.5, 90.0])), zone, work, *waited)
        )
    return jobs, zones


# ---- days to read


def step_lines(done: Arrangement) -> list[str]:
    def name(step: Step) -> str:
        bout = f" {step.bout}/{step.bouts}" if step.bouts > 1 else ""
        return f"{step.kind} {step.region or ''}".strip() + f"{bout} {step.minutes}"

    return [name(step) for step in done.steps]


def job_on(
    region: str, walk_order: int, *tasks: tuple[Kind, int], zone: str | None = None, priority: float = 50.0
) -> Job:
    return Job(region, walk_order, priority, zone, tuple(Task(kind, minutes) for kind, minutes in tasks))
