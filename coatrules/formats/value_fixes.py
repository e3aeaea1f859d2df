"""How a value is written that is of the wrong kind, and how a message shows it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any, Final

from coatrules.catalogue.message import Message, message
from coatrules.conditions.condition import BOUNDS, KEYWORDS
from coatrules.formats.slips import (
    amount_meant,
    at_least_fix,
    comparison_fix,
    month_number,
    names_in,
    number_fix,
    range_fix,
)
from coatrules.formats.units import has_foreign_unit

SHORT: Final = 40
"""Characters of a value that are shown."""
IMPLAUSIBLE: Final = 1e15
"""Bounds beyond it are there for what no computer tells apart, not for what a dog can have."""
_BLADE: Final = re.compile(r"(?:#|no\.? ?|blade ?)\d{1,2}[a-z]?(?: blade)?", re.IGNORECASE)
"""A blade by its number."""
_GONE: Final = ("false", "no", "none", "null", "off", "remove", "removed", "delete", "nothing")
"""Words for what is not to be there."""


_TRUE: Final = ("yes", "y", "on", "true", "spayed", "castrated", "neutered", "done")
_FALSE: Final = ("no", "n", "off", "false", "entire", "intact", "not")


def truth_meant(value: object) -> bool | None:
    """Returns what a word such as 'yes' means where true or false is wanted; None for any other value."""
    word = value.strip().lower() if isinstance(value, str) else ""
    return True if word in _TRUE else False if word in _FALSE else None


def is_removal(value: object) -> bool:
    """Whether a value says that something is not to be there."""
    return value is False or str(value).lower() in _GONE


def kinds_in_words(kinds: Sequence[str]) -> tuple[Message, ...]:
    """Kinds of value in words."""
    return tuple(
        message("schema-kind.boolean-or-else" if kind == "boolean" and len(kinds) > 1 else f"schema-kind.{kind}")
        for kind in kinds
    )


def entries_fix(kinds: Sequence[str], value: Any) -> Message | None:
    """How entries are written that have names of their own, where a list of them is; None where there is none."""
    entry = value[0] if kinds == ["object"] and isinstance(value, list) and value else None
    name: Any = entry
    if isinstance(entry, Mapping) and entry:
        name = next(iter(entry)) if len(entry) == 1 else entry.get("id", entry.get("code", "a-name"))
    return message("schema-type.fix-no-dashes", first=name) if isinstance(name, str) else None


def type_fix(kinds: Sequence[str], value: Any, path: Sequence[str | int]) -> Message:
    """How a value of the wrong kind is usually fixed."""
    if isinstance(value, str) and (fix := _written_otherwise(kinds, value, path)) is not None:
        return fix
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if "object" in kinds and "array" not in kinds and len(kinds) > 1 and isinstance(value, list):  # a condition's test
        return message("condition-bare-list.fix")
    if {"number", "integer"} & {*kinds} and "string" not in kinds:
        return _number_fix(kinds, value, _unit_key(path))
    if "boolean" in kinds and "string" not in kinds and (truth := truth_meant(value)) is not None:
        return message("schema-type.fix-true" if truth else "schema-type.fix-false")
    if "string" in kinds and (number or isinstance(value, bool)):
        return message("schema-type.fix-quotes", value=shown(value))
    if kinds == ["string"] and isinstance(value, list):
        return message("schema-type.fix-one")
    if "array" in kinds and (number or isinstance(value, str)) and len(str(value)) <= SHORT:
        return message("schema-type.fix-list", value=", ".join(names_in(str(value))) or "…")
    if kinds == ["object"] and len(path) == 2 and is_removal(value):
        return message("schema-type.fix-null", key=str(path[-1]))
    if kinds == ["object"]:
        return message("schema-type.fix-mapping")
    return message("schema-type.fix", expected=kinds_in_words(kinds))


def _unit_key(path: Sequence[str | int]) -> str:
    """The key that says in which unit the value at a path is: of a condition's test, the fact."""
    return next((step for step in reversed(path) if isinstance(step, str) and step not in KEYWORDS), "")


def _written_otherwise(kinds: Sequence[str], value: str, path: Sequence[str | int]) -> Message | None:
    """What is meant by a range ('40–60'), a comparison ('< 26'), a number with a unit ('6 cm'), a month by its name, or dashes without
    spaces."""
    key = _unit_key(path)
    numeric = bool(path) and not {"number", "integer"}.isdisjoint(kinds)
    if numeric or kinds == ["array"]:
        bounds = path[-1] in BOUNDS or "object" in kinds
        if (fix := range_fix(key, value, as_list=kinds == ["array"], as_bounds=bounds)) is not None:
            return fix
    if numeric and key == "month" and (number := month_number(value)) is not None:
        return message("fix.month", month=number)
    if numeric and (fix := comparison_fix(key, value)) is not None:
        return fix
    if numeric and "object" in kinds and (fix := at_least_fix(key, value)) is not None:
        return fix
    if numeric and "string" not in kinds and (fix := number_fix(key, value)) is not None:
        return fix
    if kinds == ["array"] and re.match(r"-\w", value):
        return message("schema-type.fix-dashes", first=value[1:].split()[0])
    return None


def _number_fix(kinds: Sequence[str], value: Any, key: str) -> Message:
    """How a number is usually meant that was written otherwise."""
    if isinstance(value, str) and (meant := amount_meant(key, value)) is not None:
        return message("schema-type.fix-number", number=f"{meant:g}")
    if isinstance(value, str) and not has_foreign_unit(key, value):
        if found := re.fullmatch(r"\s*(-?\d{1,9})(?:[.,](\d{1,9}))?\s*(%?)[^\d]{0,20}", value):
            meant = float(f"{found[1]}.{found[2] or 0}") / (100 if found[3] else 1)
            return message("schema-type.fix-number", number=f"{meant:g}")
        if found := re.fullmatch(r"(\d{1,4}) ?/ ?([1-9]\d{0,3})", value):
            return message("schema-type.fix-number", number=f"{int(found[1]) / int(found[2]):.3g}")
    if isinstance(value, str) and _BLADE.fullmatch(value.strip()):
        return message("schema-type.fix-blade")
    if isinstance(value, float):
        return message("schema-type.fix-whole", number=f"{value:.0f}")
    if "boolean" in kinds:
        return message("schema-type.fix", expected=kinds_in_words(kinds))
    return message("schema-type.fix-digits", expected=kinds_in_words(kinds))


def shown(value: object) -> str | Message:
    """A value as a message shows it: short, text in quotes, collections by their kind."""
    match value:
        case bool():
            return "true" if value else "false"
        case int() | float():
            return f"{value:.15g}" if abs(value) < IMPLAUSIBLE else message("shown.long-number")
        case str():
            return message("shown.text", text=value if len(value) <= SHORT else f"{value[: SHORT - 3]}...")
        case Decimal() | date():
            return str(value)
        case Mapping():
            return message("schema-kind.object")
        case list() | tuple():
            return message("schema-kind.array")
    return message("shown.other", type=type(value).__name__)
