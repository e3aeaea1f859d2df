"""What the short sheet answers to what was recorded or felt on its own day."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from coatrules import Engine, load_history, work_order
from coatrules.recording.entry import as_planned
from coatrules.report.box import decided
from coatrules.report.sheet import sheet

DAY = date(2026, 6, 1)
BREEDS = ("border-terrier", "english-cocker-spaniel")


def rolled(profile: str, *more: dict[str, Any]) -> Any:
    jacket = {"jacket": {"card": True, "pull": 0.2}}
    before = [{"visit": day, "work": jacket} for day in ("2026-04-06", "2026-05-04")]
    return load_history({"format": 1, "dog": {"id": "pip", "profile": profile}, "visits": [*before, *more]})


@pytest.mark.parametrize("profile", BREEDS)
def test_hair_that_holds_today_is_answered_at_the_top(profile: str) -> None:
    """The sheet was the same to a word whether the coat held or came: the answer stood behind --steps."""
    answer = "Felt to hold: jacket. Take what comes there, and leave what holds."
    held = Engine().with_seen(rolled(profile), "jacket: holds", date=DAY)
    assert answer in decided(work_order(profile, held, date=DAY))
    comes = Engine().with_seen(rolled(profile), "jacket: comes easily", date=DAY)
    assert not any("hold" in sentence for sentence in decided(work_order(profile, comes, date=DAY)))


def test_a_strip_that_the_hand_stops_is_answered_at_the_top() -> None:
    old = {"format": 1, "dog": {"id": "pip", "profile": "lakeland-terrier"}, "arrival": {"body": {"grown_weeks": 30}}}
    held = Engine().with_seen(load_history(old), "body: holds", date=DAY)
    order = Engine().order(held, date=DAY, strip_whole=True)
    assert "Felt to hold, so not stripped out today: body." in decided(order)


@pytest.mark.parametrize("profile", BREEDS)
def test_a_dog_that_was_worked_today_is_told_so(profile: str) -> None:
    """The order on the same day looked like any other."""
    some = {"visit": DAY.isoformat(), "work": {"jacket": {"card": True, "pull": 0.2}}}
    order = work_order(profile, rolled(profile, some), date=DAY)
    assert order.steps
    assert "Worked today already: this is what was left." in sheet(order)
    before = decided(work_order(profile, rolled(profile), date=DAY))
    assert not any("Worked today" in sentence for sentence in before)


def test_a_dog_that_was_pulled_today_is_not_told_that_nothing_is_pulled() -> None:
    """Where only the feet were left it said so, below what was done."""
    planned = work_order("border-terrier", rolled("border-terrier"), date=DAY, minutes=300)
    done = as_planned(planned)
    feet = {part: work for part, work in done["work"].items() if "scissor" in work}
    assert feet
    left = {part: work for part, work in done["work"].items() if part not in feet}
    order = work_order(
        "border-terrier", rolled("border-terrier", {"visit": DAY.isoformat(), **done, "work": left}), date=DAY
    )
    assert {step.task for step in order.steps} == {"scissor"}
    assert not any("pulling" in sentence for sentence in decided(order))


def test_a_dog_on_which_all_is_done_has_nothing_more_to_do_today() -> None:
    planned = work_order("border-terrier", rolled("border-terrier"), date=DAY, minutes=300)
    done = rolled("border-terrier", {"visit": DAY.isoformat(), **as_planned(planned)})
    assert "Worked today already: nothing more to do." in decided(work_order("border-terrier", done, date=DAY))


def test_a_dog_that_stood_long_today_is_lifted_down_before_the_rest() -> None:
    """Of eight minutes left after eighty it was to be lifted down half-way."""
    breed = "border-terrier"
    planned = as_planned(work_order(breed, rolled(breed), date=DAY, minutes=300))
    work = {part: done for part, done in planned["work"].items() if not part.endswith("toes")}
    visit = {"visit": DAY.isoformat(), "work": work, "minutes": 80, "put_off": ["toes"]}
    order = work_order(breed, rolled(breed, visit), date=DAY)
    assert 0 < order.minutes_planned < 20
    assert decided(order)[-1] == "Lift the dog down before going on: water, a walk."
    assert not any("half-way" in sentence for sentence in decided(order))


@pytest.mark.parametrize("profile", BREEDS)
def test_what_was_done_before_the_dog_refused_is_told_to_its_owner(profile: str) -> None:
    """It was told as left alone altogether, although the record says that a bit was pulled there."""
    visit = {"work": {"belly": {"pull": 0.05}, "back": {"pull": 0.2}}, "reactions": {"belly": "stop"}}
    order = work_order(profile, rolled(profile, {"visit": DAY.isoformat(), **visit}), date=DAY)
    text = Engine().text(order, audience="owner")
    assert "  - Pulled by hand: back, belly." in text
    assert "  - Belly: The dog said stop here on 1 June 2026" in text
    assert any("belly" in sentence for sentence in decided(order)), "and it is left alone from now on"
