"""Explains a document that its schema refuses: each fault in plain words, with its place and the likely mend.

With ``schema_branches`` the only module that imports jsonschema, and imported only when there is something to explain.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import islice
from math import isfinite
from typing import Any

from jsonschema import Draft202012Validator, FormatChecker
from jsonschema.exceptions import ValidationError
from jsonschema.validators import extend
from referencing import Registry

from coatrules.conditions.condition import Condition, ConditionError
from coatrules.formats.documents import Origin
from coatrules.formats.resources import whole_schema
from coatrules.formats.schema_branches import resolved
from coatrules.formats.values import iso_date, matches
from coatrules.problems import MAX_PROBLEMS, Path, Problem, nearest

_dates = FormatChecker(formats=())
_dates.checks("date", raises=ValueError)(lambda value: not isinstance(value, str) or bool(iso_date(value)))

_KINDS = {
    "string": "text",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
    "object": "keys with values",
    "array": "a list",
}
_BOUNDS = {
    "minimum": "at least",
    "exclusiveMinimum": "more than",
    "maximum": "at most",
    "exclusiveMaximum": "less than",
}
_CODES = {"required": "missing-key", "additionalProperties": "unknown-key", **dict.fromkeys(_BOUNDS, "range")}


# Plain data that came without a file may hold any mapping, and tuples, as the strict road takes them too.
_types = Draft202012Validator.TYPE_CHECKER.redefine_many(
    {"object": lambda _, value: isinstance(value, Mapping), "array": lambda _, value: isinstance(value, list | tuple)}
)


def _pattern(_: Any, pattern: str, value: Any, __: Any) -> Iterator[ValidationError]:
    if isinstance(value, str) and not matches(pattern, value):
        yield ValidationError(f"{value!r} does not match {pattern!r}")


_extend: Any = extend  # its stubs give it no types
_Validator = _extend(Draft202012Validator, {"pattern": _pattern}, type_checker=_types)


def validator(name: str) -> Any:
    """The validator of a packaged schema: dates are checked, nothing is ever fetched."""
    return _Validator(whole_schema(name), format_checker=_dates, registry=Registry())


def explain(name: str, data: object, origin: Origin) -> list[Problem]:
    """All faults of ``data`` against the packaged schema ``name``; empty where there is none."""
    if found := list(_unwritable(data, (), origin)):
        return found
    if (other := other_kind(name, data, origin)) is not None:
        return [other]
    errors = list(islice(resolved(validator(name).iter_errors(data)), MAX_PROBLEMS))
    # What has the wrong kind altogether is not also held against each word or pattern that it might have been.
    misfits = {tuple(error.absolute_path) for error in errors if error.validator == "type"}
    told = [e for e in errors if e.validator == "type" or tuple(e.absolute_path) not in misfits]
    found = list(islice((problem for error in told for problem in _problems(error, origin)), MAX_PROBLEMS))
    if not found and name == "profile":
        found = list(_too_deep(data, origin))
    return list(dict.fromkeys(found))  # jsonschema reports a key that is missing once for each that is


def other_kind(name: str, data: object, origin: Origin) -> Problem | None:
    """A profile where a history is wanted, or the other way round: one thing is wrong with it, not every key."""
    if not isinstance(data, Mapping):
        return None
    if name == "history" and "dog" not in data and not {"label", "regions", "extends"}.isdisjoint(data):
        message, hint = "this is a profile, and a dog's history is wanted here", "'coatrules check' looks at profiles."
    elif name == "profile" and "dog" in data and "label" not in data:
        message, hint = "this is a dog's history, and a profile is wanted here", "'coatrules order' works by a history."
    else:
        return None
    return origin.problem("other-kind", message, hint=hint)


def _unwritable(data: Any, path: Path, origin: Origin) -> Iterator[Problem]:
    """What no file can hold, in data that came without one: keys that are not text, infinities, NaN."""
    if isinstance(data, float) and not isfinite(data):
        hint = "Give a finite number, or take it away."
        yield origin.problem("number", f"'{data}' is not a number that can be used", path, hint=hint)
    elif isinstance(data, Mapping):
        for key, value in data.items():
            if isinstance(key, str):
                yield from _unwritable(value, (*path, key), origin)
            else:
                yield origin.problem("key-not-text", f"the key {key} is not text", path, hint="Put it in quotes.")
    elif isinstance(data, list | tuple):
        for index, value in enumerate(data):
            yield from _unwritable(value, (*path, index), origin)


def _problems(error: ValidationError, origin: Origin) -> Iterator[Problem]:
    path = tuple(error.absolute_path)
    rule: Any = error.validator
    value: Any = error.instance
    code = f"schema-{_CODES.get(rule, rule)}"
    schema: Any = error.schema
    about: str = schema.get("description", "")
    if rule == "additionalProperties":
        known = schema.get("properties", {})
        for extra in value:
            if extra not in known:
                message = f"there is no key {shown(extra)} here"
                hint = nearest(extra, known)
                if re.match(r"\d+\b", extra):  # '{pull: 0,2 ...}' is two entries
                    hint = "Write a number with a point, as in 0.2, and a comma between two entries."
                yield origin.problem(code, message, (*path, extra), hint=hint, key=True)
    elif rule == "required":
        limit: Any = error.validator_value
        for name in limit:
            if name not in value:
                yield _missing(code, name, schema, path, origin)
    else:
        key = "propertyNames" in list(error.absolute_schema_path)[-2:]  # the key is meant, not the mapping around it
        message, hint = _said(error, about)
        hint = hint.strip() or "Write what belongs here, or take it away."
        yield origin.problem(code, message, (*path, value) if key else path, hint=hint, key=key)


def _missing(code: str, name: str, schema: Any, path: Path, origin: Origin) -> Problem:
    about = schema.get("properties", {}).get(name, {}).get("description", "")
    if origin.blank((*path, name)):  # a key without a value is taken away when profiles are merged
        return origin.problem(code, f"'{name}' has no value", (*path, name), hint=f"Fill it in. {about}", key=True)
    return origin.problem(code, f"the key '{name}' is missing here", path, hint=f"Add '{name}:'. {about}")


def _said(error: ValidationError, about: str) -> tuple[str, str]:
    """What is wrong with a value, and the mend."""
    schema: Any = error.schema
    value: Any = error.instance
    limit: Any = error.validator_value
    rule: Any = error.validator
    if value is None:
        return "nothing is written here", f"Fill it in, or take it away. {about}"
    match rule:
        case "type":
            kinds = [limit] if isinstance(limit, str) else limit
            mend = "" if schema.get("format") == "date" else _mend(kinds, value)
            return f"expected {_listed(kinds)}, found {shown(value)}", f"{mend}{about}"
        case "enum":
            message = f"{shown(value)} is not one of those possible here"
            return message, nearest(str(value), map(str, limit)) or about
        case "not" if isinstance(value, Mapping):
            both = " and ".join(f"'{name}'" for name in limit["required"])
            return f"{both} cannot both be said here", limit["description"]
        case "not":
            message = f"'{value}' says what a fact must be, and no fact is named here"
            return message, f"Put it under the name of a fact, as in 'cover: {{{value}: ...}}'."
        case "const":
            return f"expected {shown(limit)}, found {shown(value)}", about
        case "minimum" | "exclusiveMinimum" | "maximum" | "exclusiveMaximum":
            if abs(limit) > 1e15:
                return "this number is too large to be meant", "Look for digits too many, or a missing point."
            side = "high" if "aximum" in rule else "low"
            message = f"{shown(value)} is too {side}: expected {_BOUNDS[rule]} {limit:g}"
            return message, f"{_percent(value, limit)}{about}"
        case "pattern":
            return _unlike(value, limit)
        case "format":
            return f"{shown(value)} is not a date", "Write it as year-month-day, for example 2026-03-21."
        case "maxLength":
            return (
                f"this text has {len(value):,} characters, expected at most {limit:,}",
                f"Shorten it. {about}",
            )
        case "minItems" | "minProperties" | "minLength" if not value:
            return "this is empty", f"Fill it in, or take it away. {about}"
        case "minItems":
            return f"too few entries: expected {limit}, found {len(value)}", about
        case "maxItems":
            return f"too many entries: expected {limit}, found {len(value)}", about
    return f"{shown(value)} is not what is expected here", about


def _listed(kinds: Sequence[str]) -> str:
    """Kinds of value in words."""
    said = [_KINDS[kind] for kind in kinds]
    if len(said) == 1:
        return said[0]
    return f"{', '.join(said[:-1])}{',' if 'boolean' in kinds else ''} or {said[-1]}"


def _mend(kinds: Sequence[str], value: Any) -> str:
    """How a value of the wrong kind is usually mended, with a space after it; empty where that cannot be told."""
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if "object" in kinds and "array" not in kinds and len(kinds) > 1 and isinstance(value, list):  # a condition's test
        return "Write {enum: [...]} for one of these, {contains: ...} for an entry of a list. "
    if {"number", "integer"} & {*kinds} and "string" not in kinds:
        return _number_mend(kinds, value)
    if "boolean" in kinds and "string" not in kinds and isinstance(value, str):
        if value.lower() in ("yes", "y", "on", "true"):
            return "Write true. "
        if value.lower() in ("no", "n", "off", "false"):
            return "Write false. "
    if kinds == ["boolean"]:
        return "Write true or false. "
    if "string" in kinds and (number or isinstance(value, bool)):
        return f'If it is text, put it in quotes: "{shown(value)}". '
    if kinds == ["string"] and isinstance(value, list):
        return "Write one, without brackets or dashes. "
    if "array" in kinds and (number or isinstance(value, str)) and len(str(value)) <= 40:
        return f"Put it in square brackets: [{value}]. "
    if kinds == ["object"]:
        return "Write 'key: value' below it, set in, or {key: value}. "
    return ""


def _number_mend(kinds: Sequence[str], value: Any) -> str:
    """How a number is usually meant that was written otherwise."""
    if isinstance(value, str):
        if found := re.fullmatch(r"\s*(-?\d{1,9})(?:[.,](\d{1,9}))?\s*(%?)[^\d]{0,20}", value):
            meant = float(f"{found[1]}.{found[2] or 0}") / (100 if found[3] else 1)
            return f"Write the number alone, with a point and without quotes: {meant:g}. "
        if found := re.fullmatch(r"(\d{1,4}) ?/ ?([1-9]\d{0,3})", value):
            return f"Write it with a point: {int(found[1]) / int(found[2]):.3g}. "
    if isinstance(value, float):
        return f"Write {round(value)}, or another whole number. "
    return f"Write {_listed(kinds)}{'' if 'boolean' in kinds else ', in digits'}. "


def _percent(value: float, limit: float) -> str:
    return f"If {value:g} % is meant, write {value / 100:g}. " if limit == 1 and 2 <= value <= 100 else ""


def _unlike(value: str, pattern: str) -> tuple[str, str]:
    message = f"{shown(value)} is not written as it should be"
    for prefix, example in (("VBO", "VBO:0200642"), ("UBERON", "UBERON:0001137")):
        if pattern.startswith(f"^{prefix}"):
            return message, f"Write {prefix}:, then seven digits, for example {example}."
    if not value.strip():
        return "a name is missing here", "Write the name of a fact."
    joint = "_" if "_" in pattern else "-"
    plain = re.sub("[^a-z0-9]+", joint, value.lower()).strip(joint)
    better = f", for example '{plain}'" if re.search(pattern, plain) and len(plain) <= 40 else ""
    marks = "underscores" if joint == "_" else "dashes"
    return message, f"Use small letters, digits and {marks}, starting with a letter{better}."


def _too_deep(data: Any, origin: Origin) -> Iterator[Problem]:
    """What a schema cannot say of conditions: how deep they may lie within one another."""
    for path, raw in _conditions(data):
        try:
            Condition.parse(raw)
        except ConditionError as error:
            hint = "Say it with fewer, or make several rules of it."
            yield origin.problem("condition", error.message, (*path, *error.path), hint=hint)


def _conditions(data: Any) -> Iterator[tuple[Path, object]]:
    """Every condition of a profile that its schema accepts, with the path to it."""
    for section in ("rules", "methods"):
        for name, part in data.get(section, {}).items():
            if "if" in part:
                yield (section, name, "if"), part["if"]
    for name, case in data.get("cases", {}).items():
        for region, expected in case["expect"].get("regions", {}).items():
            yield ("cases", name, "expect", "regions", region), expected


def shown(value: object) -> str:
    """A value as a message shows it: short, text in quotes, collections by their kind."""
    match value:
        case bool():
            return "true" if value else "false"
        case int() | float():
            return f"{value:.15g}" if abs(value) < 1e15 else "a very long number"
        case str():
            return f"'{value}'" if len(value) <= 40 else f"'{value[:37]}...'"
        case Mapping():
            return "keys with values"
        case list() | tuple():
            return "a list"
    return f"a {type(value).__name__}"
