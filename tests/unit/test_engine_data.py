"""Every result as plain data: ready for JSON, by its schema, and back to an equal value where an embedder stores it."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from typing import Any

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from coatrules import (
    Compared,
    Due,
    Engine,
    Explanation,
    Imported,
    InputError,
    Intervals,
    Occasion,
    Plan,
    Problem,
    Profile,
    ProfileComparison,
    Rehearsal,
    Run,
    Salon,
    StagedStrip,
    WorkOrder,
    load_history,
)
from coatrules.dog.history import History, Visit
from coatrules.formats.resources import schema
from coatrules.mentor.comparison import changes, compare
from coatrules.mentor.rehearsal import actors, rehearsal, rehearse
from coatrules.profile.loading import merged_profile
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
    assert [problem.path for problem in refused.value.problems] == [("work", "back", "pull")]


@pytest.mark.parametrize("name", ENGINE.ids())
def test_a_profile_goes_round(name: str) -> None:
    profile = ENGINE.profile(name)
    data = json.loads(json.dumps(ENGINE.data(profile)))
    again = Profile.from_dict(data)
    assert again == profile  # in its regime, and in each of those that it can be in
    assert again.sha256 == profile.sha256
    assert again.to_dict() == data
    assert Engine(shelves=[{name: data}]).profile(name) == profile


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


def test_problems_go_round() -> None:
    # There was no way back.
    with pytest.raises(InputError) as refused:
        ENGINE.order({"format": 1, "dog": {"id": "x", "nam": "y"}, "visits": 3}, date=DAY)
    stored = json.loads(json.dumps(refused.value.to_dict()))
    assert InputError.from_dict(stored).problems == refused.value.problems
    case = {"format": 2, "id": "mine", "label": "Mine", "extends": "no-such", "visit": {"minutes": -1}}
    for problem in ENGINE.check(case) + ENGINE.check("silky-jacket"):
        assert str(Problem.from_dict(json.loads(json.dumps(problem.to_dict())))) == str(problem)
    with pytest.raises(InputError):
        InputError.from_dict({"problems": 3})
    with pytest.raises(InputError):
        Problem.from_dict({**refused.value.problems[0].to_dict(), "severity": "dreadful"})


def test_a_problem_of_another_version_keeps_its_words() -> None:
    stored = {"code": "of-tomorrow", "severity": "note", "message": "It rains.", "hint": "Wait.", "path": [], "line": 0}
    problem = Problem.from_dict(stored)
    assert (problem.message, problem.hint, problem.params["code"]) == ("It rains.", "Wait.", "of-tomorrow")


def test_a_salon_goes_round() -> None:
    salon = Salon.from_dict(
        {
            "format": 1,
            "closed_weekdays": ["monday"],
            "closed_days": ["2026-12-25"],
            "dogs": {"pip": {"minutes": 60, "x-groomer": [{"name": "K."}]}},
            "x-tenant": 7,
        }
    )
    assert (salon.extras["x-tenant"], salon.dogs["pip"].extras["x-groomer"][0]["name"]) == (7, "K.")
    assert salon.to_dict()["dogs"]["pip"] == {"minutes": 60, "x-groomer": [{"name": "K."}]}
    assert Salon.from_dict(json.loads(json.dumps(salon.to_dict()))) == salon


def goes_round(name: str, value: Any) -> Any:
    """The value's plain data are as their schema says, and the value made of them gives the same."""
    data = valid(name, value)
    again = type(value).from_dict(data)
    assert type(again) is type(value)
    assert ENGINE.data(again) == data == ENGINE.data(value)
    return again


@settings(max_examples=6, deadline=None)
@given(profiles(), histories(), st.integers(0, 500))
def test_results_go_round(profile: dict[str, Any], history: dict[str, Any], days: int) -> None:
    day = date.fromordinal(START.toordinal() + days)
    engine = Engine(salon={"format": 1, "closed_weekdays": ["sunday"]}, shelves=[{"mine": profile}])
    order = goes_round("work-order", engine.order(history, profile="mine", date=day))
    assert order.next_visit.open is not None  # it was lost on the way back
    goes_round("due", engine.due(history, profile="mine", date=day))
    explained = goes_round("explanation", engine.explain(history, "back", profile="mine", date=day)).to_dict()
    assert {rule["rule"] for rule in explained["rules"]} | set(explained["elsewhere"]) == profile["rules"].keys()
    assert all(rule["fired"] is not bool(rule["misses"]) for rule in explained["rules"])
    occasion = Occasion("a case", History.from_dict(history), day, 60.0)
    changed = {**profile, "visit": {**profile["visit"], "minutes": 45}}
    merged = [merged_profile(version) for version in (profile, changed)]
    (compared,) = compare(merged[0], merged[1], [occasion], changes(merged[0], merged[1]))
    assert goes_round("comparison", compared) == compared


def test_plans_go_round() -> None:
    for plan in (
        ENGINE.plan(PIP, date=DAY, visits=3),
        ENGINE.plan(PIP, date=DAY, visits=3, show=date(2026, 6, 1), profile="wire-fox-terrier-show"),
        ENGINE.intervals(PIP, date=DAY),
        ENGINE.staged_strip(PIP, date=DAY, show=date(2026, 9, 1), profile="lakeland-terrier-staged"),
    ):
        again = goes_round("plan", plan)
        words = [re.sub(r"[\d½]+", "#", ENGINE.text(one)) for one in (again, plan)]  # but for what four places round
        assert words[0] == words[1]


def test_what_a_mentor_and_a_sheet_get_goes_round() -> None:
    mapping = yaml.safe_load((EXAMPLES / "import" / "mapping.yaml").read_text(encoding="utf-8"))
    sheet = (EXAMPLES / "import" / "old-book.csv").read_bytes()
    imported = ENGINE.import_sheet(sheet + b"\nPip;2026-13-45;body;20 %;;\n", mapping)
    assert imported.histories
    assert imported.problems
    goes_round("imported", imported)
    house = {"format": 2, "id": "house", "label": "House", "extends": "silky-jacket", "visit": {"minutes": 45}}
    old, new = merged_profile("silky-jacket"), merged_profile(house)
    different = changes(old, new)
    found = compare(old, new, [Occasion("pip", PIP, DAY)], different)
    assert found[0].differences
    for compared in found:
        assert goes_round("comparison", compared) == compared
    goes_round("comparison", ProfileComparison(tuple(different), tuple(found)))
    whole = ENGINE.compare("silky-jacket", house, dogs=[PIP], date=DAY)
    assert goes_round("comparison", whole) == whole
    assert ENGINE.text(ProfileComparison.from_dict(whole.to_dict())) == ENGINE.text(whole)
    profile = ENGINE.profile("silky-jacket")
    run = rehearse(profile, actors(profile)[0])
    goes_round("rehearsal", run)
    rehearsed = rehearsal(profile, [run])
    again = goes_round("rehearsal", rehearsed)
    assert ENGINE.text(again) == ENGINE.text(rehearsed)


@pytest.mark.parametrize(
    "kind",
    [
        *(
            Compared,
            Due,
            Explanation,
            History,
            Imported,
            Intervals,
            Plan,
            Problem,
            Profile,
            ProfileComparison,
            Rehearsal,
        ),
        *(Run, StagedStrip, Visit, WorkOrder),
    ],
)
def test_what_is_no_result_is_refused(kind: Any) -> None:
    nonsense: Any
    for nonsense in (3, None, [], {}, {"format": 1}, {"format": 1, "order": 3, "actor": {}, "visits": "x", "dog": []}):
        with pytest.raises(InputError) as refused:
            kind.from_dict(nonsense)
        assert refused.value.problems


def test_a_result_of_another_format_is_refused_at_its_number() -> None:
    # A later format may give a key another meaning: reading it as this one would be wrong without a word.
    order = ENGINE.order({"format": 1, "dog": {"id": "tip", "profile": "welsh-terrier"}}, date=date(2026, 3, 21))
    due = ENGINE.due({"format": 1, "dog": {"id": "tip", "profile": "welsh-terrier"}}, date=date(2026, 3, 21))
    result: WorkOrder | Due
    for result in (order, due):
        for number in (2, "1", None):
            with pytest.raises(InputError) as refused:
                type(result).from_dict({**result.to_dict(), "format": number})
            assert [(one.code, one.path) for one in refused.value.problems] == [("schema-const", ("format",))]


def test_what_is_done_with_a_merged_profile_leaves_the_others_alone() -> None:
    # What others build on is read once and kept: what is handed out must be nobody else's.
    before = Engine().merged("welsh-terrier")
    merged = Engine().merged("welsh-terrier")
    merged["coats"].clear()
    for members in merged["groups"].values():
        members.clear()
    assert Engine().merged("welsh-terrier") == before


def test_what_became_of_many_regions_alike_is_said_once() -> None:
    less = {"format": 2, "id": "house", "label": "House", "extends": "welsh-terrier"}
    less |= {"layer_targets": {"jacket": {"take": {"usual": 0.15}}}}
    days = [(date(2026, 1, 5) + timedelta(weeks=2 * visit)).isoformat() for visit in range(5)]
    visits = [{"visit": day, "work": {"jacket": {"card": True, "pull": 0.2}}} for day in days]
    rolled = {"format": 1, "dog": {"id": "pip"}, "visits": visits}
    whole = goes_round("comparison", ENGINE.compare("welsh-terrier", less, dogs=[rolled], date=date(2026, 3, 16)))
    data = ENGINE.data(whole)
    told = [one for compared in data["orders"] for one in compared["differences"]]
    texts = [one["text"] for one in data["sentences"]]
    assert [(one["old"], one["new"]) for one in told] == [(texts[one["was"]], texts[one["became"]]) for one in told]
    assert len({json.dumps(one) for one in data["sentences"]}) == len(texts) < 2 * len(told)
