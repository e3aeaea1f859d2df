"""What comes first and what is put off: how late each kind of work is, and what else weighs."""

from __future__ import annotations

import copy
from datetime import date, timedelta
from typing import Any

import pytest

from coatrules import Engine, WorkOrder, load_history, work_order
from tests.support.five_parts import DAY, PROFILE, ROLLED, measured, ordered, visit

TARGET = PROFILE["layer_targets"]["body"] | {"take": {"usual": 0.2, "at_most": 0.2, "low_spot": 0.2}}
APART: dict[str, Any] = {
    "regions": {
        name: {**region, "minutes": {k: v for k, v in region.get("minutes", {}).items() if k != "card"}}
        for name, region in PROFILE["regions"].items()
    },
    "layer_targets": {name: TARGET | {"regions": [name]} for name in ("back", "ribs")},
}
"""Back and ribs each by itself, four minutes that cannot be less: what belongs together is worked evenly, or not at all."""


def test_what_was_put_off_outranks_its_peers_next_time() -> None:
    tight = ordered(*ROLLED, minutes=7, by=APART)
    assert {"ribs", "anus"} == {step.region for step in tight.steps}
    first = "back"
    assert first in tight.deferred
    again = [*ROLLED[:3], {**ROLLED[3], "put_off": [first]}, visit("2026-05-25", put_off=[first])]
    order = ordered(*again, minutes=7, by=APART)
    assert {"back", "anus"} == {step.region for step in order.steps}
    assert next(step for step in order.steps if step.region == first).priority_parts["put_off"] == 20
    worked = ordered(*again, visit("2026-05-30", work={first: {"pull": 0.1}}))
    assert all("put_off" not in step.priority_parts for step in worked.steps if step.region == first)


def test_calendar_work_is_due_when_nearer_to_today_than_to_the_next_visit() -> None:
    # Every 4 weeks, visits every 3: due from two and a half weeks on, which is 17.5 days.
    assert any(step.region == "anus" for step in ordered(visit("2026-05-14", work={"anus": {"clip": 3}})).steps)
    waits = ordered(visit("2026-05-15", work={"anus": {"clip": 3}}))
    assert [reason.text for reason in waits.left_alone["anus"] if reason.rule == "coat.not-due"] == [
        "Nothing is due here for another 11 days."
    ]


def test_a_late_carding_is_late_by_what_the_undercoat_takes() -> None:
    order = ordered(
        visit("2026-04-20", work={"body": {"pull": 0.2, "card": True}}),
        rules={"rest": {"regions": ["back"], "then": {"leave": ["pull"]}}},
    )
    pulled = ordered(*ROLLED[:2], visit("2026-05-04", work={"body": {"pull": 0.2, "card": True}}))
    assert next(step for step in pulled.steps if step.region == "back").priority_parts["overdue"] == 6  # four, of three
    parts = {step.task: step.priority_parts for step in order.steps if step.region == "back"}
    assert parts == {"card": {"base": 40.0, "overdue": 12.0}}  # six weeks, of four: two late, at 6 each


def test_a_part_that_fills_more_than_the_visit_is_not_promised_for_next_time() -> None:
    order = ordered(*ROLLED, minutes=3)
    assert order.deferred["back"].because[0].rule == "coat.never-time"
    assert "give the dog a longer visit" in order.deferred["back"].because[0].text
    assert (order.deferred["back"].tasks, order.deferred["back"].minutes) == (("card", "pull"), 8.5)


@pytest.mark.parametrize(
    ("back", "ribs", "longest_mm", "put_off"),
    [
        (20, 21, 35, "back"),  # 33.6 mm and 35.7: only the ribs are too long
        (22, 21, 35, "ribs"),
        (27, 28, 44, "back"),  # both full grown; blown for one week and for two
        (28, 28, 44, "back"),  # alike: the earlier on the walk waits, for the head, which ends it, shows most
    ],
)
def test_of_equals_the_coat_longest_overgrown_is_worked(back: int, ribs: int, longest_mm: float, put_off: str) -> None:
    profile = copy.deepcopy(PROFILE)
    profile |= copy.deepcopy(APART)
    for target in profile["layer_targets"].values():
        target["longest_mm"] = [15, longest_mm]
    for region in ("back", "ribs"):
        profile["regions"][region]["minutes"]["pull"] = 45  # nine minutes each
    arrival = {"back": {"grown_weeks": back}, "ribs": {"grown_weeks": ribs}}
    order = work_order(profile, {"format": 1, "dog": {"id": "pip"}, "arrival": arrival}, date=DAY, minutes=16)
    assert put_off in order.deferred
    assert {"back", "ribs"} - {put_off} <= {step.region for step in order.steps}


def test_how_late_each_kind_of_work_is() -> None:
    def overdue(*visits: dict[str, Any]) -> dict[str, float]:
        profile = copy.deepcopy(PROFILE)
        profile["routines"] = {
            "comb": {"task": "comb", "regions": ["nose"], "every_weeks": 4, "minutes": 2},
            "tidy": {"task": "scissor", "regions": ["nose"], "every_weeks": 5, "minutes": 2},
        }
        arrival = {"body": {"grown_weeks": 15}}
        history = {"format": 1, "dog": {"id": "pip"}, "arrival": arrival, "visits": list(visits)}
        steps = work_order(profile, history, date=DAY, minutes=180).steps
        return {
            step.region: step.priority_parts.get("overdue", 0)
            for step in steps
            if step.region in ("back", "nose", "anus")
        }

    assert overdue() == {"back": 0, "nose": 0, "anus": 0}
    # Six weeks ago: three later than a pull is due, two than hygiene and the comb, were it only looked at.
    assert overdue(visit("2026-04-20")) == {"back": 18, "nose": 12, "anus": 12}
    assert overdue(*ROLLED)["back"] == 0
    combed = visit("2026-04-20", work={"nose": {"comb": True, "scissor": True}})
    assert overdue(combed)["nose"] == 12  # the comb is two weeks late, the scissors one
    # Six weeks ago the comb is two late; the scissors of four weeks ago come a week early, and are not late.
    apart = overdue(
        visit("2026-04-20", work={"nose": {"comb": True}}), visit("2026-05-04", work={"nose": {"scissor": True}})
    )
    assert apart["nose"] == 12


def test_hygiene_that_was_never_recorded_is_not_put_off_for_ever() -> None:
    """An hour of a Giant's three: at each of the first visits something else was dearer than what had never been clipped."""
    engine, history = Engine(), load_history({"format": 1, "dog": {"id": "tip", "profile": "giant-schnauzer"}})
    clipped = set()
    for day in (date(2026, 1, 5) + timedelta(weeks=3 * n) for n in range(6)):
        order = engine.order(history, date=day, minutes=60)
        clipped |= {step.region for step in order.steps if step.task == "clip"}
        history = engine.with_visit(history, {"visit": day.isoformat(), **engine.as_planned(order)})
    assert {"perineum", "genitals", "eyelid-rims", "lip-edges", "armpits", "groin"} <= clipped


def test_what_is_combed_where_only_the_clipper_may_go_is_late_by_its_own_interval() -> None:
    profile = copy.deepcopy(PROFILE)
    profile["routines"] = {"comb": {"task": "comb", "regions": ["anus"], "every_weeks": 2, "minutes": 2}}
    visits = [visit("2026-05-04", work={"anus": {"comb": True}}), visit("2026-05-18", work={"anus": {"clip": 3}})]
    order = work_order(profile, {"format": 1, "dog": {"id": "pip"}, "visits": visits}, date=DAY)
    step = next(step for step in order.steps if step.region == "anus")
    assert (step.task, step.priority_parts) == ("comb", {"base": 30.0, "overdue": 12.0})  # four weeks, of two


def test_what_is_clipped_by_the_calendar_alone_is_late_by_the_calendar() -> None:
    profile = copy.deepcopy(PROFILE)
    profile["routines"] = {"clip": {"task": "clip", "regions": ["nose"], "every_weeks": 3, "minutes": 2}}
    visits = [visit("2026-05-04", work={"nose": {"clip": 3}})]
    order = work_order(profile, {"format": 1, "dog": {"id": "pip"}, "visits": visits}, date=DAY)
    step = next(step for step in order.steps if step.region == "nose")
    assert (step.task, step.priority_parts) == ("clip", {"base": 60.0, "overdue": 6.0})  # four weeks, of three


def test_the_parts_of_a_priority_and_its_limits() -> None:
    def step(order: WorkOrder, region: str) -> tuple[float, dict[str, float]]:
        return next((step.priority, dict(step.priority_parts)) for step in order.steps if step.region == region)

    high = ordered(rules={"first": {"regions": ["anus"], "then": {"priority": 100}}})
    assert step(high, "anus") == (100, {"base": 60.0, "rules": 100.0})
    waited = ordered(*[visit(f"2026-05-{day}", put_off=["anus"]) for day in (11, 12, 13, 14)])
    assert step(waited, "anus") == (90, {"base": 60.0, "put_off": 30.0})  # ten for each time, thirty at most


def test_hair_too_long_on_a_slow_dog_has_been_so_for_longer() -> None:
    state, facts, verdicts = measured("2026-02-23", back=9)
    longest, pace = facts["back"]["longest_mm"], state.pace.of("back")
    assert isinstance(longest, float)
    assert 35 < longest < 45
    assert verdicts["back"].overgrown_weeks == pytest.approx((longest - 35) / 2.1 / pace)
    assert verdicts["anus"].overgrown_weeks == 0


def test_the_weightiest_work_of_a_region_sets_its_base() -> None:
    tidy = {"tidy": {"task": "scissor", "regions": ["back"], "every_weeks": 5, "minutes": 2}}
    steps = [step for step in ordered(by={"routines": tidy}).steps if step.region == "back"]
    assert {step.task for step in steps} == {"card", "pull", "scissor"}
    assert {step.priority_parts["base"] for step in steps} == {50.0}


def test_a_priority_has_one_decimal_and_lateness_counts_for_thirty_at_most() -> None:
    rule = {"then": {"priority": 0.06}}
    order = ordered(visit("2026-05-05", work={"body": {"pull": 0.2}, "toes": {"pull": 0.2}}), rules={"more": rule})
    back = next(step for step in order.steps if step.region == "back" and step.task == "pull")
    assert back.priority_parts == {"base": 50.0, "overdue": 5.1, "rules": 0.06}  # 27 days, of 21: 6 / 7 weeks, times 6
    assert back.priority == 55.2
    long_ago = ordered(visit("2026-01-01", work={"body": {"pull": 0.2}}))
    assert {step.priority_parts["overdue"] for step in long_ago.steps if step.region == "back"} == {30.0}


@pytest.mark.parametrize(("every_weeks", "due"), [(3.5, True), (3.6, False)])
def test_a_routine_half_a_visit_early_is_done_and_earlier_is_not(every_weeks: float, due: bool) -> None:
    tidy = {"tidy": {"task": "comb", "regions": ["nose"], "every_weeks": every_weeks, "minutes": 2, "because": "Tidy."}}
    order = ordered(visit("2026-05-18", work={"nose": {"comb": True}}), by={"routines": tidy})
    steps = [step for step in order.steps if step.region == "nose"]
    assert bool(steps) is due
    for step in steps:
        assert [(reason.rule, reason.facts, reason.own) for reason in step.because] == [
            ("coat.calendar", {"every_weeks": 3.5, "weeks_since": 2.0}, ""),
            ("coat.calendar", {"every_weeks": 3.5, "weeks_since": 2.0}, "Tidy."),
        ]
