"""What ``check`` says of conditions is held against brute force; its reports against the formats' own rules."""

from __future__ import annotations

import json
import re
from datetime import timedelta
from itertools import product
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import load_history, load_profile, work_order
from coatrules.catalogue.message import Message, authors, message
from coatrules.catalogue.speaking import say
from coatrules.check import CHECKS, findings
from coatrules.check.case_from_history import case_text
from coatrules.check.catalogue import ERRORS, FINDINGS, described
from coatrules.check.satisfiability import ABSENT, Spaces
from coatrules.check.subject import Subject
from coatrules.check.unused import UNUSED
from coatrules.cli import main
from coatrules.conditions.condition import Condition
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import compile_profile
from coatrules.profile.shelves import library
from coatrules.reading import read_yaml
from coatrules.report.findings import as_json, github, sarif, text
from tests.support.paths import ROOT
from tests.support.strategies import START, histories, profiles


def test_the_tasks_of_a_region_are_looked_for_once() -> None:
    # Once for every rule and region they took two fifths of the check of a profile of 190 regions and 480 rules.
    subject = Subject(load_profile("border-terrier"))
    for region in subject.compiled.regions.values():
        assert subject.tasks(region) is subject.tasks(region)


# --- conditions on facts, against brute force -----------------------------------------------------------------------

TENTHS = st.integers(0, 10).map(lambda n: n / 10)
NUMBERS = st.fixed_dictionaries(
    {}, optional=dict.fromkeys(("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum"), TENTHS)
).filter(bool)
COUNTS = st.one_of(st.integers(0, 4), st.integers(0, 4).map(lambda n: {"minimum": n}), st.just({"maximum": 2.5}))
WORDS = st.sampled_from(["calm", "stop", {"enum": ["calm", "unsettled"]}, {"not": {"const": "stop"}}, {}, "stopped"])
PAIR = st.one_of(
    st.tuples(st.sampled_from(["cover", "ready_share", "undercoat"]), NUMBERS),
    st.tuples(st.just("layers"), COUNTS),
    st.tuples(st.just("last_reaction"), WORDS),
    st.tuples(st.just("neutered"), st.sampled_from([True, False, {}])),
)
SIMPLE = st.lists(PAIR, min_size=1, max_size=3).map(dict)
CONDITIONS = st.recursive(
    SIMPLE,
    lambda inner: st.one_of(
        st.lists(inner, min_size=1, max_size=2).map(lambda parts: {"anyOf": parts}),
        st.lists(inner, min_size=1, max_size=2).map(lambda parts: {"allOf": parts}),
        inner.map(lambda part: {"not": part}),
        st.tuples(inner, SIMPLE).map(lambda both: {**both[1], "not": both[0]}),
    ),
    max_leaves=4,
)
GRID: dict[str, list[object]] = {
    "cover": [n / 20 for n in range(21)],  # between any two tenths lies one of these
    "ready_share": [n / 20 for n in range(21)],
    "undercoat": [ABSENT, *(n / 20 for n in range(21))],
    "layers": list(range(7)),
    "last_reaction": [ABSENT, "calm", "unsettled", "stop"],
    "neutered": [ABSENT, True, False],
}


def profile_with(*conditions: Any) -> Any:
    rules = {
        f"r{n}": {"if": condition, "then": {"priority": 1}, "because": "Made up."}
        for n, condition in enumerate(conditions)
    }
    coat = {"lag_weeks": 4, "mm_per_week": 2, "full_mm": 50, "rests_weeks": 2, "ready_mm": 8, "cover_mm": 6}
    return {
        "format": 1,
        "id": "made-up",
        "label": "Made up",
        "visit": {"every_weeks": 3, "minutes": 60, "pace_spread": 0.15},
        "coats": {"jacket": {**coat, "layer_gap_mm": 2, "undercoat_weeks": 4}},
        "regions": {"back": {"label": "Back", "coat": "jacket", "minutes": {"pull": 10, "card": 2}}},
        "rules": rules,
    }


@settings(max_examples=100)
@given(CONDITIONS, CONDITIONS, st.booleans())
def test_what_can_hold_together_is_what_brute_force_finds(raw_first: Any, raw_second: Any, holds: bool) -> None:
    compiled = compile_profile(load_profile(profile_with(raw_first, raw_second)))
    first, second = Condition.parse(raw_first), Condition.parse(raw_second)
    possible = Spaces(compiled).possible(compiled.regions["back"], (first, True), (second, holds))
    names = sorted(first.facts() | second.facts())
    if len(names) > 3 and sum(name in ("cover", "ready_share", "undercoat") for name in names) > 2:
        return  # ten thousands of combinations
    witnesses = (
        {name: value for name, value in zip(names, values, strict=True) if value is not ABSENT}
        for values in product(*(GRID[name] for name in names))
    )
    witnessed = any(first.holds(facts) and second.holds(facts) is holds for facts in witnesses)
    assert possible == witnessed


@settings(max_examples=25)
@given(profiles(), histories(), st.integers(0, 600))
def test_what_check_says_of_a_rule_is_so_in_every_order(profile: Any, history: Any, days: int) -> None:
    loaded = load_profile(profile)
    spaces, compiled = Spaces(compile_profile(loaded)), compile_profile(loaded)
    order = work_order(loaded, load_history(history), date=START + timedelta(days=days))
    for name, region in compiled.regions.items():
        for rule_id, rule in region.rules:
            fired = rule_id in order.fired[name]
            longest = order.all_facts[name]["longest_mm"]
            assert isinstance(longest, float | int)
            if "longest_mm" in rule.when.facts() and longest > region.growth.full_mm:
                continue  # somebody measured hair that the profile says does not exist
            assert spaces.possible(region, (rule.when, fired)), (rule_id, order.all_facts[name])


@pytest.mark.parametrize(
    ("condition", "possible"),
    [
        (
            {"blown_share": {"minimum": 0.5}, "ready_share": {"maximum": 0.4}},
            False,
        ),  # blown hair is ready (DEVELOPERS.md)
        ({"ready_share": {"minimum": 0.5}, "through_share": {"maximum": 0.4}}, False),
        ({"cover": {"minimum": 0.5}, "through_share": {"maximum": 0.4}}, False),
        ({"blown_share": {"minimum": 0.5}, "through_share": {"maximum": 0.6}}, True),
        ({"visits": 0, "weeks_since_visit": {}}, False),
        ({"visits": {"minimum": 1}, "not": {"weeks_since_visit": {}}}, False),
        ({"outline_mm": {"exclusiveMinimum": 50}}, False),  # full_mm
        ({"layers": {"exclusiveMinimum": 2, "exclusiveMaximum": 3}}, False),  # no half layers
        ({"health": {"contains": "nursing"}, "not": {"health": {"contains": {"enum": ["nursing", "unwell"]}}}}, False),
        ({"health": {"contains": "nursing"}, "not": {"health": {"contains": "unwell"}}}, True),
        ({"groups": {"contains": "legs"}}, False),
        ({"coat": "jacket", "region": "back"}, True),
    ],
)
def test_what_is_known_of_facts_together(condition: Any, possible: bool) -> None:
    compiled = compile_profile(load_profile(profile_with(condition)))
    assert Spaces(compiled).possible(compiled.regions["back"], (Condition.parse(condition), True)) is possible


def test_a_condition_too_long_to_look_through_counts_as_possible() -> None:
    ways: list[Any] = [{"anyOf": [{"cover": {"minimum": n / 100}}, {"layers": {"minimum": n}}]} for n in range(12)]
    ways += [{"neutered": True}, {"neutered": False}]  # so it cannot hold, and that is left open
    compiled = compile_profile(load_profile(profile_with({"allOf": ways})))
    assert Spaces(compiled).possible(compiled.regions["back"], (Condition.parse({"allOf": ways}), True))


# --- findings that need more than one line to plant -----------------------------------------------------------------


def codes(profile: Any) -> set[str]:
    return {problem.code for problem in findings(load_profile(profile))}


def worked() -> dict[str, Any]:
    profile: dict[str, Any] = profile_with()
    profile["layer_targets"] = {"all": {"regions": ["back"], "layers": 2, "take": {"usual": 0.25, "at_most": 0.5}}}
    return profile


def test_a_target_that_smaller_ones_hide_is_found() -> None:
    profile = worked()
    profile["regions"]["loin"] = dict(profile["regions"]["back"])
    small = {name: {**profile["layer_targets"]["all"], "regions": [name]} for name in ("back", "loin")}
    profile["layer_targets"] = {"all": {**profile["layer_targets"]["all"], "regions": ["back", "loin"]}, **small}
    assert "part-hidden" in codes(profile)
    del profile["layer_targets"]["loin"]
    assert "part-hidden" not in codes(profile)


def test_minutes_that_are_missing_or_idle_are_found() -> None:
    profile = worked()
    assert not codes(profile) & {"minutes-missing", "minutes-idle"}
    profile["regions"]["back"]["minutes"] = {"card": 2, "comb": 3}
    assert codes(profile) >= {"minutes-missing", "minutes-idle"}


def test_a_task_without_hand_or_tool_is_found_where_methods_are_named() -> None:
    profile = worked()
    assert "method-missing" not in codes(profile)
    profile["methods"] = {"knife": {"label": "knife", "does": "pull"}}
    assert "method-missing" in codes(profile)  # nothing to card with
    profile["methods"]["rake"] = {"label": "rake", "does": "card"}
    assert "method-missing" not in codes(profile)


def test_a_steady_coat_that_blows_or_is_not_ready_before_its_turn_is_found() -> None:
    profile = worked()
    assert "target-unreachable" not in codes(profile)
    profile["layer_targets"]["all"]["take"]["usual"] = 0.09  # loose at 31 weeks, its turn at 36
    assert "target-unreachable" in codes(profile)
    profile["layer_targets"]["all"]["take"]["usual"] = 0.25
    profile["coats"]["jacket"]["ready_mm"] = 30
    assert "target-unreachable" in codes(profile)


def advice(profile: Any, key: str = "layers") -> Message | None:
    """How to get what is out of reach: of layers, unless another key of a target is asked about."""
    for problem in findings(load_profile(profile)):
        if problem.code == "target-unreachable" and key in problem.path:
            return problem.fix
    return None


def layered(layers: int, every_weeks: float, usual: float) -> dict[str, Any]:
    profile = worked()
    profile["visit"]["every_weeks"] = every_weeks
    profile["layer_targets"]["all"] |= {"layers": layers, "take": {"usual": usual, "at_most": 1.0}}
    return profile


def followed(profile: Any, fix: Message) -> Any:
    """The profile with the share and the interval that a fix names."""
    visit = profile["visit"] | {"every_weeks": fix.params.get("every_weeks", profile["visit"]["every_weeks"])}
    target = profile["layer_targets"]["all"] | {"take": {"usual": fix.params["share"], "at_most": 1.0}}
    return profile | {"visit": visit, "layer_targets": {"all": target}}


def test_more_layers_than_an_interval_gives_are_advised_to_come_more_often() -> None:
    """At 8 weeks hair is 8, 16 and 24 weeks old before it blows at 26: three lengths, whatever the share."""
    profile = layered(5, 8, 0.333)
    fix = advice(profile)
    assert fix is not None
    assert fix.code == "fix.more-often-for-layers"
    assert (fix.params["layers"], fix.params["wanted"]) == (3, 5)
    assert "less often" not in fix.text
    assert advice(followed(profile, fix)) is None
    assert advice(layered(3, 8, round(1 / 3, 3))) is None


def test_layers_that_lie_too_near_each_other_are_advised_to_come_less_often() -> None:
    """Half a week grows 1 mm, and layers are told apart from 2 mm on: all is one layer."""
    profile = layered(5, 0.5, 0.05)
    fix = advice(profile)
    assert fix is not None
    assert fix.code == "fix.less-often-for-layers"
    assert advice(followed(profile, fix)) is None


def test_an_outline_that_no_hair_reaches_is_not_advised_to_wait_for() -> None:
    """Hair stops at 50 mm: no interval gives more."""
    profile = layered(3, 3, 0.25)
    profile["layer_targets"]["all"]["longest_mm"] = [60, 90]
    fix = advice(profile, "longest_mm")
    assert fix == message("fix.smaller-length", full_mm=50.0)


def test_hair_whose_turn_comes_when_it_is_blown_is_never_advised_to_come_later() -> None:
    """A tenth every 8 weeks: its turn comes at 80 weeks, and it is blown at 31; the outline wanted is reached at 24."""
    profile = layered(3, 8, 0.1)
    profile["layer_targets"]["all"] |= {"longest_mm": [20, 45], "cover": {"at_least": 0.3}}
    fix = advice(profile, "take")
    assert fix is not None
    assert "less-often" not in fix.code
    assert "target-unreachable" not in codes(followed(profile, fix))


@settings(max_examples=40, deadline=None)
@given(
    st.integers(2, 20),
    st.integers(1, 20).map(lambda n: n / 2),
    st.integers(1, 12),
    st.sampled_from([None, 0.2, 0.5, 0.8, 0.95]),
    st.sampled_from([None, [5, 20], [10, 40], [45, 60], [60, 80]]),
)
def test_following_any_advice_gives_what_was_out_of_reach(
    layers: int, every_weeks: float, visits: int, cover: float | None, longest: list[int] | None
) -> None:
    profile = layered(layers, every_weeks, round(1 / visits, 3))
    if cover is not None:
        profile["layer_targets"]["all"]["cover"] = {"at_least": cover}
    if longest is not None:
        profile["layer_targets"]["all"]["longest_mm"] = longest
    for problem in findings(load_profile(profile)):
        fix = problem.fix
        if problem.code != "target-unreachable" or fix is None:
            continue
        if "share" not in fix.params:  # there is none: want less
            assert "often" not in fix.code
            continue
        after = followed(profile, fix)
        left = [other.params["why"].code for other in findings(load_profile(after)) if other.code == problem.code]
        assert problem.params["why"].code not in left
        assert not {"unreachable.blown", "unreachable.not-ready"} & set(left)
        if "every_weeks" in fix.params:
            assert (fix.params["every_weeks"] < every_weeks) == ("more-often" in fix.code)


def test_many_numbers_without_a_source_are_summed_up() -> None:
    """The 17th helps nobody: what is beyond the fifth is told at the place of the sixth."""
    profile = worked()
    region = profile["regions"]["back"]
    profile["regions"] = {f"rib-{number}": dict(region) for number in range(17)}
    profile["layer_targets"]["all"]["regions"] = list(profile["regions"])
    told = [one for one in findings(load_profile(profile)) if one.code.startswith("no-source")]
    assert [one.code for one in told].count("no-source") == 5
    (rest,) = [one for one in told if one.code == "no-sources"]
    assert rest.params["count"] == 15, "17 regions, the coat, the visit and the target, less five"
    assert "and 11 more" in rest.message


def test_numbers_without_a_source_name_their_part() -> None:
    profile = worked()
    profile["sources"] = {"book": {"common_practice": True}}
    profile["coats"]["jacket"]["source"] = {
        key: "book" for key in profile["coats"]["jacket"] if key not in ("full_mm", "grows_weeks")
    }
    parts = {problem.params["part"] for problem in findings(load_profile(profile)) if problem.code == "no-source"}
    figures = {"coats.jacket.full_mm", "coats.jacket.grows_weeks"}  # one is worked out from the other
    assert parts == {"visit", *figures, "regions.back", "layer_targets.all"}


SOURCED = """\
format: 1
id: sourced
label: Sourced
extends: points-of-the-dog
sources:
  book: {common_practice: true}
layer_targets:
  body:
    regions: [back]
    layers: 4
    take: {usual: 0.2}
    source: {layers: book, taek: book}
  tail:
    regions: [tail]
    layers: 4
    take: {usual: 0.2}
    source: {layers: book, take: book, longest_mm: book}
rules:
  away:
    if: {weeks_since_visit: {minimum: 8}}
    then: {priority: 2}
    because: Made up.
    source: {if: book, then: book}
"""


def test_a_source_for_a_key_that_is_not_there_is_found_at_its_place(tmp_path: Path) -> None:
    file = tmp_path / "sourced.yaml"
    file.write_text(SOURCED, encoding="utf-8")
    problems = [problem for problem in findings(load_profile(file)) if problem.code == "source-key"]
    assert [(problem.file, problem.line, problem.column) for problem in problems] == [
        (str(file), 12, 28),
        (str(file), 17, 40),
    ]
    assert problems[0].message == "a source is named for 'taek', but that key is not here"
    assert [problem.params for problem in problems] == [{"key": "taek"}, {"key": "longest_mm"}]
    assert problems[0].fix == message("fix.use-name", name="take")
    assert problems[1].fix == message("fix.use-one-of", names=("layers", "regions", "take"))


def test_a_source_left_over_from_what_is_taken_out_is_no_finding(tmp_path: Path) -> None:
    (tmp_path / "sourced.yaml").write_text(
        SOURCED.replace("taek", "take").replace(
            "    take: {usual: 0.2}\n    source", "    take: {usual: 0.2}\n    longest_mm: [5, 30]\n    source"
        ),
        encoding="utf-8",
    )
    child = "format: 1\nid: child\nlabel: Child\nextends: sourced\nlayer_targets: {tail: {longest_mm: null}}\n"
    (tmp_path / "child.yaml").write_text(child, encoding="utf-8")
    for name in ("sourced", "child"):
        profile = load_profile(tmp_path / f"{name}.yaml", shelves=[tmp_path])
        assert "source-key" not in {problem.code for problem in findings(profile)}


def test_a_target_under_which_no_case_pulls_is_found() -> None:
    profile = worked()
    history = {"format": 1, "dog": {"id": "pip"}, "arrival": {"back": {"grown_weeks": 3}}}
    profile["cases"] = {"too-early": {"history": history, "date": "2026-01-05", "expect": {"steps": []}}}
    assert "target-untested" in codes(profile)
    profile["cases"]["too-early"]["history"] = {"format": 1, "dog": {"id": "pip"}}
    assert "target-untested" not in codes(profile)


def test_every_code_is_in_the_catalogue_and_every_entry_is_used() -> None:
    folder = ROOT / "coatrules"
    files = [file for file in sorted((folder / "check").glob("*.py")) if file.name != "catalogue.py"]
    sources = "".join(file.read_text(encoding="utf-8") for file in files)
    calls = re.findall(
        r'(?:problem|_slip)\(\s*"([a-z-]+)"|problem_at\(.*, "([a-z-]+)", (?:params|\{)|code="([a-z-]+)", params=p',
        sources,
    )
    reported = {code for pair in calls for code in pair if code} | set(UNUSED.values())
    assert reported == set(FINDINGS)
    core = "".join(file.read_text(encoding="utf-8") for file in sorted((folder / "profile").glob("*.py")))
    assert {code for code in ERRORS if f'"{code}"' not in core} == set()
    assert len(CHECKS) == len(set(CHECKS))


def test_every_code_has_its_sentence_its_fix_and_its_description() -> None:
    assert {code for code in FINDINGS if not (say.knows(code) and described(code) != code)} == set()
    assert {code for code in ERRORS if described(code) == code} == set()
    without = {code for code in FINDINGS if not say.knows(f"{code}.fix")}
    assert without == {"target-unreachable"}, "each has its own"
    assert described("made-up") == "made-up"


@pytest.mark.parametrize("name", sorted(library()))
def test_every_shipped_profile_passes(name: str) -> None:
    assert [str(problem) for problem in findings(load_profile(name))] == []


def test_a_profile_without_a_file_has_no_file_name_to_mind() -> None:
    assert "id-not-file" not in codes(worked())


# --- reports --------------------------------------------------------------------------------------------------------

PROBLEMS = [
    Problem(
        code="rule-never",
        params={"rule": "x", "why": authors("made-up", "50 % is too much")},
        severity="warning",
        file="a b/p.yaml",
        line=3,
        column=5,
        path=("rules", "x"),
        fix=authors("made-up", "Look.\nAgain."),
    ),
    Problem(code="no-cases", severity="error"),
    Problem(code="comparison-unused", params={"name": "x"}, severity="note", file="p.yaml"),
]


def test_text_shows_the_code_and_how_to_fix_it() -> None:
    lines = text(PROBLEMS).splitlines()
    assert lines[:3] == [
        "a b/p.yaml:3:5: warning: the rule 'x' can never fire: 50 % is too much (at rules.x) [rule-never]",
        "    Fix: Look.",
        "Again.",
    ]
    assert [line.rpartition("[")[2] for line in lines if line.endswith("]")] == [f"{p.code}]" for p in PROBLEMS]


def test_json_says_the_same() -> None:
    data = json.loads(as_json(PROBLEMS))
    assert data["format"] == 1
    first = {"code": "rule-never", "severity": "warning", "file": "a b/p.yaml", "line": 3, "column": 5}
    assert data["findings"][0] == {
        **first,
        "path": ["rules", "x"],
        "params": {"rule": "x", "why": {"code": "made-up", "params": {}, "text": "50 % is too much", "own": True}},
        "message": PROBLEMS[0].message,
        "hint": "Look.\nAgain.",
    }


def test_workflow_commands_are_escaped() -> None:
    """Source: GitHub documentation, "Workflow commands for GitHub Actions"; the escapes are those of its toolkit."""
    lines = github(PROBLEMS).splitlines()
    assert lines[0].startswith("::warning file=a b/p.yaml,line=3,col=5,title=rule-never::the rule 'x' can")
    assert "50 %25 is" in lines[0]
    assert "Look.%0AAgain." in lines[0]
    assert lines[1].startswith("::error title=no-cases::")
    assert lines[2].startswith("::notice file=p.yaml,")


SARIF: dict[str, Any] = {
    # The parts of the OASIS standard "Static Analysis Results Interchange Format (SARIF) Version 2.1.0" that are used here,
    # with what the standard requires of them: 3.13 log, 3.14 run, 3.18 and 3.19 tool, 3.27 result, 3.29 and 3.30 places.
    "type": "object",
    "required": ["version", "runs"],
    "properties": {
        "version": {"const": "2.1.0"},
        # The standard's own address for its schema (errata 01).
        "$schema": {
            "const": "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
        },
        "runs": {"type": "array", "items": {"$ref": "#/$defs/run"}},
    },
    "additionalProperties": False,
    "$defs": {
        "message": {"type": "object", "required": ["text"], "properties": {"text": {"type": "string", "minLength": 1}}},
        "run": {
            "type": "object",
            "required": ["tool", "results"],  # 3.14.23: a run that looked for results and found none says so
            "properties": {
                "tool": {
                    "type": "object",
                    "required": ["driver"],
                    "properties": {"driver": {"$ref": "#/$defs/driver"}},
                },
                "columnKind": {"enum": ["utf16CodeUnits", "unicodeCodePoints"]},
                "results": {"type": "array", "items": {"$ref": "#/$defs/result"}},
            },
            "additionalProperties": False,
        },
        "driver": {
            "type": "object",
            "required": ["name"],
            "properties": {
                "name": {"type": "string"},
                "rules": {
                    "type": "array",
                    "uniqueItems": True,
                    "items": {
                        "type": "object",
                        "required": ["id", "shortDescription"],
                        "properties": {"id": {"type": "string"}, "shortDescription": {"$ref": "#/$defs/message"}},
                    },
                },
            },
            "additionalProperties": False,
        },
        "result": {
            "type": "object",
            "required": ["message"],
            "properties": {
                "ruleId": {"type": "string"},
                "ruleIndex": {"type": "integer", "minimum": -1},
                "level": {"enum": ["none", "note", "warning", "error"]},
                "message": {"$ref": "#/$defs/message"},
                "locations": {"type": "array", "items": {"$ref": "#/$defs/location"}},
            },
            "additionalProperties": False,
        },
        "location": {
            "type": "object",
            "properties": {
                "physicalLocation": {
                    "type": "object",
                    "required": ["artifactLocation"],
                    "properties": {
                        "artifactLocation": {
                            "type": "object",
                            "properties": {"uri": {"type": "string", "pattern": r"^\S+$"}},
                        },
                        "region": {
                            "type": "object",
                            "properties": {
                                "startLine": {"type": "integer", "minimum": 1},
                                "startColumn": {"type": "integer", "minimum": 1},
                            },
                            "additionalProperties": False,
                        },
                    },
                    "additionalProperties": False,
                }
            },
            "additionalProperties": False,
        },
    },
}


@pytest.mark.parametrize("problems", [PROBLEMS, PROBLEMS[:1], []])
def test_sarif_is_as_the_standard_says(problems: list[Problem]) -> None:
    from jsonschema import Draft202012Validator

    log = json.loads(sarif(problems))
    Draft202012Validator(SARIF).validate(log)
    rules = [rule["id"] for rule in log["runs"][0]["tool"]["driver"]["rules"]]
    results = log["runs"][0]["results"]
    assert [rules[result["ruleIndex"]] for result in results] == [problem.code for problem in problems]
    assert [result["ruleId"] for result in results] == [problem.code for problem in problems]
    assert [result["level"] for result in results] == [problem.severity for problem in problems]
    for result, problem in zip(results, problems, strict=True):
        assert result["message"]["text"].startswith(problem.message)


def test_a_file_in_sarif_is_a_uri(tmp_path: Path) -> None:
    """Source: SARIF 2.1.0, 3.4.3: a URI as RFC 3986 writes it, relative or absolute."""
    files = ["my breeds/p.yaml", str(tmp_path / "my breed.yaml")]
    log = json.loads(sarif([Problem(code="no-cases", file=file, line=2) for file in files]))
    locations = [result["locations"][0]["physicalLocation"] for result in log["runs"][0]["results"]]
    assert [urlsplit(location["artifactLocation"]["uri"]).scheme for location in locations] == ["", "file"]
    assert [unquote(urlsplit(location["artifactLocation"]["uri"]).path) for location in locations] == files
    assert all(" " not in location["artifactLocation"]["uri"] for location in locations)
    assert locations[0]["region"] == {"startLine": 2, "startColumn": 1}, "3.30.6: columns count from 1"


# --- the command ----------------------------------------------------------------------------------------------------


def test_a_broken_profile_does_not_hide_the_next(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "torn.yaml").write_text("format: [1\n", encoding="utf-8")
    assert main(["check", str(tmp_path / "torn.yaml"), "no-such-profile", "points-of-the-dog", "--alone"]) == 1
    shown = capsys.readouterr()
    assert "torn.yaml:" in shown.out
    assert "no-such-profile" in shown.out
    assert "3 profiles checked, 2 findings." in shown.err


def test_a_clean_profile_ends_with_0_in_every_format(tmp_path: Path) -> None:
    for form in ("text", "json", "github", "sarif"):
        assert main(["check", "points-of-the-dog", "--alone", "--format", form, "--out", str(tmp_path / form)]) == 0
    assert (tmp_path / "text").read_text(encoding="utf-8") == ""
    assert json.loads((tmp_path / "sarif").read_text(encoding="utf-8"))["runs"][0]["results"] == []


def test_a_salons_own_profile_extends_a_library_one(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    profile_text = (
        "format: 1\nid: our-griffons\nlabel: Ours\nextends: griffon-bruxellois-rough\nvisit: {minutes: 150}\n"
    )
    (tmp_path / "our-griffons.yaml").write_text(profile_text, encoding="utf-8")
    profile = load_profile("our-griffons", shelves=[tmp_path])
    assert profile.visit.minutes == 150
    assert profile.layer_targets.keys() == load_profile("griffon-bruxellois-rough").layer_targets.keys()
    assert not profile.cases
    dog = tmp_path / "dog.yaml"
    dog.write_text("format: 1\ndog: {id: pip, profile: our-griffons}\n", encoding="utf-8")
    assert main(["order", str(dog), "--date", "2026-01-05", "--profiles", str(tmp_path)]) == 0
    assert main(["order", str(dog), "--date", "2026-01-05"]) == 1
    assert "'our-griffons'" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["../secret", "sub/secret", "/secret", "secret.yaml", "..", ""])
def test_profiles_are_searched_by_id_never_by_path(name: str, tmp_path: Path) -> None:
    (tmp_path / "own" / "sub").mkdir(parents=True)
    profile_text = json.dumps({**profile_with(), "id": "secret"})
    for parent in (tmp_path, tmp_path / "own" / "sub"):
        (parent / "secret.yaml").write_text(profile_text, encoding="utf-8")
    with pytest.raises(InputError) as refused:
        load_profile({"format": 1, "id": "mine", "label": "Mine", "extends": name}, shelves=[tmp_path / "own"])
    assert {problem.path for problem in refused.value.problems} == {("extends",)}


@pytest.mark.parametrize(
    ("head", "found"),
    [
        ({"format": 2, "label": "Ours"}, []),
        ({"format": 2}, [("label-not-own", ("id",))]),
        ({"format": 2, "label": "Border Terrier"}, [("label-not-own", ("label",))]),
        ({"label": "Ours"}, [("format-not-own", ("id",))]),
    ],
)
def test_a_profile_that_builds_on_another_has_a_head_of_its_own(head: Any, found: Any) -> None:
    problems = findings(load_profile({**head, "id": "our-borders", "extends": "border-terrier"}))
    assert [(problem.code, problem.path) for problem in problems] == found
    assert all("Our borders" in problem.hint for problem in problems if problem.code == "label-not-own")


def test_a_profile_in_a_regime_is_called_as_the_regime_is() -> None:
    profile = load_profile({"format": 2, "id": "ours", "extends": "cairn-terrier", "regime": "show"})
    assert not findings(profile)
    assert profile.label == "Cairn Terrier, show coat"


# --- cases made from a history --------------------------------------------------------------------------------------


@settings(max_examples=12)
@given(profiles(), histories(), st.integers(0, 600), st.sampled_from([None, 30]))
def test_a_drafted_case_comes_out_as_it_was(profile: Any, history: Any, days: int, minutes: float | None) -> None:
    day = START + timedelta(days=days)
    history["dog"] |= {"name": "Somebody's dog", "note": "lives next door"}
    yaml_text = case_text(load_profile(profile), load_history(history), day, minutes)
    assert "Somebody" not in yaml_text
    assert "next door" not in yaml_text
    cases = read_yaml(yaml_text)[0].data["cases"]
    (case,) = cases.values()
    assert all(visit["visit"] <= day.isoformat() for visit in case["history"].get("visits", ()))
    assert not [str(p) for p in findings(load_profile({**profile, "cases": cases})) if p.code == "case-unmet"]


def test_a_drafted_case_keeps_neither_call_name_nor_day_of_birth() -> None:
    dog = {"id": "pipsqueak-of-the-hill", "name": "Pip", "born": "2023-04-17"}
    history = load_history(
        {"format": 1, "dog": dog, "visits": [{"visit": "2026-01-05", "work": {"back": {"pull": 0.2}}}]}
    )
    drafted = case_text(load_profile(worked()), history, START)
    assert "pip" not in drafted.lower()
    assert "2023-04-17" not in drafted
    assert "2023-04-01" in drafted


def test_new_case_asks_for_a_dog_and_the_others_for_none(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    dog = tmp_path / "dog.yaml"
    dog.write_text("format: 1\ndog: {id: pip, profile: points-of-the-dog}\n", encoding="utf-8")
    out = tmp_path / "case.yaml"
    assert main(["new", "case", str(dog), "--date", "2026-01-05", "--out", str(out)]) == 0
    assert list(read_yaml(out.read_text(encoding="utf-8"))[0].data["cases"]) == ["dog-2026-01-05"]
    assert main(["new", "case", str(dog), "--out", str(out)]) == 1, "it is there already"
    for wrong in (["new", "case"], ["new", "dog", str(dog)]):
        with pytest.raises(SystemExit) as ended:
            main(wrong)
        assert ended.value.code == 2
    assert "new case DOG" in capsys.readouterr().err
