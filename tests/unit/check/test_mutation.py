"""Figures that could change without any case noticing are found, and what is suggested does notice; so proven by the loader itself."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml

from coatrules import Engine
from coatrules.check import examine
from coatrules.check.expectations import joined
from coatrules.check.invented_dogs import facts_for
from coatrules.check.mutation import can_be_asked, unproven
from coatrules.cli import main
from coatrules.conditions.condition import Condition
from coatrules.formats.documents import merge_patch
from coatrules.formats.unstructure import thawed
from coatrules.problems import Path as ValuePath
from coatrules.problems import Problem
from coatrules.profile.loading import load_profile
from tests.support.small import profile

REGIONS = {
    "back": {"label": "Back", "coat": "jacket", "minutes": {"pull": 10}, "anatomy": "none"},
    "loin": {"label": "Loin", "coat": "jacket", "minutes": {"pull": 10}, "anatomy": "none"},
}
SHARE = {
    "because": "A newcomer.",
    "history": {"format": 1, "dog": {"id": "pip"}},
    "date": "2026-03-21",
    "expect": {"regions": {"back": {"share": 0.5}}},
}
BASE = profile(
    regions=REGIONS,
    layer_targets={"all": {"regions": ["back", "loin"], "layers": 2, "take": {"usual": 0.3, "at_most": 0.4}}},
)
SHELVES = [{"small": BASE}]
PLAIN: dict[str, Any] = {
    "format": 2,
    "id": "mine",
    "label": "Mine",
    "extends": "small",
    "regions": {"loin": {"minutes": {"pull": 12}}},
    "layer_targets": {"all": {"take": {"at_most": 0.5}}},
    "cases": {"newcomer": SHARE},
}
"""The figures of what it builds on are not its own, and it need not prove them."""
WITH_RULE = {
    **PLAIN,
    "rules": {
        "old": {"if": {"age_weeks": {"minimum": 520}}, "then": {"take": {"at_most": 0.1}}, "because": "An old dog."},
    },
}


def found_in(data: Any) -> dict[str, Problem]:
    problems = unproven(load_profile(data, shelves=SHELVES))
    return {".".join(map(str, problem.path)): problem for problem in problems}


def with_figure(data: Any, path: ValuePath, value: float) -> Any:
    if not path:
        return value
    return {**data, path[0]: with_figure(data[path[0]], path[1:], value)}


def unmet(data: Any) -> list[str]:
    return [problem.code for problem in examine(data, SHELVES) if problem.code == "case-unmet"]


def test_what_is_suggested_holds_today_and_fails_with_each_changed_figure() -> None:
    """Proven without the search: the file with the suggestion is loaded and checked anew, once for each figure."""
    problems = found_in(WITH_RULE)
    assert problems.keys() == {
        "regions.loin.minutes.pull",
        "rules.old.if.age_weeks.minimum",
        "rules.old.then.take.at_most",
    }  # of what it writes the case expects the share that the target allows
    added: Any = WITH_RULE
    for problem in problems.values():
        added = merge_patch(added, thawed(problem.params["add"]))
    assert not unmet(added)
    for problem in problems.values():
        for new in problem.params["new"]:
            assert not unmet(with_figure(WITH_RULE, problem.path, float(new)))  # as it is now, nobody notices
            assert unmet(with_figure(added, problem.path, float(new))), problem.path
    assert not found_in(added)


def test_a_regime_is_asked_by_its_own_cases_and_answered_in_them() -> None:
    case = {**SHARE, "expect": {"refer": False}}
    regime = {"layer_targets": {"all": {"take": {"at_most": 0.45}}}, "cases": {"shown": case}}
    data: Any = {**PLAIN, "regions": {}, "regimes": {"show": regime}}
    add = found_in(data)["regimes.show.layer_targets.all.take.at_most"].params["add"]
    assert thawed(add) == {
        "regimes": {"show": {"cases": {"shown": {"expect": {"regions": {"back": {"share": 0.45}}}}}}}
    }
    assert not unmet(merge_patch(data, thawed(add)))


def test_what_is_printed_can_be_merged_into_the_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name, data in (("mine", PLAIN), ("small", BASE)):
        (tmp_path / f"{name}.yaml").write_text(yaml.safe_dump(data, sort_keys=False), encoding="utf-8")
    assert main(["check", str(tmp_path / "mine.yaml"), "--mutate", "--alone"]) == 1
    head, _, cases = capsys.readouterr().out.partition("\n# Cases that would notice")
    assert "at regions.loin.minutes.pull) [figure-unproven]" in head
    added = merge_patch(PLAIN, yaml.safe_load("#" + cases))
    assert not unmet(added)
    assert unmet(with_figure(added, ("regions", "loin", "minutes", "pull"), 15))


def test_a_figure_may_stay_unproven_where_its_author_says_so() -> None:
    data = {**PLAIN, "accept": {"figure-unproven": {"regions": "Minutes are each salon's own."}}}
    assert not found_in(data)
    assert not [problem for problem in examine(data, SHELVES) if problem.code.startswith("accept")]


def test_a_profile_whose_cases_fail_is_not_asked() -> None:
    engine = Engine(shelves=SHELVES)
    wrong = {**PLAIN, "cases": {"newcomer": {**SHARE, "expect": {"regions": {"back": {"share": 0.4}}}}}}
    problems = engine.check(wrong, mutate=True)
    assert "case-unmet" in {problem.code for problem in problems}
    assert not can_be_asked(problems)
    assert "figure-unproven" not in {problem.code for problem in problems}
    assert "figure-unproven" in {problem.code for problem in engine.check(PLAIN, mutate=True)}


@pytest.mark.parametrize(
    ("condition", "facts"),
    [
        ({"age_weeks": {"maximum": 25.9}}, {"age_weeks": 181 / 7}),  # whole days within the limit
        ({"weeks_to_show": {"exclusiveMinimum": 2}}, {"weeks_to_show": 15 / 7}),
        ({"visits": {"exclusiveMaximum": 3}, "sex": "female"}, {"visits": 2, "sex": "female"}),
        ({"health": {"contains": "nursing"}}, {"health": ["nursing"]}),
    ],
)
def test_a_dog_is_made_up_at_the_edge_of_a_condition(condition: Any, facts: Any) -> None:
    (found,) = facts_for(Condition.parse(condition))
    assert found == facts
    assert Condition.parse(condition).holds(found)


def test_of_two_expectations_the_narrower_bounds_hold() -> None:
    wide = {"regions": {"back": {"cover": {"minimum": 0.5, "maximum": 0.9}}}, "rules": ["a"]}
    near = {"regions": {"back": {"cover": {"minimum": 0.4, "maximum": 0.8}}, "loin": {"layers": 2}}, "rules": ["b"]}
    assert joined(wide, near) == {
        "regions": {"back": {"cover": {"minimum": 0.5, "maximum": 0.8}}, "loin": {"layers": 2}},
        "rules": ["a", "b"],
    }
