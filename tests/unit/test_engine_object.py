"""The one object that other people's software holds: every method once, as a program of its own would."""

from __future__ import annotations

import pickle
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from typing import Any

import pytest

from coatrules import Engine, InputError, Problem, WorkOrder, load_profile, work_orders
from coatrules.dog.history import History

DAY = date(2026, 3, 21)
DOG: dict[str, Any] = {
    "format": 1,
    "dog": {"id": "tip", "profile": "mine"},
    "visits": [{"visit": "2026-02-21", "work": {"jacket": {"card": True, "pull": 0.2}}}],
}
MINE: dict[str, Any] = {"format": 1, "id": "mine", "label": "Mine", "extends": "ours"}
OURS: dict[str, Any] = {"format": 1, "id": "ours", "label": "Ours", "extends": "griffon-bruxellois-rough"}


def engine(**more: Any) -> Engine:
    return Engine(shelves=[{"mine": MINE, "ours": OURS}], **more)


def test_a_profile_may_have_its_parent_in_a_database() -> None:
    rows: Mapping[str, dict[str, Any]] = {"mine": MINE, "ours": OURS}
    by_function = Engine(shelves=[rows.get])
    assert by_function.profile("mine") == engine().profile("mine")
    assert by_function.profile("mine").label == "Mine"
    with pytest.raises(InputError, match="not-there"):
        by_function.profile("not-there")


def test_profiles_can_be_listed_and_are_read_once() -> None:
    one = engine()
    assert {"mine", "ours", "griffon-bruxellois-rough"} <= set(one.ids())
    assert one.profile("mine") is one.profile("mine")


def test_an_order_goes_round(tmp_path: object) -> None:
    one = engine(minutes=60)
    order = one.order(DOG, date=DAY)
    assert order.minutes_available == 60
    assert one.data(order)["dog"]["id"] == "tip"
    after = one.with_visit(DOG, {"visit": DAY.isoformat(), **one.as_planned(order)})
    assert isinstance(after, History)
    assert len(after.visits) == 2
    assert one.history(one.data(after)) == after
    with pytest.raises(InputError, match="already"):
        one.with_visit(after, {"visit": DAY.isoformat(), **one.as_planned(order)})


def test_many_dogs_on_threads() -> None:
    one = engine()
    dogs = [{**DOG, "dog": {**DOG["dog"], "id": f"dog-{number}"}} for number in range(5)]
    broken = {"format": 1, "dog": {"id": "x", "profile": "none-such"}}
    with ThreadPoolExecutor(2) as threads:
        results = list(one.orders([*dogs, broken], date=DAY, executor=threads))
    assert [type(result) for result in results] == [WorkOrder] * 5 + [InputError]
    assert results[0] == one.order(dogs[0], date=DAY)


def test_many_dogs_by_the_id_of_one_profile() -> None:
    # It raised TypeError.
    (by_id,) = work_orders([DOG], "griffon-bruxellois-rough", date=DAY)
    (by_profile,) = work_orders([DOG], load_profile("griffon-bruxellois-rough"), date=DAY)
    assert by_id == by_profile
    with pytest.raises(InputError, match="no-such"):
        next(iter(work_orders([DOG], "no-such", date=DAY)))


def test_it_goes_to_another_process_with_the_profiles_it_has_read() -> None:
    one = engine()
    before = one.profile("mine")
    again: Engine = pickle.loads(pickle.dumps(one))
    assert again.profile("mine") == before
    assert again.order(DOG, date=DAY) == one.order(DOG, date=DAY)


def test_what_it_says_it_says_in_its_language() -> None:
    with pytest.raises(InputError, match="no catalogue of the language 'xx'") as refused:
        engine(locale="xx")
    assert refused.value.problems[0].params["locale"] == "xx"
    assert engine(locale="en-GB").text(engine().order(DOG, date=DAY))


def test_another_language_shares_the_profiles_that_are_read() -> None:
    engine = Engine(minutes=45)
    read = engine.profile("border-terrier")
    other = engine.with_locale("en")
    assert other is not engine
    assert other.profile("border-terrier") is read
    assert (other.locale, other.minutes) == ("en", 45)
    with pytest.raises(InputError):
        engine.with_locale("xx")


def test_the_rest_of_the_product() -> None:
    one = engine()
    assert one.due(DOG, date=DAY).day >= DAY
    assert one.explain(DOG, "back", date=DAY).region == "back"
    assert "Back" in one.text(one.explain(DOG, "back", date=DAY))
    problems = one.check({**MINE, "regions": {"backk": {"label": "x", "coat": "nope"}}})
    assert all(isinstance(problem, Problem) for problem in problems)
    assert {problem["code"] for problem in one.data(problems)} == {problem.code for problem in problems}
    assert one.compare("ours", "mine") is not None
    assert "<html" in one.page(one.order(DOG, date=DAY))
    assert one.picture(one.order(DOG, date=DAY)).startswith(b"<?xml")
    assert "BEGIN:VCALENDAR" in one.calendar([one.order(DOG, date=DAY), one.due(DOG, date=DAY)], date=DAY)


def test_plans() -> None:
    one = engine()
    plan = one.plan(DOG, date=DAY, visits=3)
    assert len(plan.visits) == 3
    assert one.data(plan)["kind"] == "visits"
    assert one.text(plan)
    assert one.intervals(DOG, date=DAY).intervals


def test_a_dog_without_a_profile_is_told() -> None:
    nameless = {"format": 1, "dog": {"id": "tip"}}
    with pytest.raises(InputError, match="names no profile"):
        engine().order(nameless, date=DAY)
    assert engine().order(nameless, date=DAY, profile="mine").profile_id == "mine"
