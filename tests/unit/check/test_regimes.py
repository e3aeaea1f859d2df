"""What is found in a regime: at the author's own line, with the path that is written there, and accepted and proven as the rest."""

from __future__ import annotations

from pathlib import Path

import pytest

from coatrules.check import broken, examine
from tests.unit.check.test_graph import BASE

PARENT = """\
format: 2
id: parent
label: Parent
extends: base
layer_targets:
  back: {regions: [back], layers: 3, take: {usual: 0.2, at_most: 0.3}, source: own}
regimes:
  show:
    layer_targets: {back: {layers: 2, take: {usual: 0.25, at_most: 0.3}}}
    cases:
      grown-out:
        because: A quarter goes.
        history: {format: 1, dog: {id: pip, born: 2023-10-06}, arrival: {back: {grown_weeks: 12}}}
        date: 2026-01-05
        expect: {regions: {back: {share: {minimum: 0.2}}}}
cases:
  grown-out:
    because: A fifth goes.
    history: {format: 1, dog: {id: pip, born: 2023-10-06}, arrival: {back: {grown_weeks: 12}}}
    date: 2026-01-05
    expect: {regions: {back: {share: {minimum: 0.1}}}}
"""
CHILD = "format: 2\nid: child\nlabel: Child\nextends: parent\n"
IN_PET = """\
    because: A sixth goes.
    history: {format: 1, dog: {id: pip, born: 2023-10-06, regime: pet}, arrival: {back: {grown_weeks: 12}}}
    date: 2026-01-05
    expect: {regions: {back: {share: {minimum: 0.1}}}}
"""


@pytest.fixture(autouse=True)
def folder(tmp_path: Path) -> Path:
    (tmp_path / "base.yaml").write_text(BASE, encoding="utf-8")
    (tmp_path / "parent.yaml").write_text(PARENT, encoding="utf-8")
    return tmp_path


def found(folder: Path, text: str) -> list[tuple[str, str, int, str]]:
    """Code, file, line and path of each finding on a child of the parent."""
    file = folder / "child.yaml"
    file.write_text(CHILD + text, encoding="utf-8")
    problems = examine(file, [folder])
    return [(one.code, Path(one.file).name, one.line, ".".join(map(str, one.path))) for one in problems]


def test_the_parent_is_sound(folder: Path) -> None:
    assert examine(folder / "parent.yaml", [folder]) == []
    assert found(folder, "") == []


@pytest.mark.parametrize(
    ("patch", "code", "path"),
    [
        ("groups: {mine: [bakc]}", "unknown-name", "groups.mine.0"),
        ("coats: {jacket: {mm_per_week: 33}}", "schema-too-high", "coats.jacket.mm_per_week"),
        ("layer_targets: {back: {take: {usal: 0.2}}}", "schema-unknown-key", "layer_targets.back.take.usal"),
        ("layer_targets: {back: {layers: 20}}", "target-unreachable", "layer_targets.back.layers"),
        ("layer_targets: {back: {if: {sex: bitch}}}", "fact-value", "layer_targets.back.if.sex"),
    ],
)
def test_a_path_leads_through_the_regime(patch: str, code: str, path: str, folder: Path) -> None:
    assert (code, "child.yaml", 7, f"regimes.pet.{path}") in found(folder, f"regimes:\n  pet:\n    {patch}\n")


@pytest.mark.parametrize(
    ("own", "path"), [("", "coats.jacket.ready_mm"), ("regimes: {show: {", "regimes.show.coats.jacket.ready_mm")]
)
def test_what_an_own_line_causes_in_an_inherited_regime_is_told_at_that_line(own: str, path: str, folder: Path) -> None:
    """It was told in the parent's file, which the author cannot edit; and so was the parent's case, which is of the parent alone."""
    text = f"{own}coats: {{jacket: {{ready_mm: 20}}}}" + "}" * own.count("{")
    assert found(folder, text + "\n") == [("target-unreachable", "child.yaml", 5, path)]


def test_what_the_parent_leaves_wrong_in_its_regime_is_told_of_the_parent_alone(folder: Path) -> None:
    file = folder / "parent.yaml"
    file.write_text(PARENT.replace("layers: 2", "layers: 20"), encoding="utf-8")
    assert [one.code for one in examine(file, [folder])] == ["target-unreachable"]
    assert found(folder, "visit: {minutes: 70}\n") == []


@pytest.mark.parametrize("place", ["", "layer_targets.back.layers", "regimes.pet.layer_targets.back"])
def test_what_the_profile_accepts_it_accepts_in_its_regimes_too(place: str, folder: Path) -> None:
    reason = f"{{{place}: We know.}}" if place else "We know."
    accept = f"accept: {{no-cases: By hand., target-unreachable: {reason}}}\n"
    assert found(folder, accept + "regimes:\n  pet:\n    layer_targets: {back: {layers: 20}}\n") == []


def test_a_case_of_a_dog_in_the_regime_is_one_of_the_regime(folder: Path) -> None:
    regime = "regimes:\n  pet:\n    layer_targets: {back: {layers: 3, take: {usual: 0.19}}}\n"
    assert [code for code, *_ in found(folder, regime)] == ["no-cases"]
    assert found(folder, f"{regime}cases:\n  pet:\n{IN_PET}") == []
    ((code, _, line, _),) = found(folder, f"{regime}cases:\n  pet:\n{IN_PET.replace('0.1}}}', '0.5}}}')}")
    assert (code, line) == ("case-unmet", 13)


def test_a_change_of_a_base_that_breaks_a_case_of_a_dependants_regime_is_told(folder: Path) -> None:
    (folder / "base.yaml").write_text(BASE.replace("ready_mm: 6", "ready_mm: 20"), encoding="utf-8")
    unmet = [one for one in broken(folder / "parent.yaml", [folder]) if one.code == "case-unmet"]
    assert {".".join(map(str, one.path[:3])) for one in unmet} == {"cases.grown-out.expect", "regimes.show.cases"}
