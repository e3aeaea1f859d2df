"""Broken files, and what the command line says of them: a file dropped into ``tests/bad`` becomes a test.

Beside each ``p-*`` (a profile, checked) or ``h-*`` (a history, ordered) lies a ``.txt`` with all errors shown. After a
change of wording, ``python -m tests.system.test_bad`` writes them anew: read what it wrote as a groomer would.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Iterator
from contextlib import chdir, redirect_stderr, redirect_stdout
from io import StringIO
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules.cli import main
from coatrules.problems import InputError, Problem
from coatrules.profile.loading import load_profile
from coatrules.reading import read_json, read_yaml
from tests.support.paths import BAD

FILES = sorted(file.name for file in BAD.iterdir() if file.suffix in (".yaml", ".json"))
PROBLEM = re.compile(r"(?P<file>[\w./-]+):(?P<line>\d+):(?P<column>\d+): error: (?P<what>\S.*)")


def said_of(file: str) -> tuple[int, str]:
    """The exit code, and the errors that the command line shows of a broken file; warnings have tests of their own."""
    command = ["check", file] if file.startswith("p-") else ["order", file, "--date", "2026-03-21", "--profiles", "."]
    said = StringIO()
    with chdir(BAD), redirect_stdout(said), redirect_stderr(said):
        code = main([*command, "--profiles", "known"])
    kept: list[str] = []
    keep = True
    for line in said.getvalue().splitlines(keepends=True):
        keep = keep if line.startswith("    ") else not re.search(r"^\S+ (warning|note): |^1 profile checked, ", line)
        kept += [line] if keep else []
    return code, "".join(kept)


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
        assert [line for line in said.splitlines() if not PROBLEM.fullmatch(line) and not line.startswith("    ")] == []


def test_there_are_many_and_no_message_is_left_over() -> None:
    assert len(FILES) >= 60
    assert {file.stem for file in BAD.glob("*.txt")} == {Path(file).stem for file in FILES}


def test_what_they_build_on_is_sound(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(BAD / "known" / "sound.yaml")]) == 0, capsys.readouterr().out


TEXTS = {
    "yaml": (BAD / "known" / "sound.yaml").read_text(encoding="utf-8"),
    "json": json.dumps(read_yaml((BAD / "known" / "sound.yaml").read_bytes())[0].data, indent=1),
}
TROUBLE = [
    "",
    "\t",
    "'",
    '"',
    "[",
    "]",
    "{",
    "}",
    ",",
    ":",
    ": ",
    "- ",
    "#",
    "&a ",
    "*a",
    "!",
    "|",
    "%",
    "\x00",
    "\u202e",
    "0x",
    "é",
]


@st.composite
def scratched(draw: st.DrawFn) -> tuple[str, str]:
    """A sound file with one to three places overwritten."""
    kind = draw(st.sampled_from(sorted(TEXTS)))
    text = TEXTS[kind]
    for _ in range(draw(st.integers(1, 3))):
        start = draw(st.integers(0, len(text)))
        text = text[:start] + draw(st.sampled_from(TROUBLE)) + text[start + draw(st.integers(0, 12)) :]
    return kind, text


@settings(max_examples=150, derandomize=True)
@given(scratched())
def test_a_scratched_file_is_read_or_every_problem_has_place_and_mend(case: tuple[str, str]) -> None:
    kind, text = case
    found: tuple[Problem, ...] = ()
    try:
        documents = read_yaml(text, "a.yaml") if kind == "yaml" else (read_json(text, "a.json"),)
        if documents and isinstance(documents[0].data, dict):
            load_profile(documents[0].data)
    except InputError as error:
        found = error.problems
    for problem in found:
        assert problem.message
        assert problem.hint, problem
        assert not problem.file or (problem.line >= 1 and problem.column >= 1), problem


if __name__ == "__main__":
    os.environ.setdefault("PYTHONUTF8", "1")
    for each in FILES:
        (BAD / each).with_suffix(".txt").write_text(said_of(each)[1], encoding="utf-8")
