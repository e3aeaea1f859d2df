"""What is told of a value that may be of several kinds: the fault of the kind that was written, or all kinds that can be."""

from __future__ import annotations

from typing import Any

import pytest
from jsonschema import Draft202012Validator

from coatrules.formats.schema_branches import resolved

SOURCE: dict[str, Any] = {
    "description": "Where it comes from.",
    "anyOf": [
        {"type": "string", "pattern": "^[a-z]+$"},
        {"type": "array", "items": {"type": "string"}, "minItems": 1},
        {"type": "object", "additionalProperties": {"anyOf": [{"type": "string"}, {"type": "integer", "maximum": 3}]}},
    ],
}


@pytest.mark.parametrize(
    ("value", "told"),
    [
        ("practice", []),
        (3, [("type", ["string", "array", "object"], [])]),
        ("Not one", [("pattern", "^[a-z]+$", [])]),
        ([], [("minItems", 1, [])]),
        ([3], [("type", "string", [0])]),
        ({"a": 9, "b": 2, "c": []}, [("maximum", 3, ["a"]), ("type", ["string", "integer"], ["c"])]),
    ],
)
def test_the_fault_told_is_of_the_kind_that_was_written(value: Any, told: list[Any]) -> None:
    errors = list(resolved(Draft202012Validator(SOURCE).iter_errors(value)))
    found = [(e.validator, e.validator_value, list(e.absolute_path)) for e in errors]
    assert sorted(found, key=lambda error: str(error[2])) == told


def test_a_branch_is_described_by_what_is_around_it() -> None:
    (error,) = resolved(Draft202012Validator(SOURCE).iter_errors([]))
    assert isinstance(error.schema, dict)
    assert error.schema["description"] == "Where it comes from."


def test_of_one_place_the_wrong_kind_is_told_once() -> None:
    twice = {"allOf": [SOURCE, {"anyOf": [{"type": "string"}, {"type": "object"}]}]}
    assert len(list(resolved(Draft202012Validator(twice).iter_errors(3)))) == 1


def test_where_branches_are_no_kinds_the_fault_is_told_as_it_is() -> None:
    (error,) = resolved(Draft202012Validator({"anyOf": [{"const": 1}, {"const": 2}]}).iter_errors(3))
    assert error.validator == "anyOf"
