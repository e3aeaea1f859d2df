"""Dogs that carry one coat at a time told apart from slow ones, and what ends a rolled coat with its way back.

Facts checked here: some dogs carry one coat at a time, most two, some three, and the next coat of the first comes six to
eight weeks after the old one is gone (Wire Fox Terrier Association, Tutorial book 3); the coat is blown six to eight
weeks after whelping, also after a season (vige.vet, on shedding); a season can blow a rolled coat entirely: take it down
to the shortest workable layer and rebuild (a trade page on the Lakeland Terrier); two or three hand strips bring a
clipped coat back (a page quoting the Border Terrier Club of America), or none does (Caledonian Dandie Dinmont Terrier Club).
"""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any, Literal

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import load_history, load_profile, work_order
from coatrules.coat.growth import Growth
from coatrules.coat.measures import standing
from coatrules.coat.queue import WHOLE, Coat, Pull, fresh, replay
from coatrules.dog.rolling import SURE_AFTER, LayerEvidence, Rolling, extremes, rolling
from coatrules.dog.state import state_on
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import compile_profile
from tests.support import small

JACKET = Growth(lag_weeks=4, mm_per_week=2.1, grows_weeks=20, rests_weeks=2, ready_mm=6, cover_mm=6, layer_gap_mm=2)
START = date(2026, 1, 5)
PROFILE = small.profile(
    id="two",
    label="Two regions",
    groups={"body": ["back", "ribs"]},
    regions={
        "back": {"label": "Back", "coat": "jacket", "minutes": {"pull": 20}},
        "ribs": {"label": "Ribs", "coat": "jacket", "minutes": {"pull": 20}},
        "anus": {"label": "Round the anus", "coat": "jacket", "anatomy": "none", "minutes": {"clip": 2}},
    },
    layer_targets={"body": {"regions": ["body"], "layers": 4, "take": {"usual": 0.2}}},
    clipper_only_zones={"anus": {"regions": ["anus"], "leave_mm": 3, "every_weeks": 3}},
)
PLAN = compile_profile(load_profile(PROFILE))


def history(visits: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    return {"format": 1, "dog": {"id": "pip"}, "arrival": {"body": {"grown_weeks": 10}}, "visits": visits, **more}


def rolled(kind: Literal["one-coat", "rolling"], pace: float, visits: int, every: int = 3) -> dict[str, Any]:
    """A dog that gives a fifth at every visit, and the layers that are then seen on it."""
    coat = Coat((fresh(WHOLE, START.toordinal() - 70),))
    told = []
    for number in range(visits):
        day = START + timedelta(weeks=every * number)
        layers = 1 if kind == "one-coat" else standing(coat, JACKET, pace, day.toordinal()).layers
        told.append({"visit": day.isoformat(), "work": {"body": {"pull": 0.2}}, "seen": {"back": {"layers": layers}}})
        coat = replay(coat, JACKET, pace, [Pull(day.toordinal(), WHOLE // 5)])
    return history(told)


def judged(told: dict[str, Any], day: date) -> Rolling:
    return state_on(PLAN, load_history(told), day).rolling


@pytest.mark.parametrize("every", [3, 4])
def test_a_dog_with_one_coat_at_a_time_is_found_out(every: int) -> None:
    told = rolled("one-coat", 1.0, 10, every)
    found = judged(told, START + timedelta(weeks=60))
    assert found.rolls == "no"
    assert found.most == 1
    # Nothing can be known before hair has been gone for eight weeks.
    assert min(day for day, _ in found.days) >= START.toordinal() + 8 * 7
    early = START + timedelta(weeks=9)
    assert judged(told, early).rolls == "unknown"


@settings(max_examples=60)
@given(st.floats(0.65, 1.6), st.integers(2, 5), st.integers(1, 14))
def test_a_slow_dog_is_never_taken_for_one(pace: float, every: int, visits: int) -> None:
    """Whatever its pace, a coat that rolls never shows one layer where the record says that two are due."""
    found = judged(rolled("rolling", pace, visits, every), START + timedelta(weeks=visits * every))
    assert found.days == ()
    assert found.rolls != "no"


def test_counts_of_a_one_coat_dog_do_not_make_it_slow() -> None:
    state = state_on(PLAN, load_history(rolled("one-coat", 1.0, 10)), START + timedelta(weeks=30))
    slow = state_on(PLAN, load_history(rolled("rolling", 0.6, 10)), START + timedelta(weeks=30))
    assert slow.pace.of("back") < 0.9
    assert state.pace.mean == 1.0


@given(st.lists(st.tuples(st.integers(1, 60), st.integers(0, 3), st.integers(0, 4)), max_size=12))
def test_two_layers_seen_once_settle_it(told: list[tuple[int, int, int]]) -> None:
    showings = [LayerEvidence(day, day, "back", seen, due) for day, seen, due in told]
    found = rolling(showings)
    evidence = {day for day, seen, due in told if seen <= 1 < due}
    if any(seen >= 2 for _, seen, _ in told):
        assert found.rolls == "yes"
    else:
        assert found.rolls == ("no" if len(evidence) >= SURE_AFTER else "unknown")
    assert found == rolling(reversed(showings))


@given(st.floats(0.4, 2.5), st.floats(0.01, 0.3), st.floats(0, 10))
def test_the_extremes_hold_the_pace(pace: float, sd: float, breakthrough: float) -> None:
    slow, fast = extremes(pace, sd, breakthrough)
    assert 0 < slow <= pace <= fast
    assert slow <= max(breakthrough / 8, 0.05)  # hair that comes after eight weeks is still reckoned with


def findings(told: dict[str, Any] | Path, day: date) -> dict[str, Problem]:
    order = work_order(load_profile(PROFILE), load_history(told), date=day)
    return {problem.code: problem for problem in order.findings}


def test_a_staged_strip_is_proposed_with_the_days() -> None:
    told = rolled("one-coat", 1.0, 10)
    order = work_order(PROFILE, told, date=START + timedelta(weeks=30))
    found = {problem.code: problem for problem in order.findings}["one-coat-at-a-time"]
    rolling = order.to_dict()["rolling"]
    assert rolling["possible"] == "no"
    assert rolling["most_layers"] == 1
    assert "staged strip" in found.message
    assert len(rolling["evidence"]) >= SURE_AFTER
    for day in rolling["evidence"]:
        on = date.fromisoformat(day)
        assert f"{on.day} {on:%B %Y}" in found.message


EVENTS = """\
format: 1
dog: {id: pip}
arrival: {body: {grown_weeks: 10}}
---
visit: 2026-02-02
work: {body: {pull: 0.2}}
events: {whelped: 2026-01-05}
"""


@pytest.mark.parametrize(
    ("weeks", "said"),
    [(5, "is often blown six to eight weeks later"), (7, "was likely blown"), (20, "was likely blown")],
)
def test_whelping_blows_the_coat_six_to_eight_weeks_after(tmp_path: Path, weeks: int, said: str) -> None:
    file = tmp_path / "pip.yaml"
    file.write_text(EVENTS, encoding="utf-8")
    found = findings(file, START + timedelta(weeks=weeks))[f"rolling-{'will-end' if weeks < 6 else 'ended'}-whelped"]
    assert said in found.message
    assert "between 16 February 2026 and 2 March 2026" in found.message
    assert "shortest layer that can be worked" in found.message
    assert "about 5 visits" in found.message  # once round at a fifth
    assert (found.line, found.path) == (7, ("visits", 0, "events", "whelped"))


def test_an_event_is_over_when_the_coat_is_renewed_or_half_a_year_has_gone() -> None:
    season = {"visit": "2026-01-10", "events": {"season": "2026-01-05"}}
    assert "rolling-ended-season" in findings(history([season]), date(2026, 6, 1))
    assert "rolling-ended-season" not in findings(history([season]), date(2026, 8, 1))
    stripped = {"visit": "2026-03-10", "work": {"body": {"pull": 1}}}
    assert "rolling-ended-season" in findings(history([season, stripped]), date(2026, 3, 9))
    assert "rolling-ended-season" not in findings(history([season, stripped]), date(2026, 3, 12))


def test_an_event_that_is_none_is_refused() -> None:
    for wrong in ({}, {"moved": "2026-01-05"}, {"season": "soon"}):
        with pytest.raises(InputError):
            load_history(history([{"visit": "2026-01-10", "events": wrong}]))


@pytest.mark.parametrize(("days", "ended"), [(42, False), (43, True)])
def test_twice_the_interval_is_a_long_gap(days: int, ended: bool) -> None:
    told = history([{"visit": START.isoformat(), "work": {"body": {"pull": 0.2}}}])
    found = findings(told, START + timedelta(days=days))
    assert ("rolling-ended-gap" in found) == ended
    if ended:
        assert "not all today" in found["rolling-ended-gap"].message


def test_a_dog_that_comes_for_the_first_time_has_no_gap() -> None:
    assert "rolling-ended-gap" not in findings(history([]), START)


def test_a_clip_ends_the_rolling_until_all_of_it_is_pulled() -> None:
    clipped = {"visit": START.isoformat(), "work": {"back": {"clip": 9}, "anus": {"clip": 3}}}
    found = findings(history([clipped]), START + timedelta(weeks=12))["rolling-ended-clip"]
    assert ": back. " in found.message  # neither the ribs nor the anus, which is only ever clipped
    assert "Two or three full strips" in found.message
    assert "never quite recover" in found.message
    out = {"visit": (START + timedelta(weeks=12)).isoformat(), "work": {"back": {"pull": 1}}}
    assert "rolling-ended-clip" not in findings(history([clipped, out]), START + timedelta(weeks=13))
    part = {**out, "work": {"back": {"pull": 0.5}}}
    assert "rolling-ended-clip" in findings(history([clipped, part]), START + timedelta(weeks=13))


def test_a_coat_that_came_clipped_is_told_of() -> None:
    told = history([], arrival={"body": {"clipped_mm": 6, "clipped_weeks": 3}})
    order = work_order(PROFILE, told, date=START)
    assert order.to_dict()["rolling"]["ended_by"] == [
        {"kind": "clip", "day": "2025-12-15", "regions": ["back", "ribs"]}
    ]


def test_nothing_is_said_of_a_dog_that_is_well_kept() -> None:
    rng = np.random.default_rng(1)
    for pace in rng.normal(1, 0.15, 20):
        codes = set(findings(rolled("rolling", float(pace), 8), START + timedelta(weeks=24)))
        assert not {code for code in codes if code.startswith("rolling-ended") or code == "one-coat-at-a-time"}
