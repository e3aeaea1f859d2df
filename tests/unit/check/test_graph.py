"""A folder of profiles checked as a graph: what builds on a changed base, subfolders, and two roots compared."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from coatrules.cli import main
from coatrules.profile.graph import graph_of, profiles_in

COAT = "{lag_weeks: 4, mm_per_week: 2.1, full_mm: 42, rests_weeks: 8, ready_mm: 6, cover_mm: 6, layer_gap_mm: 2, source: own}"
BASE = f"""\
format: 2
id: base
label: Base
visit: {{every_weeks: 3, minutes: 60, pace_spread: 0.15, source: own}}
sources: {{own: {{common_practice: true}}}}
coats:
  jacket: {COAT}
regions:
  back: {{label: Back, coat: jacket, minutes: {{pull: 20}}, source: own}}
cases:
  any: {{because: "No vet.", history: {{format: 1, dog: {{id: pip}}}}, date: 2026-01-05, expect: {{refer: false}}}}
"""
BREED = """\
format: 2
id: breed
label: Breed
extends: base
layer_targets:
  back: {regions: [back], layers: 4, take: {usual: 0.2, at_most: 0.3}, source: own}
cases:
  grown-out:
    because: A fifth goes.
    history: {format: 1, dog: {id: pip, born: 2023-10-06}, arrival: {back: {grown_weeks: 12}}}
    date: 2026-01-05
    expect: {regions: {back: {ready_share: {minimum: 0.9}}}}
"""


@pytest.fixture
def root(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return write(tmp_path / "old")


def write(folder: Path, *, ready_mm: int = 6, cover: str = "6", label: str = "Base") -> Path:
    (folder / "breeds").mkdir(parents=True)
    base = BASE.replace("ready_mm: 6", f"ready_mm: {ready_mm}").replace("label: Base", f"label: {label}")
    (folder / "base.yaml").write_text(base.replace("cover_mm: 6", f"cover_mm: {cover}"), encoding="utf-8")
    (folder / "breeds" / "breed.yml").write_text(BREED, encoding="utf-8")
    (folder / "breeds" / "pip.yaml").write_text("format: 1\ndog: {id: pip}\n", encoding="utf-8")
    return folder


def compared(capsys: pytest.CaptureFixture[str], *line: str) -> Any:
    assert main(["compare", *line, "--format", "json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_a_folder_stands_for_all_profiles_in_it(root: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Subfolders and .yml too; a dog's history among them is none."""
    assert [file.name for file in profiles_in(root)] == ["base.yaml", "breed.yml"]
    main(["check", "old"])
    assert "2 profiles checked" in capsys.readouterr().err
    (root / "breeds" / "breed.yml").write_text(BREED.replace("layers: 4", "layers: four"), encoding="utf-8")
    assert main(["check", "old"]) == 1
    assert "breed.yml:6:" in capsys.readouterr().out
    (root / "empty").mkdir()
    assert main(["check", "old/empty"]) == 1
    assert "there is no profile in this folder" in capsys.readouterr().err


def test_a_base_that_breaks_a_case_of_what_builds_on_it_is_found(
    root: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (root / "breeds" / "breed.yml").rename(root / "breed.yml")
    assert main(["check", "old/base.yaml"]) == 0
    assert "1 profile checked with one that builds on it" in capsys.readouterr().err
    (root / "base.yaml").write_text(BASE.replace("ready_mm: 6", "ready_mm: 25"), encoding="utf-8")
    assert main(["check", "old/base.yaml", "--alone"]) == 0
    assert main(["check", "old/base.yaml"]) == 1
    shown = capsys.readouterr().out
    assert "old/breed.yml:12:" in shown
    assert "[case-unmet]" in shown
    (root / "base.yaml").write_text(BASE.replace("  back:", "  bakc:"), encoding="utf-8")
    assert main(["check", "old/base.yaml"]) == 1
    assert "old/breed.yml:6:" in capsys.readouterr().out


def test_what_builds_on_a_profile_is_found_over_several_steps(root: Path) -> None:
    (root / "salon.yaml").write_text("format: 2\nid: salon\nlabel: Salon\nextends: breed\n", encoding="utf-8")
    graph = graph_of([root, root / "breeds"])
    assert list(graph.dependants("base")) == ["breed", "salon"]
    assert list(graph.dependants("breed")) == ["salon"]
    assert not graph.dependants("salon")
    assert len(graph_of([]).dependants("points-of-the-dog")) > 20


def test_two_roots_are_compared_each_with_its_own_base(
    root: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write(tmp_path / "new", ready_mm=25)
    (tmp_path / "new" / "more.yaml").write_text(BASE.replace("id: base", "id: more"), encoding="utf-8")
    data = compared(capsys, "old", "new")
    assert [order["name"] for order in data["orders"] if order["differences"]] == ["breed: grown-out"]
    assert data["changes"][0]["new_place"] == {"file": "new/base.yaml", "line": 7}
    assert data["orders"][1]["differences"][0]["because"] == [0]
    assert data["profiles_of_one_version"] == ["more"]
    assert main(["compare", "old", "new"]) == 0
    assert "Orders that differ: 1 of 2" in capsys.readouterr().out


def test_a_base_is_compared_by_the_orders_of_what_builds_on_it(
    root: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (root / "breeds" / "breed.yml").rename(root / "breed.yml")
    (tmp_path / "new").mkdir()
    for name in ("base", "base-proposed"):
        (tmp_path / "new" / f"{name}.yaml").write_text(BASE.replace("ready_mm: 6", "ready_mm: 25"), encoding="utf-8")
        data = compared(capsys, "old/base.yaml", f"new/{name}.yaml")
        assert [order["name"] for order in data["orders"] if order["differences"]] == ["breed: grown-out"]


def test_a_folder_of_profiles_does_not_bind_both_versions(
    root: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for folder in (root, write(tmp_path / "new", ready_mm=25)):
        (folder / "breeds" / "breed.yml").rename(folder / "breed.yaml")
    data = compared(capsys, "old/breed.yaml", "new/breed.yaml", "--profiles", "old")
    assert len(data["changes"]) == 1
    assert data["orders"][0]["differences"]


def test_what_no_order_depends_on_is_counted_too(
    root: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    write(tmp_path / "new", label="'Base, revised'")
    sources = (tmp_path / "new" / "base.yaml").read_text(encoding="utf-8")
    (tmp_path / "new" / "base.yaml").write_text(
        sources.replace("label: Back, coat: jacket, minutes: {pull: 20}, source: own",
                        "label: Back, coat: jacket, minutes: {pull: 20}, source: [own]"), encoding="utf-8"
    )  # fmt: skip
    data = compared(capsys, "old/base.yaml", "new/base.yaml")
    assert data["changes_without_effect"] == 1
    assert main(["compare", "old/base.yaml", "new/base.yaml"]) == 0
    assert "One more change is of labels" in capsys.readouterr().out


def test_a_folder_and_a_profile_cannot_be_compared(root: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["compare", "old", "old/base.yaml"])
    assert ended.value.code == 2
    assert "not one of each" in capsys.readouterr().err


HOUSE = """\
format: 2
id: house-rules
label: Our house rules
extends: base
over: ["bre*"]
rules:
  ours:
    if: {cover: {maximum: 0.2}}
    then: {take: {at_least: 0.25}}
    because: Ours.
    source: own
cases:
  bare: {because: "Bare.", history: {format: 1, dog: {id: pip}}, date: 2026-01-05, expect: {not_rules: [ours]}}
accept: {rule-untested: By hand.}
"""
CAPPED = "rules:\n  soft: {if: {visits: 0}, then: {take: {at_most: 0.2}}, because: New., source: own}\n"


@pytest.fixture
def salon(root: Path) -> Path:
    """The root with house rules, and all its profiles in one folder."""
    (root / "breeds" / "breed.yml").rename(root / "breed.yml")
    (root / "house-rules.yaml").write_text(HOUSE, encoding="utf-8")
    return root


def test_house_rules_are_checked_over_the_profiles_that_they_bind(
    salon: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """They were checked by themselves alone: what they name and a breed does not have was found by an order."""
    assert main(["check", "old/house-rules.yaml"]) == 0
    assert "1 profile checked with one that builds on it" in capsys.readouterr().err
    (salon / "breed.yml").write_text(BREED + CAPPED, encoding="utf-8")
    (salon / "house-rules.yaml").write_text(HOUSE.replace("    if:", "    regions: [back]\n    if:"), encoding="utf-8")
    for named in ("old/house-rules.yaml", "old/breed.yml", "old/base.yaml"):
        assert main(["check", named]) == 1
        shown = capsys.readouterr().out
        assert (
            "old/house-rules.yaml:10:29: warning: laid over breed: the rule 'ours' asks for at least 0.25, but" in shown
        )
    assert main(["check", "old/house-rules.yaml", "--alone"]) == 0
    gone = BREED.replace("layer_targets:", "regions:\n  back: null\n  front: {label: F, coat: jacket, source: own, anatomy: none}\n"
                         "layer_targets:").replace("[back]", "[front]")  # fmt: skip
    (salon / "breed.yml").write_text(gone, encoding="utf-8")
    assert main(["check", "old/house-rules.yaml"]) == 1
    assert "old/house-rules.yaml:8:15: error: laid over breed: 'back' is removed" in capsys.readouterr().out


def test_house_rules_that_build_on_nothing_are_told_to_build_on_a_profile(
    salon: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (salon / "house-rules.yaml").write_text(HOUSE.replace("extends: base\n", ""), encoding="utf-8")
    assert main(["check", "old/house-rules.yaml", "--alone"]) == 1
    shown = capsys.readouterr().out
    assert "missing key: 'extends' [schema-missing-key]\n    Fix: Add 'extends: …'" in shown
    assert "'visit'" not in shown


def test_what_a_profile_has_without_the_house_rules_is_not_told_of_them(
    salon: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (salon / "breed.yml").write_text(BREED.replace("layers: 4", "layers: 20"), encoding="utf-8")
    assert main(["check", "old/house-rules.yaml"]) == 0
    (salon / "house-rules.yaml").write_text(HOUSE + "visit: {every_weeks: 30, source: own}\n", encoding="utf-8")
    assert main(["check", "old/house-rules.yaml"]) == 1
    assert "old/house-rules.yaml:15:9: error: laid over breed: the target 'back' is out" in capsys.readouterr().out
    accepted = HOUSE.replace("accept: {", "accept: {laid-over: {visit.every_weeks: Only breeders.}, ")
    (salon / "house-rules.yaml").write_text(accepted + "visit: {every_weeks: 30, source: own}\n", encoding="utf-8")
    assert main(["check", "old/house-rules.yaml"]) == 0
