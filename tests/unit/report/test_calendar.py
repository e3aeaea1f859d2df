"""Visits in a calendar: by RFC 5545's own rules, and as a second parser reads them."""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path
from uuid import UUID

import icalendar
import pytest
import vobject
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from coatrules.book.due import due
from coatrules.cli import main
from coatrules.dog.loading import history_of, load_history
from coatrules.order.engine import order
from coatrules.plan import Plan, PlannedVisit, Stage, StagedStrip
from coatrules.problems import InputError
from coatrules.reading import read_yaml
from coatrules.report.calendar import Event, calendar, due_event, next_visit_event, plan_events, stage_events
from coatrules.report.safe_text import plain
from tests.support.book import HISTORY, compiled_profile, profile_folder
from tests.support.paths import EXAMPLES

DAY = date(2026, 3, 21)
EVENT = Event(
    "pip", "small", "next-visit", date(2026, 4, 11), "Pip: hand-stripping", "Best: then.\nNot before: back, ribs."
)


def rules(text: str) -> None:
    """What RFC 5545 asks of every calendar; the sections are named beside each."""
    assert text.endswith("\r\n")  # 3.1: lines end with CR LF
    assert "\n" not in text.replace("\r\n", "")
    lines = text.split("\r\n")
    assert max(len(line.encode()) for line in lines) <= 75  # 3.1: octets of a line, without its end
    assert not re.search("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", text)  # 3.1: no control characters but those of folding
    unfolded = re.sub("\r\n[ \t]", "", text).split("\r\n")
    assert unfolded[0] == "BEGIN:VCALENDAR"  # 3.4
    assert unfolded[-2] == "END:VCALENDAR"
    assert unfolded.count("VERSION:2.0") == 1  # 3.6, 3.7.4
    assert sum(line.startswith("PRODID:") for line in unfolded) == 1  # 3.7.3
    events = "\n".join(unfolded).split("\nBEGIN:VEVENT\n")[1:]
    for event in events:
        for name in ("UID", "DTSTAMP", "DTSTART"):  # 3.6.1: required, once only
            assert len(re.findall(rf"^{name}[;:]", event, re.MULTILINE)) == 1
        assert re.search(r"^DTSTAMP:\d{8}T\d{6}Z$", event, re.MULTILINE)  # 3.8.7.2: in UTC
        start = re.search(r"^DTSTART;VALUE=DATE:(\d{8})$", event, re.MULTILINE)  # 3.3.4, 3.6.1: a day, not an hour
        end = re.search(r"^DTEND;VALUE=DATE:(\d{8})$", event, re.MULTILINE)
        assert start is not None
        assert end is not None
        assert start[1] < end[1]  # 3.8.2.2: later than the start
        for line in re.findall(r"^(?:SUMMARY|DESCRIPTION):(.*)$", event, re.MULTILINE):
            assert re.fullmatch(r"(?:[^\\;,]|\\[\\;,nN])*", line)  # 3.3.11: escaped


def test_an_order_s_next_visit() -> None:
    today = order(compiled_profile(), history_of(read_yaml(HISTORY)), DAY)
    text = calendar([next_visit_event(today)], today.date)
    rules(text)
    event = vobject.readOne(text).vevent
    assert event.dtstart.value == today.next_visit.best
    assert str(today.next_visit.latest.day if today.next_visit.latest else "") in event.description.value
    assert "Best: " in event.description.value
    assert "Not after " in event.description.value


def test_the_same_visits_give_the_same_file_and_a_moved_one_the_same_event() -> None:
    assert calendar([EVENT], DAY) == calendar([EVENT], DAY)
    moved = evolve(EVENT, day=date(2026, 4, 18), title="another", text="another")
    assert moved.uid == EVENT.uid
    assert UUID(EVENT.uid).version == 5  # RFC 7986, 5.3: a UUID that tells nothing of the dog
    others = [evolve(EVENT, dog="ada"), evolve(EVENT, profile="other"), evolve(EVENT, purpose="plan-2")]
    assert len({EVENT.uid, *(event.uid for event in others)}) == 4


texts = st.text(st.characters() | st.sampled_from('\r\n\t;,:\\"\x1b'), min_size=1, max_size=120)
INJECTION = "x\nEND:VEVENT\nBEGIN:VEVENT\nUID:evil\nATTACH:file:///etc/passwd;,\\"


@given(title=texts | st.just(INJECTION), text=texts | st.just(INJECTION))
def test_text_cannot_add_to_the_calendar_and_reads_back(title: str, text: str) -> None:
    written = calendar([evolve(EVENT, title=title, text=text)], DAY)
    rules(written)
    book = vobject.readOne(written)
    assert len(book.contents["vevent"]) == 1
    assert set(book.vevent.contents) == {"summary", "dtstart", "dtend", "dtstamp", "uid", "description", "transp"}
    assert book.vevent.uid.value == EVENT.uid
    ours = icalendar.Calendar.from_ical(written)
    assert str(ours.events[0]["SUMMARY"]) == book.vevent.summary.value == plain(title)
    assert (
        str(ours.events[0]["DESCRIPTION"]) == book.vevent.description.value == "\n".join(map(plain, text.split("\n")))
    )


def test_the_book_as_a_calendar(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "profiles").mkdir()
    profiles = profile_folder(tmp_path / "profiles")
    book = tmp_path / "book"
    book.mkdir()
    (book / "pip.yaml").write_text(HISTORY, encoding="utf-8")
    (book / "ada.yaml").write_text(HISTORY.replace("pip", "ada").replace("02-28", "03-14"), encoding="utf-8")
    options = ["--profiles", str(profiles), "--date", "2026-03-21", "--format", "calendar"]
    out = tmp_path / "book.ics"
    assert main(["due", str(book), *options, "--out", str(out)]) == 0
    text = out.read_bytes().decode()
    rules(text)
    events = vobject.readOne(text).contents["vevent"]
    found = due(compiled_profile(), load_history(book / "ada.yaml"), DAY)
    assert [event.dtstart.value for event in events] == [DAY, found.visit.best]
    assert events[1].uid.value == due_event(found).uid
    assert f"{found.order.minutes_planned:.0f}" in events[1].summary.value
    # The visit after today's work is the same event, moved: a calendar replaces it.
    assert main(["order", str(book / "ada.yaml"), *options]) == 0
    assert f"UID:{events[1].uid.value}" in capsys.readouterr().out


def test_without_the_extra_the_command_says_which(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("coatrules.extras.find_spec", lambda name: None)
    with pytest.raises(InputError, match=r"coatrules\[calendar\]"):
        calendar([EVENT], DAY)


def test_a_plan_as_a_calendar(capsys: pytest.CaptureFixture[str]) -> None:
    dog = str(EXAMPLES / "salon" / "pip.yaml")
    options = ["plan", dog, "--date", "2026-03-21", "--visits", "3"]
    assert main([*options, "--format", "json"]) == 0
    planned = [visit["day"] for visit in json.loads(capsys.readouterr().out)["visits"]]
    assert main([*options, "--format", "calendar"]) == 0
    text = capsys.readouterr().out
    rules(text)
    events = vobject.readOne(text).contents["vevent"]
    # Today's own visit is no appointment any more; the first one ahead is the dog's next visit.
    assert [event.dtstart.value.isoformat() for event in events] == [day for day in planned if day > "2026-03-21"]
    assert len({event.uid.value for event in events}) == len(events) == 2
    assert main(["order", dog, "--date", "2026-03-21", "--format", "calendar"]) == 0
    assert f"UID:{events[0].uid.value}" in capsys.readouterr().out
    with pytest.raises(SystemExit) as ended:
        main([*options[:4], "--compare-intervals", "--format", "calendar"])
    assert ended.value.code == 2


def test_the_stages_of_a_strip_as_a_calendar() -> None:
    days = [date(2026, 5, 1), date(2026, 5, 15)]
    stages = tuple(
        Stage(name, ("Back", "Loin"), day, day, date(2026, 6, 1), 8.0, 40.0, (10.0, 20.0), 15.0)
        for name, day in zip(("jacket", "head"), days, strict=True)
    )
    strip = StagedStrip("pip", "Pip", "small", "Small", DAY, date(2026, 8, 1), stages, ())
    text = calendar(stage_events(strip), DAY)
    rules(text)
    events = vobject.readOne(text).contents["vevent"]
    assert [event.dtstart.value for event in events] == [*days, strip.show]
    assert events[0].description.value == "From Friday 1 May 2026 to Monday 1 June 2026.\nBack, loin."
    assert len({event.uid.value for event in events}) == 3


def test_a_show_stands_in_the_plan_s_calendar() -> None:
    visit = PlannedVisit(date(2026, 4, 11), 60.0, 0.0, 120.0, {})
    plan = Plan("pip", "Pip", "small", "Small", DAY, (visit,), {}, None, (), (), (), show=date(2026, 8, 1))
    events = plan_events(plan)
    assert [(event.purpose, event.day) for event in events] == [("next-visit", visit.day), ("show", plan.show)]
