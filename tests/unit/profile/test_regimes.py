"""Regimes: named merge patches within a profile, one of which a dog is kept in."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest

from coatrules import Engine, load_profile
from coatrules.cli import main
from coatrules.formats.documents import merge_patch
from coatrules.problems import InputError
from tests.support.small import profile

REGIONS = {
    name: {"label": name, "coat": "jacket", "minutes": {"pull": 10}, "anatomy": "none"} for name in ("back", "loin")
}
TAKE = {"usual": 0.2}
SHOW: dict[str, Any] = {
    "label": "Small, for shows",
    "visit": {"every_weeks": 1},
    "layer_targets": {"all": {"take": {"usual": 0.1}}},
    "rules": {"easy": None},
}
BASE = profile(
    regions=REGIONS,
    layer_targets={"all": {"regions": ["back", "loin"], "layers": 2, "take": TAKE}},
    rules={"easy": {"then": {"priority": 5}, "because": "An example."}},
)
WITH = {**BASE, "regimes": {"show": SHOW, "old": {"visit": {"minutes": 30}}}}
SHELF = {"small": WITH}
DAY = date(2026, 3, 21)


def twin(**own: Any) -> dict[str, Any]:
    return {"format": 2, "id": "small-show", "extends": "small", "regime": "show", **own}


def data(loaded: Any) -> dict[str, Any]:
    return {name: getattr(loaded, name) for name in ("label", "visit", "regions", "layer_targets", "rules", "coats")}


@pytest.mark.parametrize("regime", ["show", "old"])
def test_a_regime_is_the_profile_with_its_patch_merged_in(regime: str) -> None:
    """Against RFC 7396 on the whole file."""
    expected = load_profile(merge_patch(BASE, WITH["regimes"][regime]))
    made = load_profile(WITH).regimes[regime]
    assert (made.regime, made.id) == (regime, "small")
    assert data(made) == data(expected)


def test_a_profile_is_as_written_where_no_regime_is_chosen() -> None:
    assert data(load_profile(WITH)) == data(load_profile(BASE))
    assert load_profile(WITH).sha256 == load_profile(BASE).sha256


def test_a_file_of_four_lines_is_a_profile_in_a_regime() -> None:
    made = load_profile(twin(), shelves=[SHELF])
    assert made.id == "small-show"
    assert data(made) == data(load_profile(WITH).regimes["show"])
    assert not made.regimes  # one at a time


def test_what_a_file_says_beside_its_regime_wins() -> None:
    made = load_profile(twin(visit={"every_weeks": 2}), shelves=[SHELF])
    assert made.visit.every_weeks == 2


def test_a_child_changes_an_inherited_regime_and_may_remove_it() -> None:
    child = {"format": 2, "id": "child", "label": "Child", "extends": "small", "visit": {"every_weeks": 4}}
    changes = {"regimes": {"show": {"rules": {"easy": {"then": {"priority": 1}, "because": "B."}}}, "old": None}}
    made = load_profile({**child, **changes}, shelves=[SHELF])
    assert set(made.regimes) == {"show"}
    assert made.visit.every_weeks == 4
    show = made.regimes["show"]
    assert show.visit.every_weeks == 1  # what the regime says is said after all files
    assert show.rules["easy"].then.priority == 1


def test_a_regime_keeps_its_null_through_the_chain() -> None:
    child = {"format": 2, "id": "child", "label": "Child", "extends": "small"}
    assert not load_profile(child, shelves=[SHELF]).regimes["show"].rules


@pytest.mark.parametrize(
    ("regimes", "code", "path"),
    [
        ({"show": {"layer_targets": {"all": {"layers": 99}}}}, "schema-too-high", ("layer_targets", "all", "layers")),
        ({"show": {"layer_targets": {"al": {"layers": 2}}}}, "schema-new-entry", ("layer_targets", "al")),
        ({"show": {"rules": {"esay": None}}}, "no-value", ("rules", "esay")),
        ({"show": {"id": "other"}}, "schema-unknown-key", ("regimes", "show", "id")),
        ({"show": {"extends": "other"}}, "schema-unknown-key", ("regimes", "show", "extends")),
        ({"show": 3}, "schema-type", ("regimes", "show")),
        (["show"], "schema-type", ("regimes",)),
    ],
)
def test_a_fault_in_a_regime_is_told_when_the_profile_is_loaded(regimes: Any, code: str, path: Any) -> None:
    with pytest.raises(InputError) as refused:
        load_profile({**BASE, "regimes": regimes})
    assert (code, path) in [(problem.code, problem.path) for problem in refused.value.problems]


def test_a_fault_in_a_regime_is_told_on_its_line(tmp_path: Path) -> None:
    import yaml

    file = tmp_path / "small.yaml"
    file.write_text(yaml.safe_dump({**BASE, "regimes": {"show": {"visit": {"minutes": -1}}}}, sort_keys=False))
    line = file.read_text().splitlines().index("      minutes: -1") + 1
    with pytest.raises(InputError) as refused:
        load_profile(file)
    assert [problem.line for problem in refused.value.problems] == [line]


def test_a_regime_that_is_not_there_is_an_error_where_it_is_asked_for() -> None:
    with pytest.raises(InputError, match="no regime 'shwo'") as refused:
        load_profile(twin(regime="shwo"), shelves=[SHELF])
    assert "'show'" in str(refused.value)
    history = {"format": 1, "dog": {"id": "pip", "profile": "small", "regime": "pet"}}
    with pytest.raises(InputError) as asked:
        Engine(shelves=[SHELF]).order(history, date=DAY)
    assert [(problem.code, problem.path) for problem in asked.value.problems] == [("unknown-regime", ("dog", "regime"))]


def test_a_dog_is_worked_in_the_regime_that_its_history_names() -> None:
    engine = Engine(shelves=[SHELF, {"small-show": twin()}])
    dog = {"id": "pip", "profile": "small"}
    plain, show = ({"format": 1, "dog": {**dog, **more}} for more in ({}, {"regime": "show"}))
    of_twin = engine.order({"format": 1, "dog": {"id": "pip", "profile": "small-show"}}, date=DAY).to_dict()
    order = engine.order(show, date=DAY).to_dict()
    assert order["profile"]["regime"] == "show"
    assert engine.order(plain, date=DAY, regime="show").to_dict() == order
    assert {**order, "profile": 0} == {**of_twin, "profile": 0}
    assert "regime" not in engine.order(plain, date=DAY).to_dict()["profile"]
    (of_book,) = engine.orders([show], date=DAY)
    assert not isinstance(of_book, InputError)
    assert of_book.to_dict()["steps"] == order["steps"]
    assert engine.due(show, date=DAY).order.profile_regime == "show"
    assert engine.explain(plain, "back", date=DAY, regime="show").order.profile_regime == "show"


def test_the_command_line_takes_a_regime(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    import json

    dog = tmp_path / "pip.json"
    dog.write_text(json.dumps({"format": 1, "dog": {"id": "pip", "profile": "small"}}))
    (tmp_path / "small.yaml").write_text(json.dumps(WITH))
    args = ["order", str(dog), "--profiles", str(tmp_path), "--date", "2026-03-21", "--format", "json"]
    assert main([*args, "--regime", "show"]) == 0
    assert json.loads(capsys.readouterr().out)["profile"]["label"] == "Small, for shows"
    assert main([*args, "--regime", "pet"]) == 1
    assert json.loads(capsys.readouterr().out)["problems"][0]["code"] == "unknown-regime"
