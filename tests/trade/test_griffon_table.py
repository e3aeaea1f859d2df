"""The rough Griffon Bruxellois on the table: hands and tools by place, what is never pulled, how tender places are worked.

Facts of the trade marked "common practice" have no published source; the others name theirs beside the check.
"""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import WorkOrder, load_profile, work_order
from tests.support.rolling import Visit, carried_out, regions_of, runs, simulated, targets

GRIFFON = load_profile("griffon-bruxellois-rough")
START = date(2026, 1, 5)
EVERY = timedelta(weeks=3)  # common practice: once the coat rolls, three weeks is enough
TARGETS = targets(GRIFFON)
NEVER_PULLED = {region for zone in GRIFFON.clipper_only_zones.values() for region in regions_of(GRIFFON, *zone.regions)}


def griffon(*names: str) -> set[str]:
    return regions_of(GRIFFON, *names)


def order_after(*visits: dict[str, Any], day: date = START, **history: Any) -> WorkOrder:
    return work_order(GRIFFON, {"format": 1, "dog": {"id": "one"}, "visits": list(visits), **history}, date=day)


@pytest.fixture(scope="module")
def visits() -> list[Visit]:
    return list(simulated(GRIFFON, 14, START))


# ---- hands and tools, place by place (common practice, no source, unless said)


def methods(order: WorkOrder, task: str) -> dict[str, str | None]:
    return {step.region: step.method for step in order.steps if step.region is not None and step.task == task}


@pytest.mark.parametrize("when", [0, -1], ids=["grown out", "rolling"])
def test_tools_by_place(visits: list[Visit], when: int) -> None:
    order = visits[when].order
    pulled, clipped = methods(order, "pull"), methods(order, "clip")
    assert {pulled[region] for region in griffon("legs", "tail")} == {"stone"}
    assert {pulled[region] for region in ("moustache", "beard", "cheeks")} == {"rubber-fingers"}
    assert pulled["stop"] == "pinch-grip"
    assert {clipped[region] for region in griffon("perineum", "pads")} == {"small-clipper"}
    assert clipped["genitals"] == "clipper-longest"
    assert {clipped[region] for region in griffon("rims")} == {"blunt-tips"}
    # Stone for the sensitive chest and belly: a Cairn Terrier guide.
    assert {pulled[region] for region in ("forechest", "belly")} == {"stone-below"}
    rakes: dict[str | None, list[str | None]] = {}
    for step in order.steps:
        if step.task == "card":
            rakes.setdefault(step.region, []).append(step.method)
            assert ("comes up clean" in step.how) is (step.method == "fine-rake")
    assert rakes
    assert all(used == ["coarse-rake", "fine-rake"] for used in rakes.values())


def test_short_dense_hair_is_for_the_fine_knife_that_never_cuts() -> None:
    strip = {"visit": START.isoformat(), "work": {name: {"pull": 1} for name in ("jacket", "skull", "ears-outside")}}
    order = order_after(strip, day=START + timedelta(weeks=8))
    pulled = methods(order, "pull")
    assert {pulled[region] for region in griffon("jacket", "skull", "ears-outside")} == {"fine-knife"}
    how = next(step.how for step in order.steps if step.method == "fine-knife")
    assert "never cuts" in how
    assert "blunt" in how  # Welsh Terrier Club: a blunt knife only grips and must not cut


def test_leg_hair_is_lifted_to_see_which_is_due(visits: list[Visit]) -> None:
    assert all("lift the hair" in step.how for step in visits[-1].order.steps if step.method == "stone")


def test_carding_comes_before_pulling(visits: list[Visit]) -> None:
    for visit in visits:
        seen: dict[str | None, str] = {}
        for step in visit.order.steps:
            if step.task == "card":
                assert seen.get(step.region) != "pull"
            seen[step.region] = step.task


def test_feet_are_rounded_and_the_beard_combed_at_the_end(visits: list[Visit]) -> None:
    for visit in visits:
        steps = [(step.region, step.task) for step in visit.order.steps]
        assert steps[-1] == ("beard", "comb"), visit.week
        # Nothing but a tender place that had to rest meanwhile comes between the feet and the beard.
        after_feet = steps[steps.index(("hindfeet", "scissor")) + 1 : -1]
        assert {region for region, _ in after_feet} <= griffon("perineum", "genitals"), visit.week
        tasks = [task for _, task in steps]
        assert max(i for i, task in enumerate(tasks) if task in ("pull", "card")) < tasks.index("scissor"), visit.week


# ---- what is never pulled


def test_places_that_are_never_pulled() -> None:
    # A trade tutorial on sanitary areas: groin, genitals, round the anus, armpits are clipped short and never pulled.
    # Between the pads, rims of eyelids and lips: common practice, no source.
    assert griffon("groin", "genitals", "perineum", "armpits", "pads", "eyelid-rims", "lip-edges") <= NEVER_PULLED


def test_nothing_is_pulled_there_visit_after_visit(visits: list[Visit]) -> None:
    for visit in visits:
        assert NEVER_PULLED.isdisjoint(visit.shares())
    clipped = {step.region for visit in visits for step in visit.order.steps if step.task == "clip"}
    assert clipped == NEVER_PULLED


def test_no_profile_can_have_it_pulled_there() -> None:
    loose = load_profile(
        {
            "format": 1,
            "id": "loose",
            "label": "All of it",
            "extends": "griffon-bruxellois-rough",
            "layer_targets": {
                "everything": {
                    "regions": list(GRIFFON.regions),
                    "layers": 1,
                    "take": {"usual": 1},
                    "full_strip": True,
                }
            },
            "rules": {
                "all-of-it": {"then": {"take": {"at_least": 1}, "priority": 100}, "because": "To see what holds."}
            },
        }
    )
    order = work_order(loose, {"format": 1, "dog": {"id": "one"}}, date=START, minutes=600)
    pulled = {step.region for step in order.steps if step.share is not None}
    assert pulled
    assert NEVER_PULLED.isdisjoint(pulled)


# ---- tender places


def test_tender_places_are_worked_in_bouts_of_one_to_three_minutes(visits: list[Visit]) -> None:
    # Common practice, no source: one to three minutes of pulling, then another place, then return.
    for visit in visits:
        for name, zone in GRIFFON.sensitive_zones.items():
            stretches = runs(visit.order.steps, griffon(*zone.regions))
            assert all(minutes <= zone.bout_minutes <= 3 for _, minutes, _ in stretches), (visit.week, name)
            for (_, _, left), (back, _, _) in pairwise(stretches):
                assert back - left >= zone.rest_minutes, (visit.week, name)


# Sources: Norwich Terrier guide (throat, ears, rear); West Highland White Terrier article (anal area, chest, feet);
# a groomer's page of 2009 (belly and face); a home veterinary handbook (groin and armpit creases).
@pytest.mark.parametrize(
    "place",
    ["throat", "ears-outside", "buttocks", "perineum", "forechest", "toes", "belly", "face", "groin", "armpits"],
)
def test_places_named_as_tender(place: str) -> None:
    zones = [griffon(*zone.regions) for zone in GRIFFON.sensitive_zones.values()]
    assert any(griffon(place) <= zone for zone in zones)


@pytest.mark.parametrize("place", ["back", "neck-top", "neck-sides", "ribs", "tail-top", "skull", "forearms"])
def test_places_named_as_easy(place: str) -> None:
    # The same West Highland article (back, sides, neck, tail) and Norwich guide (back, legs, back of neck, head).
    assert all(place not in griffon(*zone.regions) for zone in GRIFFON.sensitive_zones.values())


def test_toes_are_left_on_objection_and_returned_to_in_shorter_bouts() -> None:
    # Common practice, no source.
    toes = griffon("toes")
    calm = order_after()
    first_visit = carried_out(calm)
    first_visit["reactions"] = {"toes": "stop"}
    first_visit["work"]["hind-toes"] = {}  # the dog drew its feet away, and they were left
    first_visit["put_off"] = ["hind-toes"]
    again = order_after(first_visit, day=START + EVERY)

    assert max(minutes for _, minutes, _ in runs(calm.steps, toes)) > 1
    stretches = runs(again.steps, toes)
    assert len(stretches) >= 2
    assert all(minutes <= GRIFFON.sensitive_zones["toes"].bout_minutes / 2 for _, minutes, _ in stretches)
    assert {s.share for s in again.steps if s.region in toes} == {0.1}
    priority = {step.region: step.priority for step in again.steps}
    assert (
        priority["hind-toes"] == priority["front-toes"] < priority["forearms"]
    )  # that it was put off raises it no more


# ---- whatever the time, nothing is lost


def partly_done(order: WorkOrder, region: str) -> bool:
    """Whether no task of a region is both worked and put off."""
    return {step.task for step in order.steps if step.region == region}.isdisjoint(order.deferred[region].tasks)


@settings(max_examples=40)
@given(
    minutes=st.integers(1, 240), weeks=st.integers(0, 30), stopped=st.sets(st.sampled_from(["toes", "face", "rear"]))
)
def test_every_region_has_one_outcome_and_the_time_is_kept(minutes: int, weeks: int, stopped: set[str]) -> None:
    first = carried_out(order_after())
    first["reactions"] = dict.fromkeys(stopped, "stop")
    history = {"format": 1, "dog": {"id": "one"}, "visits": [first]}
    order = work_order(GRIFFON, history, date=START + timedelta(weeks=weeks), minutes=minutes)
    worked = {step.region for step in order.steps if step.region is not None}
    partly = worked & set(order.deferred)  # some of its tasks are put off: pulled another day, combed today
    assert all(partly_done(order, region) for region in partly)
    places = [*worked - partly, *order.left_alone, *order.deferred, *order.not_to_be_touched]
    assert sorted(places) == sorted(GRIFFON.regions)
    assert sum(step.minutes for step in order.steps) <= minutes
    for step in order.steps:
        if step.share is not None and step.region is not None:
            assert step.share <= TARGETS[step.region].take.at_most
