"""The order of work by passes, read off the finished slots: its rules and its price written without the library's code, every
order of a few units, and days to try."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby, pairwise
from typing import NamedTuple

from hypothesis import strategies as st

from coatrules.order.jobs import Job, Kind, Prices, Slot, Stations, Task, Zone, stations

KINDS: tuple[Kind, ...] = ("card", "pull", "clip", "scissor", "comb")
TURNS: dict[Kind, list[tuple[int, str]]] = {
    "card": [(10, "rake")],
    "pull": [(20, "coarse knife"), (21, "fine knife"), (30, "stone"), (40, "fingers")],
    "clip": [(50, "clipper")],
    "scissor": [(60, "scissors")],
    "comb": [(70, "comb")],
}
REGIONS = ("neck", "back", "croup", "chest", "belly", "foreleg", "forefoot", "hindleg", "hindfoot", "head", "groin")
PLACES = stations(
    REGIONS, [["neck"], ["back", "croup"], ["chest", "belly"], ["foreleg", "forefoot"]], [(0, 1), (0, 2), (2, 3)]
)


class Day(NamedTuple):
    """A day's work."""

    jobs: list[Job]
    zones: dict[str, Zone]


class Done(NamedTuple):
    """A slot with all that its job says of it, and when it begins and ends."""

    slot: Slot
    job: Job
    task: Task
    begin: int
    end: int


def done(slots: Sequence[Slot], jobs: Sequence[Job]) -> list[Done]:
    """The slots of work, without the rests."""
    by_region = {job.region: job for job in jobs}
    found, now = [], 0
    for slot in slots:
        if slot.region is not None:
            assert slot.task is not None
            job = by_region[slot.region]
            found.append(Done(slot, job, job.tasks[slot.task], now, now + slot.minutes))
        now += slot.minutes
    return found


def runs(work: Sequence[Done]) -> list[list[Done]]:
    """Calm slots one by one, and tender ones by bout: what is done in one zone without anything between."""
    found: list[list[Done]] = []
    for one in work:
        last = found[-1][-1] if found else None
        if last is not None and one.job.zone is not None and last.job.zone == one.job.zone and last.end == one.begin:
            found[-1].append(one)
        else:
            found.append([one])
    return found


# ---- the rules


def faults(slots: Sequence[Slot], day: Day) -> list[str]:
    """Every rule that these slots break, of those that hold without exception."""
    jobs, zones = day
    work = done(slots, jobs)
    return [
        *_whole(slots, work, jobs, zones),
        *_in_order(work),
        *_bouts(work, zones),
        *_calm(work),
    ]


def _whole(
    slots: Sequence[Slot], work: Sequence[Done], jobs: Sequence[Job], zones: Mapping[str, Zone]
) -> Iterator[str]:
    if slots and (slots[0].region is None or slots[-1].region is None):
        yield "a rest at an end"
    if any(one.region is None and two.region is None for one, two in pairwise(slots)):
        yield "two rests in a row"
    if any(slot.minutes < 1 for slot in slots):
        yield "a slot of no length"
    for job in jobs:
        for index, task in enumerate(job.tasks):
            parts = [one.slot for one in work if (one.slot.region, one.slot.task) == (job.region, index)]
            sizes = [part.minutes for part in parts]
            if sum(sizes) != task.minutes or any(part.kind != task.kind for part in parts):
                yield f"{job.region} {task.kind}: {sizes} of {task.minutes}"
            if [(part.part, part.parts) for part in parts] != [(n + 1, len(parts)) for n in range(len(parts))]:
                yield f"{job.region} {task.kind}: parts miscounted"
            fewest = 1 if job.zone is None else -(-task.minutes // zones[job.zone].at_most)
            if len(parts) != fewest or max(sizes, default=0) - min(sizes, default=0) > 1:
                yield f"{job.region} {task.kind}: cut into {sizes}"
    if len(work) != sum(slot.region is not None for slot in slots) or {d.job.region for d in work} != {
        job.region for job in jobs if job.tasks
    }:
        yield "not the regions asked for"


def _in_order(work: Sequence[Done]) -> Iterator[str]:
    """Rule 2, in every region: card, pull, clip, scissor, comb."""
    for region in {one.job.region for one in work}:
        kinds = [KINDS.index(one.task.kind) for one in work if one.job.region == region]
        if kinds != sorted(kinds):
            yield f"{region}: kinds out of order"


def _bouts(work: Sequence[Done], zones: Mapping[str, Zone]) -> Iterator[str]:
    """Rules 3 and 4: bouts keep their length, zones their rest, high zones never touch."""
    ended: dict[str, int] = {}
    for run in runs(work):
        zone = run[0].job.zone
        if zone is not None:
            if run[-1].end - run[0].begin > zones[zone].at_most:
                yield f"{zone}: bout of {run[-1].end - run[0].begin}"
            if zone in ended and run[0].begin - ended[zone] < zones[zone].rest:
                yield f"{zone}: rest of {run[0].begin - ended[zone]}"
            ended[zone] = run[-1].end
    for one, two in pairwise(work):
        names = one.job.zone, two.job.zone
        high = all(name is not None and zones[name].level == "high" for name in names)
        if high and names[0] != names[1] and one.end == two.begin:
            yield f"{names[1]} straight after {names[0]}"


def _calm(work: Sequence[Done]) -> Iterator[str]:
    """Rules 1, 2, 5 and 9, of calm work."""
    calm = [one for one in work if one.job.zone is None]
    open_calm = [one for one in calm if not ends_visit(one)]
    if open_calm and work[0].job.zone is not None:
        yield "begins on a tender place"
    finishing = [one.begin for one in work if one.task.finish]
    if finishing and any(one.begin > min(finishing) for one in open_calm):
        yield "calm work after the visit began to end"
    for one in work:
        if one.job.zone is not None and ends_visit(one):
            earlier = [other for other in calm if stands(other) < stands(one)]
            if any(other.begin > one.begin for other in earlier):
                yield f"{one.job.region} ends the visit before an earlier pass"
    pulls = [one.begin for one in calm if one.task.kind == "pull"]
    if pulls and any(one.begin > min(pulls) for one in calm if one.task.kind == "card"):
        yield "carded after the first knife"
    for group in (open_calm, [one for one in calm if ends_visit(one)]):
        places = [(one.task.turn, one.task.soiled) for one in group]
        if places != sorted(places):
            yield f"passes mixed: {places}"
    for _, passed in groupby(
        calm, key=lambda one: (one.task.turn, one.task.soiled, one.task.blade_mm, ends_visit(one))
    ):
        walk = [one.job.walk_order for one in passed]
        if walk != sorted(walk):
            yield f"a pass not along the walk: {walk}"


def ends_visit(one: Done) -> bool:
    """Whether it ends the visit, or comes after what does in its region."""
    before = one.job.tasks[: (one.slot.task or 0) + 1]
    return any(task.finish for task in before)


def stands(one: Done) -> tuple[bool, int]:
    """Its pass: whatever its tool's turn, it comes after what comes before it in its region."""
    return ends_visit(one), max(task.turn for task in one.job.tasks[: (one.slot.task or 0) + 1])


def rested(slots: Sequence[Slot]) -> int:
    return sum(slot.minutes for slot in slots if slot.region is None)


# ---- the price


def tool(task: Task) -> tuple[str, float | None]:
    return task.tool, task.blade_mm


def price_of(slots: Sequence[Slot], day: Day, places: Stations, prices: Prices) -> int:
    """What an order costs, counted item by item."""
    work = done(slots, day.jobs)
    bouts = runs(work)
    last_by_hand = max(
        (one.begin for one in work if one.job.zone is None and one.task.kind in ("card", "pull")), default=-1
    )
    combing = min(
        (one.begin for one in work if one.job.zone is None and one.task.kind == "comb" and not ends_visit(one)),
        default=10**9,
    )
    end_begins = min((one.begin for one in work if ends_visit(one)), default=10**9)
    clips = [one for one in work if one.task.kind == "clip"]
    total = prices.idle * sum(slot.minutes for slot in slots if slot.region is None)
    for one, two in pairwise(work):
        total += prices.change * (tool(one.task) != tool(two.task))
        total += prices.move * places.apart[places.of[one.job.region]][places.of[two.job.region]]
    in_a_row = 0
    for run in bouts:
        tender = run[0].job.zone is not None
        in_a_row = in_a_row + 1 if tender else 0
        if tender:
            total += prices.in_a_row * (in_a_row > prices.most_in_a_row)
            total += prices.side_by_side * (in_a_row > 1)
            total += prices.after_finish * (not ends_visit(run[0]) and run[0].begin > end_begins)
            cuts = any(one.task.kind in ("clip", "scissor") for one in run)
            early = run[0].begin < last_by_hand
            total += prices.early_cut * (cuts and early)
            total += prices.after_comb * (cuts and not early and run[0].begin > combing and not ends_visit(run[0]))
    for n, clip in enumerate(clips):
        total += prices.unclean * any(other.task.soiled > clip.task.soiled for other in clips[:n])
    return total


def timed(order: Sequence[Sequence[Slot]], day: Day) -> list[Slot]:
    """The slots of units in that order, each begun as soon as rules 3 and 4 let it."""
    zone_of = {job.region: job.zone for job in day.jobs}
    ended: dict[str, int] = {}
    slots: list[Slot] = []
    now = 0
    last: str | None = None
    for unit in order:
        zone = zone_of[unit[0].region or ""]
        wait = 0
        if zone is not None:
            if zone in ended:
                wait = ended[zone] + max(1, day.zones[zone].rest) - now
            two_high = last is not None and last != zone and day.zones[zone].level == day.zones[last].level == "high"
            wait = max(wait, int(two_high))
        if wait > 0:
            slots.append(Slot(None, "rest", wait))
            now += wait
        slots += unit
        now += sum(slot.minutes for slot in unit)
        if zone is not None:
            ended[zone] = now
        last = zone
    return slots


def units_of(slots: Sequence[Slot], day: Day) -> list[list[Slot]]:
    """The units of finished slots: calm slots, and bouts."""
    return [[one.slot for one in run] for run in runs(done(slots, day.jobs))]


def every_order(units: Sequence[Sequence[Slot]], day: Day) -> Iterator[list[Sequence[Slot]]]:
    """Every order of the units in which each zone's keep theirs, and calm ones theirs."""
    zone_of = {job.region: job.zone for job in day.jobs}
    lanes: dict[str | None, list[Sequence[Slot]]] = {}
    for unit in units:
        lanes.setdefault(zone_of[unit[0].region or ""], []).append(unit)

    def go(left: dict[str | None, list[Sequence[Slot]]]) -> Iterator[list[Sequence[Slot]]]:
        if not any(left.values()):
            yield []
        for name, lane in left.items():
            if lane:
                for order in go({**left, name: lane[1:]}):
                    yield [lane[0], *order]

    return go(lanes)


# ---- days to try


@st.composite
def days(draw: st.DrawFn, regions: int = 9, minutes: int = 12, longest_rest: int = 12, tasks: int = 3) -> Day:
    """Days of every kind."""
    level = st.sampled_from(["low", "medium", "high"])
    bouts = st.builds(Zone, level, st.integers(1, 6), st.integers(1, longest_rest))
    zones = draw(st.dictionaries(st.sampled_from(["feet", "face", "rear", "below"]), bouts, max_size=4))
    names = draw(st.lists(st.sampled_from(REGIONS), min_size=1, max_size=regions, unique=True))
    jobs = []
    for name in names:
        kinds = sorted(draw(st.lists(st.sampled_from(KINDS), min_size=1, max_size=tasks, unique=True)), key=KINDS.index)
        jobs.append(
            Job(
                name,
                REGIONS.index(name),
                draw(st.sampled_from([None, None, *sorted(zones)])),
                tuple([draw(_task(kind, minutes)) for kind in kinds]),
                target=draw(st.sampled_from([None, "jacket", "legs", "head"])),
                jacket=False,
                least_eighths=draw(st.sampled_from([1, 2, 5, 8])),
                priority=draw(st.sampled_from([10.0, 40.0, 62.5, 90.0])),
                waited=draw(st.sampled_from([0.0, 10.0])),
                put_off=draw(st.integers(0, 2)),
                overgrown=draw(st.sampled_from([0.0, 1.5])),
                stop=draw(st.integers(0, 5)) == 0,
                overdue=draw(st.booleans()),
                visible=draw(st.integers(0, 3)) > 0,
            )
        )
    return Day([job._replace(jacket=job.target == "jacket") for job in jobs], zones)


@st.composite
def _task(draw: st.DrawFn, kind: Kind, minutes: int) -> Task:
    turn, name = draw(st.sampled_from(TURNS[kind]))
    time = draw(st.integers(1, minutes))
    if kind == "clip":
        return Task(
            kind, time, turn, name, draw(st.sampled_from([1.0, 3.0, 13.0])), draw(st.sampled_from([0, 0, 1, 2]))
        )
    return Task(kind, time, turn, name, finish=kind in ("scissor", "comb") and draw(st.booleans()))


def job_on(region: str, *tasks: tuple[Kind, int, str], zone: str | None = None) -> Job:
    """A job to read: tasks as kind, half-minutes and tool."""
    turn = {name: turn for turns in TURNS.values() for turn, name in turns}
    return Job(
        region, REGIONS.index(region), zone, tuple([Task(kind, time, turn[name], name) for kind, time, name in tasks])
    )


def told(slots: Sequence[Slot]) -> list[str]:
    """The slots in words."""
    return [
        " ".join(
            [
                slot.kind,
                *([slot.region] if slot.region else []),
                *([f"{slot.part}/{slot.parts}"] if slot.parts > 1 else []),
            ]
        )
        + f" {slot.minutes}"
        for slot in slots
    ]
