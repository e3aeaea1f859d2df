"""Every example of the mentor's guide is run, in the order of the guide, and what it shows must come out."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import pytest
import yaml

from coatrules.cli import main
from tests.generated import PROFILES, reference

GUIDE = PROFILES / "README.md"
BLOCK = re.compile(r"^```(\w+)([^\n]*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def blocks() -> Iterator[tuple[str, dict[str, str], str]]:
    """The language of each block, what stands behind it (``file=...``, ``add``, ``copy=...``), and its text."""
    for language, more, inside in BLOCK.findall(GUIDE.read_text(encoding="utf-8")):
        yield language, dict((word + "=").split("=")[:2] for word in more.split()), inside


def write(more: dict[str, str], inside: str) -> None:
    file = Path(more["file"])
    file.parent.mkdir(exist_ok=True)
    if "copy" in more:
        old, new = inside.strip().split("  ->  ")
        inside = Path(more["copy"]).read_text(encoding="utf-8")
        assert old in inside
        inside = inside.replace(old, new, 1)
    if "add" in more:
        inside = file.read_text(encoding="utf-8") + "\n" + inside
    file.write_text(inside, encoding="utf-8")


def as_shown(shown: str, came: str) -> bool:
    """Whether the output came as shown; a line of three dots stands for any lines."""
    parts = [re.escape(part) for part in re.split(r"^\.\.\.\n", shown, flags=re.MULTILINE)]
    return re.fullmatch(r"(?:.*\n)*?".join(parts), came) is not None


@pytest.mark.slow
def test_every_example_comes_out_as_shown(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    ran = 0
    for language, more, inside in blocks():
        if language == "yaml":
            write(more, inside)
            continue
        assert language == "console"
        command, shown = inside.split("\n", 1)
        assert command.startswith("$ coatrules ")
        main(shlex.split(command.removeprefix("$ coatrules ")))
        came = capsys.readouterr()
        assert as_shown(shown, came.out + came.err), f"{command}\n{came.out}{came.err}"
        ran += 1
    assert ran >= 7


def test_dots_stand_for_lines_and_nothing_else() -> None:
    assert as_shown("a\n...\nd\n", "a\nb\nc\nd\n")
    assert as_shown("...\nd\n", "d\n")
    assert not as_shown("a\n...\nd\n", "a\nb\nc\n")
    assert not as_shown("a.c\n", "abc\n")


def test_the_reference_page_is_fresh() -> None:
    shown = (PROFILES / "reference.md").read_text(encoding="utf-8")
    assert shown == reference(), "write it anew: python -m tests.generated"


def test_the_guide_names_no_place_of_a_machine() -> None:
    for page in (GUIDE, PROFILES / "reference.md"):
        assert not re.search(r"(?<![\w.])/(?:home|work|tmp|usr|root|Users)\b", page.read_text(encoding="utf-8"))


def test_the_hooks_name_commands_that_are_there(capsys: pytest.CaptureFixture[str]) -> None:
    hooks = yaml.safe_load((PROFILES.parent / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"))
    for hook in hooks:
        program, command = hook["entry"].split()
        assert program == "coatrules"
        with pytest.raises(SystemExit) as ended:
            main([command, "--help"])
        assert ended.value.code == 0
        assert re.search(hook["files"], "profiles/griffon-bruxellois-rough.yaml")
    capsys.readouterr()
