"""Terminals without some letters, and narrow ones."""

from __future__ import annotations

import io
import json
import os
import subprocess
import sys
from contextlib import suppress
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatrules.book.due import due
from coatrules.catalogue.english import ENGLISH
from coatrules.catalogue.template import Plural
from coatrules.cli import main
from coatrules.cli.spelling import ERRORS
from coatrules.dog.loading import history_of, load_history
from coatrules.order.engine import work_order
from coatrules.order.explanation import explain
from coatrules.profile.loading import load_profile
from coatrules.reading import read_yaml
from coatrules.report import explanation
from coatrules.report.due import table
from coatrules.report.text import text
from tests.support.book import HISTORY, JSON_HISTORY, PROFILE, compiled_profile
from tests.support.paths import ROOT

DAY = date(2026, 3, 21)
SALON = ROOT / "examples" / "salon"


@pytest.mark.parametrize(
    ("letters", "ascii_"),
    [
        ("4½ min", "4.5 min"),
        ("½ min", "0.5 min"),
        ("a – b — c", "a - b - c"),
        ("±2 ≤ 3 · x…", "+/-2 <= 3 - x..."),
        ("Zoë, Łódź, e\u0301", "Zoe, Lodz, e"),
        ("“so”", "'so'"),
        ("┌──┐│", "+--+|"),
        ("狗", "?"),
    ],
)
def test_what_a_terminal_lacks_is_spelt(letters: str, ascii_: str) -> None:
    assert letters.encode("ascii", ERRORS).decode() == ascii_


@given(st.text())
def test_every_text_can_be_written_in_every_encoding(text: str) -> None:
    for encoding in ("ascii", "iso-8859-1", "cp437", "utf-8"):
        out = io.TextIOWrapper(io.BytesIO(), encoding, errors=ERRORS)
        out.write(text)
        out.flush()


def test_no_sentence_of_the_catalogue_needs_a_question_mark() -> None:
    for sentence in ENGLISH.sentences.values():
        for form in (sentence.one, sentence.other) if isinstance(sentence, Plural) else (sentence,):
            assert form.encode("ascii", ERRORS).count(b"?") == form.count("?")


def test_an_order_in_the_locale_c() -> None:
    environment = {**os.environ, "LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    line = [sys.executable, "-m", "coatrules", "order", str(SALON / "pip.yaml"), "--date", DAY.isoformat()]
    done = subprocess.run(line, cwd=ROOT, env=environment, capture_output=True, check=True)
    shown = done.stdout.decode("ascii")
    assert "Griffon" in shown
    assert "?" not in shown


@pytest.mark.parametrize("width", [30, 40, 50, 59, 88])
def test_words_do_not_break_on_a_narrow_terminal(width: int) -> None:
    history, profile = load_history(SALON / "pip.yaml"), load_profile("griffon-bruxellois-rough")
    order = work_order(profile, history, date=DAY, ahead=True)
    explained = explain(profile, history, "back", date=DAY)
    for narrow, wide in (
        (text(order, width), text(order, 400)),
        (explanation.text(explained, width), explanation.text(explained, 400)),
    ):
        longest = max(map(len, wide.split()))
        assert max(map(len, narrow.splitlines())) <= max(width, longest + 8)
        assert set(narrow.split()) <= set(wide.split()) | _later_words(narrow)


def _later_words(shown: str) -> set[str]:
    """The words of the table of later visits, which becomes a list where it has no room."""
    lines = shown.partition("If the dog comes")[2] if "If the dog comes" in shown else shown
    return {word for word in lines.split() if word.endswith((",", ":")) or word.isalpha()}


@pytest.mark.parametrize("width", [30, 40, 50, 80])
def test_the_list_of_due_dogs_fits(width: int) -> None:
    dog = due(compiled_profile(), history_of(read_yaml(HISTORY)), DAY)
    lines = table([dog], width).splitlines()
    assert max(map(len, lines)) <= width
    _, line, *note = lines
    assert "Pip" in line
    assert ("--why" in " ".join(note)) is bool(note) is line.endswith("…") is (width < 31)


def test_no_command_shows_what_a_terminal_would_obey(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # Names of files reached it as they are wherever they were no part of a problem.
    evil = tmp_path / "\x1b[2J\u202eevil"
    evil.mkdir()
    (evil / "small.json").write_text(json.dumps(PROFILE), encoding="utf-8")
    dog, book, out, sheet = (str(evil / name) for name in ("dog.yaml", "book.jsonl", "out.jsonl", "sheet.csv"))
    Path(dog).write_text(HISTORY.replace("profile: small", "profile: border-terrier"), encoding="utf-8")
    Path(book).write_text(JSON_HISTORY + "\n{no\n", encoding="utf-8")
    Path(sheet).write_text("Name,Da\x1b[2Jy,Note\nTip,2026-03-01,bathed\n", encoding="utf-8")
    mapping = tmp_path / "mapping.yaml"
    mapping.write_text("format: 1\ndates: YYYY-MM-DD\ncolumns: {dog: Name, date: Day, note: Note}\n", encoding="utf-8")
    good = tmp_path / "good.csv"
    good.write_text("Name,Day,Note\nTip,2026-03-01,bathed\n", encoding="utf-8")
    profile = str(evil / "mine.yaml")
    Path(profile).write_text("format: 2\nid: mine\nlabel: 'Mine'\nextends: border-terrier\n", encoding="utf-8")
    day = ["--date", "2026-03-21"]
    for line in (
        ["order", dog, *day],
        ["order", dog, *day, "--why", "\x1b[2J"],
        ["explain", dog, "\x1b[2J", *day],
        ["record", dog, *day, "--did", "back=20%", "--profile", "border-terrier"],
        ["record", dog, "--verify"],
        ["due", str(evil), *day],
        ["fleet", book, "--out", out, *day],
        ["fleet", book, "--out", out, *day],
        ["fleet", book, "--verify", out],
        ["import", sheet, str(mapping), "--out", str(evil)],
        ["import", str(good), str(mapping), "--out", str(evil / "new")],
        ["check", profile],
        ["check", "\x1b[2J"],
        ["compare", profile, "\x1b[2J"],
        ["rehearse", "\x1b[2J"],
        ["tidy", profile],
        ["tidy", "--check", dog],
        ["migrate", profile],
        ["profiles", "\x1b[2J"],
        ["new", "\x1b[2J", "\x1b[2J"],
        ["draw", dog, "--region", "\x1b[2J", "--what", "coat"],
        ["order", dog, "--date", "\x1b[2J"],
        ["\x1b[2J"],
    ):
        with suppress(SystemExit):
            main(line)
        shown = "".join(capsys.readouterr())
        assert shown, line
        assert not set("\x1b\u202e") & set(shown), line
