"""The one object that other people's software holds: every method once, as a program of its own would."""

from __future__ import annotations

import pickle
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from datetime import date, datetime
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


def ordered(answer: WorkOrder | InputError) -> WorkOrder:
    assert isinstance(answer, WorkOrder)
    return answer


def engine(**more: Any) -> Engine:
    return Engine(shelves=[{"mine": MINE, "ours": OURS}], **more)


def test_work_against_the_floor_is_asked_back() -> None:
    one = engine()
    visit: dict[str, Any] = {"visit": DAY.isoformat(), "work": {"perineum": {"pull": 0.2}}}
    for anyway in (False, True):
        with pytest.raises(InputError) as refused:
            one.with_visit(DOG, visit, anyway=anyway)
        assert {problem.code for problem in refused.value.problems} <= {"against-floor", "anyway-without-note"}
    written = one.with_visit(DOG, {**visit, "note": "The owner had done it."}, anyway=True)
    assert [problem.code for problem in one.order(written, date=DAY).findings].count("recorded-against-floor") == 1
    with pytest.raises(InputError, match="only ever cut"):
        one.corrected_visit(written, visit)
    mended = one.corrected_visit(written, {"visit": DAY.isoformat(), "work": {"perineum": {"clip": 3}}})
    assert "recorded-against-floor" not in {problem.code for problem in one.order(mended, date=DAY).findings}


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


SALON: dict[str, Any] = {
    "format": 1,
    "closed_weekdays": ["saturday", "sunday", "monday"],
    "minutes": 70,
    "dogs": {"tip": {"weekday": "thursday", "minutes": 40}},
}


def test_a_salons_days_hold_for_every_answer() -> None:
    one = engine(salon=SALON, minutes=50)
    order = one.order(DOG, date=DAY)
    assert order.minutes_available == 40
    assert order.next_visit.open is not None
    assert order.next_visit.open.weekday() == 3
    other = {**DOG, "dog": {**DOG["dog"], "id": "other"}}
    assert one.order(other, date=DAY).minutes_available == 70
    assert one.order(DOG, date=DAY, minutes=30).minutes_available == 30
    due = one.due(DOG, date=date(2026, 3, 1))
    assert (due.day, due.day.weekday(), due.order.minutes_available) == (due.visit.open, 3, 40)
    assert one.explain(DOG, "back", date=DAY).order.minutes_available == 40
    for again in (pickle.loads(pickle.dumps(one)), one.with_locale("en-GB")):
        assert again.order(DOG, date=DAY) == order
    assert list(one.orders([DOG, other], date=DAY)) == [order, one.order(other, date=DAY)]
    assert [ordered(answer).minutes_available for answer in one.orders([DOG, other], date=DAY, minutes=30)] == [30, 30]


def test_minutes_of_the_engine_hold_where_the_salon_says_none() -> None:
    days_only = {"format": 1, "closed_weekdays": ["sunday"]}
    one = engine(salon=days_only, minutes=50)
    answer = ordered(*one.orders([DOG], date=DAY))
    assert {one.order(DOG, date=DAY).minutes_available, one.due(DOG, date=DAY).order.minutes_available} == {50}
    assert answer.minutes_available == 50
    # They were left out of what is due.
    assert engine(minutes=50).due(DOG, date=DAY).order.minutes_available == 50
    assert engine().order(DOG, date=DAY).next_visit.open is None


@pytest.mark.parametrize(
    ("settings", "code", "path"),
    [
        ({"salon": {"format": 1, "closed_weekdays": [1]}}, "schema-enum", ("closed_weekdays", 0)),
        ({"salon": {"closed_days": ["2026-03-21"]}}, "schema-missing-key", ()),
        ({"salon": 3}, "schema-type", ()),
        ({"minutes": "30"}, "minutes-not-a-number", ()),
        ({"minutes": 0}, "minutes", ()),
        ({"minutes": 10**400}, "minutes", ()),
        # Its letters were taken for folders, and nothing was found.
        ({"shelves": "profiles"}, "shelves-no-list", ()),
        ({"shelves": {"mine": MINE}}, "shelves-no-list", ()),
        ({"shelves": ["no/such/folder"]}, "no-folder", ()),
    ],
)
def test_settings_that_cannot_be_used_are_refused_at_once(settings: Any, code: str, path: tuple[Any, ...]) -> None:
    with pytest.raises(InputError) as refused:
        Engine(**settings)
    assert [(problem.code, problem.path) for problem in refused.value.problems] == [(code, path)]
    assert refused.value.problems[0].hint


@pytest.mark.parametrize("value", [date.max, date.min, date(2200, 1, 1), datetime(2026, 3, 21, 9), "2026-03-21", None])
def test_a_day_that_is_none_is_refused_by_every_method(value: Any) -> None:
    # What is due, withdrawing and the calendar raised ValueError, TypeError and AttributeError.
    one = engine()
    asked: list[Callable[[], object]] = [
        lambda: one.order(DOG, date=value),
        lambda: list(one.orders([DOG], date=value)),
        lambda: one.due(DOG, date=value),
        lambda: one.explain(DOG, "back", date=value),
        lambda: one.plan(DOG, date=value, visits=1),
        lambda: one.intervals(DOG, date=value),
        lambda: one.staged_strip(DOG, date=value, show=date(2026, 9, 1), profile="lakeland-terrier-staged"),
        lambda: one.staged_strip(DOG, date=DAY, show=value, profile="lakeland-terrier-staged"),
        lambda: one.withdraw_visit(DOG, value),
        lambda: one.calendar([one.order(DOG, date=DAY)], date=value),
    ]
    for ask in asked:
        with pytest.raises(InputError) as refused:
            ask()
        assert {problem.code for problem in refused.value.problems} <= {"date", "date-out-of-range"}


@pytest.mark.parametrize("nonsense", [3, None, [], "x"])
def test_what_is_no_visit_no_profile_and_no_history_is_refused(nonsense: Any) -> None:
    # A correction and a profile raised TypeError.
    one = Engine(shelves=[{"odd": nonsense}, lambda name: nonsense if name == "odder" else None])
    asked: list[Callable[[], object]] = [
        lambda: engine().with_visit(DOG, nonsense),
        lambda: engine().corrected_visit(DOG, nonsense),
        lambda: one.profile(nonsense),
        lambda: one.profile("odd"),
        lambda: one.profile("odder"),
        lambda: one.profile({**MINE, "extends": "odd"}),
        lambda: one.history(nonsense),
    ]
    for ask in asked:
        with pytest.raises(InputError):
            ask()
    assert one.check(nonsense)


def test_a_check_that_finds_nothing_says_nothing() -> None:
    assert engine().text([]) == ""


def test_what_no_calendar_shows_is_refused() -> None:
    # It was left out, and the calendar came empty.
    nonsense: Any = [engine().order(DOG, date=DAY).to_dict()]
    with pytest.raises(TypeError, match="no calendar shows dict"):
        engine().calendar(nonsense, date=DAY)
