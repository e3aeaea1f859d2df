"""Broken files, and what the command line says of them: a file dropped into ``tests/bad`` becomes a test.

Beside each ``p-*`` (a profile, checked) or ``h-*`` (a history, ordered) lies a ``.txt`` with all that is said. After a
change of wording, ``python -m tests.test_bad`` writes them anew: read what it wrote as a groomer would.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import chdir, redirect_stderr, redirect_stdout
from io import StringIO
from pathlib import Path

import pytest

from coatrules.cli import main

BAD = Path(__file__).parent / "bad"
FILES = sorted(file.name for file in BAD.iterdir() if file.suffix in (".yaml", ".json"))
PROBLEM = re.compile(r"(?P<file>[\w./-]+):(?P<line>\d+):(?P<column>\d+): (error|warning): (?P<what>\S.*)")


def said_of(file: str) -> tuple[int, str]:
    """The exit code, and everything the command line says of a broken file."""
    command = ["check", file] if file.startswith("p-") else ["order", file, "--date", "2026-03-21", "--profiles", "."]
    said = StringIO()
    with chdir(BAD), redirect_stdout(said), redirect_stderr(said):
        code = main([*command, "--profiles", "known"])
    return code, said.getvalue()


def problems(said: str) -> Iterator[tuple[re.Match[str], str]]:
    """Each problem's first line and its mend."""
    lines = said.splitlines()
    for line, after in zip(lines, [*lines[1:], ""], strict=True):
        found = PROBLEM.fullmatch(line)
        if found:
            yield found, after


@pytest.mark.parametrize("file", FILES)
class TestBroken:
    def test_is_said_as_expected(self, file: str) -> None:
        code, said = said_of(file)
        assert said == (BAD / file).with_suffix(".txt").read_text(encoding="utf-8")
        assert code == 1

    def test_names_place_and_mend_of_every_problem(self, file: str) -> None:
        _, said = said_of(file)
        found = list(problems(said))
        assert found
        for problem, mend in found:
            assert re.fullmatch(r"    \S.*[.?]", mend), f"no mend: {problem[0]}"
            lines = (BAD / problem["file"]).read_text(encoding="utf-8", errors="replace").split("\n")
            assert int(problem["line"]) <= len(lines)
            assert int(problem["column"]) <= len(lines[int(problem["line"]) - 1]) + 1
        rest = [line for line in said.splitlines() if not PROBLEM.fullmatch(line) and not line.startswith("    ")]
        assert all(re.fullmatch(r"1 profile checked, \d+ findings?\.", line) for line in rest), rest


def test_there_are_many_and_no_message_is_left_over() -> None:
    assert len(FILES) >= 60
    assert {file.stem for file in BAD.glob("*.txt")} == {Path(file).stem for file in FILES}


def test_what_they_build_on_is_sound(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(BAD / "known" / "sound.yaml")]) == 0, capsys.readouterr().out


if __name__ == "__main__":
    os.environ.setdefault("PYTHONUTF8", "1")
    for each in FILES:
        (BAD / each).with_suffix(".txt").write_text(said_of(each)[1], encoding="utf-8")
