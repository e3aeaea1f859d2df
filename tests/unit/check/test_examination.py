"""All faults of a profile in one go, each on the author's own line, the cause first; and slips of a hand at the keyboard."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from coatrules.check import examine
from coatrules.cli import main
from coatrules.formats.resources import folder
from coatrules.formats.slips import comparison_fix, number_fix, range_fix
from coatrules.formats.units import other_unit_fix
from coatrules.problems import Problem

HEAD = "format: 2\nid: mine\nlabel: Mine\nextends: border-terrier\n"


def found(tmp_path: Path, text: str, head: str = HEAD) -> list[Problem]:
    """All that is found in a profile of one's own, but for its lack of cases that fire what it takes over."""
    file = tmp_path / "mine.yaml"
    file.write_text(head + text, encoding="utf-8")
    return [one for one in examine(file, [tmp_path]) if one.code not in ("no-cases", "rule-untested")]


def said(problems: list[Problem]) -> list[tuple[str, int]]:
    return [(problem.code, problem.line) for problem in problems]


def rule(condition: str, more: str = "then: {priority: 1}, because: Planted., source: practice") -> str:
    return f"  r1: {{if: {condition}, {more}}}\n"


# --- all in one go ------------------------------------------------------------------------------------------------------


def test_faults_of_every_stage_are_found_in_one_go(tmp_path: Path) -> None:
    """Against the schema, names that lead nowhere, figures that contradict, and what a mentor asks about."""
    problems = found(
        tmp_path,
        "visit: {every_weeks: 2, minutes: ninety}\n"
        "layer_targets:\n"
        "  x: {regions: [bakc], layers: 3.5, take: {usual: 20}, source: practice}\n"
        "  legs: {take: {low_spot: 0.9}}\n"
        "rules:\n"
        "  r2: {if: {longest_m: {minimum: 40}}, then: {prioritty: 1}, because: Made up., source: no-book}\n"
        "  r3: {if: {cover: {minimum: 0.8, maximum: 0.2}}, then: {priority: 1}, because: Made up., source: practice}\n",
    )
    assert said(problems) == [
        ("schema-type", 5),
        ("unknown-name", 7),
        ("schema-type", 7),
        ("schema-too-high", 7),
        ("figures", 8),
        ("unknown-fact", 10),
        ("schema-unknown-key", 10),
        ("unknown-name", 10),
        ("rule-never", 11),
    ]
    assert all(problem.hint for problem in problems)


def test_a_key_that_is_there_twice_does_not_hide_the_rest(tmp_path: Path) -> None:
    twice = rule("{longest_mm: {minimum: 40}}") * 2
    problems = found(
        tmp_path,
        f"rules:\n{twice}  r2: {{if: {{longest_m: 3}}, then: {{priority: 1}}, because: X., source: practice}}\nlayer_tagets: {{}}\n",
    )
    assert [code for code, _ in said(problems)] == ["duplicate-key", "unknown-fact", "schema-unknown-key"]


def test_a_misspelt_base_does_not_hide_the_rest(tmp_path: Path) -> None:
    problems = found(tmp_path, "visit: {minutes: ninety}\n", HEAD.replace("border-terrier", "border-terier"))
    assert said(problems) == [("unknown-profile", 4), ("schema-type", 5)]


@pytest.mark.parametrize("written", ["5", "true", "the back of it"])
def test_a_group_that_is_no_list_is_told_where_a_part_of_it_is_taken_out_too(written: str, tmp_path: Path) -> None:
    text = f"groups:\n  body: {written}\nregions:\n  back:\n"
    assert said(found(tmp_path, text)) == [("schema-type", 6)]


def test_what_was_found_is_never_of_our_making(tmp_path: Path) -> None:
    """A coat that is set right is not then missed by its regions."""
    problems = found(tmp_path, "coats: {jacket: {full_mm: 6, grows_weeks: 140}}\n")
    assert {problem.code for problem in problems} == {"figures-grown", "figures-range"}
    assert {problem.line for problem in problems} == {5}


ON_A_TERRIER = "format: 2\nid: own\nlabel: Own\nextends: wire-terrier\n"
LOOSE_TOES = "sensitive_zones:\n  toes: {regions: [front-toes, hind-toes], level: low, bout_minutes: 4, rest_minutes: 1, because: Hm.}\n"


NOT_HIDDEN = [
    (
        "layer_taregts:\n"
        "  jacket: {take: {usuall: 0.2}, layers: four}\n"
        "  own: {regions: [bakc, loin], layers: 2, take: {usual: 0.5, at_most: 0.3}, source: no-book}\n",
        "unknown-key 5, unknown-key 6, type 6, unknown-name 7, figures 7, unknown-name 7",
    ),
    (
        "rules:\n  r1: {if: {cover: 0.1}, then: {prio: 1}, because: X., source: practice}\n"
        "rule:\n  r2: {if: {covr: 0.1}, then: {prio: 1}, because: X., source: practice}\n",
        "unknown-key 6, unknown-key 7, unknown-fact 8, unknown-key 8",
    ),
    (
        "visit:\n  minutes: 80\n  layer_targets:\n    jacket: {layers: four}\n",
        "unknown-key 7, type 8",
    ),
    (
        "layer_targets:\n  - jacket: {layers: four}\n"
        "  - own: {regions: [bakc, loin], layers: 2, take: {usual: 0.5, at_most: 0.3}, source: practice}\n",
        "type 6, type 6, unknown-name 7, figures 7",
    ),
    (
        "rules:\n  - id: wet\n    if: [{cover: 0.1}, {layrs: 3}]\n    then: {priority: 1}\n    because: X.\n"
        "  - id: dry\n    if: {covr: 0.1}\n    then: {priority: 1}\n    because: X.\n",
        "type 6, type 7, unknown-fact 7, unknown-fact 11",
    ),
    (
        "rules:\n  - if: {covr: 0.1}\n    then: {priority: 1}\n    because: X.\n"
        "  - if: {layrs: 3}\n    then: {priority: 1}\n    because: X.\n",
        "type 6, unknown-fact 6, unknown-fact 9",
    ),
    (
        "regimes:\n  show:\n    visit: {minutes: ninety}\n    layer_target: {jacket: {layers: four}}\n    rules:\n"
        "      r1: {if: {covr: 0.1}, then: {use: nothing}, because: X., source: no-book}\n"
        "      r2: {if: {cover: {minimum: 0.8, maximum: 0.2}}, then: {priority: 1}, because: X., source: practice}\n"
        "  pet: {visit: {minutes: 200}}\n",
        "type 7, unknown-key 8, type 8, unknown-fact 10, unknown-name 10, unknown-name 10, rule-never 11, floor-day 12",
    ),
    (
        "regimes:\n  show: {extends: border-terrier, visit: {minutes: ninety}}\n  pet: [1]\n",
        "unknown-key 6, type 6, type 7",
    ),
    ("regime: shwo\nvisit: {minutes: ninety}\n", "unknown-regime 5, type 6"),
    (
        "rules:\n  r1: {if: {covr: 0.1}, then: {priority: 1}, because: X.}\nvisit: {every_weeks: two}\n"
        "rules:\n  r2: {if: {layrs: 3}, then: {priority: 1}, because: X.}\n",
        "unknown-fact 6, type 7, duplicate-key 8, unknown-fact 9",
    ),
]


@pytest.mark.parametrize(("text", "expected"), NOT_HIDDEN)
def test_nothing_waits_until_what_is_around_it_is_mended(text: str, expected: str, tmp_path: Path) -> None:
    """A misspelt or misplaced key, a list in place of a mapping, a regime, a section written twice: each fault once, at its line."""
    head = HEAD.replace("border-terrier", "wire-fox-terrier")
    problems = [problem for problem in found(tmp_path, text, head) if problem.code != "no-source"]
    assert ", ".join(f"{one.code.removeprefix('schema-')} {one.line}" for one in problems) == expected


@pytest.mark.parametrize("base", ["no-such-base", "mine", "broken"])
def test_a_base_that_cannot_be_had_does_not_hide_what_is_wrong_without_it(base: str, tmp_path: Path) -> None:
    """Nor is everything missing that it would have brought."""
    (tmp_path / "broken.yaml").write_text(HEAD.replace("mine", "broken") + "visit: {\n", encoding="utf-8")
    problems = found(tmp_path, "visit: {minutes: ninety}\n", HEAD.replace("border-terrier", base))
    own = [problem for problem in problems if problem.file == str(tmp_path / "mine.yaml")]
    assert said(own)[-1] == ("schema-type", 5)
    assert len(problems) == 2


def test_a_finding_beside_a_fault_stands_at_its_own_line(tmp_path: Path) -> None:
    """It was blamed on the first key: without it the profile could not be read either."""
    text = "about: Mine.\nvisit: {every_weeks: 12}\nrules:\n" + rule("{longest_m: 3}")
    assert said(found(tmp_path, text)) == [("target-unreachable", 6), ("unknown-fact", 8)]


def test_equal_keys_in_json_hide_nothing(tmp_path: Path) -> None:
    file = tmp_path / "mine.json"
    file.write_text(
        '{"format": 2, "id": "mine", "label": "Mine", "extends": "border-terrier",\n "visit": {"minutes": "ninety"},\n'
        ' "visit": {"every_weeks": "two"},\n "layer_target": {"jacket": {"layers": "four"}}}\n',
        encoding="utf-8",
    )
    assert said(examine(file, [tmp_path])) == [
        ("schema-type", 2),
        ("duplicate-key", 3),
        ("schema-type", 3),
        ("schema-unknown-key", 4),
        ("schema-type", 4),
    ]


@pytest.mark.parametrize(
    ("other", "code", "line"),
    [
        ("visit: {minutes: abc}\n", "schema-type", 5),
        ("layer_targets:\n  jacket: {take: {usual: 0.4, at_most: 0.3}}\n", "figures", 6),
        ("blends:\n  n: {regions: [neck-top, bak], within: 0.1, source: practice}\n", "unknown-name", 6),
    ],
)
def test_no_other_fault_hides_what_loosens_the_floor(other: str, code: str, line: int, tmp_path: Path) -> None:
    """It was told only once all else was sound."""
    found_here = said(found(tmp_path, other + LOOSE_TOES, ON_A_TERRIER))
    assert found_here == [(code, line), ("floor-tender", 6 + other.count("\n"))]


def test_names_set_right_do_not_hide_what_loosens_the_floor(tmp_path: Path) -> None:
    """Its own figures are looser whichever toes it holds, and a zone is out whatever else there is."""
    text = (
        "groups: {mine: [front-toes, hind-tose, xyz]}\n"
        "sensitive_zones:\n"
        "  toes: {regions: [mine, xyz], level: low, bout_minutes: 4, rest_minutes: 1, because: Hm.}\n"
        "clipper_only_zones: {round-the-anus: null}\n"
    )
    assert said(found(tmp_path, text, ON_A_TERRIER)) == [
        ("unknown-name", 5),
        ("unknown-name", 5),
        ("floor-tender", 7),
        ("unknown-name", 7),
        ("floor-only-cut", 8),
    ]
    moved = "visit: {minutes: ninety}\nclipper_only_zones: {round-the-anus: {regions: [back]}}\n"
    assert said(found(tmp_path, moved, ON_A_TERRIER)) == [("schema-type", 5), ("floor-only-cut", 6)]


def test_a_figure_that_was_put_in_contradicts_nothing(tmp_path: Path) -> None:
    """The example put in for it fell out of the range of the base, which was told before the slip itself."""
    text = 'coats:\n  jacket: {full_mm: "40 mm"}\n'
    assert said(found(tmp_path, text, ON_A_TERRIER)) == [("schema-type", 6)]


def test_one_impossible_rule_is_one_finding(tmp_path: Path) -> None:
    """Not that no case fires it, nor that a case which expects it fails, nor that one which does not tests nothing."""
    problems = found(
        tmp_path,
        "rules:\n"
        + rule("{longest_mm: {minimum: 400}}", "then: {take: {at_most: 0.99}}, because: X., source: practice")
        + "cases:\n"
        "  c1: {history: {format: 1, dog: {id: pip}}, date: 2026-01-05, expect: {rules: [r1], refer: false}}\n"
        "  c2: {history: {format: 1, dog: {id: pip}}, date: 2026-01-05, expect: {not_rules: [r1], refer: false}}\n",
    )
    assert said(problems) == [("rule-never", 6)]


@pytest.mark.parametrize("fact", ["longest_mm", "outline_mm"])
def test_a_length_that_no_hair_reaches_is_found_wherever_it_stands(fact: str, tmp_path: Path) -> None:
    alone = found(tmp_path, "rules:\n" + rule(f"{{{fact}: {{minimum: 400}}}}"))
    assert said(alone) == [("rule-never", 6)]
    beside = found(
        tmp_path, "rules:\n" + rule(f"{{anyOf: [{{{fact}: {{minimum: 400}}}}, {{cover: {{maximum: 0.3}}}}]}}")
    )
    assert said(beside) == [("alternative-never", 6)]
    assert fact in beside[0].message


def test_a_figure_that_is_a_slip_is_the_only_finding_it_causes(tmp_path: Path) -> None:
    problems = found(tmp_path, "visit: {every_weeks: 0.1}\n")
    assert said(problems) == [("figure-unsupported", 5)]


# --- on the author's own line -------------------------------------------------------------------------------------------


def test_a_coat_that_is_taken_out_is_told_at_its_line_with_all_that_still_names_it(tmp_path: Path) -> None:
    (problem,) = found(tmp_path, "coats:\n  furnishing: null\n")
    assert (problem.code, problem.file, problem.line) == ("still-named", str(tmp_path / "mine.yaml"), 6)
    assert "regions.beard.coat" in problem.message
    assert problem.hint


@pytest.mark.parametrize(
    ("text", "line", "codes"),
    [
        ("visit:\n  minutes: 90\n  every_weeks: 12\n", 7, {"target-unreachable"}),
        ("coats:\n  jacket:\n    lag_weeks: 5\n", 7, {"figures-range"}),
        ("visit: {minutes: 60}\nregions:\n  back:\n    minutes: {pull: 900}\n", 8, {"schema-too-high"}),
        ("coats:\n  jacket:\n    mm_per_week: 4.4\n    ready_mm: 90\n", 8, {"figures-full"}),
    ],
)
def test_what_is_found_in_a_base_stands_at_the_line_that_causes_it(
    text: str, line: int, codes: set[str], tmp_path: Path
) -> None:
    problems = found(tmp_path, text)
    assert codes <= {problem.code for problem in problems}
    assert {problem.file for problem in problems} == {str(tmp_path / "mine.yaml")}
    assert {problem.line for problem in problems if problem.code in codes} == {line}


def test_a_region_is_taken_out_as_the_tool_advises(tmp_path: Path) -> None:
    assert found(tmp_path, "regions: {beard: null}\n") == []


def test_a_fault_of_a_base_of_ones_own_stays_where_it_is(tmp_path: Path) -> None:
    (tmp_path / "base.yaml").write_text(HEAD.replace("mine", "base") + "visit: {minutes: ninety}\n", encoding="utf-8")
    (problem,) = found(tmp_path, "", HEAD.replace("border-terrier", "base"))
    assert (problem.file, problem.line) == (str(tmp_path / "base.yaml"), 5)


@pytest.mark.parametrize("form", ["github", "sarif", "json"])
def test_no_output_names_a_place_of_the_installation(
    form: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("mine.yaml").write_text(HEAD + "coats: {furnishing: null}\nvisit: {every_weeks: 12}\n", encoding="utf-8")
    assert main(["check", "mine.yaml", "--format", form]) == 1
    assert str(folder("profiles")) not in capsys.readouterr().out
    assert main(["check", str(tmp_path / "mine.yaml"), "--format", form]) == 1
    if form != "json":
        assert str(tmp_path) not in capsys.readouterr().out


# --- names that are misspelt --------------------------------------------------------------------------------------------


def test_a_misspelt_name_of_an_inherited_entry_is_one_finding(tmp_path: Path) -> None:
    (problem,) = found(tmp_path, "coats: {jackt: {cover_mm: 9}}\n")
    assert (problem.code, problem.hint) == ("schema-new-entry", "Use 'jacket'.")
    assert "lag_weeks" in problem.message


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("groups: {furnishings-of-hea: null}", "furnishings-of-head"),
        ("layer_targets: {jackt: null}", "jacket"),
        ("coats: {jacket: {coverr_mm: null}}", "cover_mm"),
    ],
)
def test_what_is_taken_out_by_a_misspelt_name_is_told_the_inherited_one(text: str, meant: str, tmp_path: Path) -> None:
    (problem,) = found(tmp_path, text + "\n")
    assert (problem.code, problem.line, problem.hint) == ("no-value", 5, f"Use '{meant}'.")


# --- slips --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "code", "line", "fix"),
    [
        ("rules:\n" + rule("{longest_mm:\u00a0{minimum: 40}}"), "odd-space", 6, "Type the space again"),
        ("rules:\n\u00a0 r1:\n    if: {cover: 1}\n", "schema-unknown-key", 6, "Use ordinary spaces: U+00A0"),
        ("rules:\n" + rule("{cover: {minimum: 0.5}}", "because: “a, b: c”"), "curled-quotes", 6, "Use the straight ones"),
        ("label2: x\nrules:\n" + rule("{cover: {minimum: 0.5}}", "because: a # b, then: {priority: 1}"),
         "yaml-comment-in-brackets", 7, "Put the text in quotes"),
        ("rules:\n" + rule("{age_weeks: > 26}"), "yaml-first-character", 6, "Write {exclusiveMinimum: 26}"),
        ("rules:\n  r1:\n    if:\n      age_weeks: >= 26\n", "yaml-block-text", 8, "Write {minimum: 26}"),
        ("rules:\n" + rule("{age_weeks: < 26}"), "fact-value", 6, "Write {exclusiveMaximum: 26}"),
        ("rules:\n" + rule("{age_weeks: {maximum: 40–60}}"), "schema-type", 6, "Write both ends: {minimum: 40, maximum: 60}"),
        ("layer_targets: {jacket: {longest_mm: 40–60}}\n", "schema-type", 5, "in square brackets: [40, 60]"),
        ("layer_targets: {jacket: {longest_mm: 40 to 60 mm}}\n", "schema-type", 5, "in square brackets: [40, 60]"),
        ("visit: {every_weeks: 3-4}\n", "schema-type", 5, "Write one number, for example 3.5"),
        ("layer_targets:\n  jacket:\n    regions:\n      -neck\n      -back\n", "schema-type", 8, "a space after each dash: '- neck'"),
        ("layer_targets: {jacket: {regions: [-neck]}}\n", "schema-id", 5, "e.g. 'neck'"),
        ("coats: {jacket: {ready_mm: 0.8 cm}}\n", "schema-type", 5, "without quotes: 8."),
        ("coats: {jacket: {ready_mm: 0.8}}\n", "figure-unsupported", 5, "Write 8 if you mean 0.8 cm."),
        ("coats: {jacket: {rests_weeks: 70 days}}\n", "schema-type", 5, "without quotes: 10."),
        ("coats: {jacket: {lag_weeks: 14}}\n", "figures-range", 5, "Write 2 if you mean 14 days."),
        ("visit: {minutes: 1.5 h}\n", "schema-type", 5, "without quotes: 90."),
        ("visit: {every_weeks: 84}\n", "schema-too-high", 5, ""),
        ("rules:\n" + rule("{month: {enum: [Jun, Jul]}}"), "fact-value", 6, "Write the month as a number: 6."),
        ("rules:\n" + rule("{sex: bitch}"), "fact-value", 6, "Use female or male."),
        ("rules:\n" + rule("{month: {enum: [3, Apr]}, sex: female}"), "fact-value", 6, "Write the month as a number: 4."),
        ("rules:\n" + rule("{month: Jun}", "becaus: X"), "schema-type", 6, "Write the month as a number: 6."),
        ("rules:\n" + rule("{sesaon: winter}", "becaus: X"), "unknown-fact", 6, "Use 'weeks_since_season'."),
        ("layer_targets: {jacket: {if: {time_of_year: sumer}}}\n", "fact-value", 5, "Use 'summer'."),
        ("rules:\n" + rule("{coat: jackt, cover: 0.1}"), "fact-value", 6, "Use 'jacket'."),
        ("rules:\n" + rule("{anyOf: [{cover: 0.1}, {groups: legs}]}"), "fact-value", 6, "write {contains: legs}"),
        ("groups: {own: [back; loin]}\n", "schema-id", 5, "between the names: back, loin."),
        ("groups: {own: [back loin]}\n", "schema-id", 5, "between the names: back, loin."),
        ("rules:\n" + rule("{or: [{cover: 0.1}, {layers: 1}]}"), "unknown-fact", 6, "Use 'anyOf'."),
        ("rules:\n" + rule("{month: 13}"), "fact-value", 6, "from 1 to 12"),
        ("rules:\n" + rule("{age_weeks: < 6 months}"), "fact-value", 6, "Write {exclusiveMaximum: 26.1}"),
        ("rules:\n" + rule("{longest_mm: {minimum: 4 cm}}"), "schema-type", 6, "without quotes: 40."),
        ("rules:\n" + rule("{weeks_since_visit: {minimum: 2 months}}"), "schema-type", 6, "without quotes: 8.7."),
        ("layer_targets: {jacket: {longest_mm: 4 to 6 cm}}\n", "schema-type", 5, "in square brackets: [40, 60]"),
        ("visit: {every_weeks: 2 cm}\n", "schema-type", 5, "Write a number, in digits."),
        ("methods:\n  own: {label: Own, does: pull, rank: 9, if: {texture: {const: wooly}}, source: practice}\n", "fact-value", 6,
         "'woolly'"),
        ("cases:\n  c1:\n    history: {format: 1, dog: {id: a}}\n    date: 2026-01-05\n    expect: {regions: {back: {outcome: workd}}}\n",
         "fact-value", 9, "Use 'worked'."),
        ("groups:\n\town: [back, loyn]\n", "unknown-name", 6, "Use 'loin'."),
        ("groups:\n\town: [back, loyn]\n", "tab-indent", 6, "Indent with spaces."),
        ("rules:\n" + rule("{longest_mm: {minimum: 60, maximum: 15}}"), "rule-never", 6, "{minimum: 15, maximum: 60}"),
        ("rules:\n" + rule("{age_months: {minimum: 6}}"), "unknown-fact", 6, "Use 'age_weeks'."),
        ("rules:\n  r1:\n  if: {cover: 0.1}\n  then: {priority: 1}\n  because: X.\n", "schema-misplaced", 7, "Indent if, then"),
        ("layer_targets: {jacket: {regions: back and loin}}\n", "schema-type", 5, "[back, loin]"),
        ("groups: {own: {back, loin}}\n", "no-value", 5, "in square brackets, as in [back]"),
        ("visit:\n  every_weeks:3\n  minutes: 90\n", "yaml-colon-joined", 6, "'every_weeks: 3'"),
        ("visit: {every_weeks:3, minutes: 90}\n", "no-value", 5, "'every_weeks: 3'"),
        ("visit:\n  every_weeks = 3\n", "schema-type", 6, "'every_weeks: 3'"),
        ("layer_targets: {jacket: {take: a fifth}}\n", "schema-type", 5, "as in {usual: …}"),
        ("about: 'The dog's coat'\n", "yaml-apostrophe", 5, "double quotes"),
        ("regions: {beard: remove}\n", "schema-type", 5, "'beard: null'"),
        ("accept:\n  no-cases:\n", "no-value", 6, "why you accept it"),
        ("accept: [no-cases]\n", "schema-type", 5, "'no-cases: …'"),
        ("rules:\n" + rule("{cover: 0.1}") + rule("{cover: 0.1}").replace("r1", "r2"), "rules-same", 7, "Remove one"),
        ("rules:\n  r1: {if: {cover: 0.1}, then: {priority: 1}, because: X., source: Our standard}\n", "schema-id", 6, "under 'sources'"),
        ("visit: {minutes: 90}\t# ours\nrules:\n" + rule("{covr: 1}"), "unknown-fact", 7, "Use 'cover'."),
        ("sensitive_zones:\n  a: {regions: [back, loin], level: low, bout_minutes: 5, rest_minutes: 2}\n"
         "  b: {regions: [back, croup], level: low, bout_minutes: 5, rest_minutes: 2}\n", "overlap", 7, "Remove it from one"),
    ],
)  # fmt: skip
def test_a_slip_is_told_how_it_is_written(text: str, code: str, line: int, fix: str, tmp_path: Path) -> None:
    problems = found(tmp_path, text)
    hits = [problem for problem in problems if (problem.code, problem.line) == (code, line)]
    assert any(fix in problem.hint for problem in hits), problems


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("about: ‘Our own: rolled’\n", [("curled-quote", 5)]),
        (
            "sensitive_zones:\n  a: {regions: [back, loin], level: low, bout_minutes: 5, rest_minutes: 2, source: practice}\n"
            "  b: {regions: [back, croup], level: low, bout_minutes: 5, rest_minutes: 2, source: practice}\n",
            [("overlap", 7)],
        ),
        ("layer_targets:\n  jacket:\n  layers: 4\n", [("schema-misplaced", 7)]),
        ("rules:\n  r1:\n  if: {cover: 0.1}\n  then: {priority: 1}\n  because: X.\n", [("schema-misplaced", 7)]),
        ("layer_targets: {jacket: {layers: 9, take: {usual: 20}}}\n", [("schema-too-high", 5)]),
        (
            "visit: {every_weeks: 6}\nlayer_targets: {own: {regions: [neck; back], layers: 1, take: {usual: 0.3}, source: practice}}\n",
            [("schema-id", 6)],
        ),
        ("visit: {every_weeks: monthly}\nlayer_targets: {jacket: {layers: 9}}\n", [("schema-type", 5)]),
    ],
)
def test_a_slip_is_one_finding(text: str, expected: list[tuple[str, int]], tmp_path: Path) -> None:
    assert said(found(tmp_path, text)) == expected


def test_a_text_that_a_comment_cuts_short_is_found_and_a_comment_is_not(tmp_path: Path) -> None:
    entry = (
        "rules:\n  r1:\n    if: {cover: {maximum: 0.3}}\n    then: {priority: 1}\n    source: practice\n    because: "
    )
    cut = found(tmp_path, entry + "The coat is in # weeks not worked\n")
    assert said(cut) == [("text-cut-short", 10)]
    assert "'in'" in cut[0].message
    assert said(found(tmp_path, entry + "Fault # 4 of a standard\n")) == [
        ("text-cut-short", 10)
    ]  # a sentence of a word
    for fine in ("The coat is old.  # E010", "The coat is old  # E010", "The coat is old. # E010", '"The coat # is"'):
        assert found(tmp_path, entry + fine + "\n") == []


def test_curled_quotes_that_became_part_of_a_text_are_found_and_those_within_it_are_not(tmp_path: Path) -> None:
    assert said(found(tmp_path, "about: “Mine”\n", HEAD)) == [("curled-quotes", 5)]
    assert found(tmp_path, "about: The dog’s “own” coat, 40–60 mm\u00a0long\n") == []


def test_a_case_of_a_day_before_its_visit_is_found(tmp_path: Path) -> None:
    history = "{format: 1, dog: {id: pip}, visits: [{visit: 2026-03-01, work: {back: {pull: 0.2}}}]}"
    (problem,) = found(tmp_path, f"cases:\n  c1: {{history: {history}, date: 2026-02-01, expect: {{refer: false}}}}\n")
    assert (problem.code, problem.line) == ("visit-after-case", 6)


@pytest.mark.parametrize(
    ("text", "keyword"),
    [("< 26", "exclusiveMaximum"), ("<=26 weeks", "maximum"), ("≥ 0,5", "minimum"), ("> 3", "exclusiveMinimum")],
)
def test_comparisons_are_the_keywords_of_json_schema(text: str, keyword: str) -> None:
    """Source: JSON Schema Validation, draft 2020-12, 6.2."""
    fix = comparison_fix("age_weeks", text)
    assert fix is not None
    assert fix.params["keyword"] == keyword
    assert comparison_fix("age_weeks", "stop") is None


def test_units_are_what_they_are_in_the_si_and_the_yard_agreement() -> None:
    """1 in = 25.4 mm exactly (international yard, 1959); 1 h = 60 min (SI brochure, table 8); a week has 7 days."""

    def number(key: str, text: str) -> Any:
        fix = number_fix(key, text)
        return None if fix is None else fix.params["number"]

    assert number("ready_mm", "2 in") == "50.8"
    assert number("ready_mm", "2 cm") == "20"
    assert number("ready_mm", "8 mm") == "8"
    assert number("every_weeks", "21 days") == "3"
    assert number("bout_minutes", "90 s") == "1.5"
    assert number("ready_mm", "2 days") is None
    assert number("layers", "2 cm") is None
    assert other_unit_fix("mm_per_week", 0.3, 1.2, 7.5) is not None
    assert other_unit_fix("layers", 100, 1, 9) is None
    assert range_fix("longest_mm", "a-b", as_list=True, as_bounds=False) is None


def test_json_says_the_same_of_a_profile(tmp_path: Path) -> None:
    data = {"format": 2, "id": "mine", "label": "Mine", "extends": "border-terrier", "visit": {"minutes": "ninety"}}
    (tmp_path / "mine.json").write_text(json.dumps(data), encoding="utf-8")
    assert [one.code for one in examine(tmp_path / "mine.json")] == ["schema-type"]


def test_a_curled_quote_that_reads_is_not_blamed_for_a_fault_on_a_line_below(tmp_path: Path) -> None:
    """A text may hold them; the comment within the brackets is what ends the reading."""
    text = (
        "rules:\n"
        "  r1: {if: {cover: 1}, then: {priority: 1}, because: “Long”, source: practice}\n"
        "  r2: {if: {cover: 1}, then: {priority: 1}, because: Young ones # in the middle, source: practice}\n"
    )
    assert ("yaml-comment-in-brackets", 7) in said(found(tmp_path, text))
    assert "curled-quote" not in {code for code, _ in said(found(tmp_path, text))}
