"""Findings that a profile's author accepts, and rules that are proven once, where they are written."""

from __future__ import annotations

from typing import Any

import pytest

from coatrules import load_profile
from coatrules.check import findings
from coatrules.problems import InputError
from tests.support.small import profile

DOG = {"format": 1, "dog": {"id": "pip"}}
BASE = profile(
    sources={"practice": {"common_practice": True}},
    groups={"body": ["back"]},
    regions={
        "back": {"label": "Back", "coat": "jacket", "minutes": {"pull": 10}, "anatomy": "none", "source": "practice"}
    },
    layer_targets={"all": {"regions": ["body"], "layers": 2, "take": {"usual": 0.3}, "source": "practice"}},
    rules={
        "slow": {"if": {"sex": "female"}, "then": {"priority": 5}, "because": "An example.", "source": "practice"},
        "quick": {"if": {"sex": "male"}, "then": {"priority": 5}, "because": "An example.", "source": "practice"},
    },
    cases={
        "bitch": {
            "history": {"format": 1, "dog": {"id": "pip", "sex": "female"}},
            "date": "2026-03-21",
            "expect": {"rules": ["slow"]},
        },
        "dog": {
            "history": {"format": 1, "dog": {"id": "pip", "sex": "male"}},
            "date": "2026-03-21",
            "expect": {"rules": ["quick"]},
        },
    },
)
BASE["coats"]["jacket"]["source"] = BASE["visit"]["source"] = "practice"


def child(**own: Any) -> dict[str, Any]:
    return {"format": 2, "id": "child", "label": "Child", "extends": "small", **own}


def codes(source: dict[str, Any]) -> list[str]:
    return [problem.code for problem in findings(load_profile(source, shelves=[{"small": BASE}]))]


def test_the_base_of_these_tests_has_no_findings() -> None:
    assert codes(BASE) == []


def test_a_child_that_changes_nothing_is_asked_for_no_case() -> None:
    assert codes(child()) == []


def test_a_child_with_cases_of_its_own_need_not_prove_inherited_rules_and_targets() -> None:
    case = {"history": DOG, "date": "2026-03-21", "expect": {"not_rules": ["slow"]}}
    assert codes(child(cases={"unknown-sex": case})) == []


def test_a_child_is_asked_for_what_it_changes() -> None:
    case = {"history": DOG, "date": "2026-03-21", "expect": {"not_rules": ["slow"]}}
    changed = child(rules={"slow": {"then": {"priority": 6}}})
    assert codes(changed) == ["no-cases"]
    assert codes({**changed, "cases": {"unknown-sex": case}}) == ["rule-untested"]
    assert codes(child(layer_targets={"all": {"layers": 1}})) == ["no-cases"]


def test_a_regime_is_asked_for_what_it_changes() -> None:
    assert codes({**BASE, "regimes": {"pet": {"visit": {"minutes": 30}}}}) == []
    assert codes({**BASE, "regimes": {"pet": {"rules": {"slow": {"then": {"priority": 6}}}}}}) == ["no-cases"]


UNTESTED = child(rules={"slow": {"then": {"priority": 6}}})


def test_a_finding_that_is_accepted_is_not_told() -> None:
    assert codes({**UNTESTED, "accept": {"no-cases": "Plain enough."}}) == []


def test_an_acceptance_is_not_inherited() -> None:
    parent = {
        **BASE,
        "sources": {**BASE["sources"], "club": {"title": "A guide"}},
        "accept": {"source-unused": "Soon."},
    }
    assert codes(parent) == []
    loaded = load_profile(child(), shelves=[{"small": parent}])
    assert not loaded.accept


def test_an_accepted_finding_that_no_longer_occurs_is_itself_a_finding() -> None:
    assert codes(child(accept={"no-cases": "Plain enough."})) == ["accept-idle"]


@pytest.mark.parametrize("code", ["case-unmet", "anatomy-missing", "floor-tender", "overlap", "no-case", "accept-idle"])
def test_what_no_author_can_accept_is_told(code: str) -> None:
    assert sorted(codes({**UNTESTED, "accept": {code: "So."}})) == ["accept-never", "no-cases"]


def test_a_case_that_is_not_met_stays_an_error_when_it_is_accepted() -> None:
    case = {"history": DOG, "date": "2026-03-21", "expect": {"rules": ["slow"]}}
    assert "case-unmet" in codes(child(cases={"one": case}, accept={"case-unmet": "So."}))


def test_the_floor_cannot_be_accepted_away() -> None:
    tender = child(
        regions={
            "eyelids": {"label": "Eyelids", "coat": "jacket", "minutes": {"pull": 1}, "anatomy": "UBERON:0001711"}
        },
        sensitive_zones={"eyes": {"regions": ["eyelids"], "level": "low", "bout_minutes": 30, "rest_minutes": 0}},
        accept={"floor-tender": "So."},
    )
    with pytest.raises(InputError) as refused:
        codes(tender)
    assert "floor-tender" in {problem.code for problem in refused.value.problems}


def test_an_acceptance_says_why() -> None:
    with pytest.raises(InputError):
        codes({**UNTESTED, "accept": {"no-cases": ""}})


UNWORKED = {name: {"label": name.title(), "coat": "jacket", "anatomy": "none"} for name in ("ears", "tail")}


def test_a_finding_may_be_accepted_at_one_place_and_is_told_at_every_other() -> None:
    """A club that leaves the ears to the owner still hears of the tail."""
    data = child(regions=UNWORKED)
    assert codes(data) == ["region-unworked", "region-unworked"]
    at_ears = {"region-unworked": {"regions.ears": "The owner clips them."}}
    assert codes({**data, "accept": at_ears}) == ["region-unworked"]
    assert codes({**data, "accept": {"region-unworked": {"regions": "Both are left."}}}) == []
    assert codes({**data, "accept": {"region-unworked": "Both are left."}}) == []


def test_an_acceptance_at_a_place_where_nothing_is_found_is_told_with_the_nearest() -> None:
    data = child(regions=UNWORKED, accept={"region-unworked": {"regions.eras": "So.", "regions.tail": "So."}})
    problems = findings(load_profile(data, shelves=[{"small": BASE}]))
    assert [problem.code for problem in problems] == ["region-unworked", "accept-idle-at"]
    assert problems[1].hint == "Use 'regions.ears'."
    assert problems[1].path == ("accept", "region-unworked", "regions.eras")


def test_what_a_regime_takes_over_is_told_once_at_the_line_that_wrote_it() -> None:
    data = {**child(regions=UNWORKED), "regimes": {"pet": {"visit": {"minutes": 30}}}}
    assert codes(data) == ["region-unworked", "region-unworked"]


def test_a_breed_that_is_not_stripped_hears_of_what_nothing_uses_and_a_base_does_not() -> None:
    plain = {key: value for key, value in BASE.items() if key not in ("layer_targets", "rules", "cases")}
    plain["sources"] = {"practice": {"common_practice": True}, "club": {"title": "A guide"}}
    assert "source-unused" not in codes(plain)
    assert "source-unused" in codes({**plain, "breed": {"fci": 1, "source": "practice"}})


def test_a_coat_whose_figures_contradict_is_the_one_cause_of_what_follows() -> None:
    """Not every show length that such a coat never reaches."""
    target = {"all": {**BASE["layer_targets"]["all"], "show_mm": [30, 40]}}
    with pytest.raises(InputError) as refused:
        codes({**BASE, "coats": {"jacket": {**BASE["coats"]["jacket"], "grows_weeks": 140}}, "layer_targets": target})
    assert {problem.path[0] for problem in refused.value.problems} == {"coats"}
