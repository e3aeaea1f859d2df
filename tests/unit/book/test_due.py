"""Who of the book is due: found in files, folders and JSON Lines; sorted; harmless wherever it is shown."""

from __future__ import annotations

import csv
import io
import json
import pickle
import re
import sys
import unicodedata
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from attrs import evolve
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from coatrules import Engine
from coatrules.book.due import Due, due
from coatrules.book.entries import entries, files
from coatrules.cli import main
from coatrules.dog.history import History
from coatrules.dog.loading import history_of, load_history
from coatrules.dog.state import replay_visits, state_after, state_on
from coatrules.formats.documents import without_file
from coatrules.order.engine import InBrief, order
from coatrules.order.last_work import from_tomorrow
from coatrules.order.next_visit import NextVisit
from coatrules.profile.compiled import CompiledProfile, compile_profile
from coatrules.profile.loading import load_profile
from coatrules.reading import read_yaml
from coatrules.recording.entry import as_planned
from coatrules.recording.visits import with_visit
from coatrules.report.due import cell, due_data, table
from coatrules.report.safe_text import plain
from tests.support.book import HISTORY, PROFILE, compiled_profile, profile_folder
from tests.support.paths import ROOT
from tests.support.strategies import START, histories, profiles

DAY = date(2026, 3, 21)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A folder of dogs: one in YAML, one in JSON, three in JSON Lines of which one is broken, one cut off, one hidden."""
    (tmp_path / "profiles").mkdir()
    profile_folder(tmp_path / "profiles")
    book = tmp_path / "book"
    (book / "inner").mkdir(parents=True)
    (book / "pip.yaml").write_text(HISTORY, encoding="utf-8")
    (book / "inner" / "ada.json").write_text(json.dumps(dog("ada", "2026-03-14")), encoding="utf-8")
    lines = [json.dumps(dog("bo", "2026-02-14")), "", json.dumps(dog("cy", "2026-03-01", part="tail"))]
    (book / "more.jsonl").write_text(
        "\n".join([*lines, '{"format": 1, ', json.dumps(dog("di", None))]), encoding="utf-8"
    )
    (book / "torn.yaml").write_text(HISTORY + "--- # recorded\nvisit: 2026-03-0", encoding="utf-8")
    (book / ".pip.yaml.lock").write_text("", encoding="utf-8")
    (book / "notes.txt").write_text("no history", encoding="utf-8")
    return book


def dog(called: str, day: str | None, part: str = "body", **more: Any) -> dict[str, Any]:
    visits = [{"visit": day, "work": {part: {"pull": 0.2, "card": True}}}] if day else []
    return {"format": 1, "dog": {"id": called, "profile": "small", **more}, "visits": visits}


def ask(book: Path, *options: str) -> int:
    home = next(folder for folder in book.parents if (folder / "profiles").is_dir())
    return main(["due", str(book), "--profiles", str(home / "profiles"), "--date", DAY.isoformat(), *options])


def test_every_history_is_found_once(book: Path) -> None:
    assert [file.name for file in files([book, book / "pip.yaml"])] == [
        "ada.json",
        "more.jsonl",
        "pip.yaml",
        "torn.yaml",
    ]
    read = list(entries([book, book / "none.yaml"]))
    assert [entry.history.dog.id if entry.history else None for entry in read] == (
        ["ada", "bo", "cy", None, "di", "pip", None, None]
    )
    assert [entry.line for entry in read] == [1, 1, 3, 4, 5, 1, 1, 1]
    sizes = sum(file.stat().st_size for file in files([book]))
    assert sum(entry.size for entry in read) == sizes - len("\n")  # all but the empty line


def test_the_broken_are_reported_and_stop_nothing(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert ask(book, "--format", "json") == 1
    out, err = capsys.readouterr()
    assert [entry["dog"]["id"] for entry in json.loads(out)["dogs"]] == ["bo", "pip", "di", "ada"]
    assert err == "", "what is wrong is in the JSON, too"
    problems = [(Path(p["file"]).name, p["line"], p["severity"]) for p in json.loads(out)["problems"]]
    assert ("more.jsonl", 3, "error") in problems
    assert ("more.jsonl", 4, "error") in problems
    assert ("torn.yaml", 12, "error") in problems
    assert ask(book) == 1
    out, err = capsys.readouterr()
    assert out.startswith("Due")
    assert "more.jsonl:3:100: error: the profile 'small' has no region, group or zone 'tail'" in err
    assert "more.jsonl:4:" in err
    assert "the last visit (from line 11) is incomplete" in err


def test_a_whole_book_ends_with_nought(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert ask(book / "inner") == 0
    assert capsys.readouterr().err == ""


def test_the_same_dog_twice_is_said(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (book / "inner" / "again.json").write_text(json.dumps(dog("ada", "2026-03-01")), encoding="utf-8")
    assert ask(book / "inner") == 0
    assert re.search(r"warning: duplicate dog id: 'ada' \(first in .*ada.json, line 1\)", capsys.readouterr().err)


def test_a_missing_profile_is_said_once_for_each_dog(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    dogs = [dog("ada", "2026-03-01"), dog("bo", "2026-03-01"), dog("cy", "2026-03-01")]
    del dogs[2]["dog"]["profile"]
    (tmp_path / "book.jsonl").write_text("\n".join(map(json.dumps, dogs)), encoding="utf-8")
    assert main(["due", str(tmp_path / "book.jsonl"), "--date", "2026-03-21"]) == 1
    err = capsys.readouterr().err
    assert err.count("its profile 'small' cannot be used") == 2
    assert err.count("names no profile") == 1


def test_until_leaves_out_who_is_not_due_by_then(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ask(book, "--format", "json", "--until", "2026-03-21")
    days = {entry["dog"]["id"]: entry["best"] for entry in json.loads(capsys.readouterr().out)["dogs"]}
    assert set(days) == {"bo", "di", "pip"}
    assert max(days.values()) <= "2026-03-21"


def test_when_and_how_long(book: Path) -> None:
    compiled, history = compiled_profile(), load_history(book / "pip.yaml")
    first = due(compiled, history, DAY)
    # Three weeks after the last work, which is the profile's interval; the same work order as on that day.
    assert first.last == date(2026, 2, 28)
    assert first.visit.best == first.day == first.last + timedelta(weeks=3)
    assert first.order.to_dict() == order(compiled, history, first.day).to_dict()
    # Asked later the visit is overdue, and stays due on the day it was.
    later = due(compiled, history, DAY + timedelta(days=10))
    assert later.visit.best == first.visit.best
    assert later.day == DAY + timedelta(days=10)


def test_a_note_since_then_moves_nothing(book: Path) -> None:
    compiled = compiled_profile()
    first = due(compiled, load_history(book / "pip.yaml"), DAY)
    noted = book.parent / "noted.yaml"
    noted.write_text(HISTORY + "---\nvisit: 2026-03-10\nnote: the owner called\n", encoding="utf-8")
    assert due(compiled, load_history(noted), DAY).visit.best == first.visit.best


@given(st.integers(0, 80))
def test_after_the_work_as_ordered_the_dog_is_due_when_the_order_said(days: int) -> None:
    compiled, day = compiled_profile(), date(2026, 3, 1) + timedelta(days=days)
    due_as_ordered(compiled, history_of(read_yaml(HISTORY)), day)


@pytest.mark.parametrize("days", [3, 35, 150])
@pytest.mark.parametrize("dog", ["bramble", "moss", "nettle", "pip"])
def test_a_dog_of_a_packaged_profile_too_is_due_when_the_order_said(dog: str, days: int) -> None:
    history = load_history(ROOT / "examples" / "salon" / f"{dog}.yaml")
    compiled = compile_profile(load_profile(history.dog.profile or ""))
    due_as_ordered(compiled, history, max(visit.day for visit in history.visits) + timedelta(days=days))


@pytest.mark.parametrize(("minutes", "soon"), [(180, True), (170, False)])
def test_the_rest_of_a_day_that_was_too_short_is_due_within_the_week(minutes: int, soon: bool) -> None:
    regions = {
        name: {**region, "minutes": {"pull": 600}} if "pull" in region["minutes"] else region
        for name, region in PROFILE["regions"].items()
    }
    visit = {**PROFILE["visit"], "minutes": minutes}
    compiled = compile_profile(load_profile({**PROFILE, "visit": visit, "regions": regions}))
    history = history_of(read_yaml(HISTORY))
    window = due_as_ordered(compiled, history, DAY)
    assert (window.best <= DAY + timedelta(days=7)) is soon
    # What the visit took, where that was written down, says whether it was a whole day.
    work = {**as_planned(order(compiled, history, DAY)), "minutes": 175}
    noted = with_visit(history, without_file({"visit": DAY.isoformat(), **work}), compiled)
    assert due(compiled, noted, DAY).visit.best <= DAY + timedelta(days=7)


def due_as_ordered(compiled: CompiledProfile, history: History, day: date) -> NextVisit:
    """Holds the window of the day's order against that of the record of it, and returns it."""
    today = order(compiled, history, day)
    visit = {"visit": day.isoformat(), **as_planned(today)}
    window = due(compiled, with_visit(history, without_file(visit), compiled), day).visit
    if not today.steps:  # it is told from tomorrow on
        window = from_tomorrow(window, day, None)
    assert evolve(window, hold=None) == evolve(today.next_visit, hold=None)
    return window


@settings(max_examples=25)
@given(profiles(), histories(), st.integers(0, 60))
def test_it_is_due_when_the_order_of_the_last_day_of_work_says_whatever_is_noted_since(
    profile: dict[str, Any], history: dict[str, Any], days: int
) -> None:
    compiled, dog = compile_profile(load_profile(profile)), load_history(history)
    last = max((visit.day for visit in dog.visits if visit.work), default=START)
    assume(dog.visits and dog.visits[0].day < last == dog.visits[-1].day)
    # An order without the time for any work speaks of the same record: of nothing that is still to be done. But it puts that off,
    # and what is half stripped does not wait.
    assume(not any(target.full_strip for target in compiled.profile.layer_targets.values()))
    no_time = evolve(compiled.profile, visit=evolve(compiled.profile.visit, minutes=0.4))
    expected = order(compile_profile(no_time), dog, last).next_visit
    today = last + timedelta(days=days)
    note = [{"visit": today.isoformat(), "note": "the owner called"}] if days else []
    window = due(compiled, load_history({**history, "visits": [*history["visits"], *note]}), today).visit
    assert evolve(window, hold=None) == evolve(expected, hold=None)


@pytest.mark.slow
@settings(max_examples=12)
@given(profiles(), histories(), st.integers(-5, 400))
def test_the_order_is_the_one_that_the_whole_history_gives_on_that_day(
    profile: dict[str, Any], history: dict[str, Any], days: int
) -> None:
    compiled, dog = compile_profile(load_profile(profile)), load_history(history)  # some visits may still be to come
    result = due(compiled, dog, START + timedelta(days=days))
    assert result.order.to_dict() == order(compiled, dog, result.day).to_dict()


@settings(max_examples=30)
@given(profiles(), histories(), st.integers(0, 100))
def test_what_is_told_is_the_same_on_every_later_day(
    profile: dict[str, Any], history: dict[str, Any], days: int
) -> None:
    compiled, dog = compile_profile(load_profile(profile)), load_history(history)
    last = max((visit.day for visit in dog.visits), default=START)
    later = last + timedelta(days=days)
    replayed = replay_visits(compiled, dog, last)
    assert not dog.visits or replayed == replay_visits(compiled, dog, later)
    again, fresh = state_after(compiled, replayed, later), state_on(compiled, dog, later)
    marks = {
        (again.class_keys[name], fresh.class_keys[name]) for name in compiled.regions
    }  # which regions are alike is the same too
    assert len(marks) == len(set(again.class_keys.values())) == len(set(fresh.class_keys.values()))
    if dog.visits:
        assert again._replace(class_keys={}) == fresh._replace(class_keys={})


def test_a_profile_says_how_surely_lengths_are_measured() -> None:
    """Lengths that are off by more tell less of the pace: the window is wider."""

    def days(measure_mm: float) -> int:
        visit = {**PROFILE["visit"], "every_weeks": 8, "measure_mm": measure_mm}
        seen = HISTORY.replace("{body: {pull: 0.2}, vent", "{body: {pull: 1}, vent")
        seen += "---\nvisit: 2026-05-02\nseen: {body: {longest_mm: 11}}\n"
        window = due(
            compile_profile(load_profile({**PROFILE, "visit": visit})), history_of(read_yaml(seen)), date(2026, 5, 3)
        ).visit
        first = next(binding.window for binding in window.binding if binding.bound == "earliest")
        return (first[1] - first[0]).days

    assert days(0.5) < days(2.0) < days(8.0)


def test_unsound_skin_sets_no_end() -> None:
    text = HISTORY + "---\nvisit: 2026-03-10\nseen: {all: {skin: unsound}, vent: {skin: unsound}}\n"
    visit = due(compiled_profile(), history_of(read_yaml(text)), DAY).visit
    assert (visit.latest, visit.binding) == (None, ())
    assert visit.best == DAY  # three weeks after the last work; the note since then moves nothing


@given(st.integers(0, 60), st.integers(0, 60))
def test_the_window_holds_the_best_day_and_rank_follows_it(first: int, second: int) -> None:
    compiled = compiled_profile()
    dues = [
        due(compiled, load_history(dog(name, (date(2026, 1, 1) + timedelta(days=days)).isoformat())), DAY)
        for name, days in (("ada", first), ("bo", second))
    ]
    for each in dues:
        assert each.day >= DAY
        assert each.visit.latest is None or each.visit.best <= each.visit.latest
        assert each.visit.clash or each.visit.earliest <= each.visit.best
    if first < second:
        assert dues[0].rank < dues[1].rank


# -- nothing an author wrote can do harm ----------------------------------------------------------------------------------

EVIL = ("=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "＝1", " =1", "\x1b[2J=1", "a\nb", "a\x9b31mb", "\u202eabc", 'a","b')


@given(st.text(min_size=1, max_size=20) | st.sampled_from(EVIL))
def test_text_cannot_steer_a_terminal_or_a_spreadsheet(text: str) -> None:
    shown = plain(text).strip()
    assert not {unicodedata.category(c) for c in str(cell(text))} & {"Cc", "Cs", "Zl", "Zp"}
    # OWASP, CSV Injection: no cell may begin with one of these.
    assert not str(cell(text)).lstrip().startswith(("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠"))
    assert cell(text) in (shown, f"'{shown}")


@pytest.mark.parametrize("text", [text for text in EVIL if "\x1b" not in text and text.isprintable()])
def test_names_go_through_csv_as_text(book: Path, text: str, capsys: pytest.CaptureFixture[str]) -> None:
    (book / "inner" / "ada.json").write_text(json.dumps(dog("ada", "2026-03-14", name=text)), encoding="utf-8")
    ask(book / "inner", "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(capsys.readouterr().out)))
    assert [row["dog"] for row in rows] == ["ada"]
    assert rows[0]["name"].removeprefix("'") == text.strip()
    assert rows[0]["name"][0] not in "=+-@＝"
    assert rows[0]["minutes"] == str(
        due(compiled_profile(), load_history(book / "inner" / "ada.json"), DAY).order.minutes_planned
    )


def test_the_table_lines_up_and_is_bounded(book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (book / "inner" / "ada.json").write_text(json.dumps(dog("ada", "2026-03-14", name="狗 Ada")), encoding="utf-8")
    ask(book, "--why")
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("Due")
    why = lines[0].index("Why")
    # Every line's reason starts in the same column, wide letters or not.
    for line in lines[1:]:
        before = next(n for n in range(len(line)) if _columns(line[:n]) >= why)
        assert _columns(line[:before]) == why
        assert line[before - 2 : before] == "  "
        assert line[before] != " "
    assert [line[:10] for line in lines if line[:1] == "2"] == sorted(line[:10] for line in lines if line[:1] == "2")
    assert max(map(_columns, lines)) <= 102


def _columns(line: str) -> int:
    return sum(2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in line)


def test_an_empty_book(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["due", str(tmp_path), "--date", "2026-03-21"]) == 0
    assert capsys.readouterr().out == "No dog is due.\n"


@pytest.mark.parametrize("terminal", [True, False])
def test_a_long_book_shows_progress_in_a_terminal_only(
    book: Path, terminal: bool, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("coatrules.cli.due.LONG_BOOK", 10)
    monkeypatch.setattr(sys.stderr, "isatty", lambda: terminal)
    shown: list[float] = []
    monkeypatch.setattr("rich.progress.Progress.update", lambda self, task, *, completed, **_: shown.append(completed))
    assert ask(book / "inner", "--format", "json") == 0
    assert json.loads(capsys.readouterr().out)["dogs"]
    size = sum(file.stat().st_size for file in files([book / "inner"]))
    assert shown[-1:] == ([size] if terminal else [])


# --- the floor ------------------------------------------------------------------------------------------------------


def test_a_dog_that_must_see_a_vet_first_has_no_day() -> None:
    """A dog that may not be touched still got a best day, zero minutes and a calendar entry."""
    visit = {"visit": "2026-03-01", "work": {"back": {"pull": 0.2}}, "health": ["unwell"]}
    history = load_history({"format": 1, "dog": {"id": "pip"}, "visits": [visit]})
    found = due(compiled_profile(), history, date(2026, 3, 21))
    assert found.visit.hold is not None
    data = due_data(found)
    assert (data["due"], data["days"]) == (None, None)
    assert "A veterinary surgeon first" in data["hold"]
    assert "vet first" in table([found])
    assert "VEVENT" not in Engine().calendar([found], date=date(2026, 3, 21))


def test_a_copy_brings_its_order_along(book: Path) -> None:
    """What a dog is due for is known before its order is worked out; pickled, as between processes, it takes that with it."""
    one = due(compiled_profile(), load_history(book / "pip.yaml"), DAY)
    again: Due = pickle.loads(pickle.dumps(one))
    assert again.to_dict() == one.to_dict()
    assert due_data(again) == due_data(one)
    assert one.order is one.order
    assert InBrief.of(one.order) == one.brief
