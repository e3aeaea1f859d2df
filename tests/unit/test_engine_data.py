"""Every result as plain data: ready for JSON, by its schema, and back to an equal value where an embedder stores it."""

from __future__ import annotations

import json
from datetime import date
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from coatrules import Engine, InputError, load_history
from coatrules.dog.history import History, Visit
from coatrules.formats.resources import schema
from tests.support.paths import EXAMPLES
from tests.support.strategies import START, histories, profiles

ENGINE = Engine()
DAY = date(2026, 3, 21)
PIP = load_history(EXAMPLES / "salon" / "pip.yaml")


def valid(name: str, value: Any) -> Any:
    """The value's plain data, through JSON and held to its schema."""
    data = json.loads(json.dumps(ENGINE.data(value)))
    found = Draft202012Validator(schema(name), format_checker=Draft202012Validator.FORMAT_CHECKER).iter_errors(data)
    assert [(list(error.absolute_path), error.message) for error in found] == []
    return data


@settings(max_examples=25, deadline=None)
@given(profiles(), histories(), st.integers(0, 500))
def test_results_are_as_their_schemas_say(profile: dict[str, Any], history: dict[str, Any], days: int) -> None:
    day = date.fromordinal(START.toordinal() + days)
    valid("work-order", ENGINE.order(history, profile=profile, date=day))
    valid("due", ENGINE.due(history, profile=profile, date=day))
    data = valid("explanation", ENGINE.explain(history, "back", profile=profile, date=day))
    assert {rule["rule"] for rule in data["rules"]} | set(data["elsewhere"]) == profile["rules"].keys()
    assert all(rule["fired"] is not bool(rule["misses"]) for rule in data["rules"])


@given(histories())
def test_a_history_and_its_visits_go_round(data: dict[str, Any]) -> None:
    history = History.from_dict(data)
    again = History.from_dict(json.loads(json.dumps(history.to_dict())))
    assert again == history
    assert ENGINE.data(history) == history.to_dict()
    assert tuple(Visit.from_dict(json.loads(json.dumps(visit.to_dict()))) for visit in history.visits) == history.visits


def test_what_is_no_visit_is_refused_with_its_path() -> None:
    with pytest.raises(InputError) as refused:
        Visit.from_dict({"visit": "2026-03-21", "work": {"back": {"pull": 2}}})
    assert [problem.path for problem in refused.value.problems] == [("visits", 0, "work", "back", "pull")]


@pytest.mark.parametrize("name", ENGINE.ids())
def test_a_profile_goes_round(name: str) -> None:
    profile = ENGINE.profile(name)
    data = json.loads(json.dumps(ENGINE.data(profile)))
    data.pop("extends", None)  # what it extends is in it already
    again = ENGINE.profile(data)
    assert (again.rules, again.methods, again.coats, again.regions) == (
        profile.rules,
        profile.methods,
        profile.coats,
        profile.regions,
    )


def test_plans_and_problems_are_as_their_schemas_say() -> None:
    for plan in (
        ENGINE.plan(PIP, date=DAY, visits=3),
        ENGINE.intervals(PIP, date=DAY),
        ENGINE.staged_strip(PIP, date=DAY, show=date(2026, 9, 1), profile="lakeland-terrier-staged"),
    ):
        valid("plan", plan)
    with pytest.raises(InputError) as refused:
        ENGINE.order({"format": 1, "dog": {"id": "x", "nam": "y"}, "visits": 3}, date=DAY)
    assert len(valid("problems", refused.value)["problems"]) == 2
    findings = ENGINE.check({"format": 1, "id": "mine", "label": "Mine", "extends": "griffon-bruxellois-rough"})
    assert all(problem["code"] for problem in valid("problems", {"format": 1, "findings": findings})["findings"])


def test_the_rest_is_ready_for_json() -> None:
    mapping = yaml.safe_load((EXAMPLES / "import" / "mapping.yaml").read_text(encoding="utf-8"))
    imported = ENGINE.import_sheet((EXAMPLES / "import" / "old-book.csv").read_bytes(), mapping)
    assert imported.histories
    compared = ENGINE.compare("griffon-bruxellois-rough", "points-of-the-dog")
    for result in (imported, compared, ENGINE.rehearse("silky-jacket")[:1]):
        assert json.loads(json.dumps(ENGINE.data(result))) == ENGINE.data(result)
