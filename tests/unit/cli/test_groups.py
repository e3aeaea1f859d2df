"""A group may stand wherever a region is asked for."""

from __future__ import annotations

from pathlib import Path

import pytest

from coatrules import Engine
from coatrules.cli import main
from tests.support.book import HISTORY, profile_folder


@pytest.fixture
def dog(tmp_path: Path) -> Path:
    profile_folder(tmp_path)
    (tmp_path / "pip.yaml").write_text(HISTORY, encoding="utf-8")
    return tmp_path / "pip.yaml"


def on(dog: Path, *more: str) -> list[str]:
    return [str(dog), *more, "--profiles", str(dog.parent), "--date", "2026-03-21"]


def test_a_group_is_explained_region_by_region(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", *on(dog, "back")]) == 0
    back = capsys.readouterr().out
    assert main(["explain", *on(dog, "ribs")]) == 0
    ribs = capsys.readouterr().out
    assert main(["explain", *on(dog, "body")]) == 0
    assert capsys.readouterr().out == f"{back}\n\n{ribs}"


def test_of_a_group_the_first_region_is_drawn_and_the_others_are_named(
    dog: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pytest.importorskip("matplotlib")
    for name in ("body", "back"):
        out = tmp_path / f"{name}.svg"
        assert main(["draw", *on(dog, "--what", "coat", "--region", name, "--out", str(out))]) == 0
    assert (tmp_path / "body.svg").read_bytes() == (tmp_path / "back.svg").read_bytes()
    assert (
        capsys.readouterr().err == "'body' stands for several regions; this picture shows 'back'. The others: ribs.\n"
    )


def test_a_list_is_taken_as_a_group_is(dog: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """'ribs, back' was no region; a region named twice is told once."""
    assert main(["explain", *on(dog, "ribs")]) == 0
    ribs = capsys.readouterr().out
    assert main(["explain", *on(dog, "back")]) == 0
    back = capsys.readouterr().out
    assert main(["explain", *on(dog, "ribs, Back,body,")]) == 0
    assert capsys.readouterr().out == f"{ribs}\n\n{back}"
    pytest.importorskip("matplotlib")
    out = str(tmp_path / "list.svg")
    assert main(["draw", *on(dog, "--what", "coat", "--region", "ribs,back", "--out", out)]) == 0
    told = "'ribs,back' stands for several regions; this picture shows 'ribs'. The others: back.\n"
    assert capsys.readouterr().err == told


@pytest.mark.parametrize(
    "command", [["explain", "bak"], ["explain", "ribs,bak"], ["draw", "--what", "coat", "--region", "bak"]]
)
def test_an_unknown_name_is_told(dog: Path, command: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main([command[0], *on(dog, *command[1:])]) == 1
    assert "Fix: Use 'back'." in capsys.readouterr().err


def test_the_reasons_of_a_part_are_asked_by_any_name_of_it(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """'--why rib' was no region; '--why' took no zone."""
    assert main(["order", *on(dog, "--why", "ribs")]) == 0
    ribs = capsys.readouterr().out
    assert main(["order", *on(dog, "--why", "Rib")]) == 0
    assert capsys.readouterr().out == ribs
    assert main(["order", *on(dog, "--why", "whole body")]) == 0
    assert "Back" in capsys.readouterr().out


def test_a_name_with_a_comma_is_one_name_in_a_list() -> None:
    """As the sheet prints it: "tail, underside" was taken for a tail and an underside."""
    dog = {"format": 1, "dog": {"id": "wren", "profile": "sealyham-terrier"}}
    assert Engine().regions(dog, "Tail, underside") == ("tail-under",)
    assert Engine().regions(dog, "back, tail, underside, ears, outside") == ("back", "tail-under", "ears-outside")
    assert Engine(locale="de").regions(dog, "Rute, Unterseite,Rücken") == ("tail-under", "back")
