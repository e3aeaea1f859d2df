"""Stored orders: what was written out comes back as an order that says, shows and draws the same."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import Engine, InputError, WorkOrder, load_history
from tests.support.paths import EXAMPLES, GOLDEN
from tests.support.strategies import START, histories, profiles

ENGINE = Engine()
DAY = date(2026, 3, 21)
STORED = sorted((GOLDEN / "stored-orders").glob("*.json"))
DOGS = sorted((EXAMPLES / "salon").glob("*.yaml"))


def through_json(data: Any) -> Any:
    return json.loads(json.dumps(data))


def same(order: WorkOrder) -> WorkOrder:
    """The order stored and read again, found to be the same by all that shows it."""
    again = WorkOrder.from_dict(through_json(order.to_dict()))
    assert again.to_dict() == order.to_dict()
    assert str(again) == str(order)
    assert ENGINE.as_planned(again) == through_json(ENGINE.as_planned(order)) | _shares(again)
    assert WorkOrder.from_dict(again.to_dict()) == again
    return again


def _shares(order: WorkOrder) -> dict[str, Any]:
    """Shares are stored to four places."""
    return {key: value for key, value in ENGINE.as_planned(order).items() if key == "work"}


@settings(max_examples=12, deadline=None)
@given(profiles(), histories(), st.integers(0, 500), st.booleans())
def test_an_order_goes_round(profile: dict[str, Any], history: dict[str, Any], days: int, ahead: bool) -> None:
    same(ENGINE.order(history, profile=profile, date=date.fromordinal(START.toordinal() + days), ahead=ahead))


@pytest.mark.parametrize("dog", DOGS, ids=lambda dog: dog.stem)
def test_a_stored_order_prints_and_draws_the_same(dog: Any) -> None:
    pytest.importorskip("matplotlib", reason="the extra 'report' is not installed")
    order = ENGINE.order(load_history(dog), date=DAY, ahead=True)
    again = same(order)
    assert ENGINE.page(again) == ENGINE.page(order)
    assert ENGINE.page(again, audience="owner") == ENGINE.page(order, audience="owner")
    assert ENGINE.calendar([again], date=DAY) == ENGINE.calendar([order], date=DAY)
    if dog == DOGS[0]:  # pictures take seconds
        assert ENGINE.picture(again) == ENGINE.picture(order)
        assert ENGINE.picture(again, fact="cover") == ENGINE.picture(order, fact="cover")


@pytest.mark.parametrize("file", STORED, ids=lambda file: file.stem)
def test_orders_that_were_stored_are_read(file: Any) -> None:
    """Kept as they were written; a later version reads them, whatever it writes itself."""
    pytest.importorskip("matplotlib", reason="the extra 'report' is not installed")
    data = json.loads(file.read_text(encoding="utf-8"))
    order = WorkOrder.from_dict(data)
    assert (order.dog_id, order.date.isoformat()) == (data["dog"]["id"], data["date"])
    assert [(step.region, step.task, step.minutes) for step in order.steps] == [
        (step["region"], step["task"], step["minutes"]) for step in data["steps"]
    ]
    assert [caution.code for caution in order.cautions] == [caution["code"] for caution in data["cautions"]]
    assert str(order)
    assert ENGINE.page(order)


def test_some_orders_are_stored() -> None:
    assert len(STORED) >= 4


def test_a_sentence_of_another_version_keeps_its_words() -> None:
    data = through_json(ENGINE.order(load_history(DOGS[0]), date=DAY).to_dict())
    unknown = {"code": "of-next-year", "params": {"x": 1}, "text": "Mind the step."}
    finding = {**unknown, "severity": "note", "message": "A thing.", "hint": "Do it.", "path": ["dog"], "line": 3}
    data |= {"refer": [unknown], "findings": [finding], "weather": "fine"}
    order = WorkOrder.from_dict(data)
    assert order.to_dict()["refer"] == [{**unknown, "own": True}]
    assert [(found.message, found.hint) for found in order.findings] == [("A thing.", "Do it.")]


def test_what_is_no_order_is_refused_with_its_place() -> None:
    data = through_json(ENGINE.order(load_history(DOGS[0]), date=DAY).to_dict())
    data["minutes"]["planned"] = {}
    data["next_visit"]["best"] = "soon"
    del data["steps"][0]["bout"]
    with pytest.raises(InputError) as refused:
        WorkOrder.from_dict(data)
    assert ("steps", 0) in {problem.path[:2] for problem in refused.value.problems}
    nonsense: Any = 3
    with pytest.raises(InputError):
        WorkOrder.from_dict(nonsense)
