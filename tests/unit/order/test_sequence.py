"""The order of work on the table, held against the rules read step by step and against every order there is."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules.order.sequence import Arrangement, Bouts, Job, Step, _Table, arrange
from tests.support.table import (
    count_pieces,
    faults,
    first_faults,
    job_on,
    least_rest_by_least_waits,
    least_rest_by_trying,
    phase_faults,
    rested,
    step_lines,
    tables,
    worked,
)


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


TOES = {"toes": Bouts("high", at_most=6, rest=16)}


def test_toes_in_three_bouts_with_back_and_ribs_between() -> None:
    # Common practice, no source: one to three minutes of pulling, then another region, then return.
    jobs = [
        job_on("neck", 1, ("card", 4), ("pull", 10)),
        job_on("back", 2, ("card", 6), ("pull", 20)),
        job_on("ribs", 3, ("card", 6), ("pull", 16)),
        job_on("toes", 4, ("pull", 16), zone="toes"),
    ]
    assert step_lines(arrange(jobs, TOES, None)) == [
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
    jobs = [
        job_on("back", 1, ("pull", 4)),
        job_on("ribs", 2, ("pull", 10)),
        job_on("toes", 3, ("pull", 12), zone="toes"),
    ]
    assert step_lines(arrange(jobs, TOES, None)) == [
        "pull back 4",
        "pull toes 1/2 6",
        "pull ribs 10",
        "rest 6",
        "pull toes 2/2 6",
    ]


def test_a_tender_bout_stands_where_half_the_calm_work_is_done() -> None:
    jobs = [
        job_on("back", 1, ("pull", 4)),
        job_on("ribs", 2, ("pull", 4)),
        job_on("toes", 3, ("pull", 3), zone="toes"),
    ]
    assert step_lines(arrange(jobs, TOES, None)) == ["pull back 4", "pull toes 3", "pull ribs 4"]


def test_what_is_left_of_the_calm_work_decides_when_the_first_bout_is_due() -> None:
    """Of 8 calm 4 come first: the back's 3 are too few, with the loin's 1 they are enough."""
    jobs = [
        job_on("back", 1, ("pull", 3)),
        job_on("loin", 2, ("pull", 1)),
        job_on("ribs", 3, ("pull", 4)),
        job_on("toes", 4, ("pull", 3), zone="toes"),
    ]
    assert step_lines(arrange(jobs, TOES, None)) == ["pull back 3", "pull loin 1", "pull toes 3", "pull ribs 4"]


def test_within_a_zone_the_walk_is_kept_where_a_later_piece_would_fill_the_bout() -> None:
    jobs = [
        job_on("back", 1, ("pull", 8)),
        job_on("ribs", 2, ("pull", 16)),
        job_on("left toes", 3, ("pull", 4), zone="toes"),
        job_on("right toes", 4, ("pull", 4), zone="toes"),
        job_on("dewclaws", 5, ("pull", 2), zone="toes"),
    ]
    assert step_lines(arrange(jobs, TOES, None)) == [
        "pull back 8",
        "pull left toes 4",
        "pull ribs 16",
        "pull right toes 4",
        "pull dewclaws 2",
    ]


def test_a_breath_that_the_time_does_not_allow_puts_a_place_off() -> None:
    """Groin 3, a breath of 1, toes 3: what a bound may not foresee the order itself must keep to."""
    zones = {**TOES, "groin": Bouts("high", 4, 16)}
    jobs = [job_on("groin", 1, ("pull", 3), zone="groin"), job_on("toes", 2, ("pull", 3), zone="toes")]
    assert arrange(jobs, zones, 6).deferred == ("toes",)
    done = arrange(jobs, zones, 7)
    assert (done.deferred, done.steps[1]) == ((), Step(None, "rest", 1, 1, 1))


def test_calm_work_between_two_bouts_counts_from_the_end_of_the_first() -> None:
    """12 of calm work around two bouts are 4, 4 and 4: the ribs' 3 are too few, with the loin's 1 they are enough."""
    zones = {"cheeks": Bouts("low", at_most=6, rest=2)}
    jobs = [
        job_on("back", 1, ("pull", 4)),
        job_on("ribs", 2, ("pull", 3)),
        job_on("loin", 3, ("pull", 1)),
        job_on("tail", 4, ("pull", 4)),
        job_on("cheeks", 5, ("pull", 12), zone="cheeks"),
    ]
    assert step_lines(arrange(jobs, zones, None)) == [
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
        job_on("back", 1, ("pull", 2)),
        job_on("groin", 2, ("scissor", 1), zone="groin"),
        job_on("feet", 3, ("scissor", 1)),
        job_on("brows", 4, ("clip", 8), zone="brows"),
        job_on("belly", 5, ("clip", 10)),
    ]
    assert step_lines(arrange(jobs, zones, None)) == [
        "pull back 2",
        "clip brows 1/2 4",
        "clip belly 10",
        "clip brows 2/2 4",
        "scissor feet 1",
        "scissor groin 1",
    ]


def test_left_and_right_toes_share_a_bout() -> None:
    jobs = [
        job_on("back", 1, ("pull", 4)),
        job_on("left toes", 2, ("pull", 3), zone="toes"),
        job_on("right toes", 3, ("pull", 3), zone="toes"),
    ]
    assert step_lines(arrange(jobs, TOES, None)) == ["pull back 4", "pull left toes 3", "pull right toes 3"]


def test_a_breath_lies_between_two_high_zones() -> None:
    zones = {**TOES, "groin": Bouts("high", 4, 16)}
    jobs = [job_on("groin", 1, ("pull", 3), zone="groin"), job_on("toes", 2, ("pull", 3), zone="toes")]
    assert step_lines(arrange(jobs, zones, None)) == ["pull groin 3", "rest 1", "pull toes 3"]


def test_without_calm_work_the_gentlest_zone_is_first() -> None:
    zones = {**TOES, "cheeks": Bouts("low", 8, 4), "brows": Bouts("medium", 8, 4)}
    jobs = [job_on(name, n, ("pull", 3), zone=name) for n, name in enumerate(["toes", "brows", "cheeks"])]
    assert step_lines(arrange(jobs, zones, None))[0] == "pull cheeks 3"


def test_feet_are_rounded_and_the_beard_combed_at_the_end() -> None:
    # Common practice, no source.
    jobs = [
        job_on("beard", 1, ("pull", 3), ("comb", 2)),
        job_on("feet", 2, ("scissor", 8)),
        job_on("sanitary", 3, ("clip", 4)),
        job_on("back", 4, ("pull", 12), ("card", 5)),
    ]
    assert step_lines(arrange(jobs, {}, None)) == [
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
        job_on("back", 1, ("pull", 12)),
        job_on("pads", 2, ("clip", 3), zone="pads"),
        job_on("ears", 3, ("clip", 2), zone="ears"),
        job_on("rims", 4, ("clip", 2), zone="rims"),
        job_on("creases", 5, ("clip", 2), zone="creases"),
        job_on("sanitary", 6, ("clip", 2), zone="sanitary"),
        job_on("feet", 7, ("scissor", 4)),
        job_on("beard", 8, ("comb", 2), zone="face"),
    ]
    steps = step_lines(arrange(jobs, zones, None))
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
        job_on("back", 1, ("pull", 6)),
        job_on("ribs", 2, ("pull", 6)),
        job_on("loin", 3, ("pull", 6)),
        job_on("toes", 4, ("pull", 3), zone="toes"),
        job_on("cheeks", 5, ("pull", 8), zone="cheeks"),
    ]
    assert step_lines(arrange(jobs, zones, None)) == [
        "pull back 6",
        "pull cheeks 1/2 4",
        "pull ribs 6",
        "pull toes 3",
        "pull loin 6",
        "pull cheeks 2/2 4",
    ]


def test_lowest_priority_goes_first_and_what_still_fits_comes_back() -> None:
    jobs = [
        job_on("back", 1, ("pull", 20), priority=80),
        job_on("ribs", 2, ("pull", 30), priority=60),
        job_on("tail", 3, ("pull", 6), priority=30),
        job_on("neck", 4, ("pull", 6), priority=30),
    ]
    done = arrange(jobs, {}, 26)
    assert done.deferred == ("neck", "ribs")
    assert step_lines(done) == ["pull back 20", "pull tail 6"]


def test_rests_count_against_the_time() -> None:
    jobs = [job_on("back", 1, ("pull", 4), priority=60), job_on("toes", 2, ("pull", 12), zone="toes", priority=40)]
    assert arrange(jobs, TOES, 32).deferred == ()
    assert arrange(jobs, TOES, 31).deferred == ("toes",)


def test_a_job_taken_back_can_make_room_for_one_refused_before() -> None:
    jobs = [
        job_on("back", 1, ("pull", 16), priority=80),
        job_on("toes", 2, ("pull", 12), zone="toes", priority=60),
        job_on("ribs", 3, ("pull", 30), priority=50),
        job_on("neck", 4, ("pull", 1), priority=40),  # a calm beginning, so that the back can fill the toes' rest
    ]
    assert arrange(jobs, TOES, 30).deferred == ("ribs",)


def test_a_small_job_that_fits_early_does_not_push_out_a_pressing_one() -> None:
    jobs = [
        job_on("toes", 1, ("pull", 12), zone="toes", priority=80),
        job_on("back", 2, ("pull", 16), priority=60),
        job_on("neck", 3, ("pull", 1), priority=55),  # with it the back fits, and so would the ribs without the back
        job_on("ribs", 4, ("pull", 13), priority=50),
    ]
    assert arrange(jobs, TOES, 30).deferred == ("ribs",)


def test_nothing_to_do_and_no_time_to_do_it() -> None:
    assert arrange([], {}, None) == arrange([], {}, 0) == Arrangement((), ())
    assert arrange([job_on("back", 1, ("pull", 4))], {}, 0) == Arrangement((), ("back",))


def test_a_zone_that_asks_for_no_rest_still_gets_the_shortest() -> None:
    zones = {"brows": Bouts("low", 4, 0)}
    assert step_lines(arrange([job_on("brows", 1, ("pull", 8), zone="brows")], zones, None)) == [
        "pull brows 1/2 4",
        "rest 1",
        "pull brows 2/2 4",
    ]


def test_a_dog_that_bears_half_a_minute_at_a_time_is_laid_out_all_the_same() -> None:
    zones = {"toes": Bouts("high", 1, 16), "groin": Bouts("high", 1, 16)}
    jobs = [
        job_on("back", 1, ("pull", 40)),
        *(job_on(name, n, ("pull", 600), zone=name) for n, name in enumerate(zones, 2)),
    ]
    done = arrange(jobs, zones, None)
    assert faults(done.steps, jobs, zones) == []
    assert sum(step.minutes for step in done.steps if step.region) == 1240


def test_an_unknown_zone_and_a_task_of_no_length_are_refused() -> None:
    with pytest.raises(KeyError, match="toes"):
        arrange([job_on("toes", 1, ("pull", 3), zone="toes")], {}, None)
    with pytest.raises(ValueError, match="minutes"):
        arrange([job_on("toes", 1, ("pull", 0))], {}, None)
