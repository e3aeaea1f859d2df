"""The order of work by passes, held against its rules read slot by slot, and against every order of a few units."""

from __future__ import annotations

from datetime import timedelta
from itertools import chain, permutations
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import load_history, load_profile, work_order
from coatrules.order.bettering import out_of_place
from coatrules.order.jobs import PRICES, Arrangement, Job, Prices, Slot, Task, Zone, stations
from coatrules.order.passes import arrange, best_row
from coatrules.order.promising import cheapest
from coatrules.order.row import price
from coatrules.order.units import board, work
from coatrules.profile.compiled import compile_profile
from tests.benchmarks.passes_proved import Search
from tests.support.passes import (
    PLACES,
    REGIONS,
    Day,
    days,
    done,
    ends_visit,
    every_order,
    faults,
    job_on,
    price_of,
    rested,
    runs,
    timed,
    told,
    units_of,
)

PIP = Path(__file__).parents[3] / "examples" / "salon" / "pip.yaml"


def ordered(day: Day, prices: Prices = PRICES) -> Arrangement:
    return arrange(day.jobs, day.zones, PLACES, prices)


@given(days())
def test_every_rule_that_holds_without_exception(day: Day) -> None:
    """Rules 1 to 5 and 9: see ``tests.support.passes``."""
    assert faults(ordered(day).slots, day) == []


@given(days())
def test_the_price_is_the_sum_of_its_items(day: Day) -> None:
    """Rules 6, 8 and 9 are prices, so that they hold wherever that costs less than what it saves."""
    found = ordered(day)
    assert found.price == price_of(found.slots, day, PLACES, PRICES)


@given(days())
def test_rests_are_no_longer_than_they_must_be(day: Day) -> None:
    """Rule 7: a rest is the least that rules 3 and 4 ask for in that order."""
    slots = ordered(day).slots
    assert list(slots) == timed(units_of(slots, day), day)


@settings(max_examples=40)
@given(days(regions=6))
def test_a_rest_stands_only_where_no_bout_could(day: Day) -> None:
    """Rule 7: wherever a bout is put instead, the order breaks a rule or the dog rests as long."""
    found = ordered(day)
    if not found.rested:
        return
    units = units_of(found.slots, day)
    zones = {job.region: job.zone for job in day.jobs}

    def zone_of(unit: list[Slot]) -> str | None:
        return zones[unit[0].region or ""]

    for at, unit in enumerate(units):
        others = units[:at] + units[at + 1 :]
        for gap in range(len(units)):
            moved = [*others[:gap], unit, *others[gap:]]
            if [one for one in moved if zone_of(one) == zone_of(unit)] != [
                one for one in units if zone_of(one) == zone_of(unit)
            ]:
                continue  # the bouts of a zone keep the order of the passes
            other = timed(moved, day)
            assert rested(other) >= found.rested or faults(other, day)


@given(days())
def test_a_tender_bout_follows_feet_and_beard_only_where_that_saves_a_rest(day: Day) -> None:
    """Rule 9: with every such bout just before the visit begins to end instead, the dog rests longer."""
    found = ordered(day)
    units = units_of(found.slots, day)
    ends = [any(ends_visit(one) for one in done(unit, day.jobs)) for unit in units]
    first = ends.index(True) if True in ends else len(units)
    late = [unit for unit, end in zip(units[first:], ends[first:], strict=True) if not end]
    if late:
        other = timed([*units[:first], *late, *[unit for unit in units[first:] if unit not in late]], day)
        assert rested(other) > found.rested or faults(other, day)


RANKS = Prices(in_a_row=0, change=0, move=0, side_by_side=0)
"""The prices of what only need justifies."""


@given(days())
def test_no_cutting_tool_at_a_tender_place_comes_early_only_to_save_a_change(day: Day) -> None:
    """Rule 8: wherever behind the calm hand work such a bout is put instead, the dog rests longer, or it follows the feet, or a clean
    place is clipped after a soiled one."""
    found = ordered(day)
    units = units_of(found.slots, day)
    bouts = [done(unit, day.jobs) for unit in units]
    by_hand = [n for n, unit in enumerate(bouts) if unit[0].job.zone is None and unit[0].task.kind in ("card", "pull")]
    cost = price_of(found.slots, day, PLACES, RANKS)
    zones = [unit[0].job.zone for unit in bouts]
    for at in range(by_hand[-1] if by_hand else 0):
        if zones[at] is None or not any(one.task.kind in ("clip", "scissor") for one in bouts[at]):
            continue
        others = units[:at] + units[at + 1 :]
        next_of_zone = next((n for n in range(at + 1, len(units)) if zones[n] == zones[at]), len(units))
        for gap in range(by_hand[-1], next_of_zone):
            other = timed([*others[:gap], units[at], *others[gap:]], day)
            assert price_of(other, day, PLACES, RANKS) >= cost or faults(other, day)


@given(days())
def test_the_minutes_alone_are_those_of_the_order(day: Day) -> None:
    quick = arrange(day.jobs, day.zones, PLACES, minutes_only=True)
    assert quick.minutes == ordered(day).minutes
    assert faults(quick.slots, day) == []


@given(days(), st.randoms(use_true_random=False))
def test_the_order_jobs_are_given_in_does_not_matter(day: Day, chance: Random) -> None:
    """Rule 13."""
    shuffled = day.jobs[:]
    chance.shuffle(shuffled)
    assert arrange(shuffled, day.zones, PLACES) == ordered(day)


@given(days())
def test_what_one_tool_does_in_a_zone_shares_a_bout_where_it_fits(day: Day) -> None:
    """Rule 3: no two bouts of one zone that follow each other do the same with the same tool and would fit into one."""
    by_zone: dict[str, list[list[Task]]] = {}
    minutes: dict[str, list[int]] = {}
    for run in runs(done(ordered(day).slots, day.jobs)):
        if run[0].job.zone is not None:
            by_zone.setdefault(run[0].job.zone, []).append([one.task for one in run])
            minutes.setdefault(run[0].job.zone, []).append(sum(one.slot.minutes for one in run))
    regions_with_one_task = all(len(job.tasks) == 1 for job in day.jobs)
    for zone, bouts in by_zone.items():
        for one, two, first, second in zip(bouts, bouts[1:], minutes[zone], minutes[zone][1:], strict=False):
            shared = {(t.tool, t.blade_mm, t.soiled, t.finish) for t in [*one, *two]}
            if len(shared) == 1 and regions_with_one_task:
                assert first + second > day.zones[zone].at_most


# ---- every order there is


@settings(max_examples=60)
@given(days(regions=5, minutes=6, longest_rest=8, tasks=2))
def test_no_order_of_up_to_six_units_is_cheaper(day: Day) -> None:
    found = ordered(day)
    units = units_of(found.slots, day)
    if len(units) > 6:
        return
    for order in every_order(units, day):
        slots = timed(order, day)
        assert price_of(slots, day, PLACES, PRICES) >= found.price or faults(slots, day)


@settings(max_examples=60)
@given(days(regions=5, tasks=2))
def test_no_row_of_up_to_twelve_units_is_cheaper(day: Day) -> None:
    """Beside an exact search that begins from nothing, over how far each lane has come."""
    units = board(work(day.jobs, day.zones, PLACES), PLACES.apart, PRICES)
    search = Search(units)
    if len(units.units) <= 12 and search.states <= 400:
        best = search.best()
        assert best is not None
        assert best_row(units)[1] == best[1]


@settings(max_examples=60)
@given(days(), st.integers(1, 6))
def test_no_other_end_of_a_row_is_cheaper(day: Day, last: int) -> None:
    """Where the first units stay; the row is begun from what is neither good nor short of rests: one zone after another."""
    units = board(work(day.jobs, day.zones, PLACES), PLACES.apart, PRICES)
    row = [*units.backbone, *chain(*units.chains)]
    kept = max(0, len(row) - last)
    others = [[*row[:kept], *end] for end in permutations(row[kept:])]
    in_order = [other for other in others if all(is_within(lane, other) for lane in (units.backbone, *units.chains))]
    found, cost = cheapest(units, row, price(units, row), kept)
    assert found[:kept] == row[:kept]
    assert cost == price(units, found) == min(price(units, other) for other in in_order)


def is_within(lane: list[int], row: list[int]) -> bool:
    """Whether a lane's units stand in a row in their order."""
    return [n for n in row if n in lane] == lane


# ---- days to read


TOES = {"toes": Zone("high", at_most=6, rest=16)}


def test_one_tool_goes_over_the_whole_dog_before_the_next_is_taken_up() -> None:
    # Common practice, no source: rake neck to tail, then the knife; a tender place in short bouts on the way.
    jobs = [
        job_on("neck", ("card", 4, "rake"), ("pull", 10, "fine knife")),
        job_on("back", ("card", 6, "rake"), ("pull", 20, "fine knife")),
        job_on("croup", ("card", 6, "rake"), ("pull", 16, "fine knife")),
        job_on("forefoot", ("pull", 16, "fine knife"), zone="toes"),
    ]
    assert told(arrange(jobs, TOES, PLACES).slots) == [
        "card neck 4",
        "card back 6",
        "card croup 6",
        "pull forefoot 1/3 6",
        "pull neck 10",
        "pull back 20",
        "pull forefoot 2/3 5",
        "pull croup 16",
        "pull forefoot 3/3 5",
    ]


def test_clean_places_are_clipped_before_dirty_ones_and_the_anus_last() -> None:
    # Rule 8; hygiene, common practice, no source.
    def clipped(region: str, walk: int, blade: float, soiled: int, zone: str | None) -> Job:
        return Job(region, walk, zone, (Task("clip", 2, 50, "clipper", blade, soiled),))

    jobs = [
        job_on("back", ("pull", 20, "stone")),
        clipped("hindfoot", 1, 1.0, 0, None),
        clipped("groin", 2, 3.0, 2, "below"),
        clipped("belly", 3, 13.0, 1, "below"),
        clipped("forefoot", 4, 1.0, 0, "toes"),
    ]
    zones = {**TOES, "below": Zone("high", 4, 6)}
    assert told(arrange(jobs, zones, PLACES).slots) == [
        "pull back 20",
        "clip forefoot 2",
        "clip hindfoot 2",
        "clip belly 2",
        "clip groin 2",
    ]


def test_a_clean_place_clipped_after_a_dirty_one_puts_both_out_of_place() -> None:
    """So that the search takes both out, not only what comes early or late. Rule 8; hygiene, common practice, no source."""
    jobs = [
        Job("belly", 0, "front", (Task("clip", 2, 50, "clipper", 3.0, 0),)),
        Job("groin", 1, "below", (Task("clip", 2, 50, "clipper", 3.0, 2),)),
    ]
    units = board(work(jobs, {zone: Zone("high", 4, 6) for zone in ("front", "below")}, PLACES), PLACES.apart, PRICES)
    clean, dirty = (next(n for n, unit in enumerate(units.units) if unit.soiled == soiled) for soiled in (0, 2))
    assert out_of_place(units, [clean, dirty]) == []
    assert out_of_place(units, [dirty, clean]) == [units.lane[clean], units.lane[dirty]]


def test_scissors_at_a_tender_place_wait_for_the_clipper_unless_a_rest_would_be_idle() -> None:
    jobs = [
        job_on("back", ("card", 8, "rake"), ("pull", 20, "stone")),
        job_on("head", ("clip", 2, "clipper"), zone="rims"),
    ]
    assert told(arrange(jobs, {"rims": Zone("high", 4, 6)}, PLACES).slots) == [
        "card back 8",
        "pull back 20",
        "clip head 2",
    ]
    longer = [jobs[0], job_on("head", ("clip", 8, "clipper"), zone="rims")]
    assert told(arrange(longer, {"rims": Zone("high", 4, 6)}, PLACES).slots) == [
        "card back 8",
        "clip head 1/2 4",
        "pull back 20",
        "clip head 2/2 4",
    ]


def test_a_cutting_tool_waits_even_where_calm_hand_work_beside_it_has_it_in_the_hand() -> None:
    """What the price of early cutting is for: done early it would save a change of tool and a walk round the dog."""
    jobs = [
        job_on("back", ("pull", 8, "stone")),
        Job("head", 9, None, (Task("pull", 4, 35, "shears"),)),
        job_on("croup", ("pull", 8, "fingers")),
        Job("groin", 10, "rims", (Task("clip", 2, 50, "shears"),)),
    ]
    places = stations(["back", "croup", "head", "groin"], [["back", "croup"], ["head", "groin"]], [])
    assert told(arrange(jobs, {"rims": Zone("medium", 4, 6)}, places).slots)[-1] == "clip groin 2"


def test_a_walk_to_the_leg_costs_less_than_taking_up_the_knife_once_more_and_there_and_back_more() -> None:
    """What the price of a move is for. Common practice, no source."""
    zones = {"toes": Zone("medium", 4, 6), "below": Zone("medium", 4, 6)}
    places = stations(REGIONS, [["neck", "back", "croup", "belly"], ["foreleg", "forefoot"]], [])
    toes = job_on("forefoot", ("pull", 2, "fine knife"), zone="toes")
    knife = job_on("back", ("pull", 8, "fine knife"))
    fingers = job_on("croup", ("pull", 8, "fingers"))
    # At the end the knife and a move, on the way two moves.
    on_the_way = [job_on("neck", ("pull", 8, "fine knife")), knife, fingers, toes]
    assert told(arrange(on_the_way, zones, places).slots)[1] == "pull forefoot 2"
    # At the end the knife and no move, on the way two moves and two tender bouts side by side.
    at_the_leg = [
        knife,
        fingers,
        job_on("foreleg", ("pull", 8, "fingers")),
        job_on("belly", ("pull", 2, "fine knife"), zone="below"),
        toes,
    ]
    assert told(arrange(at_the_leg, zones, places).slots)[-1] == "pull forefoot 2"


def test_one_pass_of_the_comb_is_not_broken_to_clip_a_tender_place_in_the_middle_of_it() -> None:
    """Rule 1: the clipper pass, then the comb. Two tender bouts in a row would be parted by combing for 1 less."""
    jobs = [
        job_on("neck", ("card", 4, "rake")),
        *[job_on(region, ("comb", 6, "comb")) for region in ("back", "croup", "chest")],
        job_on("hindfoot", ("clip", 2, "clipper"), zone="pads"),
        job_on("groin", ("clip", 2, "clipper"), zone="groin"),
        job_on("head", ("clip", 2, "clipper"), zone="head"),
        job_on("belly", ("clip", 2, "clipper"), zone="belly"),
        job_on("forefoot", ("comb", 2, "comb"), zone="toes"),
    ]
    zones = {zone: Zone("medium", 4, 6) for zone in ("pads", "groin", "head", "belly", "toes")}
    kinds = [slot.kind for slot in ordered(Day(jobs, zones)).slots]
    assert kinds == ["card", *["clip"] * 4, *["comb"] * 4]


def test_of_a_real_dog_nothing_tender_is_cut_before_the_last_rake_and_knife() -> None:
    """Rule 8 for Pip of the examples, whose armpits were clipped between the coarse knife and the stone."""
    profile = load_profile("griffon-bruxellois-rough")
    pip = load_history(PIP)
    order = work_order(profile, pip, date=pip.visits[-1].day + timedelta(weeks=3))
    kinds = [(step.region, step.task) for step in order.steps]
    tender = {name for name, region in compile_profile(profile).regions.items() if region.zone is not None}
    last = max(n for n, (region, kind) in enumerate(kinds) if region not in tender and kind in ("card", "pull"))
    early = [(region, kind) for region, kind in kinds[:last] if region in tender and kind in ("clip", "scissor")]
    assert early == []


def test_with_nothing_else_to_do_the_dog_rests_only_as_long_as_it_must() -> None:
    jobs = [
        job_on("back", ("pull", 4, "stone")),
        job_on("croup", ("pull", 10, "stone")),
        job_on("forefoot", ("pull", 12, "stone"), zone="toes"),
    ]
    assert told(arrange(jobs, TOES, PLACES).slots) == [
        "pull back 4",
        "pull forefoot 1/2 6",
        "pull croup 10",
        "rest 6",
        "pull forefoot 2/2 6",
    ]


def test_feet_and_beard_come_after_all_calm_work_and_the_beard_last() -> None:
    """Whatever is combed by then with the comb in the hand: the beard is combed when the feet are rounded."""
    feet = Job("forefoot", 0, None, (Task("scissor", 4, 60, "scissors", finish=True),))
    beard = Job("head", 1, "face", (Task("comb", 2, 70, "comb", finish=True),))
    back = Job("back", 2, None, (Task("comb", 6, 70, "comb"),))
    found = arrange([feet, beard, back], {"face": Zone("medium", 6, 6)}, PLACES)
    assert [slot.region for slot in found.slots] == ["back", "forefoot", "head"]


# ---- edges


def test_nothing_to_do_is_an_empty_order() -> None:
    assert arrange([], {}, PLACES) == Arrangement((), 0)


def test_a_task_of_no_length_is_refused() -> None:
    with pytest.raises(ValueError, match="1 or more"):
        arrange([job_on("back", ("pull", 0, "stone"))], {}, PLACES)


def test_an_unknown_zone_is_refused() -> None:
    with pytest.raises(KeyError, match="feet"):
        arrange([job_on("back", ("pull", 2, "stone"), zone="feet")], {}, PLACES)


def test_a_region_in_no_station_is_next_door_to_its_neighbours_in_the_walk() -> None:
    found = stations(["a", "b", "c", "d", "e"], [["a", "b"], ["e"]], [])
    apart = {(one, two): found.apart[found.of[one]][found.of[two]] for one in "abcde" for two in "abcde" if one < two}
    assert {pair for pair, walked in apart.items() if not walked} == {
        ("a", "b"),
        ("b", "c"),
        ("a", "c"),
        ("c", "d"),
        ("d", "e"),
    }


def test_a_rest_is_a_slot_of_no_region() -> None:
    found = arrange([job_on("forefoot", ("pull", 12, "stone"), zone="toes")], TOES, PLACES)
    assert found.slots[1] == Slot(None, "rest", 16)
    assert (found.minutes, found.rested) == (28, 16)
