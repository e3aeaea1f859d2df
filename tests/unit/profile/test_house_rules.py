"""House rules: what a salon does on all breeds, written once and laid over every profile whose id fits a pattern."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import yaml

from coatrules import Engine, load_profile
from coatrules.check import findings
from coatrules.cli import main
from coatrules.problems import InputError

RULE = {
    "if": {"age_weeks": {"maximum": 40}},
    "then": {"caution": "Short minutes."},
    "because": "The salon's own rule.",
    "source": "practice",
}
CASE = {
    "history": {"format": 1, "dog": {"id": "pip", "born": "2025-09-01"}},
    "date": "2026-03-21",
    "expect": {"rules": ["young-dogs"]},
}
HOUSE: dict[str, Any] = {
    "format": 2,
    "id": "house-rules",
    "label": "Our house rules",
    "extends": "border-terrier",
    "over": ["*-terrier", "dutch-*"],
    "rules": {"young-dogs": RULE},
    "cases": {"young": CASE},
}
SHELVES: list[Any] = [{"house-rules": HOUSE}]


def test_house_rules_hold_for_every_profile_whose_id_fits() -> None:
    for name in ("welsh-terrier", "dutch-smoushond"):
        own, laid_over = load_profile(name), load_profile(name, shelves=SHELVES)
        assert set(laid_over.rules) == {*own.rules, "young-dogs"}
        assert (laid_over.id, laid_over.label, laid_over.cases) == (own.id, own.label, {})
        assert laid_over.layer_targets == own.layer_targets
        assert laid_over.sha256 != own.sha256


def test_house_rules_leave_other_profiles_alone() -> None:
    assert load_profile("spinone-italiano", shelves=SHELVES) == load_profile("spinone-italiano")


def test_house_rules_are_a_profile_that_is_proven_once() -> None:
    made = load_profile("house-rules", shelves=SHELVES)
    assert (made.id, made.over) == ("house-rules", ("*-terrier", "dutch-*"))
    assert findings(made) == []


def test_what_builds_on_house_rules_is_no_house_rule() -> None:
    child = {"format": 2, "id": "child", "label": "Child", "extends": "house-rules"}
    assert not load_profile(child, shelves=SHELVES).over


def test_the_house_rules_of_a_folder_reach_an_order(tmp_path: Path) -> None:
    (tmp_path / "house-rules.yaml").write_text(yaml.safe_dump(HOUSE), encoding="utf-8")
    dog = {"format": 1, "dog": {"id": "pip", "born": "2025-09-01", "profile": "welsh-terrier"}}
    from datetime import date

    order = Engine(shelves=[tmp_path]).order(dog, date=date(2026, 3, 21))
    assert any("young-dogs" in rules for rules in order.fired.values())


def test_house_rules_of_the_first_shelf_win() -> None:
    second = {**HOUSE, "rules": {"young-dogs": {**RULE, "because": "Of the second."}}}
    made = load_profile("welsh-terrier", shelves=[*SHELVES, {"house-rules": second}])
    assert made.rules["young-dogs"].because == "The salon's own rule."


def test_a_house_rule_that_does_not_fit_a_profile_is_told_on_its_line(tmp_path: Path) -> None:
    text = yaml.safe_dump({**HOUSE, "rules": {"a": {**RULE, "regions": ["horns"]}}}, sort_keys=False)
    (tmp_path / "house-rules.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as refused:
        load_profile("welsh-terrier", shelves=[tmp_path])
    (problem,) = refused.value.problems
    assert problem.file.endswith("house-rules.yaml")
    assert problem.line == text.splitlines().index("    - horns") + 1


def test_changed_house_rules_are_compared_by_what_they_are_laid_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """They were left out: nothing differed, though every order of the salon did."""
    for root, minutes in (("old", 77), ("new", 20)):
        rules = {**HOUSE, "over": ["welsh-*"], "visit": {"minutes": minutes}, "rules": {}, "cases": {}}
        (tmp_path / root).mkdir()
        (tmp_path / root / "house-rules.yaml").write_text(yaml.safe_dump(rules), encoding="utf-8")
    assert main(["compare", str(tmp_path / "old"), str(tmp_path / "new"), "--format", "json"]) == 0
    data = json.loads(capsys.readouterr().out)
    usual = {f"welsh-terrier: {name}" for name, case in load_profile("welsh-terrier").cases.items() if not case.minutes}
    assert {order["name"] for order in data["orders"] if order["differences"]} == usual
    assert main(["compare", str(tmp_path / "old"), str(tmp_path / "old")]) == 0
    assert "0 of 0" in capsys.readouterr().out


def test_where_a_value_comes_from_counts_the_house_rules() -> None:
    shelves: list[Any] = [{"house-rules": {**HOUSE, "visit": {"minutes": 77}}}]
    lines = Engine(shelves=shelves).where("welsh-terrier", "visit.minutes")
    assert lines[0] == "visit.minutes: 77"
    assert "120, overridden" in lines[2]
    assert Engine(shelves=shelves).merged("welsh-terrier")["visit"]["minutes"] == 77
