"""Worked cases whose steps nobody asks for are worked out of turn: all that a case can expect is the same, at half the cost."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import coatrules.check.cases
from coatrules.check import findings
from coatrules.check.cases import occasion, outcome_facts
from coatrules.dog.loading import load_history
from coatrules.order.engine import order
from coatrules.order.work_order import WorkOrder
from coatrules.profile.compiled import compile_profile
from coatrules.profile.loading import load_profile
from coatrules.profile.shelves import library
from tests.support.strategies import START, histories, profiles


def expectable(result: WorkOrder) -> tuple[object, ...]:
    """All that a case can expect, but for the turn in which regions are worked."""
    facts = {region: outcome_facts(result, region) for region in result.labels}
    return facts, result.fired, result.refer, result.next_visit, result.deferred, result.minutes_planned


@settings(max_examples=15)
@given(profiles(), histories(), st.integers(0, 600), st.sampled_from([None, 15, 45, 240]))
def test_out_of_turn_all_else_is_the_same(raw: Any, history: Any, days: int, minutes: float | None) -> None:
    asked = compile_profile(load_profile(raw)), load_history(history), START + timedelta(days=days), minutes
    assert expectable(order(*asked, in_turn=False)) == expectable(order(*asked))


@pytest.mark.slow
def test_out_of_turn_all_else_is_the_same_in_shipped_cases() -> None:
    for name in sorted(library())[::4]:
        for case in (profile := load_profile(name)).cases.values():
            asked = *occasion(profile, case), case.date, case.minutes
            assert expectable(order(*asked, in_turn=False)) == expectable(order(*asked)), name


def test_the_same_is_found_in_turn_and_out_of_turn(monkeypatch: pytest.MonkeyPatch) -> None:
    """Also of cases that do not come out: each number that a case expects is changed."""
    profile = load_profile("welsh-terrier")
    data = {
        "format": 2,
        "id": "mine",
        "label": "Mine",
        "extends": "welsh-terrier",
        "layer_targets": {"jacket": {"take": {"usual": 0.19}}},
        "cases": {
            name: {
                "history": dict(case.history),
                "date": case.date.isoformat(),
                "expect": {
                    "regions": {"back": {"share": 0.9, "minutes_planned": 1, "outcome": "left-alone"}},
                    "steps": list(case.expect.steps[::-1]),
                    "next_visit": {"best": case.date.isoformat()},
                },
            }
            for name, case in profile.cases.items()
        },
    }
    mine = load_profile(data)
    quick = findings(mine)
    monkeypatch.setattr(coatrules.check.cases, "order", lambda *asked, in_turn: order(*asked))
    assert findings(mine) == quick
    assert [one.code for one in quick].count("case-unmet") >= 3 * len(mine.cases)
