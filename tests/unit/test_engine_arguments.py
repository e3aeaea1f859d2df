"""What a request from elsewhere may pass to an engine beside the dog: used, or refused as bad input is, never a crash."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import yaml

from coatrules import Engine, InputError
from tests.support.book import PROFILE

ENGINE: Any = Engine(shelves=[{"small": PROFILE}])  # nonsense is passed to it on purpose
DAY = date(2026, 3, 21)
DOG = {"format": 1, "dog": {"id": "pip", "profile": "small"}, "visits": [{"visit": "2026-02-28"}]}
ORDER = ENGINE.order(DOG, date=DAY)


def refused(ask: Callable[[], object]) -> str:
    with pytest.raises(InputError) as error:
        ask()
    assert all(problem.message for problem in error.value.problems)
    return error.value.problems[0].code


@pytest.mark.parametrize(
    "value", ["60", [60], object(), Decimal("NaN"), Decimal("sNaN"), 10**400, np.bool_(True), np.array([1, 2]), -1]
)
def test_numbers_that_are_none(value: Any) -> None:
    for ask in (
        lambda: ENGINE.order(DOG, date=DAY, minutes=value),
        lambda: Engine(minutes=value),
        lambda: ENGINE.plan(DOG, date=DAY, every_weeks=value),
        lambda: ENGINE.plan(DOG, date=DAY, visits=value),
        lambda: ENGINE.intervals(DOG, date=DAY, weeks=[value]),
        lambda: ENGINE.history(DOG, show_mm={"jacket": [value, value]}),
        lambda: ENGINE.history(DOG, show_mm={"jacket": value}),
    ):
        assert refused(ask) != "structure"


def test_numbers_of_other_kinds() -> None:
    assert ENGINE.order(DOG, date=DAY, minutes=np.float32(60)).minutes_available == 60
    plan = ENGINE.plan(DOG, date=DAY, visits=np.int64(2), every_weeks=Decimal(3))
    assert [visit.day for visit in plan.visits] == [visit.day for visit in ENGINE.plan(DOG, date=DAY, visits=2).visits]
    assert ENGINE.history(DOG, show_mm={"jacket": (Decimal(20), np.int64(30))}).dog.show_mm["jacket"] == (20, 30)


@pytest.mark.parametrize("value", [None, "2026-03-21", 20260321, datetime(2026, 3, 21)])
def test_days_that_are_none(value: Any) -> None:
    for ask in (
        lambda: ENGINE.with_seen(DOG, "back: sore", date=value),
        lambda: ENGINE.new_case(DOG, date=value),
        lambda: ENGINE.new_history(date=value),
        lambda: ENGINE.withdraw_visit(DOG, value),
    ):
        assert refused(ask) == "date"


@pytest.mark.parametrize("value", [3, b"back", ["back"], {"back": 1}])
def test_names_that_are_no_text(value: Any) -> None:
    for ask in (
        lambda: ENGINE.explain(DOG, value, date=DAY),
        lambda: ENGINE.regions(DOG, value),
        lambda: ENGINE.coat_picture(DOG, value, date=DAY),
        lambda: ENGINE.picture(ORDER, fact=value),
        lambda: ENGINE.order(DOG, date=DAY, regime=value),
        lambda: Engine(locale=value),
        lambda: ENGINE.where("small", value),
        lambda: ENGINE.explained(value),
        lambda: ENGINE.new_profile(id=value),
        lambda: ENGINE.tidied(value),
        lambda: ENGINE.check_text(value),
        lambda: ENGINE.fixed(value),
        lambda: ENGINE.migrated(value),
    ):
        assert refused(ask) == "not-text"


def test_words_for_what_there_is_not() -> None:
    # A picture was drawn as PDF, and an order for nobody shown as for the table.
    for ask in (
        lambda: ENGINE.picture(ORDER, form="pdf"),
        lambda: ENGINE.coat_picture(DOG, "body", date=DAY, form="pdf"),
        lambda: ENGINE.text(ORDER, audience="everybody"),
        lambda: ENGINE.markdown(ORDER, audience=None),
        lambda: ENGINE.page(ORDER, audience=3),
        lambda: ENGINE.findings([], form="xml"),
    ):
        assert refused(ask) == "argument.one-of"


@pytest.mark.parametrize("seen", [3, None, ["back"], {"back": 3}, {"back": None}, {3: {"skin": "sound"}}])
def test_what_was_seen_must_be_said_by_part(seen: Any) -> None:
    assert refused(lambda: ENGINE.with_seen(DOG, seen, date=DAY)) != "structure"


@pytest.mark.parametrize("visit", [{"visit": "2026-03-21", "minutes": -1}, {"visit": "2026-03-21", "minutes": 2**70}])
def test_the_path_of_a_new_visit_is_where_it_would_stand(visit: Any) -> None:
    # It led to the first visit of the history, or to none.
    with pytest.raises(InputError) as error:
        ENGINE.with_visit(DOG, visit)
    assert [problem.path for problem in error.value.problems] == [("visits", 1, "minutes")]


@pytest.mark.parametrize("shelves", [3, None, [3], [None], [["x"]]])
def test_shelves_that_are_none(shelves: Any) -> None:
    assert refused(lambda: Engine(shelves=shelves)) in ("shelves-no-list", "no-folder")


def test_a_broken_profile_has_no_label_and_takes_none_from_the_others(tmp_path: Path) -> None:
    (tmp_path / "broken.yaml").write_text("a: [\n", encoding="utf-8")
    (tmp_path / "empty.yaml").write_text("", encoding="utf-8")
    labels = Engine(shelves=[tmp_path, {"small": PROFILE}]).labels()
    assert (labels["broken"], labels["empty"], labels["small"]) == ("", "", PROFILE["label"])


@pytest.mark.parametrize("name", ["17", 17, "null", "a: b", "#1", " x", "é 🐕", "8d3c-1"])
def test_a_new_history_reads_back_with_its_id(name: str | int) -> None:
    (data,) = yaml.safe_load_all(ENGINE.new_history("small", date=DAY, id=name))
    assert data["dog"]["id"] == name


@pytest.mark.parametrize("name", ["", "a\0", None, 1.5, "x" * 201])
def test_a_new_history_is_not_begun_for_what_is_no_id(name: Any) -> None:
    refused(lambda: ENGINE.new_history("small", date=DAY, id=name))


def test_a_line_may_be_asked_for_by_its_number() -> None:
    assert ENGINE.reasons(ORDER, 1) == ENGINE.reasons(ORDER, "1")
