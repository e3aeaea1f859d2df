"""What an editor is told of a profile: names to choose from, what a word means, where it was set, what fixes a problem."""

from __future__ import annotations

from pathlib import Path

import pytest

from coatrules.catalogue.message import message
from coatrules.check import findings
from coatrules.check.fixes import fix, span
from coatrules.editor.completion import SECTIONS_OF_IDS, choices
from coatrules.editor.meaning import definition, hover
from coatrules.editor.profile_text import merged, problems
from coatrules.formats.resources import folder, whole_schema
from coatrules.problems import Problem
from coatrules.profile.graph import is_profile
from coatrules.profile.loading import load_profile

CHILD = """\
format: 2
id: child
label: Child
extends: points-of-the-dog
visit: {every_weeks: 3, minutes: 90, pace_spread: 0.15}
layer_targets:
  body:
    regions: [jacket]
    layers: 4
    take: {usual: 0.2, at_most: 0.3}
rules:
  mine:
    if: {cover: {minimum: 0.2}, legs_to_body: 1}
    then: {use: fingers}
    because: So.
    source: practice
"""


@pytest.fixture
def file(tmp_path: Path) -> str:
    path = tmp_path / "child.yaml"
    path.write_text(CHILD, encoding="utf-8")
    return str(path)


def offered(file: str, before: str, after: str = "") -> list[str]:
    """What is offered at the end of ``before``, with ``after`` behind it."""
    text = before + after
    line = before.count("\n")
    found = choices(text, line, len(before) - before.rfind("\n") - 1, merged(text, file))
    return [choice.text for choice in found]


@pytest.mark.parametrize(
    ("written", "some"),
    [
        ("", {"methods", "rules", "coats"}),
        ("layer_targets:\n  body:\n    ", {"regions", "layers", "take"}),
        ("layer_targets:\n  body:\n    regions: [ja", {"jacket"}),
        ("layer_targets:\n  body: {regions: [", {"jacket", "back", "legs"}),
        ("sensitive_zones:\n  ", {"throat", "ear-leathers"}),
        ("sensitive_zones:\n  throat: {level: ", {"low", "medium", "high"}),
        ("regions:\n  back: {coat: ", {"jacket"}),
        ("rules:\n  x:\n    if: {wee", {"weeks_since_visit", "weeks_to_show"}),
        ("rules:\n  x:\n    if: {sensitivity: ", {"none", "high"}),
        ("rules:\n  x:\n    if: {neutered: ", {"true", "false"}),
        ("rules:\n  x:\n    if: {groups: {contains: ", {"head", "jacket"}),
        ("rules:\n  x:\n    then: {use: ", {"fingers"}),
        ("rules:\n  x:\n    source: ", {"practice"}),
        ("rules:\n  ", {"dog-said-stop"}),
        ("cases:\n  x: {expect: {rules: [dog", {"dog-said-stop"}),
        ("cases:\n  x: {expect: {regions: {back: {outcome: ", {"worked", "deferred"}),
        ("cases:\n  x: {history: {dog: {", {"id", "born"}),
        ("cases:\n  x: {history: {visits: [{work: {", {"back", "jacket"}),
        ("comparisons:\n  x: {fact: ", {"outline_mm"}),
    ],
)
def test_names_and_keys_are_offered_where_they_can_be_written(written: str, some: set[str], file: str) -> None:
    head = "format: 1\nid: child\nlabel: Child\nextends: points-of-the-dog\n"
    assert some <= set(offered(file, head + written))


def test_what_is_offered_begins_as_it_was_begun_and_nothing_else_is(file: str) -> None:
    found = offered(file, "extends: points-of-the-dog\nlayer_targets:\n  body:\n    ta")
    assert found == ["take"]
    assert "skull" not in offered(file, "extends: points-of-the-dog\nregions:\n  back: {coat: ")


def test_a_parent_is_offered_by_its_id(file: str) -> None:
    assert {"points-of-the-dog", "rough-terrier"} <= set(offered(file, "format: 1\nextends: "))


def test_every_section_of_ids_is_named() -> None:
    known = whole_schema("profile")["properties"]
    of_ids = {key for key, node in known.items() if "propertyNames" in node}
    assert set(SECTIONS_OF_IDS) == of_ids - {"cases", "accept", "regimes"}  # not inherited; merged by themselves


def said(text: str, word: str, file: str) -> str:
    """All that is shown of the first place of a word."""
    before = text[: text.index(word)]
    found = hover(text, before.count("\n"), len(before) - before.rfind("\n") - 1, merged(text, file))
    return "" if found is None else "\n".join(sentence.text for sentence in found.sentences)


def test_a_word_shows_its_meaning_what_holds_and_where_it_comes_from(file: str) -> None:
    text = said(CHILD, "at_most", file)
    assert "Never more than this at one visit." in text
    assert "layer_targets.body.take.at_most: 0.3" in text
    assert "Set in child.yaml, line 10." in text
    inherited = CHILD + "coats:\n  jacket: {full_mm: 50, mm_per_"
    assert "Set in" not in said(CHILD, "format", file).replace("Set in child.yaml, line 1.", "")
    assert "full_mm: 50" in said(inherited + "week: 2}\n", "full_mm", file)


def test_what_is_inherited_is_shown_where_nothing_is_written_yet(file: str) -> None:
    broken = CHILD + "sensitive_zones:\n  throat: {level"
    text = said(broken, "level", file)
    assert "sensitive_zones.throat.level: high" in text
    assert "Set in points-of-the-dog.yaml" in text


def test_a_name_shows_what_it_names(file: str) -> None:
    text = said(CHILD, "fingers", file)
    assert "methods.fingers: {label: finger and thumb" in text
    assert "Set in points-of-the-dog.yaml" in text


def test_a_name_leads_to_where_it_is_defined_and_a_key_to_where_it_was_set(file: str) -> None:
    def led(word: str) -> tuple[str, str]:
        before = CHILD[: CHILD.index(word)]
        found = definition(CHILD, before.count("\n"), len(before) - before.rfind("\n") - 1, merged(CHILD, file))
        assert found is not None
        line = CHILD if found.file == file else Path(found.file).read_text(encoding="utf-8")
        return Path(found.file).name, line.split("\n")[found.line - 1].strip().split(":")[0]

    assert led("jacket") == ("points-of-the-dog.yaml", "jacket")
    assert led("fingers") == ("points-of-the-dog.yaml", "fingers")
    assert led("practice") == ("points-of-the-dog.yaml", "practice")
    assert led("usual") == ("child.yaml", "take")


@pytest.mark.parametrize("name", ["points-of-the-dog", "griffon-bruxellois-rough", "rough-terrier"])
def test_the_problems_are_those_that_check_finds(name: str) -> None:
    # The command reads the file, the editor its text: they must not differ.
    path = folder("profiles") / f"{name}.yaml"
    assert problems(path.read_text(encoding="utf-8"), str(path)) == findings(load_profile(path, shelves=[path.parent]))


def test_a_broken_text_has_the_problems_of_its_reading(file: str) -> None:
    found = problems(CHILD + "coats: {jacket: [\n", file)
    assert [problem.severity for problem in found] == ["error"]
    assert found[0].file == file


@pytest.mark.parametrize(
    ("text", "profile"),
    [
        (CHILD, True),
        ("rules:\n  a: [", True),
        ("format: 1\ndog: {id: pip}\narrival: {body: {grown_weeks: 2}}\n", False),
        ("services:\n  web: {}\n", False),
        ("", False),
    ],
)
def test_a_history_and_any_other_file_are_left_in_peace(text: str, profile: bool) -> None:
    assert is_profile(text) is profile


def test_a_fix_puts_the_name_meant_in_place_of_the_one_written(file: str) -> None:
    text = CHILD.replace("[jacket]", "[jackt]")
    unknown = [problem for problem in problems(text, file) if problem.code.startswith("unknown")]
    changes = [change for problem in unknown if (change := fix(text, problem, file)) is not None]
    assert changes
    lines = text.split("\n")
    for change in changes:
        line = lines[change.span.line]
        lines[change.span.line] = line[: change.span.start] + change.text + line[change.span.end :]
    assert "\n".join(lines) == CHILD


def test_a_fix_is_taken_from_the_problem_and_not_from_its_words(file: str) -> None:
    meant = Problem(code="editor.example", file=file, line=8, column=15, fix=message("fix.use-name", name="body"))
    change = fix(CHILD, meant, file)
    assert change is not None
    assert change.text == "body"
    assert change.title.text == "Use 'body'."
    assert CHILD.split("\n")[7][change.span.start : change.span.end] == "jacket"
    assert fix(CHILD, meant, "another.yaml") is None


def test_a_problem_of_another_file_is_marked_where_that_is_named(file: str) -> None:
    marked = span(CHILD, Problem(code="editor.example", file="base.yaml", line=2, column=1), file)
    assert CHILD.split("\n")[marked.line].startswith("extends:")
