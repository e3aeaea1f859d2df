"""Plans of a dog whose targets change with the time of the year, its age and its neutering: each visit keeps those of its day."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from coatrules import Engine
from coatrules.plan import Plan, compare_intervals, plan_ahead, staged_strip
from tests.support.small import profile as small_profile

TODAY = date(2026, 3, 21)
REGIONS = ("back", "ribs")
JACKET: dict[str, Any] = {
    "regions": [*REGIONS],
    "layers": 3,
    "take": {"usual": 0.2, "at_most": 0.35, "low_spot": 0.05},
    "cover": {"at_least": 0.5},
    "longest_mm": [15, 35],
    "show_mm": [12, 30],
}
"""A plain jacket whose round is five visits of three weeks."""
SUMMER = JACKET | {"take": {"usual": 0.3, "at_most": 0.35}, "cover": {"at_least": 0.2}, "longest_mm": [10, 25]}
STRIP = {"regions": [*REGIONS], "layers": 1, "take": {"usual": 1.0}, "full_strip": True}
ROLLING: dict[str, Any] = {
    "format": 1,
    "dog": {"id": "pip"},
    "arrival": {name: {"grown_weeks": 15} for name in REGIONS},
    "visits": [
        {"visit": (TODAY - timedelta(weeks=3 * n)).isoformat(), "work": {name: {"pull": 0.2} for name in REGIONS}}
        for n in (4, 3, 2, 1, 0)
    ],
}


def jacket(**targets: dict[str, Any]) -> dict[str, Any]:
    regions = {name: {"label": name.capitalize(), "coat": "jacket", "minutes": {"pull": 50}} for name in REGIONS}
    return small_profile(id="jacket", label="Jacket", regions=regions, layer_targets={"jacket": JACKET} | targets)


def at(target: dict[str, Any], **facts: Any) -> dict[str, Any]:
    return {**target, "if": facts}


def planned(profile: dict[str, Any], history: dict[str, Any] = ROLLING, **options: Any) -> Plan:
    return plan_ahead(profile, history, date=TODAY, **options)


def shares(plan: Plan, region: str = "back") -> list[float]:
    return [visit.regions[region].share for visit in plan.visits]


def weekly(count: int, first: int = 3, every: int = 3) -> list[date]:
    return [TODAY + timedelta(weeks=first + every * n) for n in range(count)]


def without_notes(plan: Plan) -> dict[str, Any]:
    data = plan.to_dict()
    del data["notes"], data["profile"]
    for outlook in data["regions"].values():
        del outlook["target"]
    return data


@pytest.mark.parametrize(
    ("other", "condition"),
    [
        (SUMMER, {"time_of_year": {"enum": ["spring", "summer", "autumn"]}}),
        (SUMMER, {"age_weeks": {"minimum": 100}}),
        (STRIP, {"month": {"minimum": 4}}),
    ],
)
def test_where_other_targets_hold_at_every_visit_the_plan_is_that_of_a_profile_of_them(
    other: dict[str, Any], condition: dict[str, Any]
) -> None:
    """And where they hold at none, that of a profile without them."""
    born = {**ROLLING, "dog": {"id": "pip", "born": (TODAY - timedelta(weeks=101)).isoformat()}}
    dates, show = weekly(8), TODAY + timedelta(weeks=30)
    for sure in (False, True):
        always = planned(jacket(jacket=other | {"show_mm": [12, 30]}), born, dates=dates, show=show, sure=sure)
        at_times = planned(
            jacket(other=at(other | {"show_mm": [12, 30]}, **condition)), born, dates=dates, show=show, sure=sure
        )
        assert without_notes(at_times) == without_notes(always)
        assert shares(at_times) != shares(planned(jacket(), born, dates=dates, show=show))
    never = planned(jacket(other=at(other, sex={"const": "female"})), born, dates=dates, show=show)
    assert without_notes(never) == without_notes(planned(jacket(), born, dates=dates, show=show))


def test_each_visit_keeps_the_targets_of_its_day_and_the_plan_says_when_they_change() -> None:
    profile = jacket(summer=at(SUMMER, month={"enum": [6, 7, 8]}))
    plan = planned(profile, dates=weekly(10))
    summer = [visit.day for visit in plan.visits if visit.day.month in (6, 7, 8)]
    [note] = [note for note in plan.notes if note.code == "plan.targets-change"]
    after = next(visit.day for visit in plan.visits if visit.day.month == 9)
    assert note.params == {"days": (summer[0], after)}
    in_summer = [visit.regions["back"].share for visit in plan.visits if visit.day in summer]
    assert in_summer[1:] == [0.3] * len(in_summer[1:])  # up to the first older hair is left, and more of it goes then
    for visit in plan.visits:
        assert visit.regions["back"].cover >= (0.2 if visit.day in summer else 0.5) or visit.day == after
    assert {outlook.target for outlook in plan.regions.values()} == {"jacket"}
    assert not [note for note in planned(jacket(), visits=8).notes if note.code == "plan.targets-change"]


def test_a_strip_of_one_month_is_planned_there_and_the_coat_grows_back_for_the_rest() -> None:
    """Its cover is no bound for the strip before, and after it no more than the low spot is pulled until it is back."""
    grown = {"format": 1, "dog": {"id": "pip"}, "arrival": {name: {"grown_weeks": 20} for name in REGIONS}}
    no_longest = {key: value for key, value in JACKET.items() if key != "longest_mm"}
    profile = jacket(jacket=no_longest, spring=at(STRIP, month={"const": 5}))
    plan = planned(profile, grown, dates=weekly(12, 1), minutes=180)
    by_month = [(visit.day.month, visit.regions["back"]) for visit in plan.visits]
    # All old hair comes out, and what was pulled in spring is left, for it grows: an order of that day would not strip it.
    assert [region.share for month, region in by_month if month == 5] == [pytest.approx(0.5, abs=1e-5), 0.0]
    after = [region for month, region in by_month if month > 5]
    assert all(region.cover >= 0.5 or region.share <= 0.05 for region in after)
    assert all(region.share > 0 and region.cover >= 0.5 for region in after[-3:])


def test_what_nothing_is_wanted_of_at_a_time_is_left_alone_then() -> None:
    profile = jacket(
        jacket=JACKET | {"regions": ["back"]}, ribs=at(JACKET | {"regions": ["ribs"]}, month={"minimum": 6})
    )
    plan = planned(profile, dates=weekly(8))
    for visit in plan.visits:
        assert (visit.regions["ribs"].share > 0) == (visit.day.month >= 6)
        assert visit.regions["back"].share > 0
    assert plan.regions["ribs"].target == "ribs"


def test_neutering_on_a_day_to_come_changes_the_targets_from_it_on() -> None:
    neutered = {**ROLLING, "dog": {"id": "pip", "neutered": (TODAY + timedelta(weeks=10)).isoformat()}}
    profile = jacket(neutered=at(JACKET | {"take": {"usual": 0.1, "at_most": 0.1}}, neutered={"const": True}))
    plan = planned(profile, neutered, dates=weekly(6))
    assert [share <= 0.1 for share in shares(plan)] == [
        visit.day >= TODAY + timedelta(weeks=10) for visit in plan.visits
    ]


def test_parts_that_differ_only_later_are_judged_apart() -> None:
    """Alike today, their days are in doubt by themselves once the targets part."""
    jackets = {"jacket": JACKET, "back": at(SUMMER | {"regions": ["back"], "show_mm": [20, 25]}, month={"minimum": 6})}
    plan = planned(jacket(**jackets), dates=weekly(8), show=TODAY + timedelta(weeks=26), sure=True)
    last = plan.visits[-1].regions
    assert last["back"].share != last["ribs"].share
    assert plan.regions["back"].show_right != plan.regions["ribs"].show_right


def test_sections_are_those_of_the_show_day() -> None:
    profile = jacket(summer=at(JACKET | {"show_mm": [20, 24]}, month={"enum": [6, 7, 8]}))
    summer, autumn = (staged_strip(profile, ROLLING, date=TODAY, show=date(2026, month, 28)) for month in (8, 9))
    assert [stage.wanted_mm for stage in summer.stages] == [(20, 24)]
    assert [stage.wanted_mm for stage in autumn.stages] == [(12, 30)]


def test_an_engine_plans_by_the_targets_of_each_day() -> None:
    profile = jacket(summer=at(SUMMER, month={"enum": [6, 7, 8]}))
    given, asked = (
        planned(profile, dates=weekly(10)),
        Engine().plan(ROLLING, date=TODAY, dates=weekly(10), profile=profile),
    )
    assert asked.to_dict() == given.to_dict()
    kept = Engine().staged_strip(
        ROLLING,
        date=TODAY,
        show=date(2026, 9, 28),
        profile=jacket(autumn=at(JACKET | {"show_mm": [20, 24]}, month={"const": 9})),
    )
    assert [stage.wanted_mm for stage in kept.stages] == [(20, 24)]


def test_intervals_are_held_to_the_targets_of_each_visit() -> None:
    """A coat of which winter wants five layers misses them at an interval that keeps three."""
    profile = jacket(winter=at(JACKET | {"layers": 5}, month={"enum": [9, 10, 11, 12, 1, 2]}))
    [kept] = compare_intervals(jacket(), ROLLING, date=TODAY, weeks=[3]).intervals
    [missed] = compare_intervals(profile, ROLLING, date=TODAY, weeks=[3]).intervals
    assert not kept.missed
    assert set(missed.missed) == {"jacket"}
    assert "layers" in missed.missed["jacket"]
