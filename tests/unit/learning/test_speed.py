"""The hands' own speed against the joint posterior worked out by linear algebra, and what it does to a work order."""

from __future__ import annotations

from datetime import date
from math import exp, log, sqrt
from pathlib import Path
from random import Random
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatrules import load_history, load_profile, work_order
from coatrules.dog.state import state_on
from coatrules.learning.speed import ERROR, REGION_SPREAD, SPREAD, Speed, Timed, learn_speed
from coatrules.order.explanation import explain
from coatrules.plan.inputs import plan_inputs
from coatrules.profile.compiled import compile_profile
from coatrules.report.explanation import text
from tests.support import small

entries = st.lists(
    st.builds(
        lambda usual, factor: Timed(sum(usual.values()) * factor, usual),
        st.dictionaries(st.sampled_from("abcd"), st.floats(0.5, 40), min_size=1),
        st.floats(0.25, 4),
    ),
    max_size=10,
)


@given(entries)
def test_the_speed_is_the_joint_posterior(told: list[Timed]) -> None:
    """Every entry as one measurement in each of its regions, each with the precision of its part of the profile's minutes."""
    speed = learn_speed(told)
    names = sorted({region for entry in told for region in entry.usual})
    prior = np.full((1 + len(names), 1 + len(names)), SPREAD**2)
    prior[1:, 1:] += REGION_SPREAD**2 * np.eye(len(names))
    precision, weighted = np.linalg.inv(prior), np.zeros(1 + len(names))
    for entry in told:
        for region, minutes in entry.usual.items():
            place = 1 + names.index(region)
            part = minutes / sum(entry.usual.values()) / ERROR**2
            precision[place, place] += part
            weighted[place] += part * log(sum(entry.usual.values()) / entry.minutes)
    cov = np.linalg.inv(precision)
    mean = cov @ weighted
    assert speed.mean == pytest.approx(exp(mean[0]))
    assert speed.entries == len(told)
    if told:
        assert speed.sd == pytest.approx(exp(mean[0]) * sqrt(cov[0, 0]))
    for place, region in enumerate(names, start=1):
        assert speed.of(region) == pytest.approx(exp(mean[place]))


@given(entries, st.randoms(use_true_random=False))
def test_the_order_of_the_entries_does_not_matter(told: list[Timed], chance: Random) -> None:
    shuffled = list(told)
    chance.shuffle(shuffled)
    assert learn_speed(told).mean == pytest.approx(learn_speed(shuffled).mean)


@pytest.mark.parametrize("entry", [Timed(0, {"a": 5}), Timed(5, {"a": 0}), Timed(5, {})])
def test_without_a_time_the_speed_is_exactly_the_profiles(entry: Timed) -> None:
    for told in ([], [entry]):
        speed = learn_speed(told)
        assert (speed.mean, speed.of("a"), speed.entries) == (1.0, 1.0, 0)
    assert Speed().of("a") == 1.0


def test_many_entries_find_the_speed_they_were_made_with() -> None:
    told = [Timed(10 / 1.5, {f"r{i}": 10.0}) for i in range(200)]
    assert learn_speed(told).mean == pytest.approx(1.5, rel=0.02)


def test_an_entry_that_nobody_works_like_is_left_out() -> None:
    wrong = Timed(500, {"a": 25.0})
    speed = learn_speed([wrong, Timed(20, {"a": 25.0})])
    assert speed.rejected == (wrong,)
    assert speed.mean == learn_speed([Timed(20, {"a": 25.0})]).mean


PROFILE = small.profile(
    id="two",
    label="Two regions",
    undercoat_weeks=6,
    groups={"body": ["back", "ribs"]},
    regions={
        "back": {"label": "Back", "coat": "jacket", "minutes": {"pull": 20, "card": 6}},
        "ribs": {"label": "Ribs", "coat": "jacket", "minutes": {"pull": 30, "card": 6}},
        "anus": {"label": "Round the anus", "coat": "jacket", "anatomy": "none", "minutes": {"clip": 4}},
    },
    layer_targets={"body": {"regions": ["body"], "layers": 4, "take": {"usual": 0.2}, "cover": {"at_least": 0.5}}},
    clipper_only_zones={"anus": {"regions": ["anus"], "leave_mm": 3, "every_weeks": 3}},
    routines={"comb": {"regions": ["ribs"], "task": "comb", "every_weeks": 3, "minutes": 2}},
)


def dog(*minutes: float | None) -> dict[str, Any]:
    """A dog with one visit every three weeks; the body takes ``minutes`` where they are recorded."""
    visits = []
    for number, took in enumerate(minutes):
        body: dict[str, Any] = {"pull": 0.2, "card": True} | ({"minutes": took} if took is not None else {})
        visits.append({"visit": f"2026-0{1 + number}-05", "work": {"body": body}})
    return {"format": 1, "dog": {"id": "pip"}, "arrival": {"body": {"grown_weeks": 20}}, "visits": visits}


def test_the_profiles_minutes_for_an_entry() -> None:
    """10 for a fifth of 50, and 12 to card: all of the undercoat at first, 31 of 42 days of it the second time."""
    compiled = compile_profile(load_profile(PROFILE))
    record = state_on(compiled, load_history(dog(11.0, 11.0)), date(2026, 3, 1))
    usual = [10 + 12, 10 + 12 * 31 / 42]
    apart = [
        Timed(11.0, {"back": 4 + 6, "ribs": 6 + 6}),
        Timed(11.0, {"back": 4 + 6 * 31 / 42, "ribs": 6 + 6 * 31 / 42}),
    ]
    assert [entry.usual_minutes for entry in apart] == pytest.approx(usual)
    assert record.speed.mean == pytest.approx(learn_speed(apart).mean)
    assert record.speed.of("ribs") == pytest.approx(learn_speed(apart).of("ribs"))
    assert record.speed.mean > 1.2


def test_an_entry_with_work_the_profile_has_no_minutes_for_tells_nothing() -> None:
    history = dog(None)
    history["visits"][0]["work"]["body"] = {"pull": 0.2, "scissor": True, "minutes": 30}
    assert work_order(PROFILE, history, date=date(2026, 2, 1)).speed.entries == 0
    history["visits"][0]["work"] = {"ribs": {"comb": True, "minutes": 4}}
    assert work_order(PROFILE, history, date=date(2026, 2, 1)).speed.entries == 1


def test_fast_hands_need_less_time() -> None:
    day = date(2026, 3, 1)
    usual, fast = (work_order(PROFILE, dog(took, took), date=day, minutes=300, ahead=True) for took in (None, 9.0))
    assert usual.speed.mean == 1.0
    assert fast.to_dict()["speed"]["from"] == 2
    assert [(step.region, step.task) for step in usual.steps] == [(step.region, step.task) for step in fast.steps]
    for before, after in zip(usual.steps, fast.steps, strict=True):
        assert before.region is not None
        assert after.minutes == pytest.approx(before.minutes / fast.speed.of(before.region), abs=0.5)
    assert fast.minutes_planned < usual.minutes_planned
    assert fast.next_visit.late[0].minutes < usual.next_visit.late[0].minutes


def test_a_plan_reckons_with_the_speed() -> None:
    profile, day = load_profile(PROFILE), date(2026, 3, 1)
    days = (day, date(2026, 3, 22))
    usual, fast = (plan_inputs(profile, load_history(dog(took, took)), day, days, 300, None) for took in (None, 9.0))
    for region in ("back", "ribs"):
        speed = fast.state.speed.of(region)
        assert speed > 1
        assert fast.pull_minutes(region) == pytest.approx(usual.pull_minutes(region) / speed)
    assert all(after < before for before, after in zip(usual.calendar_minutes, fast.calendar_minutes, strict=True))


def test_minutes_that_cannot_be_are_shown_at_their_line(tmp_path: Path) -> None:
    file = tmp_path / "pip.yaml"
    visit = "---\nvisit: 2026-01-05\nwork:\n  body: {pull: 0.2, minutes: 500}\n"
    file.write_text("format: 1\ndog: {id: pip}\n" + visit, encoding="utf-8")
    order = work_order(load_profile(PROFILE), load_history(file), date=date(2026, 2, 1))
    found = [problem for problem in order.findings if problem.code == "minutes-doubtful"]
    assert [(problem.line, problem.path) for problem in found] == [(6, ("visits", 0, "work", "body", "minutes"))]
    assert found[0].params == {"took": 500, "usual": 10, "part": "body"}


def test_explain_tells_the_speed() -> None:
    said = text(explain(load_profile(PROFILE), load_history(dog(9.0, 9.0)), "back", date=date(2026, 3, 1)))
    assert "Hands' speed" in said
    assert "learned from recorded minutes: 2." in said.replace("\n  ", " ")
