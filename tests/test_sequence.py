"""The order of work on the table, held against the rules read step by step and against every order there is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, pairwise
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import sequence
from coatrules.sequence import Arrangement, Bouts, Job, Kind, Step, Task, _Table, arrange

KINDS: tuple[Kind, ...] = ("card", "pull", "clip", "scissor", "comb")
PHASE = {"card": 0, "pull": 0, "clip": 1, "scissor": 2, "comb": 3}
LEVEL = {"calm": 0, "low": 1, "medium": 2, "high": 3}


# ---- the rules, read off the finished steps: written without the library's code


def faults(steps: Sequence[Step], jobs: Sequence[Job], zones: Mapping[str, Bouts]) -> list[str]:
    """Every rule of the table that these steps break; steps may be the beginning of an order."""
    found = []
    zone = {job.region: job.zone for job in jobs} | {None: None}
    if steps and steps[0].region is None:
        found.append("begins with a rest")
    found += ["two rests in a row" for one, two in pairwise(steps) if one.region is None and two.region is None]
    for region in {step.region for step in steps if step.region}:
        kinds = [KINDS.index(step.kind) for step in steps if step.region == region]
        if kinds != sorted(kinds):
            found.append(f"{region}: kinds out of order")

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
            found.append(f"{name}: bout of {end - begin}")
        if name in last_end and begin - last_end[name] < zones[name].rest:
            found.append(f"{name}: rest of {begin - last_end[name]}")
        last_end[name] = end
    for (one, _, _), (two, _, _) in pairwise(bouts):
        if one and two and zones[one].level == zones[two].level == "high":
            found.append(f"{two} straight after {one}")
    return found


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
    found: dict[tuple[str, Kind], list[Step]] = {}
    for step in steps:
        if step.region is not None:
            assert step.kind != "rest"
            found.setdefault((step.region, step.kind), []).append(step)
    return found


def rested(steps: Sequence[Step]) -> int:
    return sum(step.minutes for step in steps if step.region is None)


# ---- dogs of every kind


@st.composite
def tables(
    draw: st.DrawFn, regions: int = 8, minutes: int = 12, longest_rest: int = 12, tasks: int = 3
) -> tuple[list[Job], dict[str, Bouts]]:
    level = st.sampled_from(["low", "medium", "high"])
    bouts = st.builds(Bouts, level, st.integers(1, 6), st.integers(1, longest_rest))
    zones = draw(st.dictionaries(st.sampled_from(["feet", "face", "groin"]), bouts, max_size=3))
    places = draw(st.lists(st.integers(0, 50), min_size=1, max_size=regions, unique=True))
    jobs = []
    for place in places:
        kinds = draw(st.lists(st.sampled_from(KINDS), min_size=1, max_size=tasks, unique=True))
        work = tuple(Task(kind, draw(st.integers(1, minutes))) for kind in sorted(kinds, key=KINDS.index))
        zone = draw(st.sampled_from([None, *sorted(zones)]))
        waited = draw(st.integers(0, 2)), draw(st.sampled_from([0.0, 1.5]))
        jobs.append(Job(f"r{place}", place, draw(st.sampled_from([10.0, 40.0, 62.5, 90.0])), zone, work, *waited))
    return jobs, zones


@given(tables(), st.none() | st.integers(0, 120))
def test_every_rule_of_the_table_holds(table: tuple[list[Job], dict[str, Bouts]], budget: int | None) -> None:
    jobs, zones = table
    done = arrange(jobs, zones, budget)
    kept = [job for job in jobs if job.region not in done.deferred]

    assert len(set(done.deferred)) == len(done.deferred)
    assert {job.region for job in jobs} >= set(done.deferred)
    assert done.minutes == sum(step.minutes for step in done.steps)
    assert budget is None or done.minutes <= budget
    assert budget is not None or not done.deferred
    assert faults(done.steps, jobs, zones) == []
    assert phase_faults(done.steps, jobs) == []
    if kept:
        assert first_faults(done.steps[0], kept, zones) == []
        assert done.steps[-1].kind != "rest"

    wanted = {(job.region, task.kind): (job, task.minutes) for job in kept for task in job.tasks}
    got = worked(done.steps)
    assert set(got) == set(wanted)
    for key, (job, minutes) in wanted.items():
        bouts = got[key]
        assert sum(step.minutes for step in bouts) == minutes
        assert [(step.bout, step.bouts) for step in bouts] == [(n, len(bouts)) for n in range(1, len(bouts) + 1)]
        fewest = 1 if job.zone is None else -(-minutes // zones[job.zone].at_most)
        assert len(bouts) == fewest
        assert max(step.minutes for step in bouts) - min(step.minutes for step in bouts) <= 1


@given(tables(), st.none() | st.integers(0, 120), st.randoms(use_true_random=False))
def test_the_order_jobs_are_given_in_does_not_matter(
    table: tuple[list[Job], dict[str, Bouts]], budget: int | None, chance: Random
) -> None:
    jobs, zones = table
    shuffled = jobs[:]
    chance.shuffle(shuffled)
    assert arrange(shuffled, zones, budget) == arrange(jobs, zones, budget)


@given(tables(), st.integers(0, 120))
def test_what_was_put_off_would_not_have_fitted(table: tuple[list[Job], dict[str, Bouts]], budget: int) -> None:
    jobs, zones = table
    done = arrange(jobs, zones, budget)
    kept = [job for job in jobs if job.region not in done.deferred]
    for job in jobs:
        if job.region in done.deferred:
            assert arrange([*kept, job], zones, None).minutes > budget
    order = [
        (job.priority, job.put_off, job.overgrown, -job.place)
        for name in done.deferred
        for job in jobs
        if job.region == name
    ]
    assert order == sorted(order)


@given(tables())
def test_pieces_are_alike_if_they_and_all_after_them_in_their_region_take_as_long(
    table: tuple[list[Job], dict[str, Bouts]],
) -> None:
    pieces = _Table(*table)
    chains = [
        [(later.phase, later.minutes) for later in pieces.pieces[place:] if later.region == piece.region]
        for place, piece in enumerate(pieces.pieces)
    ]
    for one, two in combinations(range(len(chains)), 2):
        assert (pieces.alike[one] == pieces.alike[two]) == (chains[one] == chains[two])


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


@settings(max_examples=60)
@given(tables(regions=4, minutes=4, longest_rest=3, tasks=2).filter(lambda table: 1 < count_pieces(*table) <= 4))
def test_no_order_with_any_rests_at_all_rests_less(table: tuple[list[Job], dict[str, Bouts]]) -> None:
    jobs, zones = table
    assert rested(arrange(jobs, zones, None).steps) == least_rest_by_trying(jobs, zones, range(4))


@settings(max_examples=80)
@given(tables(regions=6, minutes=6, longest_rest=8, tasks=2).filter(lambda table: 4 < count_pieces(*table) <= 6))
def test_no_order_of_six_pieces_rests_less(table: tuple[list[Job], dict[str, Bouts]]) -> None:
    jobs, zones = table
    # Resting longer than a piece needs only moves a rest forward: the test above tries that too, on fewer pieces.
    assert rested(arrange(jobs, zones, None).steps) == least_rest_by_least_waits(jobs, zones)


def least_rest_by_least_waits(jobs: Sequence[Job], zones: Mapping[str, Bouts]) -> int:
    """As above, but each piece comes after the shortest rest that breaks no rule."""
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


@settings(max_examples=60)
@given(
    tables(regions=5, minutes=4, longest_rest=6, tasks=1).filter(lambda table: 1 < count_pieces(*table) <= 5),
    st.integers(0, 24),
)
def test_the_kept_jobs_are_those_the_rule_keeps(table: tuple[list[Job], dict[str, Bouts]], budget: int) -> None:
    jobs, zones = table

    def fits(kept: Sequence[Job]) -> bool:
        work = sum(task.minutes for job in kept for task in job.tasks)
        return work <= budget and (not kept or work + least_rest_by_least_waits(kept, zones) <= budget)

    ranked = sorted(jobs, key=lambda job: (-job.priority, -job.put_off, -job.overgrown, job.place))
    kept = next(ranked[:n] for n in range(len(ranked), -1, -1) if fits(ranked[:n]))
    before = None
    while before != len(kept):
        before = len(kept)
        for job in ranked:
            if job not in kept and fits([*kept, job]):
                kept = [*kept, job]
    dropped = [job.region for job in reversed(ranked) if job not in kept]
    assert list(arrange(jobs, zones, budget).deferred) == dropped


# ---- tables to read


def told(done: Arrangement) -> list[str]:
    def name(step: Step) -> str:
        bout = f" {step.bout}/{step.bouts}" if step.bouts > 1 else ""
        return f"{step.kind} {step.region or ''}".strip() + f"{bout} {step.minutes}"

    return [name(step) for step in done.steps]


TOES = {"toes": Bouts("high", at_most=6, rest=16)}


def job(region: str, place: int, *tasks: tuple[Kind, int], zone: str | None = None, priority: float = 50.0) -> Job:
    return Job(region, place, priority, zone, tuple(Task(kind, minutes) for kind, minutes in tasks))


def test_toes_in_three_bouts_with_back_and_ribs_between() -> None:
    # Common practice, no source: one to three minutes of pulling, then another region, then return.
    jobs = [
        job("neck", 1, ("card", 4), ("pull", 10)),
        job("back", 2, ("card", 6), ("pull", 20)),
        job("ribs", 3, ("card", 6), ("pull", 16)),
        job("toes", 4, ("pull", 16), zone="toes"),
    ]
    assert told(arrange(jobs, TOES, None)) == [
        "card neck 4",
        "card back 6",
        "card ribs 6",
        "pull toes 1/3 6",
        "pull neck 10",
        "pull back 20",
        "pull toes 2/3 5",
        "pull ribs 16",
        "pull toes 3/3 5",
    ]


def test_with_nothing_else_to_do_a_rest_is_a_step_only_as_long_as_needed() -> None:
    jobs = [job("back", 1, ("pull", 4)), job("ribs", 2, ("pull", 10)), job("toes", 3, ("pull", 12), zone="toes")]
    assert told(arrange(jobs, TOES, None)) == [
        "pull back 4",
        "pull toes 1/2 6",
        "pull ribs 10",
        "rest 6",
        "pull toes 2/2 6",
    ]


def test_a_tender_bout_stands_where_half_the_calm_work_is_done() -> None:
    jobs = [
        job("back", 1, ("pull", 4)),
        job("ribs", 2, ("pull", 4)),
        job("toes", 3, ("pull", 3), zone="toes"),
    ]
    assert told(arrange(jobs, TOES, None)) == ["pull back 4", "pull toes 3", "pull ribs 4"]


def test_what_is_left_of_the_calm_work_decides_when_the_first_bout_is_due() -> None:
    """Of 8 calm 4 come first: the back's 3 are too few, with the loin's 1 they are enough."""
    jobs = [
        job("back", 1, ("pull", 3)),
        job("loin", 2, ("pull", 1)),
        job("ribs", 3, ("pull", 4)),
        job("toes", 4, ("pull", 3), zone="toes"),
    ]
    assert told(arrange(jobs, TOES, None)) == ["pull back 3", "pull loin 1", "pull toes 3", "pull ribs 4"]


def test_within_a_zone_the_walk_is_kept_where_a_later_piece_would_fill_the_bout() -> None:
    jobs = [
        job("back", 1, ("pull", 8)),
        job("ribs", 2, ("pull", 16)),
        job("left toes", 3, ("pull", 4), zone="toes"),
        job("right toes", 4, ("pull", 4), zone="toes"),
        job("dewclaws", 5, ("pull", 2), zone="toes"),
    ]
    assert told(arrange(jobs, TOES, None)) == [
        "pull back 8",
        "pull left toes 4",
        "pull ribs 16",
        "pull right toes 4",
        "pull dewclaws 2",
    ]


def test_a_breath_that_the_time_does_not_allow_puts_a_place_off() -> None:
    """Groin 3, a breath of 1, toes 3: what a bound may not foresee the order itself must keep to."""
    zones = {**TOES, "groin": Bouts("high", 4, 16)}
    jobs = [job("groin", 1, ("pull", 3), zone="groin"), job("toes", 2, ("pull", 3), zone="toes")]
    assert arrange(jobs, zones, 6).deferred == ("toes",)
    done = arrange(jobs, zones, 7)
    assert (done.deferred, done.steps[1]) == ((), Step(None, "rest", 1, 1, 1))


def test_calm_work_between_two_bouts_counts_from_the_end_of_the_first() -> None:
    """12 of calm work around two bouts are 4, 4 and 4: the ribs' 3 are too few, with the loin's 1 they are enough."""
    zones = {"cheeks": Bouts("low", at_most=6, rest=2)}
    jobs = [
        job("back", 1, ("pull", 4)),
        job("ribs", 2, ("pull", 3)),
        job("loin", 3, ("pull", 1)),
        job("tail", 4, ("pull", 4)),
        job("cheeks", 5, ("pull", 12), zone="cheeks"),
    ]
    assert told(arrange(jobs, zones, None)) == [
        "pull back 4",
        "pull cheeks 1/2 6",
        "pull ribs 3",
        "pull loin 1",
        "pull cheeks 2/2 6",
        "pull tail 4",
    ]


def test_calm_work_comes_between_two_tender_places_though_the_rests_leave_little_room() -> None:
    """Spread evenly the brows would rest too long; packed, the feet are still rounded before the second tender place."""
    zones = {"brows": Bouts("low", 4, 7), "groin": Bouts("medium", 6, 10)}
    jobs = [
        job("back", 1, ("pull", 2)),
        job("groin", 2, ("scissor", 1), zone="groin"),
        job("feet", 3, ("scissor", 1)),
        job("brows", 4, ("clip", 8), zone="brows"),
        job("belly", 5, ("clip", 10)),
    ]
    assert told(arrange(jobs, zones, None)) == [
        "pull back 2",
        "clip brows 1/2 4",
        "clip belly 10",
        "clip brows 2/2 4",
        "scissor feet 1",
        "scissor groin 1",
    ]


def test_left_and_right_toes_share_a_bout() -> None:
    jobs = [
        job("back", 1, ("pull", 4)),
        job("left toes", 2, ("pull", 3), zone="toes"),
        job("right toes", 3, ("pull", 3), zone="toes"),
    ]
    assert told(arrange(jobs, TOES, None)) == ["pull back 4", "pull left toes 3", "pull right toes 3"]


def test_a_breath_lies_between_two_high_zones() -> None:
    zones = {**TOES, "groin": Bouts("high", 4, 16)}
    jobs = [job("groin", 1, ("pull", 3), zone="groin"), job("toes", 2, ("pull", 3), zone="toes")]
    assert told(arrange(jobs, zones, None)) == ["pull groin 3", "rest 1", "pull toes 3"]


def test_without_calm_work_the_gentlest_zone_is_first() -> None:
    zones = {**TOES, "cheeks": Bouts("low", 8, 4), "brows": Bouts("medium", 8, 4)}
    jobs = [job(name, n, ("pull", 3), zone=name) for n, name in enumerate(["toes", "brows", "cheeks"])]
    assert told(arrange(jobs, zones, None))[0] == "pull cheeks 3"


def test_feet_are_rounded_and_the_beard_combed_at_the_end() -> None:
    # Common practice, no source.
    jobs = [
        job("beard", 1, ("pull", 3), ("comb", 2)),
        job("feet", 2, ("scissor", 8)),
        job("sanitary", 3, ("clip", 4)),
        job("back", 4, ("pull", 12), ("card", 5)),
    ]
    assert told(arrange(jobs, {}, None)) == [
        "card back 5",
        "pull beard 3",
        "pull back 12",
        "clip sanitary 4",
        "scissor feet 8",
        "comb beard 2",
    ]


def test_gentler_places_are_kept_to_lie_between_the_most_tender_ones() -> None:
    """Were pads and ears clipped first, only the feet and the beard would be left to lie between the three others."""
    zones = {name: Bouts("high", 4, 6) for name in ("rims", "creases", "sanitary")}
    zones |= {"pads": Bouts("medium", 6, 6), "ears": Bouts("medium", 6, 10), "face": Bouts("medium", 8, 10)}
    jobs = [
        job("back", 1, ("pull", 12)),
        job("pads", 2, ("clip", 3), zone="pads"),
        job("ears", 3, ("clip", 2), zone="ears"),
        job("rims", 4, ("clip", 2), zone="rims"),
        job("creases", 5, ("clip", 2), zone="creases"),
        job("sanitary", 6, ("clip", 2), zone="sanitary"),
        job("feet", 7, ("scissor", 4)),
        job("beard", 8, ("comb", 2), zone="face"),
    ]
    steps = told(arrange(jobs, zones, None))
    assert steps[0] == "pull back 12"
    assert steps[-2:] == ["scissor feet 4", "comb beard 2"]
    assert [step.split()[1] in ("rims", "creases", "sanitary") for step in steps[1:-2]] == [
        True,
        False,
        True,
        False,
        True,
    ]


def test_of_tender_places_the_one_with_most_rests_before_it_is_begun_first() -> None:
    """The toes are more tender, but the cheeks can lie beside them: nothing presses while gentler work is more than theirs."""
    zones = {"cheeks": Bouts("low", 4, 8), "toes": Bouts("high", 8, 4)}
    jobs = [
        job("back", 1, ("pull", 6)),
        job("ribs", 2, ("pull", 6)),
        job("loin", 3, ("pull", 6)),
        job("toes", 4, ("pull", 3), zone="toes"),
        job("cheeks", 5, ("pull", 8), zone="cheeks"),
    ]
    assert told(arrange(jobs, zones, None)) == [
        "pull back 6",
        "pull cheeks 1/2 4",
        "pull ribs 6",
        "pull toes 3",
        "pull loin 6",
        "pull cheeks 2/2 4",
    ]


def test_lowest_priority_goes_first_and_what_still_fits_comes_back() -> None:
    jobs = [
        job("back", 1, ("pull", 20), priority=80),
        job("ribs", 2, ("pull", 30), priority=60),
        job("tail", 3, ("pull", 6), priority=30),
        job("neck", 4, ("pull", 6), priority=30),
    ]
    done = arrange(jobs, {}, 26)
    assert done.deferred == ("neck", "ribs")
    assert told(done) == ["pull back 20", "pull tail 6"]


def test_rests_count_against_the_time() -> None:
    jobs = [job("back", 1, ("pull", 4), priority=60), job("toes", 2, ("pull", 12), zone="toes", priority=40)]
    assert arrange(jobs, TOES, 32).deferred == ()
    assert arrange(jobs, TOES, 31).deferred == ("toes",)


def test_a_job_taken_back_can_make_room_for_one_refused_before() -> None:
    jobs = [
        job("back", 1, ("pull", 16), priority=80),
        job("toes", 2, ("pull", 12), zone="toes", priority=60),
        job("ribs", 3, ("pull", 30), priority=50),
        job("neck", 4, ("pull", 1), priority=40),  # a calm beginning, so that the back can fill the toes' rest
    ]
    assert arrange(jobs, TOES, 30).deferred == ("ribs",)


def test_a_small_job_that_fits_early_does_not_push_out_a_pressing_one() -> None:
    jobs = [
        job("toes", 1, ("pull", 12), zone="toes", priority=80),
        job("back", 2, ("pull", 16), priority=60),
        job("neck", 3, ("pull", 1), priority=55),  # with it the back fits, and so would the ribs without the back
        job("ribs", 4, ("pull", 13), priority=50),
    ]
    assert arrange(jobs, TOES, 30).deferred == ("ribs",)


def test_nothing_to_do_and_no_time_to_do_it() -> None:
    assert arrange([], {}, None) == arrange([], {}, 0) == Arrangement((), ())
    assert arrange([job("back", 1, ("pull", 4))], {}, 0) == Arrangement((), ("back",))


def test_a_zone_that_asks_for_no_rest_still_gets_the_shortest() -> None:
    zones = {"brows": Bouts("low", 4, 0)}
    assert told(arrange([job("brows", 1, ("pull", 8), zone="brows")], zones, None)) == [
        "pull brows 1/2 4",
        "rest 1",
        "pull brows 2/2 4",
    ]


def test_a_dog_that_bears_half_a_minute_at_a_time_is_laid_out_all_the_same() -> None:
    zones = {"toes": Bouts("high", 1, 16), "groin": Bouts("high", 1, 16)}
    jobs = [job("back", 1, ("pull", 40)), *(job(name, n, ("pull", 600), zone=name) for n, name in enumerate(zones, 2))]
    done = arrange(jobs, zones, None)
    assert faults(done.steps, jobs, zones) == []
    assert sum(step.minutes for step in done.steps if step.region) == 1240


def test_an_unknown_zone_and_a_task_of_no_length_are_refused() -> None:
    with pytest.raises(KeyError, match="toes"):
        arrange([job("toes", 1, ("pull", 3), zone="toes")], {}, None)
    with pytest.raises(ValueError, match="minutes"):
        arrange([job("toes", 1, ("pull", 0))], {}, None)


# ---- the bound and the search: an answer too late or a bound too high shows in no order of a small dog


@settings(max_examples=60)
@given(tables(regions=4, minutes=6, longest_rest=6, tasks=2).filter(lambda table: 1 < count_pieces(*table) <= 5))
def test_the_bound_never_asks_for_more_rest_than_the_best_order_from_there(
    table: tuple[list[Job], dict[str, Bouts]],
) -> None:
    laid = _Table(*table)

    def least(state: Any) -> int:
        """The rest of the best of all orders that begin like this."""
        options = laid.options(state, wide=True)
        best = min((least(laid.after(state, option)) for option in options), default=state.rested)
        assert 0 <= laid.least_rest(state) <= best - state.rested
        return best

    assert least(laid.start) == rested(arrange(*table, None).steps)


ALONE = {"toes": Bouts("high", at_most=6, rest=16)}


@pytest.mark.parametrize(
    ("zones", "calm", "tender", "least"),
    [
        # 12 are two bouts, 13 are three; each rest is 16.
        (ALONE, [], [12], 16),
        (ALONE, [], [13], 32),
        # Three of 4 do not pair within 6; two of 3 do.
        (ALONE, [], [4, 4, 4], 32),
        (ALONE, [], [3, 3], 0),
        # The day begins on the shortest calm piece; what calm work is left fills rests.
        (ALONE, [("pull", 4)], [12], 16),
        (ALONE, [("pull", 4), ("pull", 10)], [12], 6),
        (ALONE, [("pull", 4), ("pull", 5), ("pull", 6)], [12], 5),
        # The toes may be pulled before the clipping begins or after: all of it fills, but not the first pull.
        (ALONE, [("pull", 4), ("clip", 5), ("comb", 3)], [12], 8),
        # Another zone's work fills rests too.
        ({**ALONE, "brows": Bouts("low", 8, 2)}, [], [12], 16),
    ],
)
def test_the_bound_on_tables_worked_by_hand(
    zones: dict[str, Bouts], calm: list[tuple[Kind, int]], tender: list[int], least: int
) -> None:
    jobs = [job(f"calm {n}", n, task) for n, task in enumerate(calm)]
    jobs += [job(f"toe {n}", 50 + n, ("pull", minutes), zone="toes") for n, minutes in enumerate(tender)]
    laid = _Table(jobs, zones)
    assert laid.least_rest(laid.start) == least == rested(arrange(jobs, zones, None).steps)


def test_work_of_a_late_phase_can_rest_only_on_what_is_left_by_then() -> None:
    """Scissoring the toes in two bouts waits for the clipping: the pulling before it fills no rest of theirs."""
    jobs = [
        job("back", 1, ("pull", 30)),
        job("ribs", 2, ("pull", 20)),
        job("anus", 3, ("clip", 4)),
        job("feet", 4, ("scissor", 3)),
        job("toes", 5, ("scissor", 12), zone="toes"),
    ]
    laid = _Table(jobs, ALONE)
    assert laid.least_rest(laid.start) == 16 - 3 == rested(arrange(jobs, ALONE, None).steps)


def test_pulling_that_may_begin_before_the_clipping_fills_on_all_calm_work() -> None:
    """Back 4, toes 6, ribs 20, toes 6, loin 16, toes 6: the clipping at the end is not all that fills their rests."""
    jobs = [
        job("back", 1, ("pull", 4)),
        job("ribs", 2, ("pull", 20)),
        job("loin", 3, ("pull", 16)),
        job("anus", 4, ("clip", 3)),
        job("toes", 5, ("pull", 18), zone="toes"),
    ]
    laid = _Table(jobs, ALONE)
    assert laid.least_rest(laid.start) == 0
    assert arrange(jobs, ALONE, 4 + 20 + 16 + 3 + 18).deferred == ()


def test_late_work_of_another_zone_fills_rests_too() -> None:
    """Clip 4, toes 6, feet 3, brows 10, a rest of 3, toes 6: of the 16 between the toes' bouts 13 are worked elsewhere."""
    zones = {**ALONE, "brows": Bouts("low", 20, 2)}
    jobs = [
        job("anus", 1, ("clip", 4)),
        job("feet", 2, ("scissor", 3)),
        job("brows", 3, ("scissor", 10), zone="brows"),
        job("toes", 4, ("scissor", 12), zone="toes"),
    ]
    laid = _Table(jobs, zones)
    assert laid.least_rest(laid.start) == 16 - 10 - 3 == rested(arrange(jobs, zones, None).steps)
    assert arrange(jobs, zones, 29 + 3).deferred == ()


def test_a_bout_that_may_go_on_asks_for_no_rest_first() -> None:
    jobs = [job(f"toe {n}", n, ("pull", minutes), zone="toes") for n, minutes in enumerate([3, 3, 4, 2])]
    laid = _Table(jobs, ALONE)
    found = {}
    state = laid.start
    for _ in range(4):
        state = laid.after(state, min(laid.options(state, wide=False)))
        found[state.now] = laid.least_rest(state)
    # 3 + 3, a rest, 4 + 2: after three minutes the bout goes on, after six it is full, and the last goes on again.
    assert found == {3: 16, 6: 16, 26: 0, 28: 0}

    jobs = [job(f"toe {n}", n, ("pull", minutes), zone="toes") for n, minutes in enumerate([6, 4, 4, 4])]
    laid = _Table(jobs, ALONE)
    state = laid.after(laid.start, min(laid.options(laid.start, wide=False)))
    assert (state.now, laid.least_rest(state)) == (6, 3 * 16)  # full, and no two of 4 share a bout of 6


SEARCHED: list[tuple[int, int, dict[str, Bouts], list[Job]]] = [
    (
        86,
        4,
        {"groin": Bouts("high", 6, 4), "toes": Bouts("high", 4, 8)},
        [
            job("r0", 0, ("pull", 2), zone="toes"),
            job("r1", 1, ("clip", 1), zone="groin"),
            job("r2", 2, ("card", 4), zone="toes"),
            job("r3", 3, ("clip", 5), zone="groin"),
            job("r4", 4, ("pull", 3), ("scissor", 5), zone="groin"),
            job("r5", 5, ("clip", 3)),
        ],
    ),
    (
        59,
        0,
        {"groin": Bouts("high", 5, 6), "brows": Bouts("low", 6, 3), "toes": Bouts("high", 6, 3)},
        [
            job("r0", 0, ("pull", 3), zone="toes"),
            job("r1", 1, ("card", 1)),
            job("r2", 2, ("pull", 8), zone="brows"),
            job("r3", 3, ("comb", 1), zone="groin"),
            job("r4", 4, ("clip", 2), zone="groin"),
            job("r5", 5, ("comb", 5), zone="groin"),
        ],
    ),
    (
        39,
        4,
        {"groin": Bouts("high", 6, 4), "toes": Bouts("high", 4, 4)},
        [
            job("r0", 0, ("card", 3), zone="groin"),
            job("r1", 1, ("pull", 2), ("scissor", 3), zone="groin"),
            job("r2", 2, ("pull", 7), ("clip", 4), zone="toes"),
        ],
    ),
    (
        28,
        12,
        {"groin": Bouts("high", 6, 5), "toes": Bouts("high", 5, 9)},
        [
            job("r0", 0, ("card", 8), ("pull", 8), zone="groin"),
            job("r1", 1, ("card", 3), ("pull", 6), zone="toes"),
        ],
    ),
    (
        26,
        5,
        {"brows": Bouts("medium", 2, 3), "cheeks": Bouts("medium", 6, 9)},
        [
            job("r0", 0, ("scissor", 5), zone="cheeks"),
            job("r1", 1, ("card", 6), zone="brows"),
            job("r2", 2, ("pull", 3), zone="cheeks"),
            job("r3", 3, ("clip", 1), zone="brows"),
        ],
    ),
    (  # with pieces alike tried each on its own 32
        27,
        8,
        {"groin": Bouts("medium", 2, 5), "toes": Bouts("high", 3, 8)},
        [
            job("r0", 0, ("pull", 8), ("scissor", 5)),
            job("r1", 1, ("scissor", 6), zone="toes"),
            job("r2", 2, ("scissor", 3), zone="toes"),
            job("r3", 3, ("clip", 2), zone="groin"),
            job("r4", 4, ("scissor", 1)),
        ],
    ),
    (  # with calm work told apart by how long it took 68
        62,
        0,
        {"brows": Bouts("low", 3, 3), "groin": Bouts("medium", 7, 13)},
        [
            job("r0", 0, ("pull", 3), zone="groin"),
            job("r1", 1, ("clip", 2), zone="groin"),
            job("r2", 2, ("scissor", 2), zone="groin"),
            job("r3", 3, ("clip", 8)),
            job("r4", 4, ("scissor", 6), zone="brows"),
            job("r5", 5, ("pull", 4), ("clip", 1)),
        ],
    ),
]


@pytest.mark.parametrize(("looks", "least", "zones", "jobs"), SEARCHED)
def test_the_search_passes_over_what_cannot_be_better(
    looks: int, least: int, zones: dict[str, Bouts], jobs: list[Job], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The hardest of thousands of random tables: so many looks end at the least rest, as trying every order finds it."""
    monkeypatch.setattr(sequence, "_EFFORT", looks * count_pieces(jobs, zones))
    assert rested(arrange(jobs, zones, None).steps) == least == least_rest_by_least_waits(jobs, zones)


def test_pieces_as_long_as_each_other_are_told_apart_by_what_comes_after_them() -> None:
    """Two brows of 6 look alike until the scissoring that follows one of them; taking either for the other rests 9."""
    zones = {"brows": Bouts("high", 8, 8)}
    jobs = [
        job("sanitary", 0, ("clip", 10)),
        job("left brow", 1, ("pull", 6), zone="brows"),
        job("right brow", 2, ("pull", 6), ("scissor", 4), zone="brows"),
        job("lashes", 3, ("clip", 3), ("scissor", 2), zone="brows"),
        job("feet", 4, ("scissor", 7)),
        job("belly", 5, ("clip", 10)),
    ]
    assert rested(arrange(jobs, zones, None).steps) == 1


WITHOUT_REST: list[tuple[dict[str, Bouts], list[Job]]] = [
    (  # pull back, clip groin, scissor brows, scissor back, clip groin, scissor brows
        {"brows": Bouts("medium", 4, 11), "groin": Bouts("high", 4, 6)},
        [
            job("brows", 0, ("scissor", 6), zone="brows"),
            job("groin", 1, ("clip", 6), zone="groin"),
            job("back", 2, ("pull", 1), ("scissor", 9)),
        ],
    ),
    (  # the hock's 1 begins, since the feet's 4 and the ears' 6 are needed between the three bouts
        {"toes": Bouts("medium", 4, 2)},
        [
            job("left toes", 0, ("clip", 4), zone="toes"),
            job("feet", 1, ("scissor", 4)),
            job("ears", 2, ("scissor", 6)),
            job("right toes", 3, ("clip", 8), zone="toes"),
            job("hock", 4, ("scissor", 1)),
        ],
    ),
    (
        {"brows": Bouts("high", 7, 6), "groin": Bouts("high", 6, 5), "toes": Bouts("medium", 8, 6)},
        [
            job("r0", 0, ("pull", 8), ("clip", 4)),
            job("r1", 1, ("clip", 8), ("scissor", 6), zone="brows"),
            job("r2", 2, ("clip", 1), zone="brows"),
            job("r3", 3, ("pull", 5), ("clip", 6), zone="groin"),
            job("r4", 4, ("pull", 2), zone="toes"),
            job("r5", 5, ("scissor", 10), zone="toes"),
        ],
    ),
]


@pytest.mark.parametrize(("zones", "jobs"), WITHOUT_REST)
def test_the_search_tells_apart_how_long_each_place_must_still_rest(zones: dict[str, Bouts], jobs: list[Job]) -> None:
    """The same work done in another order may leave another place ready: only so is an order without any rest found."""
    done = arrange(jobs, zones, None)
    assert rested(done.steps) == 0
    assert faults(done.steps, jobs, zones) == phase_faults(done.steps, jobs) == []
