"""Explains a document that its schema refuses: each fault in plain words, with its place and the likely mend.

The only module that imports jsonschema, and imported only when there is something to explain.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from jsonschema import Draft202012Validator, FormatChecker
from jsonschema.exceptions import ValidationError
from referencing import Registry

from coatrules.documents import Origin
from coatrules.problems import Problem, nearest
from coatrules.resources import schema
from coatrules.values import iso_date

_dates = FormatChecker(formats=())
_dates.checks("date", raises=ValueError)(lambda value: not isinstance(value, str) or bool(iso_date(value)))

_KINDS = {
    "string": "text",
    "number": "a number",
    "integer": "a whole number",
    "boolean": "true or false",
    "object": "a mapping (key: value)",
    "array": "a list",
    "null": "nothing",
}


def validator(name: str) -> Draft202012Validator:
    """The validator of a packaged schema: dates are checked, nothing is ever fetched."""
    return Draft202012Validator(schema(name), format_checker=_dates, registry=Registry())


def explain(name: str, data: object, origin: Origin) -> list[Problem]:
    """All faults of ``data`` against the packaged schema ``name``; empty where there is none."""
    return [
        problem
        for found in validator(name).iter_errors(data)
        for error in _causes(found)
        for problem in _problems(error, origin)
    ]


def _causes(error: ValidationError) -> Iterator[ValidationError]:
    """The faults that matter: of alternatives, those of the one whose kind the value has."""
    if error.validator not in ("anyOf", "oneOf") or not error.context:
        yield error
        return
    branches: dict[int, list[ValidationError]] = {}
    for cause in error.context:
        branches.setdefault(int(cause.schema_path[0]), []).append(cause)
    depth = len(error.absolute_path)
    fitting = [
        causes
        for causes in branches.values()
        if not any(c.validator == "type" and len(c.absolute_path) == depth for c in causes)
    ]
    if fitting:
        for cause in fitting[-1]:
            yield from _causes(cause)
    else:
        yield error


def _problems(error: ValidationError, origin: Origin) -> Iterator[Problem]:
    path = tuple(error.absolute_path)
    schema: Any = error.schema
    rule: str = str(error.validator)
    limit: Any = error.validator_value
    value: Any = error.instance
    if rule == "additionalProperties":
        known = schema.get("properties", {})
        for extra in value:
            if extra not in known:
                message = f"there is no key '{extra}' here"
                yield origin.problem(
                    "schema-unknown-key", message, (*path, extra), hint=nearest(extra, known), key=True
                )
        return
    what = schema.get("description", "")
    # A key that is not as it should be is meant itself, not the mapping around it.
    key = "propertyNames" in list(error.absolute_schema_path)[-2:]
    if key:
        path = (*path, value)
    hint = what
    match rule:
        case "required":
            missing = [name for name in limit if name not in value]
            message = (
                f"the key '{missing[0]}' is missing here"
                if len(missing) == 1
                else f"these keys are missing here: {', '.join(missing)}"
            )
            about = schema.get("properties", {}).get(missing[0], {}).get("description", "")
            hint = f"Add it: {about}" if about else ""
        case "type":
            kinds = [limit] if isinstance(limit, str) else limit
            message = f"expected {' or '.join(_KINDS[kind] for kind in kinds)}, found {shown(value)}"
        case "enum":
            message = f"{shown(value)} is not one of those possible here"
            hint = nearest(str(value), map(str, limit)) or hint
        case "const":
            message = f"expected {shown(limit)}, found {shown(value)}"
        case "minimum" | "exclusiveMinimum" | "maximum" | "exclusiveMaximum":
            words = {
                "minimum": "at least",
                "exclusiveMinimum": "more than",
                "maximum": "at most",
                "exclusiveMaximum": "less than",
            }
            message = f"{shown(value)} is out of range: expected {words[rule]} {limit:g}"
        case "pattern":
            message = f"'{value}' is not written as it should be"
            hint = _pattern_hint(limit) or hint
        case "format":
            message = f"{shown(value)} is not a date"
            hint = "Write it as year-month-day, for example 2026-03-21."
        case "minItems" | "minProperties" | "minLength":
            message = "this is empty" if not value else f"too few: expected at least {limit}, found {len(value)}"
        case "maxItems" | "maxProperties" | "maxLength":
            message = f"too many: expected at most {limit}, found {len(value)}"
        case _:
            message = f"{shown(value)} is not what is expected here"
    yield origin.problem(f"schema-{_CODES.get(rule, rule)}", message, path, hint=hint, key=key)


_CODES = {
    "required": "missing-key",
    "minimum": "range",
    "exclusiveMinimum": "range",
    "maximum": "range",
    "exclusiveMaximum": "range",
    "anyOf": "type",
}


def _pattern_hint(pattern: str) -> str:
    if pattern.startswith("^VBO"):
        return "Seven digits after the prefix, for example VBO:0200642."
    if pattern.startswith("^UBERON"):
        return "Seven digits after the prefix, for example UBERON:0001137."
    if "_" in pattern:
        return "Small letters, digits and underscores, starting with a letter."
    return "Small letters, digits and dashes, starting with a letter."


def shown(value: object) -> str:
    """A value as a message shows it: short, text in quotes, collections by their kind."""
    match value:
        case bool():
            return "true" if value else "false"
        case None:
            return "nothing"
        case int() | float():
            return f"{value:g}" if abs(value) < 1e15 else "a very long number"
        case str():
            return f"'{value}'" if len(value) <= 40 else f"'{value[:37]}...'"
        case dict():
            return "a mapping (key: value)"
        case list() | tuple():
            return "a list"
    return f"a {type(value).__name__}"
