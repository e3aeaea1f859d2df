"""A club's own profile against what is said of its breed: matched by number, asked by Uberon terms, each row at its line."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from coatrules import Engine, load_profile
from coatrules.check.statements import statements_on
from coatrules.problems import Problem
from tests.support.small import profile

NORFOLK = {"fci": 272}


def own(breed: dict[str, Any] | None, **sections: Any) -> dict[str, Any]:
    """A profile on no base, with names of its own; its hair grows to 42 mm, and a quarter goes every three weeks."""
    regions = {
        "saddle": {"label": "Saddle", "coat": "jacket", "minutes": {"pull": 9}, "uberon": "UBERON:0001137"},
        "mane": {"label": "Mane", "coat": "jacket", "minutes": {"pull": 9}, "uberon": "UBERON:0000974"},
    }
    target = {"regions": list(regions), "layers": 2, "take": {"usual": 0.25}}
    zone = {"regions": ["mane"], "level": "high", "bout_minutes": 2, "rest_minutes": 5}  # the throat is part of it
    parts = {"layer_targets": {"all": target}, "sensitive_zones": {"throat": zone}}
    given = {"regions": regions, **parts, **({} if breed is None else {"breed": breed})}
    return profile(**{**given, **sections})


def rows(source: dict[str, Any] | Path) -> dict[str, Problem]:
    return {one.params["statement"]: one for one in Engine().check(source) if one.code == "breed-contradicted"}


def test_regions_of_other_names_are_known_by_their_uberon_terms() -> None:
    # Body hair of 38 to 51 mm (AKC figures), longer on neck and shoulders (FCI 272): here both stand at (12 - 4) * 2.1 mm.
    found = rows(own(NORFOLK))
    assert "'saddle' comes to 17 mm; it should be 38 mm to 51 mm." in found["st118"].message
    assert "'mane' comes to 17 mm and 'saddle' to 17 mm; the first should be longer." in found["st119"].message
    assert "FCI-Standard No 272: Norfolk Terrier, FCI, 2011, coat" in found["st119"].message


@pytest.mark.parametrize("breed", [{"fci": 272}, {"vbo": "VBO:0200945"}, {"fci": 272, "vbo": "VBO:0200945"}])
def test_a_breed_is_known_by_its_numbers(breed: dict[str, Any]) -> None:
    assert rows(own(breed)).keys() == rows(own(NORFOLK)).keys()


@pytest.mark.parametrize("breed", [None, {"fci": 1}, {"fci": 148, "variety": "smooth-haired"}])
def test_what_is_said_of_another_breed_or_variety_binds_nobody(breed: dict[str, Any] | None) -> None:
    assert rows(own(breed)) == {}
    assert rows(own({"fci": 148, "variety": "Wire-haired"}))


def test_a_base_has_no_breed_and_is_held_to_none() -> None:
    assert list(statements_on(load_profile("rough-terrier"))) == []


def test_a_row_is_accepted_by_its_id_and_the_others_stay() -> None:
    others = rows(own(NORFOLK)).keys() - {"st118"}
    assert others
    source = own(NORFOLK, accept={"breed-contradicted": {"st118": "Ours are kept so in summer."}})
    assert rows(source).keys() == others
    idle = own(NORFOLK, accept={"breed-contradicted": {"st1188": "A slip of the pen."}})
    problem = next(one for one in Engine().check(idle) if one.code == "accept-idle-at")
    assert problem.hint == "Use 'st118'."


FILE = """\
format: 2
id: ours
label: Ours
extends: {base}
{own}
"""


def at(tmp_path: Path, base: str, own: str) -> dict[str, int]:
    file = tmp_path / "ours.yaml"
    file.write_text(FILE.format(base=base, own=own))
    return {name: problem.line for name, problem in rows(file).items()}


def test_a_row_stands_at_the_line_that_contradicts_it(tmp_path: Path) -> None:
    # Over what a profile is built on nothing is said: its author has accepted or mended that.
    assert at(tmp_path, "norfolk-terrier", "about: Nothing of its own.") == {}
    often = at(
        tmp_path, "norfolk-terrier", "about: Often.\nlayer_targets:\n  jacket:\n    take: {usual: 0.5, at_most: 0.5}"
    )
    assert often["st118"] == 7
    # Nothing but the interval is its own: the lengths of the targets below come of it.
    assert at(tmp_path, "norfolk-terrier", "about: Often.\nvisit:\n  every_weeks: 2")["st118"] == 7
    # A base is of no breed: then it is the number that binds.
    assert set(at(tmp_path, "rough-terrier", "breed:\n  fci: 70").values()) == {5}


def test_a_regime_is_asked_too_and_by_rows_on_its_way_of_keeping(tmp_path: Path) -> None:
    # Fox Terrier Club of Maryland: pet trim every three to four weeks.
    rare = "regimes:\n  pet:\n    visit: {every_weeks: 8}"
    assert at(tmp_path, "wire-fox-terrier", rare)["st621"] == 7
    assert "st621" not in {row.id for row in statements_on(load_profile("wire-fox-terrier"))}


def test_what_a_rule_always_forbids_is_never_done() -> None:
    # The coat of a Norfolk is not pulled at all then, and grows to its end.
    never = {"never": {"then": {"leave": ["pull"]}, "because": "An example."}}
    found = rows(own(NORFOLK, rules=never))
    assert "'mane' comes to 42 mm and 'saddle' to 42 mm" in found["st119"].message
    assert "st118" not in found


def test_a_share_too_small_to_matter_takes_no_time() -> None:
    tiny = {"all": {"regions": ["saddle", "mane"], "layers": 1, "take": {"usual": 1e-9}}}
    assert "st118" not in rows(own(NORFOLK, layer_targets=tiny))
