"""``explain``: what a reader is told of one region, every rule that held and every fact that stopped one."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import InputError, load_history, load_profile, work_order
from coatrules.cli import main
from coatrules.conditions.condition import Miss
from coatrules.order.explanation import explain
from coatrules.report.explanation import text
from tests.support import small
from tests.support.strategies import START, histories, profiles

DAY = date(2026, 3, 21)
PROFILE = small.profile(
    undercoat_weeks=4,
    sources={
        "book": {"title": "A made-up guide", "publisher": "A made-up club", "year": 2001, "from_memory": True},
        "bare": {"title": "A page"},
        "trade": {"common_practice": True},
    },
    groups={"body": ["back", "loin"]},
    regions={
        "back": {"label": "Back", "coat": "jacket", "minutes": {"pull": 20, "card": 6}},
        "loin": {"label": "Loin", "coat": "jacket", "minutes": {"pull": 20}},
        "ear-tips": {"label": "Tips of the ears", "coat": "jacket", "anatomy": "none", "minutes": {"pull": 20}},
        "vent": {"label": "Vent", "coat": "jacket", "anatomy": "none", "minutes": {"clip": 2}},
    },
    layer_targets={"rolling": {"regions": ["body", "ear-tips"], "layers": 4, "take": {"usual": 0.2}}},
    clipper_only_zones={"sanitary": {"regions": ["vent"], "leave_mm": 3, "every_weeks": 4}},
    rules={
        "all-of-it": {"if": {"cover": {"minimum": 0.1}}, "then": {"priority": 1}, "because": "Said by the book.",
                      "source": ["book", "trade"]},
        "by-key": {"if": {"coat": "jacket", "neutered": {}}, "then": {"priority": 1}, "because": "Made up.",
                   "source": {"if": "bare", "then": "bare"}},
        "either": {"if": {"anyOf": [{"layers": {"minimum": 9}}, {"see_through": True}]}, "then": {"priority": 1},
                   "because": "Made up too."},
        "loin-only-where-it-is-long": {"regions": ["loin"], "if": {"cover": 1}, "then": {"priority": 1},
                                       "because": "Elsewhere."},
        "sections-behind-the-withers": {"regions": ["loin"], "if": {"cover": 1}, "then": {"priority": 1},
                                        "because": "Elsewhere."},
    },
)  # fmt: skip
DOG: dict[str, Any] = {
    "format": 1,
    "dog": {"id": "pip", "name": "Pip"},
    "arrival": {"body": {"grown_weeks": 12}, "ear-tips": {"grown_weeks": 12}},
    "visits": [{"visit": "2026-02-28", "work": {"body": {"pull": 0.2}}}],
}


def told(region: str, minutes: float | None = None, dog: dict[str, Any] = DOG, **said: Any) -> str:
    found = explain(load_profile(PROFILE | said), load_history(dog), region, date=DAY, minutes=minutes)
    return text(found, width=1000)


def part(shown: str, title: str) -> list[str]:
    """The lines under a title."""
    return shown.split(f"\n{title}\n")[1].split("\n\n")[0].splitlines()


def test_the_head_names_dog_region_and_day() -> None:
    assert told("back").splitlines()[0] == "Pip · Back · Saturday 21 March 2026"


def test_a_rule_that_held_shows_the_facts_it_rested_on_and_every_source() -> None:
    held = part(told("back"), "Rules that fired")
    assert held[0] == "  all-of-it: Said by the book."
    assert held[1].startswith("    + cover is ")
    assert held[2] == ("      source: A made-up club, A made-up guide, 2001 (from memory); common practice, no source")


def test_a_rule_that_did_not_hold_names_each_fact_that_stopped_it() -> None:
    failed = part(told("back"), "Rules that did not fire")
    assert failed == [
        "  by-key: Made up.",
        "    - stopped by neutered: not known here",
        "      source: A page",
        "  either: Made up too.",
        "    - stopped by layers: it is 1, wanted at least 9",
        "    - stopped by see_through: not known here, wanted yes",
    ]


def test_rules_for_other_places_are_named_and_no_id_is_broken() -> None:
    found = explain(load_profile(PROFILE), load_history(DOG), "back", date=DAY)
    assert found.elsewhere == ("loin-only-where-it-is-long", "sections-behind-the-withers")
    for width in range(40, 90):
        shown = text(found, width=width)
        assert all(name in shown for name in found.elsewhere)
        assert all(len(line) <= width for line in shown.splitlines() if "weeks" not in line and "hair" not in line)
    assert "Not for this region" not in told("loin")


def test_what_was_decided_is_said_for_work_and_for_what_is_set_aside() -> None:
    worked = part(told("back"), "Decided")
    assert worked[0].startswith("  card")
    assert any(line.startswith("  pull ") for line in worked)
    assert any(line.startswith("    priority ") and "base 50" in line for line in worked)
    assert part(told("ear-tips", minutes=1), "Decided")[0] == "  put off to next time"
    fresh = {**DOG, "visits": [{"visit": "2026-03-20", "work": {"body": {"pull": 1}, "vent": {"clip": 3}}}]}
    assert part(told("loin", dog=fresh), "Decided")[0] == "  left alone"
    sore = {**DOG, "visits": [{"visit": "2026-03-20", "seen": {"back": {"skin": "unsound"}}}]}
    aside = part(told("back", dog=sore), "Decided")
    assert aside[0] == "  not to be touched"
    assert (
        aside[1]
        == "    - The skin here is not sound (seen on 20 March 2026): hands and tools stay off until a visit records sound skin here."
    )


def test_facts_are_the_ones_of_the_order_and_the_hair_adds_up() -> None:
    facts = part(told("back"), "Facts")
    names = [line.split()[0] for line in facts]
    order = work_order(load_profile(PROFILE), load_history(DOG), date=DAY)
    assert names == [*order.facts["back"], "hair"]
    hair = facts[-1].split(maxsplit=1)[1]
    assert sum(int(piece.split("%")[0]) for piece in hair.split(", ")) == 100
    assert "2026-02-28" in hair


def test_what_the_pace_rests_on_is_said() -> None:
    assert "nothing measured yet." in told("back")
    seen = [
        {
            "visit": "2026-02-28",
            "seen": {"back": {"longest_mm": 17}, "loin": {"longest_mm": 17}},
            "work": {"body": {"pull": 0.2}},
        },
        {"visit": "2026-03-21", "seen": {"back": {"layers": 2}}},
    ]
    dog = {**DOG, "visits": seen}
    shown = told("back", dog=dog)
    assert "learned from" in shown
    assert "  28 February 2026: 17 mm on hair 12 weeks old" in shown
    assert "2 layers seen" not in shown, "hair pulled three weeks ago is under the skin at any pace: it tells nothing"
    assert "What was seen elsewhere: Loin." in shown
    assert "Next layer long enough to grip on " in shown


@pytest.mark.parametrize(
    ("name", "message", "hint"),
    [
        ("body", "a group of several regions: 'body'", "Choose one of them: back or loin."),
        ("sanitary", "the profile 'small' has no region 'sanitary'", "Use 'vent'."),
        ("bak", "the profile 'small' has no region 'bak'", "Use 'back'."),
        ("Back", "the profile 'small' has no region 'Back'", "Use 'back'."),
        ("ears", "the profile 'small' has no region 'ears'", "Use 'ear-tips'."),
        ("boddy", "the profile 'small' has no region 'boddy'", "Use 'body'."),
        (
            "",
            "the profile 'small' has no region ''",
            "Use one of these: back, body, ear-tips, loin, sanitary and vent.",
        ),
    ],
)
def test_a_name_that_is_no_region_leads_to_one(name: str, message: str, hint: str) -> None:
    with pytest.raises(InputError) as refused:
        explain(load_profile(PROFILE), load_history(DOG), name, date=DAY)
    (problem,) = refused.value.problems
    assert (problem.message, problem.hint) == (message, hint)


def test_the_command_says_it_of_a_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "small.yaml").write_text(json.dumps(PROFILE), encoding="utf-8")
    (tmp_path / "pip.json").write_text(json.dumps(DOG | {"dog": {"id": "pip", "profile": "small"}}), encoding="utf-8")
    line = ["explain", str(tmp_path / "pip.json"), "boddy", "--profiles", str(tmp_path), "--date", DAY.isoformat()]
    assert main(line) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert "Fix: Use 'body'." in err


@settings(max_examples=10)
@given(profiles(), histories(), st.integers(0, 600))
def test_every_rule_is_told_once_and_as_the_order_has_it(profile: Any, history: Any, days: int) -> None:
    loaded = load_profile(profile)
    for region in loaded.regions:
        found = explain(loaded, load_history(history), region, date=date.fromordinal(START.toordinal() + days))
        assert {trace.rule for trace in found.rules if trace.fired} == set(found.order.fired[region])
        assert sorted([*(trace.rule for trace in found.rules), *found.elsewhere]) == sorted(loaded.rules)
        for trace in found.rules:
            assert all(isinstance(miss, Miss) and miss.expected for miss in trace.misses)
        shown = text(found)
        for trace in found.rules:
            assert shown.count(f"\n  {trace.rule}: ") == 1
        assert shown.count("\nRules that fired\n") == any(trace.fired for trace in found.rules)
