"""Layer targets that hold for some dogs only, or at some time of the year."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from coatrules import Engine, load_profile, work_order
from coatrules.check import findings
from coatrules.problems import InputError
from coatrules.profile.targets import TARGET_FACTS
from tests.support.small import profile

NAMES = ("back", "loin", "tail")
USUAL = {"regions": ["body"], "layers": 2, "take": {"usual": 0.3, "at_most": 0.3}}
SUMMER = {"regions": ["body"], "layers": 1, "take": {"usual": 0.5, "at_most": 0.5}, "if": {"time_of_year": "summer"}}


def made(**targets: Any) -> dict[str, Any]:
    return profile(
        minutes=100,
        groups={"body": ["back", "loin"]},
        regions={name: {"label": name, "coat": "jacket", "minutes": {"pull": 10}, "anatomy": "none"} for name in NAMES},
        layer_targets={"all": {**USUAL, "regions": ["body", "tail"]}, "body": USUAL, **targets},
    )


def shares(source: dict[str, Any], day: str, **dog: Any) -> dict[str, float | None]:
    order = work_order(source, {"format": 1, "dog": {"id": "pip", **dog}}, date=date.fromisoformat(day))
    return {str(step.region): step.share for step in order.steps if step.task == "pull"}


def test_a_target_holds_at_its_time_of_the_year_and_the_usual_one_at_others() -> None:
    source = made(summer=SUMMER)
    assert shares(source, "2026-03-21") == dict.fromkeys(NAMES, 0.3)
    assert shares(source, "2026-07-21") == {"back": 0.5, "loin": 0.5, "tail": 0.3}
    assert shares(source, "2026-07-21", hemisphere="southern") == dict.fromkeys(NAMES, 0.3)


@pytest.mark.parametrize(
    ("condition", "right", "wrong"),
    [
        ({"sex": "female"}, {"sex": "female"}, {"sex": "male"}),
        ({"neutered": True}, {"neutered": "2026-01-01"}, {"neutered": "2026-12-01"}),
        ({"age_weeks": {"maximum": 60}}, {"born": "2025-09-21"}, {"born": "2021-09-21"}),
        ({"coat_type": {"enum": ["broken", "rough"]}}, {"coat_type": "broken"}, {"coat_type": "smooth"}),
        ({"size": "miniature"}, {"size": "miniature"}, {}),
        ({"colour": {"not": "white"}}, {"colour": "grizzle"}, {"colour": "white"}),
    ],
)
def test_a_target_holds_for_the_dogs_it_is_for(condition: Any, right: Any, wrong: Any) -> None:
    source = made(special={**SUMMER, "if": condition})
    assert shares(source, "2026-07-21", **right)["back"] == 0.5
    assert shares(source, "2026-07-21", **wrong)["back"] == 0.3


def test_of_targets_that_hold_the_smaller_goes_first_as_ever() -> None:
    all_year = {**SUMMER, "regions": ["body", "tail"], "if": {"month": {"minimum": 1}}}
    assert shares(made(large=all_year), "2026-07-21") == {"back": 0.3, "loin": 0.3, "tail": 0.5}


def test_a_target_takes_from_one_as_large_only_the_regions_they_share() -> None:
    rear = {**SUMMER, "regions": ["loin", "tail"]}
    assert shares(made(rear=rear), "2026-07-21") == {"back": 0.3, "loin": 0.5, "tail": 0.5}


def test_the_edition_is_that_of_the_whole_profile_whatever_holds() -> None:
    source = load_profile(made(summer=SUMMER))
    histories = [{"format": 1, "dog": {"id": "a"}}, {"format": 1, "dog": {"id": "b", "hemisphere": "southern"}}]
    orders = [work_order(source, history, date=date(2026, 7, 21)) for history in histories]
    assert {order.profile_sha256 for order in orders} == {source.sha256}
    assert source.sha256 != load_profile(made()).sha256


def test_a_book_is_worked_by_the_targets_of_each_dog() -> None:
    engine = Engine(shelves=[{"small": made(summer=SUMMER)}])
    dogs = [
        {"format": 1, "dog": {"id": name, "profile": "small", "hemisphere": name}} for name in ("northern", "southern")
    ]
    summer, winter = engine.orders(dogs, date=date(2026, 7, 21))
    assert not isinstance(summer, InputError)
    assert not isinstance(winter, InputError)
    pulled = [{step.share for step in order.steps if step.region == "back"} for order in (summer, winter)]
    assert pulled == [{0.5}, {0.3}]


@pytest.mark.parametrize("fact", ["cover", "layers", "weeks_since_visit", "groups", "minutes"])
def test_a_target_asks_nothing_of_the_coat(fact: str) -> None:
    assert fact not in TARGET_FACTS
    with pytest.raises(InputError) as refused:
        load_profile(made(summer={**SUMMER, "if": {fact: {}}}))
    assert ("target-fact", fact) in [(problem.code, problem.path[-1]) for problem in refused.value.problems]


def test_a_target_that_holds_at_times_is_checked_and_asked_for_a_case() -> None:
    far = {**SUMMER, "layers": 12}
    case = {"history": {"format": 1, "dog": {"id": "pip"}}, "date": "2026-03-21", "expect": {"steps": ["back"]}}
    source = {**made(summer=far), "cases": {"spring": case}}
    found = {(problem.code, problem.path[1]) for problem in findings(load_profile(source)) if len(problem.path) > 1}
    assert {("target-unreachable", "summer"), ("target-untested", "summer")} <= found
    summer = {**case, "date": "2026-07-21"}
    told = findings(load_profile({**source, "cases": {"spring": case, "summer": summer}}))
    assert ("target-untested", "summer") not in {(problem.code, *problem.path[1:2]) for problem in told}
