"""Plans of a salon: on days on which it is open, and on the dog's own weekday."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import Engine
from coatrules.cli import main
from coatrules.order.salon import WEEKDAYS
from coatrules.report.plan import text
from tests.support.small import profile as small_profile

TODAY = date(2026, 3, 21)  # a Saturday
PIP: dict[str, Any] = {
    "format": 1,
    "dog": {"id": "pip"},
    "arrival": {"back": {"grown_weeks": 20}, "ribs": {"grown_weeks": 20}},
    "visits": [{"visit": "2026-03-07", "work": {"back": {"pull": 0.2}, "ribs": {"pull": 0.2}}}],
}


def jacket() -> dict[str, Any]:
    """A fifth every three weeks, 12 to 30 mm on a show day."""
    target = {"regions": ["back", "ribs"], "layers": 2, "take": {"usual": 0.2, "at_most": 0.4}, "show_mm": [12, 30]}
    regions = {name: {"label": name, "coat": "jacket", "minutes": {"pull": 20}} for name in ("back", "ribs")}
    return small_profile(regions=regions, layer_targets={"jacket": target})


def days(salon: dict[str, Any] | None, **options: Any) -> list[date]:
    plan = Engine(salon=salon).plan(PIP, date=TODAY, profile=jacket(), minutes=120, **options)
    assert not [note for note in plan.notes if note.code == "plan.closed"]
    return [visit.day for visit in plan.visits]


@settings(max_examples=25)
@given(
    closed=st.sets(st.sampled_from(WEEKDAYS), max_size=4),
    holiday=st.integers(-5, 40),
    own=st.sampled_from([None, *WEEKDAYS]),
    every=st.sampled_from([0.3, 1, 2.5, 3]),
    show=st.sampled_from([None, 6]),
)
def test_a_row_keeps_to_open_days_near_its_own(
    closed: set[str], holiday: int, own: str | None, every: float, show: int | None
) -> None:
    off = [TODAY + timedelta(days=holiday + n) for n in range(10)]
    salon: dict[str, Any] = {"format": 1, "closed_weekdays": sorted(closed), "closed_days": [str(day) for day in off]}
    salon |= {"dogs": {"pip": {"weekday": own}}} if own else {}
    options = {"every_weeks": every} | ({"show": TODAY + timedelta(weeks=show)} if show else {"visits": 5})
    planned, usual = days(salon, **options), days(None, **options)
    last = date.max if show is None else TODAY + timedelta(weeks=show, days=-5)
    open_days = [
        day
        for day in (TODAY + timedelta(days=n) for n in range(150))
        if day not in off and WEEKDAYS[day.weekday()] not in closed and day <= last
    ]
    expected = set()
    for day in usual:
        nearest = sorted(open_days, key=lambda one: (abs((one - day).days), one))
        on_own = [one for one in nearest if WEEKDAYS[one.weekday()] == own and abs((one - day).days) <= 3]
        expected.add((on_own or nearest)[0])
    assert planned == sorted(expected)


def test_every_visit_is_on_the_dogs_own_weekday() -> None:
    """Three weeks after Saturday 7 March, and so on: the Friday before each."""
    salon = {"format": 1, "closed_weekdays": ["saturday", "sunday"], "dogs": {"pip": {"weekday": "friday"}}}
    assert days(salon, visits=3) == [date(2026, 3, 27), date(2026, 4, 17), date(2026, 5, 8)]
    own_holiday = salon | {"closed_days": ["2026-04-17"]}  # the day nearest to Saturday 18 April that is open
    assert days(own_holiday, visits=3) == [date(2026, 3, 27), date(2026, 4, 16), date(2026, 5, 8)]


def test_days_that_were_asked_for_stay_and_are_named_where_the_salon_is_closed() -> None:
    asked = [date(2026, 4, 5), date(2026, 4, 24)]
    plan = Engine(salon={"format": 1, "closed_weekdays": ["sunday"]}).plan(
        PIP, date=TODAY, profile=jacket(), dates=asked
    )
    assert [visit.day for visit in plan.visits] == asked
    assert [note.params for note in plan.notes if note.code == "plan.closed"] == [{"days": (asked[0],)}]
    said = " ".join(text(plan).split())
    assert "The salon is closed on Sunday 5 April 2026." in said  # not as a file writes it, in no language


def test_a_section_is_stripped_on_an_open_day() -> None:
    salon = {"format": 1, "closed_weekdays": ["saturday", "sunday", "monday", "wednesday", "thursday", "friday"]}
    free, bound = (
        Engine(salon=one).staged_strip(PIP, date=TODAY, show=date(2026, 9, 12), profile=jacket()).stages
        for one in (None, salon)
    )
    assert [stage.day.weekday() for stage in bound] == [1] * len(bound)
    assert all(abs((one.day - other.day).days) <= 3 for one, other in zip(free, bound, strict=True))


def test_the_command_reads_the_salons_file_beside_the_dog(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "pip.yaml").write_text(
        "format: 1\ndog: {id: pip, profile: border-terrier}\nvisits: [{visit: 2026-03-07, work: {jacket: {pull: 0.2}}}]\n"
    )
    (tmp_path / "salon.yaml").write_text("format: 1\nclosed_weekdays: [saturday]\nminutes: 50\n")
    assert main(["plan", str(tmp_path / "pip.yaml"), "--date", "2026-03-21", "--visits", "2", "--format", "json"]) == 0
    shown = capsys.readouterr().out
    assert '"available": 50' in shown
    assert "2026-03-28" not in shown


@pytest.mark.parametrize("away", [0, 3, 6, 9, 20, 22, 25])
@pytest.mark.parametrize("every", [0.5, 1, 3])
def test_a_show_on_record_is_kept_clear_of_on_open_days_too(away: int, every: float) -> None:
    show = TODAY + timedelta(days=away)
    history = {**PIP, "dog": {**PIP["dog"], "show": show.isoformat()}}
    closed = ["sunday", "monday", "wednesday"]
    plan = Engine(salon={"format": 1, "closed_weekdays": closed}).plan(
        history, date=TODAY, profile=jacket(), every_weeks=every, visits=8
    )
    for day in (visit.day for visit in plan.visits):
        assert not 0 <= (show - day).days <= 4
        assert WEEKDAYS[day.weekday()] not in closed
