"""Progress bars, seen through a pseudo-terminal: on a terminal one is shown and taken away again; nothing of it reaches a pipe."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import Thread

import pytest

from coatrules.cli import main
from tests.support.book import PROFILE
from tests.support.paths import ROOT

pty = pytest.importorskip("pty", reason="only POSIX systems have pseudo-terminals")

ESCAPE = "\x1b["
CLEARED = "\x1b[2K"
"""Erase in line, all of it. Source: ECMA-48, 8.3.41."""


@contextmanager
def terminal() -> Iterator[tuple[int, list[bytes]]]:
    """A terminal to write to, and what was written by the time it is closed; read all the while, for it holds little."""
    screen, keyboard = pty.openpty()
    read: list[bytes] = []

    def listen() -> None:
        with suppress(OSError):  # what Linux gives where the other end is closed
            while piece := os.read(screen, 4096):
                read.append(piece)

    listener = Thread(target=listen)
    listener.start()
    try:
        yield keyboard, read
    finally:
        os.close(keyboard)
        listener.join()
        os.close(screen)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "small.yaml").write_text(json.dumps(PROFILE), encoding="utf-8")
    lines = [json.dumps({"format": 1, "dog": {"id": f"dog-{n}", "profile": "small"}}) for n in range(3)]
    (tmp_path / "book.jsonl").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return tmp_path


COMMANDS = {
    "rehearse": (["rehearse", "small.yaml"], "Rehearsing two years"),
    "fleet": (["fleet", "book.jsonl", "--out", "out.jsonl", "--profiles", ".", "--date", "2026-03-21"], "3 dogs"),
}
ENDS = {"rehearse": 1, "fleet": 0}
"""How each ends: the small profile does not keep to its targets, and a rehearsal says so."""


@pytest.mark.parametrize("name", COMMANDS)
def test_a_bar_is_shown_on_a_terminal_and_nothing_of_it_elsewhere(
    name: str, folder: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    line, said = COMMANDS[name]
    monkeypatch.chdir(folder)
    monkeypatch.setenv("TERM", "xterm")
    assert main(line) == ENDS[name]
    piped = capfd.readouterr()
    results = (folder / "out.jsonl").read_bytes() if name == "fleet" else b""
    assert piped.err == ""
    with terminal() as (keyboard, shown), open(keyboard, "w", closefd=False, encoding="utf-8") as stderr:
        monkeypatch.setattr(sys, "stderr", stderr)
        assert main(line) == ENDS[name]
        monkeypatch.undo()
    screen = b"".join(shown).decode()
    assert said in screen
    assert "100" in screen
    assert screen.rfind(CLEARED) > screen.rfind("100"), "the bar is taken away when the work is done"
    assert capfd.readouterr().out == piped.out
    if name == "fleet":
        assert (folder / "out.jsonl").read_bytes() == results


@pytest.mark.parametrize("name", COMMANDS)
def test_a_result_shown_on_a_terminal_has_no_bar_where_messages_go_to_a_file(name: str, folder: Path) -> None:
    line, said = COMMANDS[name]
    command = [sys.executable, "-m", "coatrules", *line]
    environment = {**os.environ, "TERM": "xterm"}
    with terminal() as (keyboard, shown):
        done = subprocess.run(
            command, cwd=folder, env=environment, stdout=keyboard, stderr=subprocess.PIPE, check=False, timeout=120
        )
    screen = b"".join(shown).decode()
    assert done.returncode == ENDS[name]
    assert done.stderr == b""
    assert said not in screen
    assert ESCAPE not in screen
    assert ("104 weeks rehearsed" in screen) == (name == "rehearse")


@pytest.mark.parametrize("name", COMMANDS)
def test_without_the_library_for_it_there_is_no_bar_and_the_same_result(
    name: str, folder: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    line, _ = COMMANDS[name]
    monkeypatch.chdir(folder)
    assert main(line) == ENDS[name]
    expected = capfd.readouterr().out
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    monkeypatch.setattr("coatrules.cli.progress.find_spec", lambda name: None)
    assert main(line) == ENDS[name]
    assert capfd.readouterr() == (expected, "")


def test_a_core_without_extras_needs_no_library_for_bars() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    names = {extra: {re.split("[<>=\\[]", entry)[0] for entry in entries}
             for extra, entries in {"": project["dependencies"], **project["optional-dependencies"]}.items()}  # fmt: skip
    assert {extra for extra, entries in names.items() if "rich" in entries} == {"fleet", "plan", "test"}
