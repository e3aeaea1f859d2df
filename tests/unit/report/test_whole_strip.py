"""A clipped coat brought back: the decision with its day, a strip over several visits that goes on by itself, the next strip, a plan."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from coatrules import Engine, load_profile, work_order
from coatrules.cli import main
from coatrules.dog.loading import read_history
from coatrules.dog.whole_strip import LASTS_DAYS
from coatrules.order.work_order import WorkOrder
from coatrules.profile.whole_strip import whole_strip
from coatrules.recording.entry import as_planned
from coatrules.report.box import decided

DAY = date(2026, 11, 26)
BORDER = "border-terrier"


def dog(weeks: float = 10, *visits: dict[str, Any]) -> dict[str, Any]:
    """A terrier clipped so many weeks before it first came."""
    arrival = {"jacket": {"clipped_mm": 9, "clipped_weeks": weeks}}
    who = {"id": "clip", "profile": BORDER, "born": "2021-03-01"}
    return {"format": 1, "dog": who, "arrival": arrival, "visits": list(visits)}


def strip_day(day: date, *visits: dict[str, Any]) -> dict[str, Any]:
    """A visit that goes as an order of a whole strip asks, in an hour."""
    order = Engine().order(dog(10, *visits), date=day, minutes=60, strip_whole=True)
    return {"visit": day.isoformat(), **as_planned(order)}


def test_whether_to_strip_a_clipped_coat_is_a_decision_with_its_day() -> None:
    """Only that it would be done at some time was said."""
    assert "strip it whole today, or book a day for it" in " ".join(decided(order_of(dog())))
    later = " ".join(decided(order_of(dog(1))))
    assert "It can be stripped" not in later
    assert re.search(r"the first from \d+ \w+ 202[67] on\.", later), later


def order_of(history: dict[str, Any], day: date = DAY) -> WorkOrder:
    return work_order(BORDER, history, date=day)


def test_a_strip_over_several_days_goes_on_until_it_is_done(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """On the second day the rest was only to be thinned, and the reception was told the usual interval."""
    file = tmp_path / "clip.yaml"
    file.write_text(
        f"format: 1\ndog: {{id: clip, profile: {BORDER}, born: 2021-03-01}}\n"
        "arrival: {jacket: {clipped_mm: 9, clipped_weeks: 30}}\n"
    )
    days, today, words = [DAY], DAY, ""
    while "Strip, " in words or not words:
        on = ["--date", today.isoformat(), "--minutes", "150"]
        assert main(["record", str(file), *on, "--as-planned", *(["--strip-whole"] if today == DAY else [])]) == 0
        capsys.readouterr()
        assert main(["due", str(file), *on[:2]]) == 0
        due = capsys.readouterr().out
        assert main(["due", str(file), *on[:2], "--format", "json"]) == 0
        today = date.fromisoformat(json.loads(capsys.readouterr().out)["dogs"][0]["best"])
        assert main(["order", str(file), "--date", today.isoformat(), "--minutes", "150"]) == 0
        words = " ".join(capsys.readouterr().out.replace("│", "").split())
        if "Strip, " in words:
            assert "rest of the strip" in due
            days.append(today)
    assert 2 <= len(days) <= 4
    assert all((later - sooner).days <= 7 for sooner, later in pairwise(days))
    assert all(visit.strip_whole for visit in read_history(file.read_bytes(), file).visits)
    assert "Whole strip 1 of two or three since the clip" in words
    assert "Clipped on" not in words


def test_a_strip_ends_by_other_work_or_by_time() -> None:
    first = strip_day(DAY)
    assert first["strip_whole"]
    engine = Engine()
    assert engine.order(dog(10, first), date=DAY + timedelta(days=7)).strip_whole
    assert not engine.order(dog(10, first), date=DAY + timedelta(days=LASTS_DAYS)).strip_whole
    rolled = {"visit": (DAY + timedelta(days=6)).isoformat(), "work": {"legs": {"pull": 0.2}}}
    assert not engine.order(dog(10, first, rolled), date=DAY + timedelta(days=7)).strip_whole


def test_what_was_stripped_bare_is_not_raked_on_the_next_day_of_the_strip() -> None:
    first = strip_day(DAY)
    bare = {name for name, work in first["work"].items() if work.get("pull") == 1}
    again = work_order(whole_strip(load_profile(BORDER)), dog(10, first), date=DAY + timedelta(days=14))
    assert "neck-top" in bare
    assert not bare & {step.region for step in again.steps if step.task == "card"}


def test_after_two_strips_it_is_the_second_and_after_three_nothing_is_said() -> None:
    def stripped(number: int) -> dict[str, Any]:
        day = DAY + timedelta(weeks=16 * number)
        return {"visit": day.isoformat(), "strip_whole": True, "work": {"body": {"pull": 1}, "legs": {"pull": 1}}}

    def said(strips: int) -> list[str]:
        history = dog(10, *map(stripped, range(strips)))
        order = order_of(history, DAY + timedelta(weeks=16 * (strips - 1) + 8))
        return [finding.message for finding in order.findings if finding.code == "clip-stripped"]

    assert "stripped out whole once since" in said(1)[0]
    assert "stripped out whole 2 times since" in said(2)[0]
    assert said(3) == []


def test_a_plan_of_whole_strips_is_what_the_orders_ask_and_comes_round(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plan = Engine().plan(dog(), date=DAY, minutes=150, strip_whole=True)
    shares = [{name: region.share for name, region in visit.regions.items() if region.share} for visit in plan.visits]
    assert all(visit.minutes <= 150 for visit in plan.visits)
    first, second = shares[:2]
    assert set(first.values()) == {1.0}
    assert first.keys().isdisjoint(second), "section by section"
    assert (plan.visits[1].day - DAY).days <= 7
    days = [visit.day for visit, pulled in zip(plan.visits, shares, strict=True) if "withers" in pulled]
    assert len(days) >= 2, "again within half a year"
    assert (days[1] - days[0]).days >= 7 * 10

    file = tmp_path / "clip.yaml"
    file.write_text(f"format: 1\ndog: {{id: clip, profile: {BORDER}, born: 2021-03-01}}\n")
    asked = ["plan", str(file), "--date", DAY.isoformat(), "--strip-whole", "--visits", "2"]
    assert main(asked) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "stripped out whole, section by section" in said
    assert "set" not in re.findall(r"\w+", said), "only a rolled coat is set"
    with pytest.raises(SystemExit):
        main([*asked, "--every", "4"])


def test_a_plan_of_strips_tells_what_comes_out_and_nothing_of_layers() -> None:
    """Each visit listed all that was left alone, and a note told of layers a little at a time."""
    grown = {part: {"grown_weeks": 30} for part in ("jacket", "legs", "head")}
    for profile in ("airedale-terrier", "cairn-terrier", "miniature-schnauzer"):
        dog = {"format": 1, "dog": {"id": "out", "profile": profile, "born": "2021-03-01"}, "arrival": grown}
        engine = Engine()
        plan = engine.plan(dog, date=DAY, strip_whole=True, minutes=120, visits=3)
        words = " ".join(engine.text(plan).split())
        assert "pull all" in words
        assert words.count("leave alone") == words.count("All regions: leave alone"), "where nothing is pulled"
        assert "builds layers" not in words
        assert "two times round until the coat is even" not in words


def test_what_a_day_was_too_short_for_is_planned_a_week_on() -> None:
    """The plan took the rest of the strip for done on the same day, and came back at the usual interval."""
    plan = Engine().plan(dog(30), date=DAY, minutes=90, strip_whole=True, visits=4)
    history = dog(30)
    for visit, following in pairwise(plan.visits):
        order = Engine().order(history, date=visit.day, minutes=90, strip_whole=True)
        assert following.day == order.next_visit.best
        history["visits"].append({"visit": visit.day.isoformat(), "minutes": 90, **as_planned(order)})


def test_the_box_names_what_is_left_alone_beside_unsound_skin() -> None:
    """It was told on request alone."""
    seen = {"visit": DAY.isoformat(), "seen": {"loin": {"skin": "unsound"}}}
    order = order_of({"format": 1, "dog": {"id": "sore", "profile": BORDER, "born": "2021-03-01"}, "visits": [seen]})
    told = [sentence for sentence in decided(order) if "next to the skin that is not sound" in sentence]
    assert len(told) == 1
    assert "back" in told[0]
    assert "croup" in told[0]
