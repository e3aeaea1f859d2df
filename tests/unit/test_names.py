"""One word, one meaning: a participle names nothing, and a name that was given up has not come back for something new."""

from __future__ import annotations

import ast
from collections.abc import Iterator

import pytest

from tests.support.paths import ROOT

GIVEN_UP = {
    **dict.fromkeys(("said", "told"), "what it is: entries, keys, text, words"),
    **dict.fromkeys(("RegionPlan", "VisitPlan"), "CompiledRegion, UsualVisit: they are no plan"),
    **dict.fromkeys(("Past", "past_of"), "Replayed, replay_visits"),
    **dict.fromkeys(("Trail", "trails"), "RegionLog, region_logs"),
    **dict.fromkeys(("Deed", "deed"), "WorkSummary, summarise"),
    **dict.fromkeys(("Carries", "Showing", "Ending"), "Rolling, LayerEvidence, RollingEnd"),
    **dict.fromkeys(("contrary", "Contrary", "doubtful"), "outlier, rejected"),
    **dict.fromkeys(("apply_did", "apply_left"), "set_work, put_off"),
    **dict.fromkeys(("day_asked", "minutes_asked"), "checked_day, checked_minutes"),
    **dict.fromkeys(("alike", "once_each"), "equivalence, once_per_class"),
    **dict.fromkeys(("guards", "excused", "noticed"), "safety, grace_visits, history_findings"),
    **dict.fromkeys(("freezing", "frozen_case"), "case_from_history, draft_case"),
    **dict.fromkeys(("sparing", "spared"), "output, output_file"),
    **dict.fromkeys(("Anywhere",), "IntermixedParser"),
    **dict.fromkeys(("loosening", "_say", "_told", "_words"), "relaxation, _render"),
}


def names_in(text: str) -> Iterator[tuple[int, str]]:
    """Every name that a module gives to something, with its line."""
    for node in ast.walk(ast.parse(text)):
        match node:
            case ast.Name(id=name, ctx=ast.Store()) | ast.arg(arg=name):
                yield node.lineno, name
            case ast.FunctionDef(name=name) | ast.ClassDef(name=name):
                yield node.lineno, name
            case _:
                pass


def test_no_name_that_was_given_up_is_used() -> None:
    used = [
        f"{file.relative_to(ROOT)}:{line}: {name} is now {GIVEN_UP[name]}"
        for file in sorted((ROOT / "coatrules").rglob("*.py"))
        for line, name in [(1, file.stem), *names_in(file.read_text(encoding="utf-8"))]
        if name in GIVEN_UP
    ]
    assert used == []


@pytest.mark.parametrize(
    "line",
    ["said = 1", "def f(said): ...", "class said: ...", "def said(): ...", "for said in (): ...", "[x for said in y]"],
)
def test_every_way_to_give_a_name_is_looked_at(line: str) -> None:
    assert (1, "said") in names_in(line)
