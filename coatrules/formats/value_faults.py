"""What is wrong with a value that a schema refuses, in plain words, and how to fix it."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, get_args

from jsonschema.exceptions import ValidationError

from coatrules.catalogue.message import Message, message
from coatrules.catalogue.spellings import typed_as
from coatrules.conditions.condition import BOUNDS
from coatrules.formats.date_slips import date_fix
from coatrules.formats.slips import colon_fix, names_in
from coatrules.formats.units import factors, with_unit
from coatrules.formats.value_fixes import (
    IMPLAUSIBLE,
    SHORT,
    entries_fix,
    is_removal,
    kinds_in_words,
    shown,
    truth_meant,
    type_fix,
)
from coatrules.formats.values import FACT_PATTERN, ID_PATTERN, OPAQUE_PATTERN, Reaction, matches
from coatrules.problems import Path, nearest_fix

_IDENTIFIERS = {"VBO": "VBO:0200642", "UBERON": "UBERON:0001137"}
"""Ids of open ontologies, each with an example."""


def fault(error: ValidationError) -> tuple[Message, Message | None]:
    """What is wrong with a value, and how to fix it where that is not simply the fix of its code."""
    schema: Any = error.schema
    value: Any = error.instance
    limit: Any = error.validator_value
    rule: Any = error.validator
    path = list(error.absolute_path)
    empty = message("schema-empty"), message("schema-empty.fix-entry") if _is_entry(error) else None
    if value is None:
        return empty
    match rule:
        case "type" if "enum" in schema and not isinstance(value, list | tuple | Mapping):
            return message("schema-enum", value=shown(value)), _word_fix(
                str(value), [str(one) for one in schema["enum"]]
            )
        case "type":
            return _of_another_kind(value, [limit] if isinstance(limit, str) else limit, schema, path)
        case "enum":
            return message("schema-enum", value=shown(value)), _word_fix(str(value), [str(one) for one in limit])
        case "not" if value == {}:
            return empty
        case "not" if isinstance(value, Mapping):
            return message("schema-exclusive", keys=tuple(map(shown, limit["required"]))), None
        case "not":
            return message("condition-without-fact", keyword=value), None
        case "const":
            return message("schema-const", expected=shown(limit), found=shown(value)), None
        case "minimum" | "exclusiveMinimum" | "maximum" | "exclusiveMaximum":
            if abs(limit) > IMPLAUSIBLE:
                return message("number-too-large"), None
            code = "schema-too-high" if "aximum" in rule else "schema-too-low"
            percent = limit == 1 and 2 <= value <= 100
            fix = message("schema-too-high.fix-percent", percent=value, share=value / 100) if percent else None
            return message(code, value=shown(value), bound=message(BOUNDS[rule], value=limit)), fix
        case "pattern":
            return _unlike(value, limit, tuple(error.absolute_path))
        case "format" if _may_be_true(error) and (found := truth_meant(value)) is not None:
            expected = (message("schema-kind.boolean-or-else"), message("schema-kind.date"))
            says = message("schema-type", expected=expected, found=shown(value))
            return says, message(f"schema-type.fix-{'true' if found else 'false'}")
        case "format" if path[:1] == ["closed_days"] and str(value).strip().lower()[:3] in _WEEKDAYS:
            return message("schema-format", value=shown(value)), message("schema-format.fix-weekday")
        case "format":
            return message(_date_fault(value), value=shown(value)), date_fix(value)
        case "maxLength":
            return message("schema-too-long", length=len(value), most=limit), None
        case "minItems" | "minProperties" | "minLength" if not value:
            return empty
        case "minItems":
            return message("schema-too-few", expected=limit, entries=len(value)), None
        case "maxItems":
            return message("schema-too-many", expected=limit, entries=len(value)), None
    return message("schema-other", value=shown(value)), None


_WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_TYPED = {
    **{"unsound": "typed.sore", "sound": "typed.sound", "soft": "typed.soft", "woolly": "typed.woolly"},
    **{"easily": "typed.comes-easily", "mixed": "typed.comes-mixed", "holds": "typed.holds"},
    **{how: f"typed.reaction.{how}" for how in get_args(Reaction)},
    **{sex: f"typed.sex.{sex}" for sex in ("female", "male")},
}
"""Words of a file for which people have others, as they type them."""


def _word_fix(text: str, known: Sequence[str]) -> Message | None:
    """The fix of a word that cannot stand there: the one that people say so, or one that is spelt alike."""
    meant = [word for word in known if word in _TYPED and typed_as(text, _TYPED[word])]
    return message("fix.use-name", name=meant[0]) if len(meant) == 1 else nearest_fix(text, known)


def _of_another_kind(
    value: Any, kinds: Sequence[str], schema: Mapping[str, Any], path: Sequence[str | int]
) -> tuple[Message, Message | None]:
    """What is wrong with a value of another kind than those that can be written."""
    dated = schema.get("format") == "date"
    if dated and not isinstance(value, bool | list | tuple | Mapping):
        return message("schema-format", value=shown(value)), date_fix(value)
    if _may_be_a_day(schema) and isinstance(value, int):  # a year alone
        return message("schema-format", value=shown(value)), date_fix(value)
    says = message("schema-type", expected=kinds_in_words(kinds), found=shown(value))
    if "properties" not in schema and (fix := entries_fix(kinds, value)) is not None:
        return says, fix
    if kinds == ["object"] and isinstance(value, str) and (fix := colon_fix(value)) is not None:
        return says, fix
    if (
        kinds == ["object"]
        and schema.get("properties")
        and not isinstance(value, list | bool)
        and not is_removal(value)
    ):
        if (key := _key_of(value, schema["properties"])) is not None:
            return says, message("schema-type.fix-value", key=key[0], value=key[1])
        first = ["outcome"] if path[-3:-1] == ["expect", "regions"] else schema.get("required", ())
        key = next(iter([*first, *schema["properties"]]))
        return says, message("schema-type.fix-key", key=key)
    if "array" in kinds and is_removal(value) and not schema.get("minItems"):
        return says, message("schema-type.fix-empty")
    return says, message("schema-format.fix") if dated else type_fix(kinds, value, path)


def _key_of(value: Any, known: Mapping[str, Any]) -> tuple[str, str] | None:
    """The key that a value without one most likely belongs to, and the value as it is written there: of '20 weeks' the first in weeks,
    of 'pull 0.2' the first word; None where none is plain."""
    if isinstance(value, str):
        key, _, rest = value.strip().partition(" ")
        if key in known and rest.strip():
            return key, rest.strip()
        meant = ((key, with_unit(key, value)) for key in known if factors(key))
        return next(((key, f"{number:g}") for key, number in meant if number is not None), None)
    return None


def _may_be_a_day(schema: Mapping[str, Any]) -> bool:
    """Whether one of the kinds of value that can be written is a day."""
    return any(branch.get("format") == "date" for branch in schema.get("anyOf", ()))


def _may_be_true(error: ValidationError) -> bool:
    """Whether true or false can be written beside the kind of value that is at fault."""
    parent: Any = error.parent
    return parent is not None and any(branch.get("type") == "boolean" for branch in parent.schema.get("anyOf", ()))


def _date_fault(value: object) -> str:
    """The code of a date that is refused: it is none, or nobody has dogs in that year."""
    try:
        date.fromisoformat(str(value))
    except ValueError:
        return "schema-format"
    return "schema-format" if len(str(value)) != len("2026-03-21") else "date-out-of-range"


def _is_entry(error: ValidationError) -> bool:
    """Whether the fault lies in an entry of a list."""
    return bool(error.absolute_path) and isinstance(error.absolute_path[-1], int)


def _unlike(value: str, pattern: str, path: Path) -> tuple[Message, Message | None]:
    for prefix, example in _IDENTIFIERS.items():
        if pattern.startswith(f"^{prefix}"):
            return message("schema-identifier", value=shown(value), prefix=prefix, example=example), None
    if pattern == OPAQUE_PATTERN:
        return message("dog-id-control-character"), None
    if not value.strip():
        return message("schema-no-name"), None
    if pattern not in (ID_PATTERN, FACT_PATTERN):
        return message("schema-pattern", value=shown(value)), None
    code, joint = ("schema-fact-name", "_") if pattern == FACT_PATTERN else ("schema-id", "-")
    if path[-1:] == ("source",) or path[-2:-1] == ("source",):
        return message(code, value=shown(value)), message("schema-id.fix-source")
    plain = re.sub("[^a-z0-9]+", joint, value.lower()).strip(joint)
    fits = matches(pattern, plain) and len(plain) <= SHORT
    names = [name for part in names_in(value) for name in part.split()]
    if isinstance(path[-1], int) and len(names) > 1 and all(matches(pattern, name) for name in names):
        return message(code, value=shown(value)), message("schema-id.fix-commas", names=", ".join(names), example=plain)
    return message(code, value=shown(value)), message(f"{code}.fix-example", example=plain) if fits else None
