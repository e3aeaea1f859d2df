"""Visits that nobody wrote down are found on simulated dogs, and hardly ever where there was none."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from coatrules import load_history, load_profile, work_order
from coatrules.coat.queue import WHOLE, Coat, Pull, fresh, replay
from coatrules.dog.forgotten_visits import may_be_missing
from coatrules.dog.state import DogState, state_on
from coatrules.profile.compiled import compile_profile
from tests.support import small
from tests.support.guess import Guess
from tests.support.hair import hair

START, EVERY, VISITS = date(2026, 1, 5), 21, 10
REGIONS = ("back", "ribs", "legs")
FIGURES = {"lag_weeks": 2, "mm_per_week": 4.0, "grows_weeks": 16, "rests_weeks": 8}
PROFILE = load_profile(
    small.profile(
        id="three",
        label="Three regions",
        coats={"jacket": {**FIGURES, "spread": 0.35, "cover_mm": 10, "ready_mm": 8, "layer_gap_mm": 4}},
        groups={"body": list(REGIONS)},
        regions={
            name: {"label": name.title(), "coat": "jacket", "minutes": {"pull": 20, "card": 6}} for name in REGIONS
        },
        layer_targets={"body": {"regions": ["body"], "layers": 4, "take": {"usual": 0.2}, "cover": {"at_least": 0.5}}},
    )
)
COMPILED = compile_profile(PROFILE)


class Dog:
    """Pulled by a fifth every three weeks, its three regions measured before the work. missing: visits that are not on record.
    made: whether the dog was worked there all the same."""

    def __init__(self, rng: np.random.Generator, missing: set[int], *, made: bool) -> None:
        self.pace, self.final = float(rng.normal(1, 0.15)), float(rng.normal(0, 0.25))
        grown = 16 * float(np.exp(self.final))
        growth, hand = hair(**FIGURES), float(rng.normal(0, 2.5))
        self.coats = {name: Coat((fresh(WHOLE, -84),)) for name in REGIONS}
        own = {name: max(self.pace + float(rng.normal(0, 0.1)), 0.3) for name in REGIONS}
        visits: list[dict[str, Any]] = []
        for n in range(VISITS):
            day = n * EVERY
            seen = {}
            for name, coat in self.coats.items():
                weeks = (day - coat.cohorts[0].day) / 7
                mm = 4 * float(np.clip(own[name] * weeks - 2, 0, grown)) + float(rng.normal(0, 2)) + hand
                seen[name] = {"longest_mm": max(round(mm, 1), 1)}
                if made or n not in missing:
                    self.coats[name] = replay(coat, growth, own[name], [Pull(day, WHOLE // 5)])
            if n not in missing:
                visits.append({"visit": on(day), "seen": seen, "work": {"body": {"pull": 0.2}}})
        dog = {"id": "ada", "profile": "three"}
        self.history: dict[str, Any] = {
            "format": 1,
            "dog": dog,
            "arrival": {"body": {"grown_weeks": 12}},
            "visits": visits,
        }

    def state(self) -> DogState:
        return state_on(COMPILED, load_history(self.history), START + timedelta(days=VISITS * EVERY))


def on(day: int) -> str:
    return (START + timedelta(days=day)).isoformat()


def test_a_visit_that_was_made_and_not_written_down_is_asked_after() -> None:
    dog = Dog(np.random.default_rng(1), {5}, made=True)
    order = work_order(PROFILE, dog.history, date=START + timedelta(days=VISITS * EVERY))
    found = [problem for problem in order.findings if problem.code == "visit-forgotten"]
    assert [(problem.path, problem.severity) for problem in found] == [(("visits", 5), "note")]
    days = {key: (day - START).days for key, day in found[0].params.items() if isinstance(day, date)}
    assert days == {"after": 4 * EVERY, "about": 5 * EVERY, "before": 6 * EVERY}
    assert order.pace.mean == pytest.approx(dog.pace, abs=0.15)
    written = Dog(np.random.default_rng(1), set(), made=True)
    assert order.pace.final == pytest.approx(written.state().pace.final, abs=0.05)


def test_a_visit_that_was_not_made_is_not_missed() -> None:
    assert Dog(np.random.default_rng(1), {5}, made=False).state().forgotten == ()
    assert Dog(np.random.default_rng(1), set(), made=True).state().forgotten == ()


def test_one_wrong_length_is_no_visit() -> None:
    dog = Dog(np.random.default_rng(1), {5}, made=False)
    dog.history["visits"][5]["seen"]["back"]["longest_mm"] = 3
    state = dog.state()
    assert state.forgotten == ()
    assert len(state.pace.outliers) == 1


def test_what_may_be_missing_lies_evenly_in_the_long_gaps() -> None:
    assert [visit.day for visit in may_be_missing([0, 20, 40, 80, 100])] == [60]
    assert [visit.day for visit in may_be_missing([0, 20, 40, 100, 120])] == [60, 80]
    assert may_be_missing([0, 20, 40, 70, 90]) == []  # just one and a half intervals
    assert may_be_missing([0, 20, 80]) == []  # nobody knows what is usual
    assert [visit.day for visit in may_be_missing([*range(0, 100, 10), 290])] == [260, 270, 280]


@pytest.mark.slow
def test_half_of_the_forgotten_visits_are_found_at_a_false_alarm_in_fifty() -> None:
    """And what is said of such a dog's pace and final length is worth more than knowing its kind alone."""
    found = dict.fromkeys((True, False), 0.0)
    guesses: list[tuple[Guess, Guess]] = []
    for made in found:
        missed = called = 0
        for seed in range(25):
            rng = np.random.default_rng([15, seed])
            missing = {n for n in range(1, VISITS - 1) if rng.random() < 0.2}
            dog = Dog(rng, missing, made=made)
            state = dog.state()
            called += len(state.forgotten)
            missed += len(missing)
            if made:
                pace, final = state.pace.posterior.pace, state.pace.posterior.final
                guesses.append(
                    (
                        Guess(pace.quantile(0.1), pace.quantile(0.9), dog.pace, 1.0, 0.15),
                        Guess(final.quantile(0.1), final.quantile(0.9), dog.final, 0.0, 0.25),
                    )
                )
        found[made] = called / missed
    assert found[True] >= 0.4  # of the 197 of 120 dogs 0.64
    assert found[False] <= 0.02
    for of_one in zip(*guesses, strict=True):
        assert np.mean([one.held for one in of_one]) >= 0.6
        assert np.mean([one.score for one in of_one]) < np.mean([one.score_of_prior for one in of_one])
