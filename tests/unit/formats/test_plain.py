"""Data from other programs is held to what a file may say: both roads refuse the same, and each refusal has its path."""

from __future__ import annotations

import copy
import json
from collections import UserDict
from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from typing import Any

import numpy as np
import pytest

from coatrules import History, InputError, work_order
from coatrules.formats.documents import without_file
from coatrules.problems import Problem
from coatrules.reading import read_json, read_yaml
from tests.support.book import PROFILE

DAY = date(2026, 3, 21)
HISTORY = {
    "format": 1,
    "dog": {"id": "pip", "profile": "small"},
    "visits": [{"visit": "2026-01-31", "work": {"body": {"pull": 0.6}}}],
}


def history(value: Any, *path: Any) -> dict[str, Any]:
    made: Any = copy.deepcopy(HISTORY)
    inner = made
    for part in path[:-1]:
        inner = inner[part]
    inner[path[-1]] = value
    return made  # type: ignore[no-any-return]  # a mapping like the one copied


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("a\ud800", "broken-character"),
        ("a\0", "control-character"),
        ("a\x1b[31m", "control-character"),
        ("a\u202eb", "control-character"),
        ("a" + "\u0301\u0316" * 40, "combining-marks"),
        ("a" * 70_000, "text-too-long"),
    ],
)
def test_text_that_no_file_may_hold_is_refused_with_its_path(text: str, code: str) -> None:
    with pytest.raises(InputError) as refused:
        work_order(PROFILE, history(text, "visits", 0, "note"), date=DAY)
    assert refused.value.problems[0].code == code
    assert refused.value.problems[0].path[:2] == ("visits", 0)
    with pytest.raises(InputError) as refused:
        work_order({**PROFILE, "label": text}, HISTORY, date=DAY)
    assert refused.value.problems[0].code == code


@pytest.mark.parametrize("path", [(), ("dog",), ("dog", "x-own"), ("visits", 0, "work")])
def test_a_key_that_cannot_be_written_out_is_told_of_the_mapping_around_it(path: tuple[Any, ...]) -> None:
    # A web service answered 500: it could not encode the path.
    given = history({"pip": 1}, "dog", "x-own")
    inner: Any = given
    for part in path:
        inner = inner[part]
    inner["\ud800"] = {"\ud801": "\ud802"}
    with pytest.raises(InputError) as refused:
        work_order(PROFILE, given, date=DAY)
    assert [(one.code, one.path) for one in refused.value.problems] == [("broken-character", path)]
    json.dumps(refused.value.to_dict(), ensure_ascii=False).encode()


def test_a_moment_is_no_day_and_told_so() -> None:
    with pytest.raises(InputError) as refused:
        work_order(PROFILE, history(datetime(2026, 1, 31, 9, 30), "visits", 0, "visit"), date=DAY)
    assert [one.message for one in refused.value.problems] == ["invalid date: 2026-01-31 09:30:00"]


@pytest.mark.parametrize("value", [complex(1, 1), datetime(2026, 1, 1), b"x", {1, 2}, object(), float("nan"), 2**70])
@pytest.mark.parametrize("path", [("visits", 0, "work", "body", "pull"), ("visits", 0, "visit"), ("dog", "x-own")])
def test_a_value_of_no_kind_a_file_has_is_refused_with_its_path(value: Any, path: tuple[Any, ...]) -> None:
    with pytest.raises(InputError) as refused:
        work_order(PROFILE, history(value, *path), date=DAY)
    assert refused.value.problems[0].path == path


def test_what_a_database_driver_gives_is_taken() -> None:
    given = history(date(2026, 1, 31), "visits", 0, "visit")
    given["visits"][0]["work"]["body"]["pull"] = Decimal("0.6")
    assert work_order(PROFILE, given, date=DAY) == work_order(PROFILE, HISTORY, date=DAY)


class Name(StrEnum):
    """What a host program writes for its own words."""

    PIP = "pip"
    BODY = "body"
    DAY = "2026-01-31"


class Own(float):
    """As numpy's float64 is one."""


@pytest.mark.parametrize(
    ("given", "path", "as_if"),
    [
        (Name.PIP, ("dog", "id"), "pip"),
        (Name.DAY, ("visits", 0, "visit"), "2026-01-31"),
        (Name.BODY, ("dog", "x-own"), "body"),
        ({Name.BODY: {"pull": 0.5}}, ("visits", 0, "work"), {"body": {"pull": 0.5}}),
        (UserDict(body=UserDict(pull=0.5)), ("visits", 0, "work"), {"body": {"pull": 0.5}}),
        (type("Row", (list,), {})(["x"]), ("dog", "x-own"), ["x"]),
        (Own(0.5), ("visits", 0, "work", "body", "pull"), 0.5),
        (Fraction(1, 2), ("visits", 0, "work", "body", "pull"), 0.5),
        (np.float64(0.5), ("visits", 0, "work", "body", "pull"), 0.5),
        (np.float32(0.5), ("dog", "x-own"), 0.5),
        (np.int64(40), ("visits", 0, "minutes"), 40),
        (np.int64(17), ("dog", "id"), 17),
        (np.bool_(True), ("visits", 0, "work", "body", "card"), True),
        (np.str_("pip"), ("dog", "id"), "pip"),
        (np.datetime64("2026-01-31"), ("visits", 0, "visit"), "2026-01-31"),
        (date(2026, 1, 31), ("visits", 0, "visit"), "2026-01-31"),
        (type("Day", (date,), {})(2026, 1, 31), ("visits", 0, "visit"), "2026-01-31"),
        ((0.5, "a"), ("dog", "x-own"), [0.5, "a"]),
    ],
)
def test_what_is_derived_from_a_kind_counts_as_that_kind(given: Any, path: tuple[Any, ...], as_if: Any) -> None:
    # It said "internal error while reading this file", without a path.
    read = History.from_dict(history(given, *path))
    assert read == History.from_dict(history(as_if, *path))
    assert json.loads(json.dumps(read.to_dict())) == read.to_dict()


@pytest.mark.parametrize(
    "value",
    [np.array([1.0]), np.complex64(1), np.datetime64("2026-01-31T10:00"), np.timedelta64(3, "D"), Decimal("sNaN")],
)
@pytest.mark.parametrize("path", [("visits", 0, "work", "body", "pull"), ("visits", 0, "visit"), ("dog", "x-own")])
def test_what_stands_for_no_kind_is_refused_with_its_path(value: Any, path: tuple[Any, ...]) -> None:
    with pytest.raises(InputError) as refused:
        History.from_dict(history(value, *path))
    assert [problem.path for problem in refused.value.problems] == [path]
    assert refused.value.problems[0].code in ("value-type", "schema-type", "number-not-finite")


@pytest.mark.parametrize("text", ["a: " + "\u0301\u0316" * 30_000, "a: e" + "\u0316" * 31])
def test_marks_without_end_are_refused_before_they_are_normalised(text: str) -> None:
    # Source: Unicode Standard Annex 15, 13: text of at most 30 non-starters in a row is stream-safe.
    with pytest.raises(InputError) as refused:
        read_yaml(text)
    assert refused.value.problems[0].code == "combining-marks"
    with pytest.raises(InputError) as refused:
        read_json('{"a": "e' + "\\u0316" * 31 + '"}')
    assert refused.value.problems[0].code == "combining-marks"


def test_thirty_marks_in_a_row_are_text() -> None:
    assert read_yaml("a: e" + "\u0316" * 30)[0].data == {"a": "e" + "\u0316" * 30}


@pytest.mark.parametrize("text", ["{ ?foo: bar }", "{a: 1, ?foo : bar}", "[?foo]", '{?"foo": bar}'])
def test_a_question_mark_that_two_readers_take_differently_is_refused(text: str) -> None:
    # Source: YAML 1.2.2, 7.3.3: '?' may begin a plain scalar before a character that is no space.
    with pytest.raises(InputError) as refused:
        read_yaml(text)
    assert refused.value.problems[0].code in ("yaml-question-mark", "yaml-bracket")


@pytest.mark.parametrize("text", ["{? foo : bar}", "- ?foo", "?foo: bar?", "foo: ?bar", "a: b?", "? foo\n: bar?"])
def test_a_question_mark_that_says_one_thing_stays(text: str) -> None:
    read_yaml(text)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0x7fffffffffffffff", 2**63 - 1),
        ("0x8000000000000000", None),
        ("0xffffffffffffffffff", None),
        ("0o777777777777777777777", 2**63 - 1),
        ("0o1000000000000000000000", None),
        # A decimal of 19 digits was refused, so that a dog's id from a database could be used and not stored.
        ("9223372036854775807", 2**63 - 1),
        ("-9223372036854775807", 1 - 2**63),
        ("9223372036854775808", None),
        ("-9223372036854775808", None),
        ("9" * 5000, None),
    ],
)
def test_numbers_fit_64_bits_however_they_are_written(text: str, value: int | None) -> None:
    roads: list[Callable[[], Any]] = [lambda: read_yaml(f"a: {text}")[0].data]
    if "x" not in text and "o" not in text:
        roads += [lambda: read_json(f'{{"a": {text}}}').data, lambda: without_file({"a": int(text)}).data]
    if len(text) > 4000:
        roads = roads[:2]  # Python makes no integer of such a text
    for road in roads:
        if value is not None:
            assert road() == {"a": value}
            continue
        with pytest.raises(InputError) as refused:
            road()
        assert refused.value.problems[0].code == "number"
        assert "9,223,372,036,854,775,807" in refused.value.problems[0].hint


def test_a_number_that_is_too_large_is_shown() -> None:
    # It said "unusable number: '…'".
    for number, shown in ((2**63, "9223372036854775808"), (-(2**70), str(-(2**70))), (10**5000, "…")):
        with pytest.raises(InputError) as refused:
            without_file({"dog": {"id": number}})
        (problem,) = refused.value.problems
        assert (problem.path, problem.message) == (("dog", "id"), f"unusable number: '{shown}'")


def test_a_decimal_under_a_key_of_ones_own_is_refused_for_its_kind() -> None:
    # It said that 1.5 is not finite.
    with pytest.raises(InputError) as refused:
        without_file({"visits": [{"x-price": Decimal("1.5")}]})
    (problem,) = refused.value.problems
    assert (problem.code, problem.params["kind"], problem.path) == ("value-type", "Decimal", ("visits", 0, "x-price"))


def test_true_is_no_minute() -> None:
    with pytest.raises(InputError) as refused:
        work_order(PROFILE, HISTORY, date=DAY, minutes=True)
    assert refused.value.problems[0].code == "minutes-not-a-number"


def test_a_visit_after_the_day_is_not_left_out_without_a_word() -> None:
    later = copy.deepcopy(HISTORY)
    later["visits"].append({"visit": "2027-01-01", "note": "later"})  # type: ignore[attr-defined]
    found = [one for one in work_order(PROFILE, later, date=DAY).findings if one.code == "visits-after-day"]
    assert [(one.severity, one.params["visits"], one.params["first"]) for one in found] == [
        ("note", 1, date(2027, 1, 1))
    ]
    assert not [one for one in work_order(PROFILE, HISTORY, date=DAY).findings if one.code == "visits-after-day"]


def test_nothing_a_terminal_would_obey_is_shown() -> None:
    shown = str(Problem(code="column", params={"column": "a\x1b[31mb\u202e"}, file="x\x1b]0;y\n.csv", line=1))
    assert shown.replace("\n", " ").isprintable()
    assert "\\x1b[31m" in shown
    assert shown.startswith("x\\x1b]0;y\\n.csv:1: error:")


@pytest.mark.parametrize("value", [3, True, 1.5])
@pytest.mark.parametrize(
    ("path", "words"),
    [
        (("dog", "sex"), "female or male"),
        (("visits", 0, "reactions"), "calm, stop or unsettled"),
    ],
)
def test_where_only_some_words_may_stand_a_number_is_told_which(value: Any, path: Any, words: str) -> None:
    # It said "expected text. Put it in quotes if it is text".
    data = history({"body": value} if path[-1] == "reactions" else value, *path)
    with pytest.raises(InputError) as refused:
        work_order(PROFILE, data, date=DAY)
    (problem,) = refused.value.problems
    assert (problem.code, problem.path[: len(path)]) == ("schema-enum", path)
    assert problem.hint == f"Use {words}."
