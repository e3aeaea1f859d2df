"""Where JSON was asked for, a bad input is answered in JSON: on standard output, with exit code 1, and nothing beside it."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from coatrules.cli import main
from coatrules.formats.resources import schema
from tests.support.paths import BAD, ROOT

KNOWN = BAD / "known"
KEYS = {"code", "params", "severity", "message", "hint", "file", "line", "column", "path"}
BROKEN = """\
format: 1
dog: {id: pip, name: Pip, profile: sound}
---
visit: 2026-02-28
work: {back: {pul: 0.2}}
---
visit: 2026-03-14
note: bathed
"""


@pytest.fixture
def broken(tmp_path: Path) -> Path:
    file = tmp_path / "pip.yaml"
    file.write_text(BROKEN, encoding="utf-8")
    return file


def problems(line: list[str], capsys: pytest.CaptureFixture[str]) -> list[dict[str, Any]]:
    """Runs a command that has to fail, and returns the problems it writes."""
    assert main(line) == 1
    out, err = capsys.readouterr()
    assert err == ""
    listed: list[dict[str, Any]] = json.loads(out)["problems"]
    assert listed
    assert all(KEYS <= set(problem) <= KEYS | {"fix", "meaning", "key"} for problem in listed)
    return listed


@pytest.mark.parametrize(
    "command",
    [
        ["order", "DOG", "--date", "2026-03-21", "--profiles", str(KNOWN)],
        ["plan", "DOG", "--date", "2026-03-21", "--profiles", str(KNOWN)],
        ["compare", "sound", "sound", "DOG", "--date", "2026-03-21", "--profiles", str(KNOWN)],
        ["due", "DOG", "--date", "2026-03-21", "--profiles", str(KNOWN)],
    ],
)
def test_a_bad_history_is_answered_in_json(
    command: list[str], broken: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    line = [str(broken) if word == "DOG" else word for word in command]
    (problem,) = problems([*line, "--format", "json"], capsys)
    assert (problem["file"], problem["line"], problem["column"]) == (str(broken), 5, 15)
    assert problem["path"] == ["visits", 0, "work", "back", "pul"]
    assert problem["severity"] == "error"
    assert "'pul'" in problem["message"]
    assert "'pull'" in problem["hint"]


@pytest.mark.parametrize("command", ["rehearse", "compare"])
def test_a_bad_profile_is_answered_in_json(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    bad = str(BAD / "p-tab-indent.yaml")
    more = [str(KNOWN / "sound.yaml")] if command == "compare" else ["--profiles", str(KNOWN)]
    first = problems([command, bad, *more, "--format", "json"], capsys)[0]
    assert (first["file"], first["line"], first["column"]) == (bad, 6, 1)


def test_a_result_that_cannot_be_written_is_answered_in_json(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    dog = str(ROOT / "examples" / "salon" / "pip.yaml")
    out = tmp_path / "none" / "order.json"
    line = ["order", dog, "--date", "2026-03-21", "--format", "json", "--out", str(out)]
    (problem,) = problems(line, capsys)
    assert problem["code"] == "cannot-write"
    assert problem["params"] == {"reason": "no such file or directory"}
    assert problem["file"] == str(out)
    assert list(tmp_path.iterdir()) == [], "and nothing is written"


DOG = str(ROOT / "examples" / "salon" / "pip.yaml")


@pytest.mark.parametrize(
    ("line", "code"),
    [
        (["order", DOG, "--date", "2026-13-01", "--format", "json"], "complaint.argument"),
        (["order", DOG, "--format=json", "--minutes", "x"], "complaint.argument"),
        (["plan", DOG, "--form", "json", "--visits", "x"], "complaint.argument"),
        (["due", "--format", "json"], "complaint.required"),
        (["rehearse", "silky-jacket", "--hurry", "--format", "json"], "complaint.unrecognised"),
        (["check", "--format", "json"], "complaint"),
        (["compare", "a", "b", "--format", "json", "--lang", "xx"], "complaint.argument"),
    ],
)
def test_a_wrong_command_line_is_answered_in_json(
    line: list[str], code: str, capsys: pytest.CaptureFixture[str]
) -> None:
    # It was answered by the usage, on standard error.
    with pytest.raises(SystemExit) as ended:
        main(line)
    out, err = capsys.readouterr()
    (problem,) = json.loads(out)["problems"]
    assert (ended.value.code, err, problem["code"]) == (2, "", code)
    assert problem["message"]
    Draft202012Validator(schema("problems")).validate(json.loads(out))


def test_the_dogs_that_can_be_read_stand_beside_the_problems(broken: Path, capsys: pytest.CaptureFixture[str]) -> None:
    good = broken.with_name("moss.yaml")
    good.write_text(BROKEN.replace("pul:", "pull:").replace("pip", "moss"), encoding="utf-8")
    line = ["due", str(broken.parent), "--date", "2026-03-21", "--profiles", str(KNOWN)]
    assert main([*line, "--format", "json"]) == 1
    out, err = capsys.readouterr()
    assert err == ""
    answer = json.loads(out)
    assert [dog["dog"]["id"] for dog in answer["dogs"]] == ["moss"]
    assert [problem["file"] for problem in answer["problems"]] == [str(broken)]
    broken.unlink()
    assert main([*line, "--format", "json"]) == 0
    assert "problems" not in json.loads(capsys.readouterr().out)


def test_where_text_was_asked_for_it_is_text(broken: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["order", str(broken), "--date", "2026-03-21", "--profiles", str(KNOWN)]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert f"{broken}:5:15: error: " in err
