"""Two years rehearsed are held against the closed form of the steady state (Little's law: share times age is the interval)."""

from __future__ import annotations

import json
from collections import Counter
from datetime import date, timedelta
from math import isclose
from pathlib import Path
from typing import Any

import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import load_profile, work_order
from coatrules.check.steady_state import steady_cover
from coatrules.cli import main
from coatrules.coat.measures import steady_state
from coatrules.dog.history import Dog, History
from coatrules.learning.pace import IN_80
from coatrules.mentor.rehearsal import (
    LATE,
    SETTLED,
    START,
    WEEKS,
    Actor,
    actors,
    at_pace,
    carried_out,
    rehearsal,
    rehearse,
    settled_looks,
)
from coatrules.order.engine import order
from coatrules.order.short_time import WAITED_ENOUGH
from coatrules.profile.compiled import compile_profile
from coatrules.report.rehearsal import text


def made_up(*, every: float, share: float, rate: float = 2.1, **target: Any) -> dict[str, Any]:
    """One region, no rules: nothing but the coat."""
    coat = {
        "lag_weeks": 4,
        "mm_per_week": rate,
        "full_mm": 300,
        "rests_weeks": 60,
        "ready_mm": 1,
        "cover_mm": 6,
    }
    return {
        "format": 1,
        "id": "made-up",
        "label": "Made up",
        "visit": {"every_weeks": every, "minutes": 60, "pace_spread": 0.15},
        "coats": {"jacket": {**coat, "layer_gap_mm": 1}},
        "regions": {"back": {"label": "Back", "coat": "jacket", "minutes": {"pull": 20}}},
        "layer_targets": {"all": {"regions": ["back"], "layers": 3, "take": {"usual": share}, **target}},
    }


ON_TIME = Actor("average", 1.0, "on-time", 1.0)


@settings(max_examples=12)
@given(st.integers(2, 5), st.sampled_from([4, 5, 8]), st.sampled_from([1.5, 2.1, 3.0]))
def test_the_settled_coat_is_the_closed_form(every: int, visits: int, rate: float) -> None:
    profile = load_profile(made_up(every=every, share=1 / visits, rate=rate))
    growth = profile.coats["jacket"]
    expected = steady_state(growth, every, 1 / visits)
    run = rehearse(profile, ON_TIME).targets["all"]
    looks = list(settled_looks(run))
    assert looks
    late = looks[len(looks) // 2 :]  # a coat grown out at first has gone round twice by then
    assert {look.oldest_weeks for look in late} == {expected.oldest_weeks}
    assert {look.layers for look in late} == {expected.layers}
    assert all(isclose(look.longest_mm, growth.length(expected.oldest_weeks), abs_tol=1e-6) for look in late)
    assert all(isclose(look.cover, steady_cover(growth, every, 1 / visits), abs_tol=1e-5) for look in late)
    assert run.few_layers == sum(look.layers < 3 for look in looks)


@pytest.mark.parametrize(
    ("every", "share", "ripe"),
    # Published rhythms (growth.csv): a terrier's fifth every three weeks (E074), goes at 15 weeks; a third every five. The ripe part
    # of hair that old is (15 - 2 - 10.4) / 5.6 of a coat that lags 2 weeks, grows 16, the first of it 10.4.
    [(3, 0.2, 0.464), (5, 1 / 3, 0.464), (1, 0.125, 0.0)],
)
def test_what_is_pulled_comes_as_easily_as_hair_of_its_age(every: int, share: float, ripe: float) -> None:
    profile = made_up(every=every, share=share)
    growth = {"lag_weeks": 2, "mm_per_week": 4, "grows_weeks": 16, "rests_weeks": 8, "spread": 0.35}
    profile["coats"]["jacket"] = {**growth, "ready_mm": 4, "cover_mm": 6, "layer_gap_mm": 1}
    profile["format"] = 2
    usual = rehearse(load_profile(profile), Actor("average", 1.0, "on-time", 1.0))
    for look in settled_looks(usual.targets["all"]):
        assert look.comes_easily == pytest.approx(ripe, abs=0.02)


def test_a_dog_of_a_pace_grows_as_a_profile_whose_hair_is_as_fast() -> None:
    growth, fast = load_profile(made_up(every=3, share=0.2)), 1.3
    scaled = at_pace(growth, fast).coats["jacket"]
    for weeks in (0, 2.9, 3.2, 10, 80):
        assert isclose(scaled.length(weeks), growth.coats["jacket"].length(weeks * fast), abs_tol=1e-9)


def test_slow_and_fast_are_the_outer_tenths_and_late_is_half_as_long_again() -> None:
    """Standard normal distribution: 10 % lie beyond 1.2816 standard deviations (NIST/SEMATECH e-Handbook, 1.3.6.7.1)."""
    profile = load_profile(made_up(every=3, share=0.2))
    cast = {(actor.dog, actor.rhythm): actor for actor in actors(profile)}
    assert len(cast) == 6
    assert isclose(cast["slow", "on-time"].pace, 1 - 1.2816 * 0.15)
    assert isclose(cast["fast", "late"].pace, 1 + IN_80 * 0.15)
    assert cast["average", "late"].stretch == LATE == 1.5
    assert rehearse(profile, cast["average", "on-time"]).visits == 35  # 104 weeks by 3, the first day included
    assert rehearse(profile, cast["average", "late"]).visits == 23  # every 32 days: 31.5 in whole days


def test_see_through_overgrown_and_few_layers_are_counted() -> None:
    profile = load_profile(made_up(every=3, share=0.2, layers=9, longest_mm=[1, 10]))
    run = rehearse(profile, ON_TIME)
    target = run.targets["all"]
    assert target.settled == 17
    assert target.few_layers == target.settled
    assert target.overgrown > 0
    assert target.reached_week is None
    report = text(rehearsal(profile, [run]))
    assert "too few layers at every visit: back" in report
    assert "overgrown at " in report
    assert "never" in report

    bare = made_up(every=3, share=1.0, cover={"at_least": 0.9}, full_strip=True)
    del bare["layer_targets"]["all"]["full_strip"]
    bare["layer_targets"]["all"]["take"] |= {"low_spot": 1.0}
    run = rehearse(load_profile(bare), ON_TIME)
    assert run.targets["all"].see_through > 0
    assert "see-through at" in text(rehearsal(load_profile(bare), [run]))


def test_too_little_time_is_said() -> None:
    profile = made_up(every=3, share=0.2)
    profile["visit"]["minutes"] = 4
    profile["regions"]["loin"] = {**profile["regions"]["back"], "label": "Loin"}
    profile["layer_targets"]["all"]["regions"] = ["back", "loin"]
    loaded = load_profile(profile)
    run = rehearse(loaded, ON_TIME)
    assert run.deferred > 0
    assert f"not enough time at {run.deferred} of {run.visits} visits" in text(rehearsal(loaded, [run]))


@settings(max_examples=25)
@given(
    st.lists(st.integers(4, 30), min_size=3, max_size=8),
    st.sampled_from([4, 6, 10]),
    st.sampled_from([1.0, 1.5, 3.2]),
    st.sampled_from([0, 10]),
)
def test_with_too_little_time_no_region_waits_for_ever(
    minutes: list[int], available: int, stretch: float, favour: int
) -> None:
    """Each is worked at least once in as many visits as there are regions, and the five that bring any part to the top.

    ``favour`` is a rule for all but the last. Every region alone fits into the visit.
    """
    profile = made_up(every=3, share=0.2)
    names = [f"part-{letter}" for letter, _ in zip("abcdefgh", minutes, strict=False)]
    profile["regions"] = {
        name: {"label": name, "coat": "jacket", "minutes": {"pull": n}} for name, n in zip(names, minutes, strict=True)
    }
    profile["layer_targets"]["all"] |= {"regions": names, "longest_mm": [1, 12]}
    profile["layer_targets"]["all"]["take"]["at_most"] = 0.2  # so that the largest takes 6 minutes
    available = max(available, 6)
    profile["rules"] = {"favoured": {"regions": names[:-1], "then": {"priority": favour}, "because": "Shown first."}}
    compiled = compile_profile(load_profile(profile))
    history = History(format=1, dog=Dog(id="pip"))
    every = round(21 * stretch)
    waits = dict.fromkeys(names, 0)
    for number in range(30):
        today = order(compiled, history, START + timedelta(days=number * every), available)
        history = evolve(history, visits=(*history.visits, carried_out(today)))
        waits = {name: waits[name] + 1 if name in today.deferred else 0 for name in names}
        assert max(waits.values()) < len(names) + 5, waits


@pytest.mark.parametrize("minutes", [45, 60, 80])
def test_no_part_of_a_late_dog_waits_for_ever(minutes: float) -> None:
    """Half of the time its coat needs, at every visit for two years: the jacket and the rest wait in turn."""
    compiled = compile_profile(load_profile("wire-fox-terrier-pet"))
    history = History(format=1, dog=Dog(id="pip"))
    waits = {name: 0 for name, region in compiled.regions.items() if region.hand is not None}
    short = 0
    for number in range(24):
        today = order(compiled, history, START + timedelta(days=number * 32), minutes)
        short += bool(today.deferred)
        history = evolve(history, visits=(*history.visits, carried_out(today)))
        pulled = {step.region for step in today.steps if step.task == "pull"}
        waits = {name: 0 if name in pulled else waits[name] + 1 for name in waits}
        assert max(waits.values()) <= WAITED_ENOUGH, waits
    assert short >= 16


@pytest.mark.parametrize("profile", ["american-cocker-spaniel", "border-terrier"])
def test_in_a_third_of_its_time_no_kind_of_work_waits_for_ever(profile: str) -> None:
    """Ten visits: raking, combing and scissoring wait in turn, too."""
    compiled = compile_profile(load_profile(profile))
    usual = compiled.profile.visit
    history = History(format=1, dog=Dog(id="pip"))
    waits: Counter[tuple[str, str]] = Counter()
    for number in range(11):
        day = START + timedelta(weeks=number * usual.every_weeks)
        today = order(compiled, history, day, usual.minutes if number == 0 else usual.minutes / 3, in_turn=False)
        history = evolve(history, visits=(*history.visits, carried_out(today)))
        put_off = {(name, task) for name, waiting in today.deferred.items() for task in waiting.tasks}
        waits = Counter({one: waits[one] + 1 for one in put_off})
        assert max(waits.values(), default=0) <= 2 * WAITED_ENOUGH, waits.most_common(3)


def test_an_order_carried_out_is_history_that_reads_back() -> None:
    history = {"format": 1, "dog": {"id": "pip"}}
    order = work_order("griffon-bruxellois-rough", history, date=date(2026, 1, 5), minutes=60)
    visit = carried_out(order)
    assert set(visit.put_off) == set(order.deferred)
    for step in order.steps:
        if step.region is not None and step.task == "pull":
            assert visit.work[step.region].pull == step.share
        if step.region is not None and step.task == "clip" and step.leave_mm is not None:
            assert visit.work[step.region].clip == step.leave_mm


def test_the_exit_code_says_whether_the_usual_dog_keeps_to_the_targets(tmp_path: Path) -> None:
    """A twentieth every four weeks leaves hair of 80 weeks, 152 mm long: an outline of 40 mm is never kept."""
    file = tmp_path / "made-up.yaml"
    file.write_text(json.dumps(made_up(every=4, share=0.05, longest_mm=[10, 40])), encoding="utf-8")
    assert main(["rehearse", str(file)]) == 1
    assert main(["rehearse", str(file), "--format", "json"]) == 1


def test_the_command_gives_text_and_picture_data(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "made-up.yaml"
    file.write_text(json.dumps(made_up(every=4, share=0.25)), encoding="utf-8")
    assert main(["rehearse", str(file)]) == 0
    shown = capsys.readouterr().out
    assert "average, on time" in shown
    # 1.2816 standard deviations of 0.15 either way; one and a half of four weeks.
    assert "slow dog (81% of the usual pace)" in shown
    assert "fast dog (119%)" in shown
    assert "A late dog comes every 6 weeks." in shown
    assert "all: the target is 3 layers" in shown
    assert main(["rehearse", str(file), "--format", "json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["weeks"] == WEEKS
    assert data["settled_from_week"] == SETTLED
    assert len(data["runs"]) == 6
    looks = data["runs"][0]["targets"]["all"]["looks"]
    assert [look["week"] for look in looks] == [4 * n for n in range(26)]
    profile = load_profile(file)
    assert (
        json.loads(json.dumps(rehearsal(profile, [rehearse(profile, ON_TIME)]).to_dict()))["runs"][0] == data["runs"][0]
    )
