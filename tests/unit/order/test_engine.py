"""What must hold of every work order, whatever the profile and the history."""

from __future__ import annotations

import json
import random
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import InputError, WorkOrder, load_history, load_profile, work_order
from coatrules.coat.measures import cover_limit
from coatrules.coat.queue import WHOLE
from coatrules.dog.state import state_on
from coatrules.formats.schema_faults import validator
from coatrules.order.share import LEAST_SHARE
from coatrules.profile.compiled import compile_profile
from tests.support.strategies import HAND, REGIONS, START, histories, profiles

DAYS = st.integers(0, 600).map(lambda n: START + timedelta(days=n))


def pulled(order: WorkOrder) -> dict[str, float]:
    return {step.region: step.share for step in order.steps if step.share is not None and step.region is not None}


@settings(max_examples=20)
@given(profiles(), histories(), DAYS, st.sampled_from([None, 15, 45, 240]))
def test_every_order_keeps_the_guards(
    profile: dict[str, Any], history: dict[str, Any], day: date, minutes: float | None
) -> None:
    order = work_order(profile, history, date=day, minutes=minutes)
    data = order.to_dict()
    assert not list(validator("work-order").iter_errors(data))

    worked = {step.region for step in order.steps if step.region is not None}
    places = [*worked, *order.left_alone, *(order.deferred.keys() - worked), *order.not_to_be_touched]
    assert sorted(places) == sorted(REGIONS), "every region is accounted for once"
    for region in worked & order.deferred.keys():  # worked in part: what is put off of it is no step
        done = {step.task for step in order.steps if step.region == region}
        assert done.isdisjoint(order.deferred[region].tasks)

    available = profile["visit"]["minutes"] if minutes is None else minutes
    assert order.minutes_planned == sum(step.minutes for step in order.steps) <= available

    compiled = compile_profile(load_profile(profile))
    state = state_on(compiled, load_history(history), day)
    for region, share in pulled(order).items():
        own, growth, pace = state.regions[region], compiled.regions[region].growth, state.pace.of(region)
        assert sum(cohort.mass for cohort in own.coat.cohorts) == WHOLE
        assert region in HAND, "nothing is ever pulled where only the clipper may go"
        assert own.skin != "unsound"
        assert not state.health
        ready = order.facts[region]["ready_share"]
        assert isinstance(ready, float)
        assert LEAST_SHARE <= share <= ready + 1e-9, "nothing under the skin, nothing not ready"
        target = compiled.regions[region].target
        assert target is not None
        caps = [target.take.at_most]
        for name in order.fired[region]:
            rule = compiled.profile.rules[name].then
            assert "pull" not in rule.leave
            assert rule.refer is None
            caps.append(rule.take.at_most if rule.take.at_most is not None else 1.0)
        assert share <= min(caps) + 1e-9
        if target.cover is not None and not target.full_strip:
            limit = cover_limit(own.coat, growth, pace, day.toordinal(), target.cover.at_least) / WHOLE
            assert share <= max(limit, target.take.low_spot) + 1e-9
    for step in order.steps:
        if step.task in ("pull", "card"):
            assert not state.health


def told_by_regions(visit: dict[str, Any], groups: dict[str, list[str]], chance: random.Random) -> dict[str, Any]:
    """The same visit with its work told region by region, in any order: of two parts that hold a region the smaller wins, key by key."""

    def members(part: str) -> set[str]:
        return {region for member in groups[part] for region in members(member)} if part in groups else {part}

    by_region: dict[str, dict[str, Any]] = {}
    work = visit.get("work", {})
    for part in sorted(work, key=lambda part: (-len(members(part)), list(work).index(part))):
        for region in members(part):
            told = by_region.setdefault(region, {})
            if "pull" in work[part]:
                told.pop("pick", None)  # how hair is picked goes with the pull
            told.update(work[part])
    in_any_order = list(by_region.items())
    chance.shuffle(in_any_order)
    return {**visit, "work": dict(in_any_order)} if work else visit


@settings(max_examples=10)
@given(profiles(), histories(), DAYS, st.randoms(use_true_random=False))
def test_the_facts_are_the_same_whichever_way_a_visit_is_told(
    profile: dict[str, Any], history: dict[str, Any], day: date, chance: random.Random
) -> None:
    visits = [told_by_regions(visit, profile["groups"], chance) for visit in history["visits"]]
    told, otherwise = (work_order(profile, one, date=day) for one in (history, {**history, "visits": visits}))
    assert otherwise.all_facts == told.all_facts
    assert otherwise.to_dict()["steps"] == told.to_dict()["steps"]
    assert otherwise.next_visit == told.next_visit


@settings(max_examples=25)
@given(profiles(), histories(), DAYS)
def test_bouts_are_short_and_rests_are_kept(profile: dict[str, Any], history: dict[str, Any], day: date) -> None:
    order = work_order(profile, history, date=day, minutes=240)
    compiled = compile_profile(load_profile(profile))
    state = state_on(compiled, load_history(history), day)
    zones = compiled.profile.sensitive_zones
    clock = 0.0
    ended: dict[str, float] = {}
    running: dict[str, float] = {}
    last: str | None = None
    for step in order.steps:
        zone = compiled.regions[step.region].zone_id if step.region and compiled.regions[step.region].zone else None
        if zone is not None:
            assert step.region is not None
            factor = state.regions[step.region].tolerance
            longest = max(1.0, zones[zone].bout_minutes * factor, 0.5)
            if zone != last:
                running[zone] = 0.0
                if zone in ended:
                    assert clock - ended[zone] >= zones[zone].rest_minutes
                if last is not None and last in zones:
                    assert not zones[last].level == zones[zone].level == "high", "two high ones never follow each other"
            running[zone] += step.minutes
            assert running[zone] <= longest + 1e-9
            ended[zone] = clock + step.minutes
        clock += step.minutes
        last = zone
    in_order: dict[str, list[str]] = {}
    for step in order.steps:
        if step.region is not None:
            in_order.setdefault(step.region, []).append(step.task)
    for tasks in in_order.values():
        assert sorted(tasks, key=["card", "pull", "clip", "scissor", "comb"].index) == tasks


@pytest.mark.slow
@settings(max_examples=12)
@given(profiles(), histories(), DAYS, st.randoms(use_true_random=False))
def test_the_order_of_rules_and_keys_never_matters(
    profile: dict[str, Any], history: dict[str, Any], day: date, chance: random.Random
) -> None:
    shuffled = dict(profile)
    for section in ("rules", "methods", "layer_targets", "sensitive_zones"):
        entries = list(profile[section].items())
        chance.shuffle(entries)
        shuffled[section] = dict(entries)
    one = work_order(profile, history, date=day)
    two = work_order(shuffled, history, date=day)
    assert json.dumps(one.to_dict()) == json.dumps(two.to_dict())


@settings(max_examples=8)
@given(profiles(), histories(), DAYS)
def test_the_same_input_gives_the_same_bytes(profile: dict[str, Any], history: dict[str, Any], day: date) -> None:
    backwards = {**history, "visits": list(reversed(history["visits"]))}
    same_day = {visit["visit"] for visit in history["visits"]}
    first = json.dumps(work_order(profile, history, date=day).to_dict())
    assert first == json.dumps(work_order(profile, json.loads(json.dumps(history)), date=day).to_dict())
    if len(same_day) == len(history["visits"]):
        one, other = json.loads(first), work_order(profile, backwards, date=day).to_dict()
        for finding in (*one["findings"], *other["findings"]):
            del finding["path"]  # where a visit stands in the history is all that differs
        assert json.dumps(one) == json.dumps(other)


def test_visits_after_the_day_are_not_looked_at() -> None:
    history = {"format": 1, "dog": {"id": "pip"}, "visits": [{"visit": "2026-03-01", "work": {"back": {"pull": 0.5}}}]}
    before = work_order("griffon-bruxellois-rough", history, date=date(2026, 2, 1))
    assert before.facts["back"].get("weeks_since_pull") is None


@pytest.mark.parametrize("minutes", [0, -5, 601, float("nan"), float("inf")])
def test_minutes_that_are_no_visit_are_refused(minutes: float) -> None:
    history = {"format": 1, "dog": {"id": "pip"}}
    with pytest.raises(InputError, match="minutes out of range"):
        work_order("griffon-bruxellois-rough", history, date=date(2026, 2, 1), minutes=minutes)


def test_a_caution_is_not_lost_where_nothing_is_done() -> None:
    history = {
        "format": 1,
        "dog": {"id": "pip"},
        "visits": [{"visit": "2026-03-01", "work": {"jacket": {"pull": 1, "card": True}}}],
    }
    order = work_order("griffon-bruxellois-rough", history, date=date(2026, 3, 8))
    assert "skin-shows" in order.fired["back"]
    assert any("The skin shows" in str(caution) for caution in order.cautions)
