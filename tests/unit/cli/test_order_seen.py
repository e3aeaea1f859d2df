"""What is seen and felt today plans the day anew, and records nothing."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from coatrules.cli import main
from tests.support.book import HISTORY, profile_folder

DAY = "2026-03-21"


@pytest.fixture
def dog(tmp_path: Path) -> Path:
    profile_folder(tmp_path)
    (tmp_path / "pip.yaml").write_text(HISTORY, encoding="utf-8")
    return tmp_path / "pip.yaml"


def ordered(dog: Path, capsys: pytest.CaptureFixture[str], *options: str) -> dict[str, Any]:
    assert main(["order", str(dog), "--profiles", str(dog.parent), "--date", DAY, "--format", "json", *options]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def worked(order: dict[str, Any]) -> set[str]:
    return {step["region"] for step in order["steps"]} - {None}


def test_a_sore_place_is_left_today_and_nothing_is_recorded(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = dog.read_bytes()
    assert "back" in worked(ordered(dog, capsys))
    sore = ordered(dog, capsys, "--seen", "Back: sore; toes: 14 mm, 2 layers", "--minutes", "60")
    assert "back" not in worked(sore)
    assert "back" in sore["not_to_be_touched"]
    assert "back" in worked(ordered(dog, capsys, "--seen", "back: sound"))
    assert dog.read_bytes() == before


def test_it_is_the_order_that_the_same_words_on_record_give(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    seen = ordered(dog, capsys, "--seen", "body: 20 mm, 2 layers", "--seen", "toes: see-through")
    dog.write_text(
        HISTORY + f"---\nvisit: {DAY}\nseen: {{body: {{longest_mm: 20, layers: 2}}, toes: {{see_through: true}}}}\n",
        encoding="utf-8",
    )
    assert seen == ordered(dog, capsys)


def test_unknown_words_are_told_with_the_known_ones(dog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    arguments = ["order", str(dog), "--profiles", str(dog.parent), "--date", DAY, "--seen"]
    assert main([*arguments, "back: hard"]) == 1
    assert "'hard' is unknown; use " in capsys.readouterr().err
    assert main([*arguments, "bak: sore"]) == 1
    assert "Fix: Use 'back'." in capsys.readouterr().err
