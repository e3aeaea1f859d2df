"""Terminals without some letters, and narrow ones."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatrules.book.due import due
from coatrules.catalogue.english import ENGLISH
from coatrules.catalogue.template import Plural
from coatrules.cli.spelling import ERRORS
from coatrules.dog.loading import history_of, load_history
from coatrules.order.engine import work_order
from coatrules.order.explanation import explain
from coatrules.profile.loading import load_profile
from coatrules.reading import read_yaml
from coatrules.report import explanation
from coatrules.report.due import table
from coatrules.report.text import text
from tests.support.book import HISTORY, compiled_profile
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
    lines = table([dog], DAY, width).splitlines()
    assert len(lines) == 2
    assert max(map(len, lines)) <= width
    assert all("Pip" in line for line in lines[1:])
