"""Writing a visit down: from the order as done, from a file, or question by question; what is written reads back equal."""

from __future__ import annotations

import io
import json
import os
import re
import subprocess
import sys
from datetime import date
from pathlib import Path
from typing import Any, get_args

import pytest
import yaml
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from coatrules.cli import main
from coatrules.dog.frames import framed
from coatrules.dog.history import Events, Health, Seen, Visit, Work
from coatrules.dog.loading import history_of, load_history
from coatrules.dog.state import state_on
from coatrules.order.engine import order
from coatrules.problems import InputError
from coatrules.reading import read_yaml
from coatrules.recording.append import append_visit
from coatrules.recording.entry import as_planned, put_off, set_work
from coatrules.recording.text import history_text, visit_data, visit_text
from tests.support.book import HISTORY, JSON_HISTORY, PROFILE, compiled_profile, profile_folder

DAY = date(2026, 3, 21)
PARTS = ("back", "ribs", "toes", "vent", "body", "all", "feet", "sanitary")


@pytest.fixture
def dog(tmp_path: Path) -> Path:
    (tmp_path / "profiles").mkdir()
    profile_folder(tmp_path / "profiles")
    (tmp_path / "pip.yaml").write_text(HISTORY, encoding="utf-8")
    return tmp_path / "pip.yaml"


def record(dog: Path, *arguments: str) -> int:
    return main(["record", str(dog), "--profiles", str(dog.parent / "profiles"), "--date", DAY.isoformat(), *arguments])


# -- text ---------------------------------------------------------------------------------------------------------------

parts = st.sampled_from(PARTS)
days = st.dates(date(2000, 1, 1), date(2099, 12, 31))
lengths = st.floats(0, 300) | st.integers(0, 300).map(float)
works = st.builds(
    Work,
    card=st.booleans(),
    pull=st.none() | st.floats(0, 1),
    pick=st.sampled_from(["longest", "even"]),
    clip=st.booleans() | lengths,
    scissor=st.booleans() | lengths,
    comb=st.booleans(),
    minutes=st.none() | st.floats(0, 600),
)
sights = st.builds(
    Seen,
    longest_mm=st.none() | lengths,
    layers=st.none() | st.integers(0, 20),
    see_through=st.none() | st.booleans(),
    undercoat=st.none() | st.sampled_from(["none", "some", "full"]),
    skin=st.none() | st.sampled_from(["sound", "unsound"]),
)
# Text as the strict reader gives it: in normal form C, nothing hidden; with all that means something in YAML.
notes = st.text("aZ9 é☂:#-?,[]{}&*!|>'\"%@`~\\\n=.", min_size=1, max_size=60) | st.sampled_from(
    ["no", "true", "null", "~", "12:30", "1e3", "0x1F", "2026-01-01", "---", "...", "- a", "a: b", "a #b", " a ", "<<"]
)
events = st.builds(Events, season=st.none() | days, whelped=st.none() | days).filter(
    lambda one: one.season or one.whelped
)
visits = st.builds(
    Visit,
    day=days,
    minutes=st.none() | st.floats(0, 600),
    work=st.dictionaries(parts, works, max_size=3),
    seen=st.dictionaries(parts, sights, max_size=3),
    reactions=st.dictionaries(parts, st.sampled_from(["calm", "unsettled", "stop"]), max_size=3),
    health=st.none() | st.lists(st.sampled_from(get_args(Health)), unique=True, max_size=3).map(tuple),
    put_off=st.lists(parts, max_size=2).map(tuple),
    events=st.none() | events,
    show=st.none() | days,
    note=st.none() | notes,
)


@given(st.lists(visits, max_size=3))
def test_what_is_written_reads_back_equal(visits: list[Visit]) -> None:
    old = history_of(read_yaml(HISTORY))
    text = HISTORY + "".join("---\n" + visit_text(visit_data(visit)) for visit in visits)
    assert history_of(read_yaml(text)).visits == (*old.visits, *visits)


@given(visits)
def test_another_reader_takes_it_for_the_same(visit: Visit) -> None:
    # PyYAML reads YAML 1.1; where it and our reader (1.2) agree, nobody's editor will see anything else. BaseLoader gives
    # every scalar as text and so tells the structure and the words.
    text = visit_text(visit_data(visit))
    theirs = yaml.load(text, Loader=yaml.BaseLoader)
    data = json.loads(json.dumps(visit_data(visit)), parse_int=str, parse_float=str)
    assert list(theirs) == list(data)
    assert theirs.get("note") == data.get("note")
    assert theirs.get("reactions", {}) == data.get("reactions", {})
    assert {part: set(work) for part, work in theirs.get("work", {}).items()} == {
        part: set(work) for part, work in data.get("work", {}).items()
    }


def test_a_whole_history_reads_back_equal() -> None:
    history = history_of(read_yaml(HISTORY))
    again = history_of(read_yaml(history_text(history.to_dict())))
    assert (again.dog, again.arrival, again.visits) == (history.dog, history.arrival, history.visits)


# -- what was done ------------------------------------------------------------------------------------------------------


@given(st.dictionaries(parts, works, max_size=4), parts, st.floats(0.01, 1))
def test_what_was_done_holds_for_just_that_part(before: dict[str, Work], part: str, share: float) -> None:
    ready = compiled_profile()
    visit = {"work": {name: visit_data(Visit(day=DAY, work={"x": work}))["work"]["x"] for name, work in before.items()}}
    old = dict(ready.by_region(visit["work"]))
    set_work(visit, part, {"pull": share}, ready)
    new = dict(ready.by_region(visit["work"]))
    for region in ready.regions:
        if region in ready.names[part]:
            assert new[region]["pull"] == share
            # All other tasks there stay as they were.
            others = {task: how for task, how in old.get(region, {}).items() if task not in ("pull", "minutes")}
            assert {task: how for task, how in new[region].items() if task not in ("pull", "minutes")} == others
        else:
            assert new.get(region) == old.get(region)


@given(st.dictionaries(parts, works, max_size=4), parts)
def test_what_was_left_was_not_worked(before: dict[str, Work], part: str) -> None:
    ready = compiled_profile()
    work = {name: visit_data(Visit(day=DAY, work={"x": work}))["work"]["x"] for name, work in before.items()}
    old = dict(ready.by_region(work))
    visit: dict[str, Any] = {"work": work}
    put_off(visit, part, ready)
    new = dict(ready.by_region(visit.get("work", {})))
    for region in ready.regions:
        if region in ready.names[part]:
            assert not any(new.get(region, {}).values())
        else:
            assert new.get(region) == old.get(region)
    assert visit["put_off"] == [part]


def test_as_planned_is_what_the_order_says(dog: Path) -> None:
    ready, history = compiled_profile(), load_history(dog)
    today = order(ready, history, DAY)
    done = as_planned(today)
    assert set(done["work"]) == {step.region for step in today.steps if step.region is not None}
    for step in today.steps:
        if step.region is not None:
            assert step.task in done["work"][step.region]
            if step.share is not None:
                assert done["work"][step.region]["pull"] == pytest.approx(step.share, abs=1e-6)
    assert done.get("put_off", []) == list(today.deferred)
    # What the order left after the work is what the next day's record finds: the same hair, a day older.
    new = append_visit(dog, Visit(day=DAY, work={n: Work(**w) for n, w in done["work"].items()}), compiled=ready)
    assert order(ready, new, date(2026, 3, 22)).facts["back"]["weeks_since_pull"] == pytest.approx(1 / 7)


def test_a_clip_without_a_length_is_written_as_planned(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A rule may add a clip to a part that no length is set for; what the order says can always be recorded."""
    neat = {"regions": ["back"], "then": {"add": {"clip": 2}}, "because": "A neat edge."}
    (tmp_path / "small.yaml").write_text(json.dumps({**PROFILE, "rules": {"neat": neat}}), encoding="utf-8")
    pip = tmp_path / "dogs" / "pip.yaml"
    pip.parent.mkdir()
    pip.write_text(HISTORY, encoding="utf-8")
    command = ["record", str(pip), "--profiles", str(tmp_path), "--date", DAY.isoformat(), "--as-planned"]
    assert main(command) == 0, capsys.readouterr().err
    visit = load_history(pip).visits[-1]
    assert visit.work["back"].clip is True
    # The outline alone: the coat is not cut, but the task is done.
    state = state_on(compiled_profile(), load_history(pip), DAY)
    assert state.regions["back"].last["clip"] == DAY.toordinal()
    assert not state.regions["back"].coat.cuts
    assert not state.endings


# -- the command --------------------------------------------------------------------------------------------------------


def test_as_planned_with_exceptions(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = dog.read_bytes()
    options = "--as-planned --did back=0.15 --left toes --seen back:longest_mm=14 --reaction feet=stop --took back=12"
    assert record(dog, *options.split(), "--health", "none", "--note", "Good: calm") == 0
    content = dog.read_bytes()
    assert content.startswith(before)  # nothing written before is ever rewritten
    assert content[len(before) :].decode() == framed(capsys.readouterr().out)
    last = load_history(dog).visits[-1]
    assert last.day == DAY
    back = last.work["back"]
    assert (back.card, back.pull, back.minutes) == (True, 0.15, 12)
    assert "toes" not in last.work
    assert last.work["vent"] == Work(clip=3)
    assert last.seen == {"back": Seen(longest_mm=14)}
    assert last.reactions == {"feet": "stop"}
    assert last.health == ()
    assert last.put_off == ("toes",)
    assert last.note == "Good: calm"


def test_a_visit_from_a_file_with_more_said_of_it(dog: Path) -> None:
    source = dog.with_name("visit.yaml")
    source.write_text(f"visit: {DAY}\nwork:\n  body: {{card: true, pull: 0.3}}\nnote: one\n", encoding="utf-8")
    assert record(dog, "--from", str(source), "--did", "ribs=0.1", "--note", "two") == 0
    last = load_history(dog).visits[-1]
    assert last.work == {"body": Work(card=True, pull=0.3), "ribs": Work(card=True, pull=0.1)}
    assert last.note == "one two"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("visit: 2026-03-21\nwork: {bak: {pull: 0.1}}\n", "visit.yaml:2:8: error: the profile 'small' has no region"),
        ("visit: 2026-03-21\nwork: {back: {pul: 0.1}}\n", "visit.yaml:2:15: error: unknown key: 'pul'"),
        ("visit: 2026-03-21\n---\nvisit: 2026-03-22\n", "expected one visit, found 2 documents"),
        ("- 1\n", "visit.yaml:1:1: error: expected"),
    ],
)
def test_a_wrong_file_is_refused_with_its_place(
    dog: Path, text: str, message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    source = dog.with_name("visit.yaml")
    source.write_text(text, encoding="utf-8")
    assert record(dog, "--from", str(source)) == 1
    assert message in capsys.readouterr().err
    assert dog.read_text(encoding="utf-8") == HISTORY


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--did", "bak=0.1"], "no region, group or zone 'bak'\n    Fix: Use 'back'."),
        (["--reaction", "back=angry"], "'angry' is unknown; use calm, unsettled or stop"),
        (["--did", "back=clip"], "has no length; write the length left in millimetres"),
        *(
            (["--did", text], "is not a share such as 1/5, 20% or a fifth")
            for text in ("back=x", "back=1.5", "back=6/5")
        ),
        (["--seen", "back=1"], "'1' is unknown; use sore, sound"),
        (["--seen", "back:a=1"], "'a=1' is unknown; use one of these keys"),
        (["--took", "back=x"], "'back=x' says no minutes"),
        (["--took", "1.20"], "'1.20' may be hours or minutes; write '1.20 h' or '1.20 min'"),
        (["--left", "tail"], "'tail'"),
        (["--seen", "back:layers=2.5"], "expected a whole number"),
        (["--note", "bell\x07"], "this visit cannot be stored"),
        ([], "no work given\n    Fix: Use --as-planned, --from FILE or --did PART=WHAT"),
    ],
)
def test_what_is_wrong_is_refused_before_anything_is_written(
    dog: Path, options: list[str], message: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO())
    assert record(dog, *options) == 1
    assert message in capsys.readouterr().err
    assert dog.read_text(encoding="utf-8") == HISTORY


@pytest.mark.parametrize(
    "options",
    [
        "--minutes 40 --did back=1/5",
        "--as-planned --minutes back=40",
        "--withdraw 2026-02-28 --did back=0.1",
        "--withdraw 2026-02-28",  # the day is named twice
        "--correct 2026-02-28 --did back=0.1",
    ],
)
def test_a_command_line_that_is_wrong_ends_with_two(
    dog: Path, options: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        record(dog, *options.split())
    assert ended.value.code == 2
    assert dog.read_text(encoding="utf-8") == HISTORY


def test_no_visit_before_the_dog_was_born_is_recorded(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """It was, and then no order could be made of the dog until the file was mended by hand."""
    dog.write_text("format: 1\ndog: {id: pip, profile: small, born: 2026-06-01}\n", encoding="utf-8")
    before = dog.read_bytes()
    assert record(dog, "--seen", "back: holds") == 1
    err = capsys.readouterr().err
    assert "the dog is born on 1 June 2026, after its visit on 21 March 2026" in err
    assert "Fix: Check both dates." in err
    assert dog.read_bytes() == before
    with dog.open("a", encoding="utf-8") as file:
        file.write(f"---\nvisit: {DAY.isoformat()}\nnote: typed by hand\n")
    home = ["--profiles", str(dog.parent / "profiles")]
    assert main(["record", str(dog), *home, "--withdraw", DAY.isoformat()]) == 0, "what was can be taken back"


def test_the_same_work_is_not_recorded_twice(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert record(dog, "--did", "back=0.1") == 0
    assert record(dog, "--did", "back=0.1") == 1
    fix = capsys.readouterr().err
    assert "--correct 2026-" in fix, "most often the visit is to be changed"
    assert "--again" in fix
    assert record(dog, "--note", "only a note") == 0
    assert record(dog, "--did", "back=0.1", "--again") == 0
    assert len(load_history(dog).visits) == 5


@pytest.mark.parametrize(("day", "warned"), [("2199-12-31", True), ("2026-03-21", False)])
def test_a_day_that_is_still_to_come_is_warned_of(
    dog: Path, day: str, warned: bool, capsys: pytest.CaptureFixture[str]
) -> None:
    assert record(dog, "--date", day, "--did", "back=0.1") == 0
    how = f"31 December 2199 is in the future. If the date is wrong, take the visit back: coatrules record {dog} --withdraw {day}"
    assert (how in capsys.readouterr().err) is warned
    before = load_history(dog).visits[:-1]
    assert main(["record", str(dog), "--profiles", str(dog.parent / "profiles"), "--withdraw", day]) == 0
    assert "in the future" not in capsys.readouterr().err, "it is taken back"
    assert [visit for _, visit in load_history(dog).until(date.max)] == list(before)


def test_a_day_that_is_taken_or_was_never_is_told_with_the_file(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """And where the visit stands that is recorded already; the file was not named at all."""
    assert record(dog, "--date", "2026-02-28", "--did", "back=0.1") == 1
    line = 1 + dog.read_text(encoding="utf-8").splitlines().index("visit: 2026-02-28")
    assert f"{dog}:{line}:8: error: work on 2026-02-28 is already recorded" in capsys.readouterr().err
    for option in ("--withdraw", "--correct"):
        assert main(["record", str(dog), "--profiles", str(dog.parent / "profiles"), option, "2026-02-27"]) == 1
        assert f"{dog}: error: there is no visit on 27 February 2026" in capsys.readouterr().err


def test_shares_as_people_say_them(dog: Path) -> None:
    shares = ["--did", "back 1/5", "--did", "ribs=12,5%+card", "--did", "toes: a twentieth"]
    assert record(dog, *shares, "--took", "80") == 0
    visit = load_history(dog).visits[-1]
    assert visit.work == {"back": Work(pull=0.2), "ribs": Work(pull=0.125, card=True), "toes": Work(pull=0.05)}
    assert visit.minutes == 80


def test_what_was_done_is_typed_as_in_the_dialog(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert record(dog, "--did", "left toe 1/20, back and ribs a fifth; vent put off", "--took", "1 h 20") == 0
    visit = load_history(dog).visits[-1]
    assert visit.work == {"toes": Work(pull=0.05), "back": Work(pull=0.2), "ribs": Work(pull=0.2)}
    assert (visit.put_off, visit.minutes, visit.note) == (("vent",), 80, "left toe 1/20")
    assert "both sides are recorded as one" in capsys.readouterr().err
    assert record(dog, "--did", "back lots", "--again") == 1
    assert "cannot understand 'back lots'" in capsys.readouterr().err


def test_what_was_seen_before_plans_what_is_recorded_as_planned(dog: Path) -> None:
    """The order without it was recorded, and asked back for the work on sore skin."""
    assert record(dog, "--as-planned", "--seen", "ribs: sore") == 0
    visit = load_history(dog).visits[-1]
    assert "vent" in visit.work
    assert "ribs" not in visit.work
    assert visit.seen["ribs"].skin == "unsound"


def test_what_it_took_is_never_the_time_there_was(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    whole, short = (["--as-planned", "--dry-run", *more] for more in (["--took", "20"], ["--minutes", "20"]))
    texts = []
    for options in (whole[:2], whole, short):
        assert record(dog, *options) == 0
        texts.append(capsys.readouterr().out)
    planned, took, there_was = (yaml.safe_load(text) for text in texts)
    assert took == planned | {"minutes": 20}
    assert "put_off" not in planned
    assert there_was["put_off"]


def test_what_the_whole_visit_took_teaches_the_hands_speed(dog: Path) -> None:
    # The profile's minutes for this work: a fifth of 20 for the back and of 20 for the ribs, and 2 to clip: 10 in all.
    assert record(dog, "--did", "body=1/5", "--did", "vent=clip:3", "--took", "20") == 0
    state = state_on(compiled_profile(), load_history(dog), DAY)
    assert state.speed.entries == 1
    assert set(state.speed.regions) == {"back", "ribs", "vent"}
    assert all(0.5 < state.speed.of(name) < 1 for name in state.speed.regions), "slower than the profile says"


def test_a_visit_that_cannot_have_taken_so_long_teaches_nothing(dog: Path) -> None:
    assert record(dog, "--did", "body=1/5", "--took", "600", "--anyway", "--note", "with a long sleep") == 0
    found = order(compiled_profile(), load_history(dog), DAY).findings
    (finding,) = [finding for finding in found if finding.code == "minutes-doubtful-visit"]
    assert finding.path == ("visits", 2, "minutes")
    assert "10 h" in finding.message or "600 min" in finding.message


def test_what_was_asked_for_stands_beside_what_came_of_it(dog: Path) -> None:
    planned = as_planned(order(compiled_profile(), load_history(dog), DAY))["work"]
    assert planned["back"]["pull"] != 0.05
    assert record(dog, "--as-planned", "--did", "back 1/20") == 0
    work = visit_data(load_history(dog).visits[-1])["work"]
    assert (work["back"]["pull"], work["back"]["asked"]) == (0.05, planned["back"]["pull"])
    assert "asked" not in work["ribs"], "there as much came as was asked for"


def test_a_recorded_visit_is_corrected_where_it_differed(dog: Path) -> None:
    before = dog.read_bytes()
    assert main(["record", str(dog), *home(dog), "--correct", "2026-02-28", "--did", "body=1/4"]) == 0
    history = load_history(dog)
    assert dog.read_bytes().startswith(before)
    assert [visit.day.isoformat() for visit in history.visits] == ["2026-01-31", "2026-02-28", "2026-02-28"]
    told = [visit for _, visit in history.until(DAY)]
    assert [visit.day.isoformat() for visit in told] == ["2026-01-31", "2026-02-28"]
    assert (told[1].work["body"].pull, told[1].work["vent"].clip, told[1].reactions) == (0.25, 3, {"toes": "stop"})


def test_a_visit_put_right_as_planned_is_that_of_a_day_not_yet_worked(dog: Path) -> None:
    assert record(dog, "--did", "back=1/2") == 0
    assert main(["record", str(dog), *home(dog), "--correct", DAY.isoformat(), "--as-planned"]) == 0
    history = load_history(dog)
    expected = as_planned(order(compiled_profile(), evolve(history, visits=history.visits[:2]), DAY))
    assert dict(history.visits[-1].work).keys() == expected["work"].keys()
    assert history.visits[-1].work["back"].pull == expected["work"]["back"]["pull"]


def test_a_visit_is_taken_back(dog: Path) -> None:
    assert main(["record", str(dog), *home(dog), "--withdraw", "2026-02-28", "--note", "another dog"]) == 0
    assert [visit.day.isoformat() for _, visit in load_history(dog).until(DAY)] == ["2026-01-31"]


@pytest.mark.parametrize("options", [["--correct", "2026-02-27", "--did", "back=1/5"], ["--correct", "2026-02-28"]])
def test_what_cannot_be_corrected_is_told(dog: Path, options: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["record", str(dog), *home(dog), *options]) == 1
    assert re.search("there is no visit on 27 February 2026|no correction given", capsys.readouterr().err)
    assert dog.read_text(encoding="utf-8") == HISTORY


def home(dog: Path) -> list[str]:
    return ["--profiles", str(dog.parent / "profiles")]


def test_a_dry_run_shows_and_writes_nothing(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert record(dog, "--did", "back=card+0.1", "--dry-run") == 0
    assert capsys.readouterr().out == "visit: 2026-03-21\nwork:\n  back: {card: true, pull: 0.1}\n"
    assert dog.read_text(encoding="utf-8") == HISTORY


# -- files --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("end", ["", "\n", "\n\n\n", "\n...\n", "\n# the end", "\r\n"])
def test_whatever_a_file_ends_with(tmp_path: Path, end: str) -> None:
    file = tmp_path / "pip.yml"
    before = (HISTORY.rstrip("\n") + end).encode()
    file.write_bytes(before)
    new = Visit(day=DAY, note="x")
    append_visit(file, new)
    assert file.read_bytes().startswith(before)
    assert load_history(file).visits[-1] == new
    assert len(load_history(file).visits) == 3


def test_a_json_history_is_replaced_whole_and_keeps_its_rights(tmp_path: Path) -> None:
    file = tmp_path / "pip.json"
    file.write_text(JSON_HISTORY, encoding="utf-8")
    file.chmod(0o640)
    new = Visit(day=DAY, work={"back": Work(pull=0.2)})
    append_visit(file, new, compiled=compiled_profile())
    assert json.loads(file.read_text(encoding="utf-8"))["visits"][-1] == visit_data(new)
    assert file.stat().st_mode & 0o777 == 0o640


def test_through_a_link_the_file_itself_grows(dog: Path) -> None:
    link = dog.with_name("link.yaml")
    link.symlink_to(dog)
    append_visit(link, Visit(day=DAY, note="x"))
    assert link.is_symlink()
    assert len(load_history(dog).visits) == 3


@pytest.mark.parametrize("name", ["book.jsonl", "none.yaml"])
def test_only_the_history_of_one_dog_is_written(tmp_path: Path, name: str) -> None:
    (tmp_path / "book.jsonl").write_text(JSON_HISTORY, encoding="utf-8")
    with pytest.raises(InputError):
        append_visit(tmp_path / name, Visit(day=DAY, note="x"))
    assert [path.name for path in tmp_path.iterdir()] == ["book.jsonl"]


def test_a_cut_off_visit_is_reported_with_the_mend(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert record(dog, "--as-planned", "--note", "a visit, whole") == 0
    whole = dog.read_bytes()
    start = len(HISTORY.encode())
    for length in range(start + 1, len(whole) - 1):  # without its last line break it is whole
        dog.write_bytes(whole[:length] + b"\n" * (length % 3))  # with what is left of the room, or without
        with pytest.raises(InputError) as read:
            load_history(dog)
        err = str(read.value)
        assert "error: " in err  # what is wrong, with its place
        if length - start > 3:
            assert "the last visit (from line 11) is incomplete" in err
            assert "Delete from line 11 on and record it again." in err
            assert "the rest of the file is fine, up to the visit on 28 February 2026" in err
    assert record(dog, "--did", "ribs=0.1", "--again") == 1
    assert "is incomplete" in capsys.readouterr().err
    dog.write_bytes(whole[:start])
    assert record(dog, "--did", "ribs=0.1") == 0
    dog.write_bytes(whole[:-1])
    assert load_history(dog).visits[-1].note == "a visit, whole"


@pytest.mark.parametrize("begin", ["---", "--- # recorded"])
def test_a_wrong_word_in_the_last_visit_is_no_reason_to_delete_it(dog: Path, begin: str) -> None:
    assert record(dog, "--as-planned") == 0
    text = dog.read_text(encoding="utf-8").replace("--- # recorded", begin)
    dog.write_text(text.replace("visit: 2026-03-21", "visit: 2026-03-21\nreactions: {back: angry}"), encoding="utf-8")
    with pytest.raises(InputError) as read:
        load_history(dog)
    assert [problem.code for problem in read.value.problems] == ["schema-enum"]


def test_a_file_in_one_document_has_nothing_recorded_to_verify(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """It ended in a traceback."""
    dog.write_text(
        "format: 1\ndog: {id: pip}\nvisits: [{visit: 2026-02-28, work: {back: {pull: 0.2}}}]\n", encoding="utf-8"
    )
    assert main(["record", str(dog), "--verify"]) == 0
    assert "1 visit; 0 as recorded, 0 edited since" in capsys.readouterr().out


def test_recorded_visits_are_verified_and_edited_ones_stay_valid(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert record(dog, "--did", "back=0.1", "--note", "first") == 0
    assert record(dog, "--did", "ribs=0.1", "--again", "--note", "second") == 0
    capsys.readouterr()
    assert main(["record", str(dog), "--verify"]) == 0
    assert "4 visits; 2 as recorded, 0 edited since" in capsys.readouterr().out
    dog.write_bytes(dog.read_bytes().replace(b"note: first", b"note: First"))
    assert main(["record", str(dog), "--verify"]) == 0
    out, err = capsys.readouterr()
    assert "4 visits; 1 as recorded, 1 edited since" in out
    assert f"{dog}:11: note: this visit no longer says what was recorded" in err
    assert load_history(dog).visits[-2].note == "First"
    lines = dog.read_bytes().splitlines(keepends=True)
    dog.write_bytes(b"".join(line for line in lines if not line.startswith(b"# ")).replace(b"--- # recorded", b"---"))
    assert len(load_history(dog).visits) == 4  # without any mark it is read as ever
    dog.write_bytes(b"".join(lines[:-1]))
    assert main(["record", str(dog), "--verify"]) == 1
    assert "is incomplete" in capsys.readouterr().err


def test_line_ends_stay_of_one_kind(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    dog.write_bytes(HISTORY.replace("\n", "\r\n").encode())
    assert record(dog, "--did", "back=0.1", "--note", "so") == 0
    content = dog.read_bytes()
    assert content.count(b"\n") == content.count(b"\r\n") > HISTORY.count("\n")
    assert load_history(dog).visits[-1].note == "so"
    capsys.readouterr()
    assert main(["record", str(dog), "--verify"]) == 0
    assert "1 as recorded" in capsys.readouterr().out


@pytest.mark.parametrize("style", ["|", "|-", "|+", ">", ">+"])
@pytest.mark.parametrize("end", ["", "\n", "\n\n"])
def test_a_history_that_ends_in_an_open_text_takes_a_visit(dog: Path, style: str, end: str) -> None:
    dog.write_text(f"{HISTORY}note: {style}\n  a text\n  of two lines{end}", encoding="utf-8")
    before = load_history(dog).visits[-1].note
    assert record(dog, "--did", "back=0.1") == 0
    after = load_history(dog).visits
    assert len(after) == 3
    assert str(after[-2].note).rstrip("\n") == str(before).rstrip("\n")


def test_standard_output_that_takes_nothing_does_not_unsay_what_was_recorded(dog: Path) -> None:
    if not os.path.exists("/dev/full"):
        pytest.skip("there is no /dev/full here")
    for more, code in (([], 0), (["--again", "--dry-run"], 1)):
        with open("/dev/full", "wb") as full:
            line = ["record", str(dog), "--did", "back=0.1", "--date", "2026-03-21", *more]
            line += ["--profiles", str(dog.parent / "profiles")]
            done = subprocess.run(
                [sys.executable, "-m", "coatrules", *line], stdout=full, stderr=subprocess.PIPE, text=True, check=False
            )
        assert done.returncode == code
        assert "cannot write the result to standard output: no space left on device" in done.stderr
        assert "Traceback" not in done.stderr
        assert ("Recorded in" in done.stderr) == (code == 0)
    assert len(load_history(dog).visits) == 3


def test_a_file_broken_elsewhere_is_reported_there(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    dog.write_text(HISTORY.replace("pull: 0.6", "pul: 0.6"), encoding="utf-8")
    assert record(dog, "--did", "ribs=0.1") == 1
    err = capsys.readouterr().err
    assert "pip.yaml:6:27: error: unknown key: 'pul'" in err
    assert "cut off" not in err
