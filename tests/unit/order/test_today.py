"""The order of work by passes on whole orders: passes, even shares, what is put off, stop places, and the rest of the same day."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import groupby
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import InputError, WorkOrder, load_history, load_profile, work_order
from coatrules.coat.queue import WHOLE, mass_of
from coatrules.dog.state import state_on
from coatrules.order.decide import decide
from coatrules.order.facts import all_facts
from coatrules.order.share import LEAST_SHARE
from coatrules.order.verdicts import Verdict
from coatrules.order.work_order import Step
from coatrules.profile.compiled import CompiledProfile, compile_profile
from coatrules.recording.entry import as_planned
from coatrules.report.box import decided
from coatrules.report.sheet import sheet
from tests.support.five_parts import DAY, PROFILE, ROLLED, ordered

GRIFFON = "griffon-bruxellois-rough"
COMPILED = compile_profile(load_profile(GRIFFON))
TODAY = date(2026, 3, 21)


def dog(*visits: dict[str, Any]) -> dict[str, Any]:
    return {"format": 1, "dog": {"id": "tip", "born": "2022-05-01"}, "visits": list(visits)}


def verdicts_on(compiled: CompiledProfile, history: dict[str, Any], day: date) -> dict[str, Verdict]:
    """What is decided before the time is looked at."""
    loaded = load_history(history)
    state = state_on(compiled, loaded, day)
    return decide(compiled, state, all_facts(compiled, loaded.dog, state, 120)[0])[0]


def calm_steps(order: WorkOrder) -> list[Step]:
    return [s for s in order.steps if s.region and order.facts[s.region]["sensitivity"] == "none"]


# --- passes


def test_the_passes_of_a_griffon_follow_one_another_as_at_the_table() -> None:
    """Common practice, no source: rake, knife, stone, fingers, then feet rounded; on calm places never back to a tool."""
    calm = calm_steps(work_order(GRIFFON, dog(), date=TODAY, minutes=180))
    methods = COMPILED.profile.methods

    def in_hand(step: Step) -> str | None:
        return methods[step.method].tool or step.method if step.method is not None else None

    tools = [tool for tool, _ in groupby(calm, key=in_hand)]
    assert tools == ["coarse-rake", "fine-rake", "coarse-knife", "stone", "fingers", "blunt-scissors"]
    for tool, steps in groupby(calm, key=in_hand):
        walk = [COMPILED.regions[step.region].walk_order for step in steps if step.region is not None]
        assert walk == sorted(walk), tool
    numbers = [step.pass_number for step in work_order(GRIFFON, dog(), date=TODAY, minutes=180).steps]
    assert numbers == sorted(numbers)
    assert set(numbers) == set(range(1, max(numbers) + 1))


def test_nothing_is_carded_after_the_first_knife_and_soiled_places_are_clipped_last() -> None:
    order = work_order(GRIFFON, dog(), date=TODAY, minutes=180)
    kinds = [step.task for step in calm_steps(order)]
    assert "card" not in kinds[kinds.index("pull") :]
    clipped = [step.region for step in order.steps if step.task == "clip"]
    assert clipped[-2:] == ["genitals", "perineum"]


def test_another_blade_and_another_tool_are_told_by_the_profile() -> None:
    """Whatever its name, what is one tool in the hand is in one pass: nothing is laid down between."""
    names = {"a-knife": {"label": "knife", "does": "pull", "regions": ["back"], "pass": 2, "rank": 9}}
    apart = ordered(by={"methods": PROFILE["methods"] | names})
    pulls = [step.method for step in apart.steps if step.task == "pull"]
    assert pulls[0] == "a-knife"  # pass 2 comes before the knife that names none
    late = {"a-knife": names["a-knife"] | {"pass": 4.5}}
    pulls = [s.region for s in calm_steps(ordered(by={"methods": PROFILE["methods"] | late})) if s.task == "pull"]
    assert pulls == ["ribs", "back"]


def test_names_of_stations_and_tools_that_lead_nowhere_are_told() -> None:
    wrong = {
        "format": 1,
        "id": "astray",
        "label": "Astray",
        "extends": GRIFFON,
        "stations": {"neck": {"regions": ["neck"], "next_door": ["skul"]}},
        "methods": {"stone": {"label": "stone", "does": "pull", "tool": "fingrs"}},
    }
    with pytest.raises(InputError) as caught:
        load_profile(wrong)
    told = str(caught.value)
    assert "there is no station 'skul'" in told
    assert "'skull'" in told
    assert "there is no method 'fingrs'" in told
    assert "'fingers'" in told


# --- short of time


@settings(max_examples=12)
@given(st.integers(16, 180), st.integers(0, 3), st.integers(14, 90))
def test_a_target_is_worked_evenly_or_not_at_all_and_no_region_is_lost(minutes: int, past: int, after: int) -> None:
    history = dog()
    day = TODAY
    for _ in range(past):
        order = work_order(GRIFFON, history, date=day, minutes=90)
        history = dog(*history["visits"], {"visit": day.isoformat(), **as_planned(order)})
        day += timedelta(days=after)
    order = work_order(GRIFFON, history, date=day, minutes=minutes)
    wanted = verdicts_on(COMPILED, history, day)
    pulled = {step.region: step.share for step in order.steps if step.share is not None}
    assert order.minutes_planned <= minutes
    eighths: dict[str | None, set[int]] = {}
    for name, verdict in wanted.items():
        due = next((task.mass for task in verdict.tasks if task.mass), 0)
        if verdict.outcome == "work" and due:
            region = COMPILED.regions[name]
            share = round(pulled.get(name, 0.0) * WHOLE)
            assert share or "pull" in order.deferred[name].tasks
            found = [n for n in range(9) if due * n // 8 == share]
            assert found, "in eighths of what is due"
            eighths.setdefault("jacket" if "card" in region.region.minutes else region.target_id, set()).add(found[0])
            if share and region.target is not None:
                assert share >= min(due, mass_of(max(LEAST_SHARE, region.target.take.low_spot)))
    assert all(len(found) == 1 for found in eighths.values()), "no patches"
    done = {(step.region, step.task) for step in order.steps}
    put_off = {(name, task) for name, off in order.deferred.items() for task in off.tasks}
    asked = {(name, task.kind) for name, verdict in wanted.items() for task in verdict.tasks}
    assert done - {(None, "rest")} | put_off == asked
    assert not done & put_off


def test_a_share_that_the_time_reduces_says_so_and_the_next_visit_counts_with_it() -> None:
    order = work_order(GRIFFON, dog(), date=TODAY, minutes=60)
    full = work_order(GRIFFON, dog(), date=TODAY, minutes=180)
    step = next(step for step in order.steps if step.region == "back" and step.share is not None)
    assert "coat.short-day" in [reason.rule for reason in step.because]
    whole = next(s.share for s in full.steps if s.region == "back" and s.share is not None)
    assert step.share is not None
    assert whole is not None
    assert step.share < whole
    assert order.next_visit.earliest <= full.next_visit.earliest


def test_less_time_puts_off_what_nobody_sees_first_and_feet_last() -> None:
    """Common practice, no source."""
    order = work_order(GRIFFON, dog(), date=TODAY, minutes=70)
    assert "ears-inside" in order.deferred
    assert order.deferred["ears-inside"].because[0].rule == "coat.out-of-sight"
    assert {"forefeet", "hindfeet"} <= {step.region for step in order.steps}


def test_a_newcomer_is_clipped_where_nobody_knows_when_it_was_before_its_jacket_is_raked_for_long() -> None:
    """In three quarters of its time all hygiene was put off, and raking took half an hour. Common practice, no source."""
    newcomer = {"format": 1, "dog": {"id": "new", "born": "2021-05-01"}, "arrival": {"body": {"grown_weeks": 20}}}
    order = work_order("dachshund-wire-haired", newcomer, date=TODAY, minutes=90)
    assert {"perineum", "genitals", "armpits"} <= {step.region for step in order.steps if step.task == "clip"}


def test_a_place_that_the_dog_refused_is_the_first_to_wait() -> None:
    """Places that the dog said stop at were worked while others were put off."""
    refused = {"visit": "2026-02-20", "work": {"body": {"pull": 0.2}}, "reactions": {"belly": "stop"}}
    whole = work_order(GRIFFON, dog(refused), date=TODAY, minutes=180)
    assert "belly" in {step.region for step in whole.steps}
    short = work_order(GRIFFON, dog(refused), date=TODAY, minutes=whole.minutes_planned - 0.5)
    assert list(short.deferred) == ["belly"]
    assert short.deferred["belly"].because[0].rule == "floor.stop-waits"


# --- the same day


@settings(max_examples=8)
@given(st.sampled_from([45, 90, 180]), st.integers(0, 2), st.integers(21, 60))
def test_after_the_days_work_is_recorded_nothing_of_it_is_asked_again(minutes: int, past: int, after: int) -> None:
    """A new order after ``record --as-planned`` asked for another 29 minutes of pulling."""
    history = dog()
    day = TODAY
    for _ in range(past + 1):
        order = work_order(GRIFFON, history, date=day, minutes=minutes)
        history = dog(*history["visits"], {"visit": day.isoformat(), **as_planned(order)})
        done_on, day = day, day + timedelta(days=after)
    again = work_order(GRIFFON, history, date=done_on, minutes=180)
    done = {(step.region, step.task) for step in order.steps if step.region is not None}
    asked = {(step.region, step.task) for step in again.steps if step.region is not None}
    assert not asked & done
    for region in {region for region, _ in done} - {region for region, _ in asked}:
        if region not in again.deferred:
            assert again.left_alone[region][0].rule == "coat.worked-today"


def test_what_was_put_off_may_still_be_done_the_same_day_and_is_asked_first_next_time() -> None:
    short = ordered(*ROLLED, minutes=8)
    assert short.deferred
    recorded = {"visit": DAY.isoformat(), **as_planned(short)}
    assert set(recorded["put_off"]) == set(short.deferred)
    again = ordered(*ROLLED, recorded)
    put_off = {(name, task) for name, off in short.deferred.items() for task in off.tasks}
    assert {(step.region, step.task) for step in again.steps if step.region is not None} == put_off


def test_a_coat_that_comes_out_whole_goes_section_by_section() -> None:
    """Common practice, no source: a staged strip takes all of a section, and leaves the next for another day."""
    profile = {
        "format": 1,
        "id": "whole",
        "label": "Whole",
        "extends": GRIFFON,
        "layer_targets": {
            "jacket": {"full_strip": True, "take": {"usual": 1, "at_most": 1, "low_spot": 0}, "longest_mm": None}
        },
        "rules": dict.fromkeys(load_profile(GRIFFON).rules),
    }
    order = work_order(profile, dog(), date=TODAY, minutes=60)
    pulled = {step.region: step.share for step in order.steps if step.share is not None}
    jacket = {name: pulled[name] for name in COMPILED.names["jacket"] if name in pulled}
    assert 0 < len(jacket) < len(COMPILED.names["jacket"])
    assert set(jacket.values()) == {1.0}


@pytest.mark.parametrize(
    "profile", ["giant-schnauzer", "german-wirehaired-pointer", "irish-red-setter", "cesky-fousek"]
)
def test_an_hour_works_the_jacket_of_a_large_dog(profile: str) -> None:
    """Raking took as long on a short day as on a long one, so that an hour had no room for the jacket and did none of it."""
    giant: dict[str, Any] = {"format": 1, "dog": {"id": "gus", "born": "2021-03-01"}, "visits": []}
    every = timedelta(weeks=load_profile(profile).visit.every_weeks)
    for number in range(3, 0, -1):
        day = date(2026, 11, 26) - number * every
        giant["visits"].append({"visit": day.isoformat(), **as_planned(work_order(profile, giant, date=day))})
    order = work_order(profile, giant, date=date(2026, 11, 26), minutes=60)
    whole = work_order(profile, giant, date=date(2026, 11, 26))
    jacket = {"back", "croup", "loin", "shoulders"}

    def pulled(of: WorkOrder) -> dict[str | None, float]:
        return {step.region: step.share for step in of.steps if step.region in jacket and step.share}

    def raking(of: WorkOrder) -> list[float]:
        return [step.minutes for step in of.steps if step.region in jacket and step.task == "card"]

    assert pulled(order).keys() == jacket
    assert all(share >= 3 / 8 * pulled(whole)[region] - 1e-6 for region, share in pulled(order).items())
    # Raked no shorter than half as long, or not at all.
    assert not raking(order) or sum(raking(whole)) / 2 <= sum(raking(order)) < sum(raking(whole))
    longer = work_order(profile, giant, date=date(2026, 11, 26), minutes=90)
    assert sum(raking(longer)) >= sum(raking(whole)) / 2


def test_a_day_as_long_as_a_dog_may_stand_can_be_parted_evenly() -> None:
    gus = {"format": 1, "dog": {"id": "gus", "born": "2021-03-01"}}
    day = date(2026, 11, 26)
    full = work_order("german-wirehaired-pointer", gus, date=day)
    assert any("on two days within a week, half of it on each" in sentence for sentence in decided(full))
    half = work_order("german-wirehaired-pointer", gus, date=day, minutes=90)
    jacket = {step.share for step in half.steps if step.region in ("back", "croup", "loin") and step.share}
    assert len(jacket) == 1
    assert "On two days: --minutes 90." in sheet(full)
    assert not any("two days" in sentence for sentence in decided(half))


@pytest.mark.parametrize("minutes", [10, 15, 20, 30])
@pytest.mark.parametrize("visits", [1, 4])
def test_in_a_quarter_of_an_hour_the_jacket_leads_and_the_underline_waits(minutes: int, visits: int) -> None:
    """The underline, tail and legs were pulled, as they take few minutes, and all of the jacket left. Common practice, no source."""
    history, day = dog(), TODAY
    for _ in range(visits):
        history["visits"].append(
            {"visit": day.isoformat(), **as_planned(work_order("border-terrier", history, date=day))}
        )
        day += timedelta(weeks=2)
    order = work_order("border-terrier", history, date=day, minutes=minutes)
    pulled = {step.region for step in order.steps if step.share}
    assert {"neck-top", "withers", "back", "loin", "croup", "shoulders", "ribs", "thighs"} <= pulled
    if visits > 1:  # after the first the underline is still overgrown
        assert not {"brisket", "belly"} & pulled
    assert order.minutes_planned <= minutes


def test_a_puppy_is_raked_lightly_all_over_and_not_on_the_neck_alone() -> None:
    """Its ten minutes went into the neck and the withers, with two rakes."""
    pup = {"format": 1, "dog": {"id": "pup", "born": "2026-02-01"}}
    for profile in ("border-terrier", "airedale-terrier"):
        order = work_order(profile, pup, date=date(2026, 6, 1))
        compiled = compile_profile(load_profile(profile))
        calm = {
            name
            for name, region in compiled.regions.items()
            if "card" in region.region.minutes and order.facts[name]["sensitivity"] == "none"
        }
        assert {step.region for step in order.steps} == calm
        assert {step.task for step in order.steps} == {"card"}
        assert len({step.method for step in order.steps}) == 1, "one rake"
        assert order.minutes_planned <= 10
        assert not order.deferred
