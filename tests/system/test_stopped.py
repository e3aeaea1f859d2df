"""Ctrl-C, SIGTERM and a standard output that takes nothing: one line, a code of its own, nothing half done."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from coatrules.cli import main
from coatrules.formats.resources import schema
from tests.support.book import HISTORY, PROFILE


@pytest.fixture
def place(tmp_path: Path) -> Path:
    (tmp_path / "small.yaml").write_text(json.dumps(PROFILE), encoding="utf-8")
    (tmp_path / "pip.yaml").write_text(HISTORY, encoding="utf-8")
    line = json.dumps({"format": 1, "dog": {"id": "x", "profile": "small"}}) + "\n"
    (tmp_path / "book.jsonl").write_text(line * 200_000, encoding="utf-8")
    return tmp_path


def _default() -> None:
    signal.signal(signal.SIGINT, signal.default_int_handler)  # in the background a shell lets it be ignored


@pytest.mark.parametrize(("sent", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)])
@pytest.mark.parametrize(
    "line", ["due book.jsonl --profiles .", "fleet book.jsonl --out out.jsonl --profiles .", "order - --profiles ."]
)
def test_a_command_that_is_stopped_says_so_in_one_line(place: Path, line: str, sent: signal.Signals, code: int) -> None:
    with subprocess.Popen(
        [sys.executable, "-m", "coatrules", *line.split()],
        cwd=place,
        env={**os.environ, "PYTHONPATH": os.getcwd()},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=_default,
    ) as process:
        time.sleep(1.5)  # it is at work, or waits for its input, for as long as the test likes
        process.send_signal(sent)
        out, err = process.communicate(timeout=30)
    assert (process.returncode, out) == (code, "")
    assert err.startswith("Stopped.")
    assert err.count("\n") == 1


def test_main_stopped_within_another_program_is_a_code_too(
    place: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("coatrules.engine.engine.Engine.order", stopped)
    assert main(["order", str(place / "pip.yaml"), "--profiles", str(place)]) == 130
    assert capsys.readouterr() == ("", "Stopped.\n")


@pytest.mark.parametrize("words", [["--format", "json"], ["--format=json", "--lang", "de"]])
def test_a_program_that_asked_for_json_is_told_so_in_json(
    words: list[str], place: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stopped(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("coatrules.engine.engine.Engine.order", stopped)
    assert main(["order", str(place / "pip.yaml"), "--profiles", str(place), *words]) == 130
    out, err = capsys.readouterr()
    answer = json.loads(out)
    Draft202012Validator(schema("problems")).validate(answer)
    said = "Abgebrochen." if "de" in words else "Stopped."
    assert [(one["code"], one["message"]) for one in answer["problems"]] == [("stopped", said)]
    assert err == ""


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="there is no /dev/full here")
@pytest.mark.parametrize("more", [[], ["--format", "json"], ["--format", "page"]])
def test_an_output_that_takes_nothing_is_said(place: Path, more: list[str]) -> None:
    with open("/dev/full", "wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "coatrules", "order", "pip.yaml", "--profiles", ".", "--date", "2026-03-21", *more],
            cwd=place,
            env={**os.environ, "PYTHONPATH": os.getcwd()},
            stdout=full,
            stderr=subprocess.PIPE,
            text=True,
            check=False,
        )
    assert done.returncode == 1
    assert done.stderr == "error: cannot write the result to standard output: no space left on device\n"
