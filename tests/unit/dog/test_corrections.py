"""Correcting and withdrawing visits: the last word on every day counts, and nothing is rewritten."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatrules import Engine, InputError, load_history
from coatrules.dog.history import History
from coatrules.dog.loading import read_history
from coatrules.formats.documents import without_file
from coatrules.reading import read_yaml
from coatrules.recording.append import append_visit
from coatrules.recording.text import history_text

ENGINE = Engine()
DAY = date(2026, 3, 21)
PROFILE = "griffon-bruxellois-rough"


def dog(*visits: dict[str, Any]) -> dict[str, Any]:
    return {"format": 1, "dog": {"id": "tip", "profile": PROFILE}, "visits": list(visits)}


def pulled(share: float, day: str = "2026-02-21", **more: Any) -> dict[str, Any]:
    return {"visit": day, "work": {"jacket": {"pull": share}}, **more}


@st.composite
def entries(draw: st.DrawFn) -> list[dict[str, Any]]:
    """Visits on few days, so that many meet; in each what tells it from all others."""
    return [
        {"visit": (date(2026, 1, 1) + timedelta(days=draw(st.integers(0, 3)))).isoformat(), "note": f"entry {number}"}
        | draw(st.sampled_from([{}, {}, {"corrects": True}, {"withdrawn": True}, {"corrects": False}]))
        for number in range(draw(st.integers(0, 8)))
    ]


def by_hand(written: list[dict[str, Any]]) -> list[str]:
    """The notes that count, by striking out on paper: entry after entry, whatever stands there of the same day."""
    paper: list[dict[str, Any]] = []
    for entry in written:
        if entry.get("corrects") or entry.get("withdrawn"):
            paper = [earlier for earlier in paper if earlier["visit"] != entry["visit"]]
        if not entry.get("withdrawn"):
            paper.append(entry)
    return [entry["note"] for entry in paper]


@given(entries())
def test_the_last_word_on_every_day_counts(written: list[dict[str, Any]]) -> None:
    history = load_history(dog(*written))
    assert [visit.note for _, visit in history.counting()] == by_hand(written)
    assert sorted(visit.note or "" for _, visit in history.until(date(2026, 12, 31))) == sorted(by_hand(written))
    assert all(history.visits[index] is visit for index, visit in history.counting())
    assert [visit.note for visit in history.visits] == [entry["note"] for entry in written]  # nothing is rewritten


@given(entries())
def test_a_corrected_history_reads_back(written: list[dict[str, Any]]) -> None:
    history = load_history(dog(*written))
    data = ENGINE.data(history)
    assert ENGINE.history(data) == history
    assert read_history(history_text(data).encode(), Path("tip.yaml")) == history


def same_orders(one: History | dict[str, Any], other: History | dict[str, Any]) -> bool:
    """Whether two histories ask for the same work and the same next visit."""
    first, second = (ENGINE.data(ENGINE.order(dog, date=DAY)) for dog in (one, other))
    return bool(first == second)


def test_an_order_rests_on_the_correction_alone() -> None:
    wrong, right = dog(pulled(0.5)), dog(pulled(0.2))
    corrected = ENGINE.corrected_visit(wrong, pulled(0.2))
    assert len(corrected.visits) == 2
    assert same_orders(corrected, right)
    assert not same_orders(corrected, wrong)


def test_a_withdrawn_visit_was_none() -> None:
    withdrawn = ENGINE.withdraw_visit(
        dog(pulled(0.2, "2026-01-31"), pulled(0.5)), date(2026, 2, 21), note="another dog's"
    )
    assert withdrawn.visits[-1].note == "another dog's"
    assert same_orders(withdrawn, dog(pulled(0.2, "2026-01-31")))


def test_after_a_withdrawal_the_day_is_free_again() -> None:
    withdrawn = ENGINE.withdraw_visit(dog(pulled(0.5)), date(2026, 2, 21))
    assert same_orders(ENGINE.with_visit(withdrawn, pulled(0.2)), dog(pulled(0.2)))


def test_a_name_that_the_profile_lacks_can_be_corrected() -> None:
    wrong = dog({"visit": "2026-02-21", "work": {"jakket": {"pull": 0.2}}})
    with pytest.raises(InputError, match="jakket"):
        ENGINE.order(wrong, date=DAY)
    assert same_orders(ENGINE.corrected_visit(wrong, pulled(0.2)), dog(pulled(0.2)))


def test_a_correction_of_nothing_is_refused_where_it_is_made_and_found_where_it_is_written() -> None:
    attempts: tuple[Callable[[], History], ...] = (
        lambda: ENGINE.corrected_visit(dog(), pulled(0.2)),
        lambda: ENGINE.withdraw_visit(dog(pulled(0.2)), date(2026, 2, 20)),
    )
    for refused in attempts:
        with pytest.raises(InputError, match="no visit on") as error:
            refused()
        assert [problem.code for problem in error.value.problems] == ["nothing-to-correct"]
    written = dog(pulled(0.2, corrects=True))
    found = [problem for problem in ENGINE.order(written, date=DAY).findings if problem.code == "nothing-to-correct"]
    assert [problem.path for problem in found] == [("visits", 0, "visit")]


def test_a_file_only_grows(tmp_path: Path) -> None:
    file = tmp_path / "tip.yaml"
    file.write_text(history_text(dog(pulled(0.5))), encoding="utf-8")
    before = file.read_bytes()
    after = append_visit(file, without_file(pulled(0.2, corrects=True)))
    assert file.read_bytes().startswith(before)
    assert read_yaml(file.read_bytes(), "")[-1].data["corrects"] is True
    assert [visit.work["jacket"].pull for _, visit in after.counting()] == [0.2]
