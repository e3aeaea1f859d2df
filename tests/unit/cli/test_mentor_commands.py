"""What a mentor asks of the command line beside findings: what a code means, safe fixes, a profile to start from, where a value is set."""

from __future__ import annotations

from pathlib import Path

import pytest

from coatrules.check.catalogue import ERRORS, FINDINGS, explained
from coatrules.cli import main
from coatrules.profile.loading import load_profile

HEAD = "format: 2\nid: mine\nlabel: Mine\nextends: border-terrier\n"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_every_code_is_explained_and_an_unknown_one_is_told_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", "--explain", "rule-never"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0] == "rule-never: A rule can never fire."
    assert lines[1] == "Message: the rule <rule> can never fire: <why>"
    assert lines[2].startswith("Fix: Check the numbers")
    assert main(["check", "--explain", "rule-nevr"]) == 1
    assert "Use 'rule-never'." in capsys.readouterr().err
    with pytest.raises(SystemExit):
        main(["check"])


@pytest.mark.parametrize("code", [*ERRORS, *FINDINGS, "duplicate-key", "schema-unknown-key", "floor-day"])
def test_no_explanation_holds_a_place_that_nothing_fills(code: str) -> None:
    lines = explained(code)
    if code not in ("figures",):
        assert lines
        assert not any("{" in line and "}" in line and ":" in line.partition("{")[2][:3] for line in lines)


def test_misspelt_names_and_odd_spaces_are_fixed_and_nothing_else(folder: Path) -> None:
    before = HEAD + (
        "# a comment that stays\r\n"
        "rules:\r\n"
        "  r1: {if: {longst_mm: {minimum: 40}}, then: {prioritty: 1}, because: Long.,\u00a0source: practice}\r\n"
        "layer_targets: {jackt: {layers: 3.5}}\r\n"
    ).replace("\r\n", "\n")
    file = folder / "mine.yaml"
    file.write_text(before, encoding="utf-8")
    assert main(["check", "mine.yaml", "--fix"]) == 1
    after = file.read_text(encoding="utf-8")
    assert "{longest_mm: {minimum: 40}}" in after
    assert "{priority: 1}" in after
    assert "# a comment that stays" in after
    assert "layers: 3.5" in after, "what was meant is not known"
    assert main(["check", "mine.yaml", "--fix"]) == 1
    assert file.read_text(encoding="utf-8") == after


def test_a_misspelt_key_and_what_is_misspelt_within_it_are_both_fixed(folder: Path) -> None:
    """The path of all within a key changes with it: no error has come that was not there."""
    text = "format: 2\nid: both\nlabel: Both\nextends: wire-terrier\nlayer_taregts:\n  jacket: {take: {usuall: 0.2}}\n"
    (folder / "both.yaml").write_text(text, encoding="utf-8")
    main(["check", "both.yaml", "--fix"])
    fixed = text.replace("layer_taregts", "layer_targets").replace("usuall", "usual")
    assert (folder / "both.yaml").read_text(encoding="utf-8") == fixed


def test_tabs_are_replaced_by_spaces_and_line_ends_stay(folder: Path) -> None:
    text = HEAD + "rules:\n\tr1:\n\t\tif: {time_of_year: sumer}\t# ours\n\t\tthen: {priority: 1}\n\t\tbecause: Hot.\n"
    (folder / "mine.yaml").write_bytes(text.replace("\n", "\r\n").encode())
    main(["check", "mine.yaml", "--fix"])
    fixed = text.replace("\t#", " #").replace("\t", "  ").replace("sumer", "summer")
    assert (folder / "mine.yaml").read_bytes().decode() == fixed.replace("\n", "\r\n")


def test_a_fix_that_leaves_as_many_problems_is_not_kept(folder: Path) -> None:
    text = HEAD + "visit: {every_weeks: 2, every_week: 2}\n"  # there it would stand twice
    (folder / "mine.yaml").write_text(text, encoding="utf-8")
    main(["check", "mine.yaml", "--fix"])
    assert (folder / "mine.yaml").read_text(encoding="utf-8") == text


@pytest.mark.parametrize("base", ["border-terrier", "points-of-the-dog"])
def test_a_new_profile_builds_on_the_one_named(base: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "profile", "--extends", base, "--id", "ours", "--out", "ours.yaml"]) == 0
    profile = load_profile(folder / "ours.yaml")
    assert profile.id == "ours"
    assert "extends: " + base in (folder / "ours.yaml").read_text(encoding="utf-8")
    assert profile.visit.every_weeks == 3 or profile.visit == load_profile("border-terrier").visit
    assert main(["new", "profile", "--extends", "border-terier"]) == 1
    assert main(["new", "profile", "--id", "Not an id"]) == 1
    assert "Use 'border-terrier'." in capsys.readouterr().err
    with pytest.raises(SystemExit):
        main(["new", "dog", "--id", "pip"])


def test_where_a_value_is_set_is_told_with_what_it_overrides(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "mine.yaml").write_text(
        HEAD + "visit: {every_weeks: 3}\nrules: {dog-said-stop: null}\n", encoding="utf-8"
    )
    assert main(["profiles", "mine.yaml", "--where", "visit.every_weeks"]) == 0
    value, own, *others = capsys.readouterr().out.splitlines()
    assert value == "visit.every_weeks: 3"
    assert own == "  mine.yaml:5: 3"
    assert others
    assert all(line.endswith(", overridden") for line in others)
    assert main(["profiles", "mine.yaml", "--where", "rules.dog-said-stop"]) == 0
    nothing, removed, *_ = capsys.readouterr().out.splitlines()
    assert nothing == "nothing is written for rules.dog-said-stop in mine.yaml"
    assert removed == "  mine.yaml:6: removed"
    assert main(["profiles", "mine.yaml", "--where", "visit.every_week"]) == 1
    assert "Use 'every_weeks'." in capsys.readouterr().err
    with pytest.raises(SystemExit):
        main(["profiles", "--where", "visit"])
