"""The visit asked for in a terminal: few keystrokes, every answer kept, nothing lost where it ends early."""

from __future__ import annotations

import re
import sys
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from coatrules.cli import Terminated, main
from coatrules.cli.dialog import ask, draft_file
from coatrules.dog.history import Seen, Visit, Work
from coatrules.dog.loading import load_history
from coatrules.order.engine import order
from coatrules.profile.compiled import compile_profile
from coatrules.profile.loading import load_profile
from coatrules.recording.draft import Draft
from coatrules.recording.entry import as_planned
from tests.support.book import HISTORY, compiled_profile, profile_folder

DAY = date(2026, 3, 21)


@pytest.fixture
def dog(tmp_path: Path) -> Path:
    (tmp_path / "profiles").mkdir()
    profile_folder(tmp_path / "profiles")
    (tmp_path / "pip.yaml").write_text(HISTORY, encoding="utf-8")
    return tmp_path / "pip.yaml"


class Typist:
    """Types lines one after the other and counts the keys, Enter too; ends as a terminal does when its lines are used up."""

    def __init__(self, *lines: str, end: type[BaseException] = EOFError) -> None:
        self.lines, self.end, self.keys = iter(lines), end, 0
        self.questions: list[str] = []

    def __call__(self, question: str) -> str:
        self.questions.append(question)
        line = next(self.lines, None)
        if line is None:
            raise self.end
        self.keys += len(line) + 1
        return line


def record(dog: Path, monkeypatch: pytest.MonkeyPatch, typist: Typist, *options: str) -> int:
    monkeypatch.setattr(sys.stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr("builtins.input", typist)
    home = ["--profiles", str(dog.parent / "profiles"), "--date", DAY.isoformat()]
    return main(["record", str(dog), *home, *options])


def dialog(*lines: str, planned: dict[str, Any] | None = None) -> dict[str, Any]:
    """The visit of the small dog after these lines, with this planned."""
    draft = Draft({"visit": "2026-03-21"}, lambda seen: planned or {}, compiled_profile())
    assert ask(draft, compiled_profile(), Typist(*lines))
    return draft.visit


def planned(dog: Path) -> dict[str, Any]:
    return as_planned(order(compiled_profile(), load_history(dog), DAY))


def test_a_usual_visit_takes_at_most_60_keys(dog: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # As planned, two shares changed, one part left, one stop, the time taken.
    work = planned(dog)["work"]
    assert {"back", "ribs", "vent", "toes"} <= work.keys(), "or nothing is changed"
    assert {work[name]["pull"] for name in ("back", "ribs")}.isdisjoint({0.166667, 0.125}), "or nothing is changed"
    typist = Typist("back 1/6, ribs 1/8, toes left, vent stop, 80 min", "", "", "")
    assert record(dog, monkeypatch, typist) == 0
    assert typist.keys <= 60
    visit = load_history(dog).visits[-1]
    assert (visit.work["back"].pull, visit.work["ribs"].pull) == (0.166667, 0.125)
    assert visit.work["back"].card == work["back"].get("card", False), "what was not spoken of is as planned"
    assert visit.work["vent"] == Work(clip=3)
    assert "toes" not in visit.work
    assert visit.put_off == ("toes",)
    assert visit.reactions == {"vent": "stop"}
    assert visit.minutes == 80


def test_fewer_keys_without_commas_say_the_same(dog: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    before, visits = dog.read_bytes(), []
    for line in ("back 1/6, ribs 1/8, toes left, vent stop, 80 min", "back 1/6 ribs 1/8 toes left vent stop, 80"):
        dog.write_bytes(before)
        typist = Typist(line, "", "", "")
        assert record(dog, monkeypatch, typist) == 0
        visits.append(load_history(dog).visits[-1])
    assert typist.keys <= 45
    assert visits[0] == visits[1]


@pytest.mark.parametrize(
    ("profile", "line", "shares", "left", "stop"),
    [
        (
            "border-terrier",
            "back 1/7, ribs 1 in 9, no cheeks, beard stop, 80 min",
            {"back": 0.142857, "ribs": 0.111111},
            "cheeks",
            "beard",
        ),
        (
            "english-cocker-spaniel",
            "withers 12%, thighs 20%, hocks left, skull stop, 1h20",
            {"withers": 0.12, "thighs": 0.2},
            "hocks",
            "skull",
        ),
        (
            "dachshund-wire-haired",
            "loin 0.12; croup 1/11; pads skipped; belly growled; 80",
            {"loin": 0.12, "croup": 0.090909},
            "pads",
            "belly",
        ),
    ],
)
def test_a_usual_visit_takes_no_more_keys_whatever_the_dog(
    tmp_path: Path,
    profile: str,
    line: str,
    shares: dict[str, float],
    left: str,
    stop: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    (tmp_path / "profiles").mkdir()
    file = tmp_path / "dog.yaml"
    file.write_text(f"format: 1\ndog: {{id: dog, profile: {profile}}}\n", encoding="utf-8")
    compiled = compile_profile(load_profile(profile))
    work = as_planned(order(compiled, load_history(file), DAY))["work"]
    assert all(work[part]["pull"] != share for part, share in shares.items()), "or nothing is changed"
    assert set(compiled.names[left]) <= work.keys(), "or nothing is left"
    typist = Typist(line, "", "", "")
    assert record(file, monkeypatch, typist) == 0
    assert typist.keys <= 60
    visit = load_history(file).visits[-1]
    assert visit.minutes == 80
    assert visit.reactions == {stop: "stop"}
    assert visit.put_off[-1] == left
    assert visit.work.keys() == work.keys() - set(compiled.names[left]), "what was not spoken of is as planned"
    pulled = {part: done.pull for part, done in visit.work.items() if done.pull is not None}
    assert pulled == {part: done["pull"] for part, done in work.items() if part in pulled and "pull" in done} | shares


def test_as_planned_and_nothing_else(dog: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    expected = planned(dog)
    typist = Typist("y", "", "80", "", "")
    assert record(dog, monkeypatch, typist) == 0
    assert "As planned, except?" in typist.questions[0]
    visit = load_history(dog).visits[-1]
    assert {name: work.pull for name, work in visit.work.items()} == {
        name: work.get("pull") for name, work in expected["work"].items()
    }
    assert visit.minutes == 80


def test_a_wrong_word_is_asked_again_and_takes_nothing_with_it(capsys: pytest.CaptureFixture[str]) -> None:
    lines = ("bak 1/5, ribs lots, toes left", "ribs a fifth", "", "x", "80", "tired", "in-whelp", "", "fine")
    assert dialog(*lines) == {
        "visit": "2026-03-21",
        "work": {"ribs": {"pull": 0.2}},
        "put_off": ["toes"],
        "minutes": 80,
        "health": ["in-whelp"],
        "note": "fine",
    }
    err = capsys.readouterr().err
    assert "Fix: Use 'back'." in err
    assert "cannot understand 'ribs lots'" in err
    assert "'x' says no minutes" in err
    assert "'tired' is unknown" in err


def test_everything_a_line_can_say() -> None:
    lines = (
        "not as planned",
        "Back 0,25+card 12 min sore; ribs: 14,5 mm, toes scissor calm; took 80; note: so, and so; yes",
    )
    assert dialog(*lines, "", "", "", planned={"work": {"vent": {"clip": 3}}, "put_off": ["back"]}) == {
        "visit": "2026-03-21",
        "work": {"back": {"pull": 0.25, "card": True, "minutes": 12}, "toes": {"scissor": True}},
        "seen": {"back": {"skin": "unsound"}, "ribs": {"longest_mm": 14.5}},
        "reactions": {"toes": "calm"},
        "minutes": 80,
        "note": "so, and so; yes",
    }


ENDS = pytest.mark.parametrize(("end", "code"), [(KeyboardInterrupt, 130), (Terminated, 143), (EOFError, 1)])


@ENDS
def test_what_was_answered_before_the_end_is_offered_again(
    dog: Path, end: type[BaseException], code: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    before = dog.read_bytes()
    assert record(dog, monkeypatch, Typist("back 1/8, toes left", end=end)) == code
    assert dog.read_bytes() == before
    draft = draft_file(dog, DAY)
    assert f"What you answered is kept in {draft}." in capsys.readouterr().err
    assert record(dog, monkeypatch, Typist("", "vent stop", "", "70", "", "")) == 0
    visit = load_history(dog).visits[-1]
    assert visit.work["back"].pull == 0.125
    assert (visit.put_off, visit.reactions, visit.minutes) == (("toes",), {"vent": "stop"}, 70)
    assert not draft.exists()


def test_a_draft_that_is_not_wanted_is_begun_anew(dog: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert record(dog, monkeypatch, Typist("back 1/8")) == 1
    assert record(dog, monkeypatch, Typist("no", "toes left", "", "", "", "")) == 0
    assert load_history(dog).visits[-1].work["back"].pull == planned_share(dog)


@ENDS
def test_an_end_before_the_first_answer_keeps_what_was_there(
    dog: Path, end: type[BaseException], code: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert record(dog, monkeypatch, Typist(end=end)) == code
    assert not draft_file(dog, DAY).exists()
    assert record(dog, monkeypatch, Typist("back 1/8")) == 1
    kept = draft_file(dog, DAY).read_bytes()
    assert record(dog, monkeypatch, Typist(end=end)) == code, "asked whether the draft is wanted"
    assert draft_file(dog, DAY).read_bytes() == kept


@pytest.mark.parametrize(
    "text", ["", "[1]", "visit: 2026-03-21\nwork: 5\n", "{{{", "a: 1\n---\nb: 1\n", "\0", "visit: 5\n"]
)
def test_a_draft_that_was_damaged_is_refused_by_name(
    dog: Path, text: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    before = dog.read_bytes()
    draft_file(dog, DAY).write_text(text, encoding="utf-8")
    assert record(dog, monkeypatch, Typist("yes", "back 1/8", "", "", "", "")) == 1
    assert f"{draft_file(dog, DAY)}:" in capsys.readouterr().err
    assert dog.read_bytes() == before


def test_a_correction_that_is_no_visit_is_refused(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (dog.parent / "list.yaml").write_text("[1]\n", encoding="utf-8")
    home = ["--profiles", str(dog.parent / "profiles"), "--correct", "2026-02-28"]
    assert main(["record", str(dog), "--from", str(dog.parent / "list.yaml"), *home]) == 1
    assert "list.yaml:1:1: error: " in capsys.readouterr().err


def planned_share(dog: Path) -> float:
    before = load_history(dog)
    order_of_the_day = order(compiled_profile(), load_history_without_last(before), DAY)
    return float(as_planned(order_of_the_day)["work"]["back"]["pull"])


def load_history_without_last(history: Any) -> Any:
    from attrs import evolve

    return evolve(history, visits=history.visits[:-1])


def test_a_visit_that_is_refused_at_the_end_is_kept(
    dog: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert record(dog, monkeypatch, Typist("back 1/8", "", "80", "", "bell\x07", "")) == 0
    assert "invisible character" in capsys.readouterr().err, "asked again"
    before = dog.read_bytes()
    assert record(dog, monkeypatch, Typist("back 1/8", "", "80", "", "")) == 1
    assert dog.read_bytes() == before
    assert "already recorded" in capsys.readouterr().err
    assert "back: {" in draft_file(dog, DAY).read_text(encoding="utf-8")


def test_the_draft_of_another_day_is_spoken_of(
    dog: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    other = draft_file(dog, date(2026, 3, 20))
    other.write_text("visit: 2026-03-20\n", encoding="utf-8")
    assert record(dog, monkeypatch, Typist("y", "", "", "", "")) == 0
    assert f"Not recorded yet: {other}" in capsys.readouterr().err
    assert other.exists()


def test_a_terminal_that_says_nothing_records_nothing(
    dog: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    before = dog.read_bytes()
    assert record(dog, monkeypatch, Typist("")) == 1
    assert "nothing was answered" in capsys.readouterr().err
    assert dog.read_bytes() == before
    assert list(dog.parent.glob("*.draft")) == []


def test_what_was_seen_reads_back(dog: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert record(dog, monkeypatch, Typist("not as planned", "back 14 mm, back 3 layers", "", "", "", "")) == 0
    assert load_history(dog).visits[-1] == Visit(day=DAY, seen={"back": Seen(longest_mm=14, layers=3)})


@pytest.mark.parametrize(
    "options",
    [
        ["--did", "back 1/5", "--left", "back"],
        ["--did", "back 1/5", "--did", "the back 1/8"],
        ["--seen", "back: holds", "--seen", "Back: comes easily"],
        ["--did", "back holds", "--seen", "back: comes easily"],
        ["--did", "back 1/5, 80 min", "--took", "90"],
        ["--took", "80", "--took", "90"],
        ["--did", "back stop", "--reaction", "back=calm"],
        ["--did", "back 12 min", "--took", "back=20"],
        ["--took", "back=50", "--took", "20"],
        ["--did", "back 50 min; 20 min"],
        ["--health", "none", "--health", "unwell"],
    ],
)
def test_options_that_contradict_each_other_record_nothing(
    dog: Path, options: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """The last one won, and the visit was recorded without a word of the first."""
    before = dog.read_bytes()
    home = ["--profiles", str(dog.parent / "profiles"), "--date", DAY.isoformat()]
    for base in ([], ["--as-planned"]):
        assert main(["record", str(dog), *home, *base, *options]) == 1
        assert re.search(
            "exclude each other; use one|one visit cannot take|one of the two is wrong", capsys.readouterr().err
        )
    assert dog.read_bytes() == before


def test_an_answer_that_contradicts_its_own_line_is_asked_again(capsys: pytest.CaptureFixture[str]) -> None:
    visit = dialog("back 1/5, ribs 1/8, back left", "back 1/6", "", "80", "", "")
    assert visit["work"] == {"back": {"pull": 0.166667}, "ribs": {"pull": 0.125}}, "a later answer is a second thought"
    assert "back: '1/5' and 'left' exclude each other" in capsys.readouterr().err


NOTHING_MORE = pytest.mark.parametrize("word", ["nothing", "None", "no", "n", "nothing else", "that's all"])


@NOTHING_MORE
def test_nothing_else_is_no_answer(word: str) -> None:
    """The question says "(Enter: nothing)"; who typed the word had all of the visit's work put off."""
    work = {"back": {"pull": 0.2}, "ribs": {"pull": 0.2}}
    assert dialog("toes left", word, "80", "", "", planned={"work": work}) == {
        "visit": "2026-03-21",
        "work": work,
        "put_off": ["toes"],
        "minutes": 80,
    }


@NOTHING_MORE
def test_nothing_alone_is_asked_back(word: str, capsys: pytest.CaptureFixture[str]) -> None:
    """ "As planned, except?" - "nothing" may mean the one or the other."""
    work = {"back": {"pull": 0.2}}
    assert dialog(word, "yes", "", "80", "", "", planned={"work": work})["work"] == work
    assert "can mean two things; write 'yes'" in capsys.readouterr().err
    done = dialog(word, "nothing done", "", "", "", "", planned={"work": work})
    assert done == {"visit": "2026-03-21", "put_off": ["back"]}


@pytest.mark.parametrize(
    "line", ["as planned, except nothing", "all but the toes; yes", "yes, but no toes", "everything as planned"]
)
def test_as_planned_in_other_words(line: str) -> None:
    work = {"back": {"pull": 0.2}}
    visit = dialog(line, "", "", "", "", planned={"work": work})
    assert visit["work"] == work
    assert visit.get("put_off", []) == (["toes"] if "toes" in line else [])


def test_the_last_line_is_taken_back(capsys: pytest.CaptureFixture[str]) -> None:
    work = {"back": {"pull": 0.2}, "ribs": {"pull": 0.2}}
    visit = dialog("undo", "back 1/8", "ribs left, 80 min", "undo", "?", "", "70", "", "", planned={"work": work})
    assert visit == {"visit": "2026-03-21", "work": {**work, "back": {"pull": 0.125}}, "minutes": 70}
    err = capsys.readouterr().err
    assert "There is no line to take back." in err
    assert "Your last line is taken back." in err
    assert "After a part write" in err


def test_what_was_seen_plans_the_visit_again(
    dog: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """As `--seen` did already; said in the dialog or by `--did` it was recorded beside work that the floor forbids, and refused."""
    text = dog.read_bytes()
    found = []
    assert "ribs" in planned(dog)["work"]
    home = ["--profiles", str(dog.parent / "profiles"), "--date", DAY.isoformat(), "--as-planned"]
    for told in (["--seen", "ribs: sore"], ["--did", "ribs sore"], None):
        dog.write_bytes(text)
        if told is None:
            assert record(dog, monkeypatch, Typist("ribs sore", "", "", "", "")) == 0
        else:
            assert main(["record", str(dog), *home, *told]) == 0
        assert "nothing is planned on" in capsys.readouterr().err
        found.append(load_history(dog).visits[-1])
    assert found[0] == found[1] == found[2]
    assert found[0].seen == {"ribs": Seen(skin="unsound")}
    assert "ribs" not in found[0].work


ON_PAPER = {
    "seen": ("Skin not sound, where", "What came easily, what held", "Longest hair, mm; layers; where"),
    "left": ("Put off to next time",),
    "reaction": ("What the dog minded",),
    "took": ("Minutes, and by whom",),
    "note": ("To mind and to remember",),
}
"""The blanks of the printed page, by the option that takes what is written there."""


def test_paper_and_screen_go_in_one_order(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Who copied a sheet into the dialog hopped up and down it."""
    day_and_home = ["--profiles", str(dog.parent / "profiles"), "--date", DAY.isoformat()]
    assert main(["order", str(dog), "--format", "page", *day_and_home]) == 0
    blanks = re.findall(r'<p class="fill">(.*?)</p>', capsys.readouterr().out)
    assert blanks == [blank for blanks in ON_PAPER.values() for blank in blanks]

    with pytest.raises(SystemExit):
        main(["record", "--help"])
    options = re.findall(r"^  --(seen|did|left|reaction|took|health|note) ", capsys.readouterr().out, re.MULTILINE)
    assert options == ["seen", "did", "left", "reaction", "took", "health", "note"]
    assert [option for option in options if option in ON_PAPER] == list(ON_PAPER)

    typist = Typist("?", "y", "", "80", "", "")
    assert ask(
        Draft({"visit": "2026-03-21"}, lambda _: {"work": {"back": {"pull": 0.2}}}, compiled_profile()),
        compiled_profile(),
        typist,
    )
    words = capsys.readouterr().err.partition("After a part write")[2]
    places = [words.index(word) for word in ("sore", "comes easily", "N mm", "1/5", "left", "calm", "N min")]
    assert places == sorted(places)
    assert [question.split()[0] for question in typist.questions[-3:]] == ["How", "What", "Anything"]


def test_a_note_may_say_that_it_is_one() -> None:
    assert dialog("back 1/8", "", "80", "", "Note: washed")["note"] == "washed"


def test_no_work_is_no_work_as_planned(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Of a dog under a vet's stop 'use --as-planned' was the answer to who had used it."""
    home = ["--profiles", str(dog.parent / "profiles")]
    assert main(["record", str(dog), *home, "--date", "2026-03-20", "--health", "unwell"]) == 0
    assert (
        main(["record", str(dog), *home, "--date", DAY.isoformat(), "--as-planned", "--did", "as planned, no toes"])
        == 1
    )
    err = capsys.readouterr().err
    assert "the order of 21 March 2026 has no work" in err
    assert "--note TEXT if nothing was" in err


def test_what_must_be_minded_in_one_answer(capsys: pytest.CaptureFixture[str]) -> None:
    visit = dialog("back 1/8", "", "80", "in whelp and bruises easily, tired", "unwell; in-whelp, unwell", "", "")
    assert visit["health"] == ["unwell", "in-whelp"]
    assert "'tired' is unknown" in capsys.readouterr().err


def test_what_was_asked_for_is_kept_beside_what_came(dog: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In the dialog it was lost, but where something was put off as well."""
    asked = planned(dog)["work"]["back"]["pull"]
    assert record(dog, monkeypatch, Typist("back 1/9", "back 1/8", "", "80", "", "")) == 0
    assert load_history(dog).visits[-1].work["back"] == Work(card=True, pull=0.125, asked=asked)


def test_the_plan_is_that_of_the_time_there_was(dog: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The salon's usual minutes were forgotten, and the dialog had no place for others: work was recorded that no order asked for."""
    short = as_planned(order(compiled_profile(), load_history(dog), DAY, 10))["work"]
    assert short != planned(dog)["work"]
    text = dog.read_bytes()
    (dog.parent / "salon.yaml").write_text("format: 1\nminutes: 10\n", encoding="utf-8")
    home = ["--profiles", str(dog.parent / "profiles"), "--date", DAY.isoformat(), "--as-planned"]
    assert main(["record", str(dog), *home]) == 0
    by_salon = load_history(dog).visits[-1]
    dog.write_bytes(text)
    (dog.parent / "salon.yaml").unlink()
    assert record(dog, monkeypatch, Typist("yes", "", "", "", ""), "--minutes", "10") == 0
    assert by_salon == load_history(dog).visits[-1]
    assert by_salon.work.keys() == short.keys()


def test_a_refused_place_that_counts_as_done_is_spoken_of(capsys: pytest.CaptureFixture[str]) -> None:
    work = {"back": {"pull": 0.2}, "toes": {"scissor": True}}
    dialog("toes stop, back 1/8 stop", "", "", "", "", planned={"work": work})
    err = capsys.readouterr().err
    assert "toes: the dog refused, and the planned work is recorded as done" in err
    assert "back: the dog refused" not in err


def test_parts_that_took_longer_than_the_visit_are_asked_again(capsys: pytest.CaptureFixture[str]) -> None:
    visit = dialog("back 50 min; 20 min", "70 min, back 50 min", "", "", "")
    assert (visit["minutes"], visit["work"]) == (70, {"back": {"minutes": 50}})
    assert "back took 50 min, the whole visit 20 min; one of the two is wrong" in capsys.readouterr().err
    visit = dialog("back 50 min", "", "20", "55", "", "")
    assert visit["minutes"] == 55


def test_nothing_is_recorded_where_nothing_is_planned(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A second visit of the day was recorded, and held nothing."""
    home = ["--profiles", str(dog.parent / "profiles"), "--date", DAY.isoformat(), "--as-planned"]
    assert main(["record", str(dog), *home]) == 0
    before = dog.read_bytes()
    assert main(["record", str(dog), *home, "--again"]) == 1
    assert f"{dog}: error: the order of 21 March 2026 has no work" in capsys.readouterr().err
    assert dog.read_bytes() == before


@pytest.mark.parametrize("text", ["", "  ", ";", "\n"])
def test_an_empty_line_is_no_visit(dog: Path, text: str, capsys: pytest.CaptureFixture[str]) -> None:
    """A visit of nothing but its day was recorded."""
    before = dog.read_bytes()
    home = ["--profiles", str(dog.parent / "profiles"), "--date", DAY.isoformat()]
    assert main(["record", str(dog), *home, "--did", text]) == 1
    assert "no work given" in capsys.readouterr().err
    assert dog.read_bytes() == before


def test_lines_that_were_pasted_are_taken_one_by_one() -> None:
    assert dialog("back 1/5\nribs 1/8\n\ntoes left\nnote: tired\nbut good", "", "80", "", "") == {
        "visit": "2026-03-21",
        "work": {"back": {"pull": 0.2}, "ribs": {"pull": 0.125}},
        "put_off": ["toes"],
        "minutes": 80,
        "note": "tired but good",
    }
