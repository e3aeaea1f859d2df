"""Which language is spoken: the option wherever it stands, else what the environment proposes (POSIX, XBD 8.2), else English."""

from __future__ import annotations

import subprocess
import sys
from argparse import ArgumentTypeError
from pathlib import Path

import pytest

from coatrules.catalogue.speaking import say, speaking
from coatrules.cli import main
from coatrules.cli.language import asked
from tests.support.paths import EXAMPLES, ROOT

PIP = str(EXAMPLES / "salon" / "pip.yaml")


@pytest.mark.parametrize(
    "arguments", [["--lang", "de", "due", "x"], ["due", "--lang=de", "x"], ["due", "x", "--lang", "DE"]]
)
def test_the_option_is_understood_wherever_it_stands(arguments: list[str]) -> None:
    catalogue, rest = asked(arguments, {"LANG": "fr_FR.UTF-8"})
    assert (catalogue.locale, rest) == ("de", ["due", "x"])


def test_a_language_only_begun_is_spoken_where_it_is_asked_for() -> None:
    assert asked(["--lang", "nl"], {})[0].own("Withers") == "Schoft"


def test_what_comes_after_two_dashes_is_no_option() -> None:
    assert asked(["due", "--", "--lang", "de"], {})[1] == ["due", "--", "--lang", "de"]


@pytest.mark.parametrize(
    ("environment", "spoken"),
    [
        ({}, "en"),
        ({"LANG": "C.UTF-8"}, "en"),
        ({"LANG": "en_GB.UTF-8"}, "en"),
        ({"LANG": "de_AT.UTF-8@euro"}, "de"),
        ({"LANG": "en_GB", "LC_MESSAGES": "de_DE"}, "de"),
        ({"LANG": "de_DE", "LC_ALL": "C"}, "en"),
        ({"LANG": "de_DE", "LC_ALL": ""}, "de"),
        ({"LANG": "tlh_XX"}, "en"),
        ({"LANG": "nl_NL"}, "en"),  # only begun
    ],
)
def test_the_environment_proposes(environment: dict[str, str], spoken: str) -> None:
    assert asked([], environment)[0].locale == spoken


def test_a_language_there_is_not_is_refused_with_those_there_are() -> None:
    with pytest.raises(ArgumentTypeError, match="'tlh' is unknown; use en, de"):
        asked(["--lang", "tlh"], {})


def test_a_command_speaks_german_from_its_help_to_its_errors(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["order", PIP, "--date", "2026-03-21", "--lang", "de"]) == 0
    shown = capsys.readouterr()
    assert "Nächster Termin 11. Apr." in shown.out
    assert "Next visit" not in shown.out
    assert main(["order", "nowhere.yaml", "--lang", "de"]) == 1
    assert capsys.readouterr().err.startswith("nowhere.yaml: Fehler: diese Datei lässt sich nicht lesen")
    with pytest.raises(SystemExit):
        main(["order", "--help", "--lang", "de"])
    assert capsys.readouterr().out.startswith("Aufruf: coatrules order ")


def test_english_needs_no_translation_library() -> None:
    code = "import sys; from coatrules.cli import main; main(sys.argv[1:]); assert 'babel' not in sys.modules"
    command = [sys.executable, "-c", code, "order", PIP, "--date", "2026-03-21"]
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True)


def test_answers_to_a_book_are_the_same_in_any_language(tmp_path: Path) -> None:
    book = tmp_path / "book.jsonl"
    book.write_text('{"format": 1, "dog": {"id": "tip", "profile": "griffon-bruxellois-rough"}}\n', encoding="utf-8")
    for tag in ("en", "de"):
        main(["fleet", str(book), "--out", str(tmp_path / tag), "--date", "2026-03-21", "--lang", tag])
    assert (tmp_path / "en").read_bytes() == (tmp_path / "de").read_bytes()


def test_the_language_ends_with_the_command() -> None:
    with pytest.raises(SystemExit), speaking(asked([], {})[0]):
        main(["--lang", "de", "order"])
    assert say("amount.yes") == "yes"
