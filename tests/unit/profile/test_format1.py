"""Profiles of format 1: brought up to date as they are loaded, and in their text."""

from __future__ import annotations

from typing import Any

import pytest

from coatrules import load_profile
from coatrules.check import findings
from coatrules.mentor.migration import migrated
from tests.support import small

OLD = """\
format: 1
id: old
label: Old
visit: {every_weeks: 3, minutes: 60, pace_spread: 0.15, source: practice}
sources: {practice: {common_practice: true}}
coats:
  # as it was said
  jacket:
    {breakthrough_weeks: 4, mm_per_week: 2.0, full_mm: 40, blown_weeks: 26, ready_mm: 6, cover_mm: 6, layer_gap_mm: 2,
     source: {breakthrough_weeks: practice, blown_weeks: practice}}
  early: {breakthrough_weeks: 4, mm_per_week: 2.0, full_mm: 50, blown_weeks: 26, ready_mm: 6, cover_mm: 6, layer_gap_mm: 2}
regions: {back: {label: Back, coat: jacket}, ribs: {label: Ribs, coat: early}}
"""


def old() -> dict[str, Any]:
    made = small.profile(regions={"back": {"label": "Back", "coat": "jacket"}})
    jacket = {"breakthrough_weeks": 4, "mm_per_week": 2, "full_mm": 40, "blown_weeks": 26}
    rest = {"ready_mm": 6, "cover_mm": 6, "layer_gap_mm": 2}
    return {**made, "format": 1, "coats": {"jacket": {**jacket, **rest}}}


def test_an_old_profile_is_loaded_as_a_new_one() -> None:
    coat = load_profile(old()).coats["jacket"]
    assert (coat.lag_weeks, coat.grows_weeks, coat.rests_weeks, coat.full_mm) == (4, 20, 2, 40)
    assert coat.blown_weeks == 26


def test_the_text_is_rewritten_with_its_comments(tmp_path: Any) -> None:
    text = migrated(OLD)
    assert "lag_weeks: 4" in text
    assert "rests_weeks: 2," in text
    assert "# as it was said" in text
    assert "# format 1: blown_weeks: 26, before it had grown out" in text
    for name, written in (("old", OLD), ("new", text)):
        file = tmp_path / f"{name}.yaml"
        file.write_text(written.replace("id: old", f"id: {name}"), encoding="utf-8")
    was, now = (load_profile(tmp_path / f"{name}.yaml") for name in ("old", "new"))
    assert was.coats == now.coats
    assert migrated(text) == text
    early = [finding.path for finding in findings(was) if finding.code == "blown-before-grown"]
    assert early == [("coats", "early", "blown_weeks")]
    assert not [finding for finding in findings(now) if finding.code == "blown-before-grown"]


def test_an_old_child_of_a_new_profile_says_what_it_always_said() -> None:
    child = {"format": 1, "id": "child", "label": "Child", "extends": "points-of-the-dog"}
    coat = load_profile({**child, "coats": {"jacket": {"full_mm": 60, "blown_weeks": 30}}}).coats["jacket"]
    assert (coat.full_mm, coat.grows_weeks, coat.rests_weeks) == (60, 15, 13)


@pytest.mark.parametrize(("length", "fits"), [(64, True), (64.5, True), (70, False)])
def test_a_length_and_a_growing_time_must_agree(length: float, fits: bool) -> None:
    made = old() | {"format": 2}
    made["coats"] = {
        "jacket": {
            "lag_weeks": 2,
            "mm_per_week": 4,
            "grows_weeks": 16,
            "full_mm": length,
            "rests_weeks": 8,
            "ready_mm": 8,
            "cover_mm": 6,
            "layer_gap_mm": 2,
        }
    }
    if fits:
        load_profile(made)
    else:
        with pytest.raises(ValueError, match="16 weeks reaches 64 mm, not 70 mm"):
            load_profile(made)
