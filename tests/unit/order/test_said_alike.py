"""What was once wrong of late hair, clips and groups, as an order, ``due`` and ``explain`` have it: they may not differ."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from coatrules import Engine
from tests.support.small import profile as small_profile

TODAY = date(2026, 3, 21)
BOTH = ("back", "ribs")
ENGINE = Engine()
TOO_LONG = 145
"""The first whole day on which hair is 35 mm long: (4 + 35 / 2.1) weeks and a bit."""


def ago(days: int) -> str:
    return (TODAY - timedelta(days=days)).isoformat()


def jacket(**sections: Any) -> dict[str, Any]:
    regions = {
        name: {"label": name.capitalize(), "coat": "jacket", "minutes": {"pull": 20, "card": 5}} for name in BOTH
    }
    target = {"regions": [*BOTH], "layers": 3, "take": {"usual": 0.2}, "longest_mm": [15, 35]}
    return small_profile(
        minutes=120,
        undercoat_weeks=40,
        regions=regions,
        groups={"body": [*BOTH]},
        layer_targets={"jacket": target},
        **sections,
    )


def pip(*visits: dict[str, Any], **arrival: Any) -> dict[str, Any]:
    return {"format": 1, "dog": {"id": "pip"}, "arrival": {"body": arrival} if arrival else {}, "visits": list(visits)}


def worked(days: int, **work: Any) -> dict[str, Any]:
    return {"visit": ago(days), "work": work}


def test_late_hair_left_behind_keeps_not_after() -> None:
    """Six tenths are dead: the end is that of the next hair, pulled six weeks ago; with the dead hair there was none."""
    history = pip(
        worked(42, body={"pull": 0.2, "card": True}), worked(21, body={"pull": 0.2, "card": True}), grown_weeks=30
    )
    order = ENGINE.order(history, date=TODAY, profile=jacket(), minutes=5)
    of_due = ENGINE.due(history, date=TODAY, profile=jacket())
    end = TODAY + timedelta(days=TOO_LONG - 42 - 1)
    assert order.facts["back"]["blown_share"] == pytest.approx(0.6)
    assert (order.next_visit.latest, of_due.visit.latest) == (end, end)
    assert [(one.bound, one.why) for one in of_due.visit.binding] == [("latest", "too-long")]
    assert of_due.day == TODAY  # dead hair is due, whatever the window of the last visit


def test_not_after_is_the_last_day_on_which_nothing_is_late() -> None:
    profile = jacket()
    profile["coats"]["jacket"]["rests_weeks"] = 40  # nothing comes loose before it is too long
    history = pip(worked(20, body={"pull": 1.0}))
    of_due = ENGINE.due(history, date=TODAY, profile=profile)
    assert of_due.visit.latest is not None
    for day, late in ((of_due.visit.latest, 0.0), (of_due.visit.latest + timedelta(days=1), 1.0)):
        order = ENGINE.order(history, date=day, profile=profile)
        explained = ENGINE.explain(history, "back", date=day, profile=profile).order
        for one in (order, explained):
            [step] = [step for step in one.steps if step.region == "back" and step.task == "pull"]
            shares = [reason.facts["share"] for reason in step.because if reason.rule == "coat.overgrown"]
            assert (shares or [0.0]) == [late]


def test_regions_left_alone_bound_the_day() -> None:
    """A whole strip two days ago: nothing of the jacket can be pulled for seven weeks, and nobody is called in before."""
    history = pip(worked(2, body={"pull": 1.0, "card": True}))
    order, of_due = (
        ENGINE.order(history, date=TODAY, profile=jacket()),
        ENGINE.due(history, date=TODAY, profile=jacket()),
    )
    assert not order.steps
    ready = TODAY + timedelta(days=-2 + 49)  # (4 + 6 / 2.1) * 7 = 48
    assert ready - timedelta(days=1) <= of_due.day == order.next_visit.best == of_due.visit.earliest <= ready
    assert "back" in ENGINE.explain(history, "back", date=TODAY, profile=jacket()).order.left_alone


CLIPPED = {
    "if": {"weeks_since_cut": {"maximum": 26}},
    "then": {"leave": ["pull"]},
    "because": "Cut hair is left to grow.",
}


@pytest.mark.parametrize(
    "history",
    [
        pip(clipped_mm=6, clipped_weeks=4),
        pip({"visit": ago(0), "note": "First visit."}, clipped_mm=6, clipped_weeks=4),
        pip(worked(28, body={"clip": 6}), grown_weeks=30),
    ],
)
def test_a_clip_before_the_first_visit_is_a_clip(history: dict[str, Any]) -> None:
    profile = jacket(rules={"clipped": CLIPPED})
    assert ENGINE.due(history, date=TODAY, profile=profile).order.fired["back"] == ("clipped",)
    [rule] = ENGINE.explain(history, "back", date=TODAY, profile=profile).rules
    assert rule.fired
    assert rule.facts["weeks_since_cut"] == pytest.approx(4)


def test_what_a_group_says_reaches_a_region_with_an_entry_of_its_own() -> None:
    history = pip(worked(21, body={"pull": 0.2, "card": True, "minutes": 30}, back={"pull": 0.3}), grown_weeks=20)
    off = pip(worked(21, body={"pull": 0.2, "card": True}, back={"pull": 0, "card": False}), grown_weeks=20)
    for region in BOTH:
        facts = ENGINE.explain(history, region, date=TODAY, profile=jacket()).order.facts[region]
        assert (facts["weeks_since_pull"], facts["weeks_since_card"]) == (3, 3)
    assert ENGINE.order(history, date=TODAY, profile=jacket()).hair["back"][-1][0] == pytest.approx(0.3)
    assert (
        ENGINE.due(history, date=TODAY, profile=jacket()).order.speed.of("back") != 1.0
    )  # the group's minutes are its own too
    cancelled = ENGINE.explain(off, "back", date=TODAY, profile=jacket()).order.facts["back"]
    assert not {"weeks_since_pull", "weeks_since_card"} & set(cancelled)


def test_what_was_seen_before_the_work_is_no_fact_after_it() -> None:
    """Twenty millimetres in one length, not see-through; then all of it came out."""
    seen = {"body": {"see_through": False, "longest_mm": 20, "layers": 1}}
    history = pip({**worked(0, body={"pull": 1.0}), "seen": seen}, grown_weeks=14)
    order = ENGINE.order(history, date=TODAY, profile=jacket())
    explained = ENGINE.explain(history, "back", date=TODAY, profile=jacket()).order
    for facts in (order.facts["back"], explained.facts["back"]):
        assert (facts["cover"], facts["layers"], facts["longest_mm"]) == (0, 0, 0)
        assert "see_through" not in facts
    assert ENGINE.due(history, date=TODAY, profile=jacket()).day > TODAY + timedelta(days=40)  # until it can be gripped
