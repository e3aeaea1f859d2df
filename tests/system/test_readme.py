"""What the README shows is what a reader gets."""

from __future__ import annotations

import re

import pytest

from coatrules.cli import COMMANDS, main
from tests.support.paths import ROOT

README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_order_begins_as_shown(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    shown = re.search(r"```text\n(.*?)```", README, re.DOTALL)
    assert shown is not None
    assert "coatrules order examples/salon/pip.yaml --date 2026-03-21" in README
    assert main(["order", "examples/salon/pip.yaml", "--date", "2026-03-21"]) == 0
    assert capsys.readouterr().out.startswith(shown[1])


def test_the_five_lines_run(capsys: pytest.CaptureFixture[str]) -> None:
    code = re.search(r"```python\n(.*?)```", README, re.DOTALL)
    assert code is not None
    names: dict[str, object] = {}
    exec(code[1], names)  # the README's own lines
    assert capsys.readouterr().out.startswith("pip, Griffon Bruxellois, rough coat, 21 Mar ")
    assert isinstance(names["plain"], dict)
    assert names["plain"]["steps"]


def test_every_command_named_is_there() -> None:
    named = set(re.findall(r"^\| `([a-z]+)", README, re.MULTILINE)) | set(re.findall(r"coatrules ([a-z]+) ", README))
    assert named
    assert named <= set(COMMANDS)
