"""Explains a document that its schema refuses: each fault in plain words, with its place and how to fix it.

With ``schema_branches`` the only module that imports jsonschema, and imported only when there is something to explain.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from decimal import Decimal
from itertools import islice
from math import isfinite
from typing import Any

from jsonschema import Draft202012Validator, FormatChecker
from jsonschema.exceptions import ValidationError
from jsonschema.validators import extend
from referencing import Registry

from coatrules.catalogue.message import Message, message
from coatrules.conditions.condition import BOUNDS, Condition, ConditionError
from coatrules.formats.documents import Origin
from coatrules.formats.resources import whole_schema
from coatrules.formats.schema_branches import resolved
from coatrules.formats.slips import colon_fix, comparison_fix, names_in, number_fix, range_fix
from coatrules.formats.values import FACT_PATTERN, ID_PATTERN, OPAQUE_PATTERN, iso_date, matches
from coatrules.problems import MAX_PROBLEMS, Path, Problem, nearest_fix, spelt_alike_fix
from coatrules.reading.characters import ODD_SPACE

_dates = FormatChecker(formats=())
_dates.checks("date", raises=ValueError)(lambda value: not isinstance(value, str | date) or bool(iso_date(value)))

_SHORT = 40
"""Characters of a value that are shown."""
_DECIMAL = re.compile(r"\d+\b")
_IMPLAUSIBLE = 1e15
"""Bounds beyond it are there for what no computer tells apart, not for what a dog can have."""
LACKING = frozenset(("schema-missing-key", "schema-missing-one", "schema-new-entry"))
"""What is said of a mapping without keys that it needs."""
_IDENTIFIERS = {"VBO": "VBO:0200642", "UBERON": "UBERON:0001137"}
"""Ids of open ontologies, each with an example."""

# Plain data that came without a file may hold any mapping, and tuples, as the strict road takes them too.
_types = Draft202012Validator.TYPE_CHECKER.redefine_many(
    {
        "object": lambda _, value: isinstance(value, Mapping),
        "array": lambda _, value: isinstance(value, list | tuple),
        "number": lambda _, value: _is_number(value),
        "integer": lambda _, value: _is_number(value) and value == int(value),
    }
)


_GONE = ("false", "no", "none", "null", "off", "remove", "removed", "delete", "nothing")
"""Words for what is not to be there."""


def _is_number(value: object) -> bool:
    return isinstance(value, int | float | Decimal) and not isinstance(value, bool)


def _type(checked: Any, kinds: Any, value: Any, about: Any) -> Iterator[ValidationError]:
    if not (type(value) is date and about.get("format") == "date"):  # as database drivers give it
        yield from Draft202012Validator.VALIDATORS["type"](checked, kinds, value, about)


def _pattern(_: Any, pattern: str, value: Any, __: Any) -> Iterator[ValidationError]:
    if isinstance(value, str) and not matches(pattern, value):
        yield ValidationError(pattern)


_extend: Any = extend  # its stubs give it no types
_Validator = _extend(Draft202012Validator, {"pattern": _pattern, "type": _type}, type_checker=_types)


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
    kept = [e for e in errors if e.validator == "type" or tuple(e.absolute_path) not in misfits]
    found = list(islice((problem for error in kept for problem in _problems(error, name, origin)), MAX_PROBLEMS))
    if not found and name == "profile":
        found = list(_too_deep(data, origin))
    found = list(dict.fromkeys(found))  # jsonschema reports a key that is missing once for each that is
    return list(_misnamed(list(_misplaced(found, name, data, origin)), data, origin))


def _misplaced(problems: Sequence[Problem], name: str, data: Any, origin: Origin) -> Iterator[Problem]:
    """The problems, those of the keys of an entry that stand beside its name, not below it, as one."""
    sections, keys = whole_schema(name).get("properties", {}), dict[str, list[str]]()
    for problem in problems:
        section, key = [*map(str, problem.path), "", ""][:2]
        entry = sections.get(section, {}).get("additionalProperties")
        if isinstance(entry, Mapping) and key in entry.get("properties", {}):
            keys.setdefault(section, []).append(key)
    shown: set[str] = set()
    for problem in problems:
        section, key = [*map(str, problem.path), "", ""][:2]
        if key not in keys.get(section, ()):
            yield problem
        elif section not in shown:
            shown.add(section)
            there = tuple(key for key in data[section] if key in keys[section])
            yield origin.problem_at((section, there[0]), "schema-misplaced", {"keys": there}, key=True)


def _misnamed(problems: Sequence[Problem], data: Any, origin: Origin) -> Iterator[Problem]:
    """The problems, those of an entry that lacks what a new one needs as one where another is spelt alike: it changes that one."""
    lacking: dict[Path, list[str]] = {}
    for problem in problems:
        if problem.code in LACKING and len(problem.path) == 2 and isinstance(problem.path[1], str):
            lacking.setdefault(problem.path, []).append(str(problem.params.get("key", "")))
    shown: set[Path] = set()
    for problem in problems:
        fix = None
        if problem.code in LACKING and problem.path in lacking:
            section, name = (str(step) for step in problem.path)
            fix = spelt_alike_fix(name, (other for other in data[section] if other != name))
        if fix is None:
            yield problem
        elif problem.path not in shown:
            shown.add(problem.path)
            params = {"name": name, "keys": tuple(key for key in lacking[problem.path] if key)}
            yield origin.problem_at(problem.path, "schema-new-entry", params, fix=fix, key=True)


def other_kind(name: str, data: object, origin: Origin) -> Problem | None:
    """A profile where a history is wanted, or the other way round: one thing is wrong with it, not every key."""
    if not isinstance(data, Mapping):
        return None
    if name == "history" and "dog" not in data and not {"label", "regions", "extends"}.isdisjoint(data):
        return origin.problem_at((), "profile-not-history")
    if name == "profile" and "dog" in data and "label" not in data:
        return origin.problem_at((), "history-not-profile")
    return None


def _unwritable(data: Any, path: Path, origin: Origin) -> Iterator[Problem]:
    """What no file can hold, in data that came without one: keys that are not text, infinities, NaN."""
    if isinstance(data, float | Decimal) and not isfinite(data):
        yield origin.problem_at(path, "number-not-finite", {"number": data})
    elif isinstance(data, Mapping):
        for key, value in data.items():
            if isinstance(key, str):
                yield from _unwritable(value, (*path, key), origin)
            else:
                yield origin.problem_at(path, "key-not-text", {"key": str(key)})
    elif isinstance(data, list | tuple):
        for index, value in enumerate(data):
            yield from _unwritable(value, (*path, index), origin)


def _problems(error: ValidationError, name: str, origin: Origin) -> Iterator[Problem]:
    path = tuple(error.absolute_path)
    rule: Any = error.validator
    value: Any = error.instance
    schema: Any = error.schema
    if rule == "additionalProperties":
        known = schema.get("properties", {})
        for extra in value:
            if extra not in known and not ("patternProperties" in schema and extra.startswith("x-")):
                fix = _unknown_key_fix(extra, known, whole_schema(name).get("properties", {}) if path else {})
                yield origin.problem_at((*path, extra), "schema-unknown-key", {"key": shown(extra)}, fix=fix, key=True)
    elif rule == "required" and "else" in error.absolute_schema_path:  # of the keys there one must be written
        yield origin.problem_at(path, "schema-missing-one", {"keys": tuple(schema["properties"])})
    elif rule == "required":
        limit: Any = error.validator_value
        for needed in limit:
            if needed not in value:
                yield _missing(needed, schema, path, origin)
    else:
        key = "propertyNames" in list(error.absolute_schema_path)[-2:]  # the key is meant, not the mapping around it
        about = schema.get("description", "")
        says, fix = _fault(error)
        if says.code == "schema-exclusive":
            limit = error.validator_value
            about = limit["description"]
        place = (*path, value) if key else path
        yield origin.problem_at(place, says.code, says.params, fix=fix, meaning=about, key=key)


def _unknown_key_fix(key: str, known: Mapping[str, Any], outermost: Mapping[str, Any]) -> Message | None:
    """How to write a key right; ``outermost``: the keys of the whole file, where this is not at its start."""
    if _DECIMAL.match(key):  # '{pull: 0,2 ...}' is two entries
        return message("schema-unknown-key.fix-decimal")
    if (odd := ODD_SPACE.search(key)) is not None:
        return message("schema-unknown-key.fix-space", codepoint=f"U+{ord(odd[0]):04X}")
    if key in outermost:
        return message("schema-unknown-key.fix-level", key=key)
    return nearest_fix(key, known)


def _missing(name: str, schema: Any, path: Path, origin: Origin) -> Problem:
    about = schema.get("properties", {}).get(name, {}).get("description", "")
    params = {"key": name}
    if origin.blank((*path, name)):  # a key without a value is removed when profiles are merged
        fix = message("no-value.fix-required")
        return origin.problem_at((*path, name), "no-value", params, fix=fix, meaning=about, key=True)
    return origin.problem_at(path, "schema-missing-key", params, meaning=about)


def _fault(error: ValidationError) -> tuple[Message, Message | None]:
    """What is wrong with a value, and how to fix it where that is not simply the fix of its code."""
    schema: Any = error.schema
    value: Any = error.instance
    limit: Any = error.validator_value
    rule: Any = error.validator
    empty = message("schema-empty"), message("schema-empty.fix-entry") if _is_entry(error) else None
    if value is None:
        return empty
    match rule:
        case "type" if "enum" in schema and not isinstance(value, list | tuple | Mapping):
            return message("schema-enum", value=shown(value)), nearest_fix(str(value), map(str, schema["enum"]))
        case "type":
            kinds = [limit] if isinstance(limit, str) else limit
            dated = schema.get("format") == "date"
            says = message("schema-type", expected=_kinds(kinds), found=shown(value))
            path = list(error.absolute_path)
            if "properties" not in schema and (fix := _entries_fix(kinds, value)) is not None:
                return says, fix
            if kinds == ["object"] and isinstance(value, str) and (fix := colon_fix(value)) is not None:
                return says, fix
            if (
                kinds == ["object"]
                and schema.get("properties")
                and not isinstance(value, list | bool)
                and value not in _GONE
            ):
                first = ["outcome"] if path[-3:-1] == ["expect", "regions"] else schema.get("required", ())
                key = next(iter([*first, *schema["properties"]]))
                return says, message("schema-type.fix-key", key=key)
            return says, message("schema-format.fix") if dated else _type_fix(kinds, value, path)
        case "enum":
            return message("schema-enum", value=shown(value)), nearest_fix(str(value), map(str, limit))
        case "not" if value == {}:
            return empty
        case "not" if isinstance(value, Mapping):
            return message("schema-exclusive", keys=tuple(map(shown, limit["required"]))), None
        case "not":
            return message("condition-without-fact", keyword=value), None
        case "const":
            return message("schema-const", expected=shown(limit), found=shown(value)), None
        case "minimum" | "exclusiveMinimum" | "maximum" | "exclusiveMaximum":
            if abs(limit) > _IMPLAUSIBLE:
                return message("number-too-large"), None
            code = "schema-too-high" if "aximum" in rule else "schema-too-low"
            percent = limit == 1 and 2 <= value <= 100
            fix = message("schema-too-high.fix-percent", percent=value, share=value / 100) if percent else None
            return message(code, value=shown(value), bound=message(BOUNDS[rule], value=limit)), fix
        case "pattern":
            return _unlike(value, limit, tuple(error.absolute_path))
        case "format":
            return message(_date_fault(value), value=shown(value)), None
        case "maxLength":
            return message("schema-too-long", length=len(value), most=limit), None
        case "minItems" | "minProperties" | "minLength" if not value:
            return empty
        case "minItems":
            return message("schema-too-few", expected=limit, entries=len(value)), None
        case "maxItems":
            return message("schema-too-many", expected=limit, entries=len(value)), None
    return message("schema-other", value=shown(value)), None


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


def _kinds(kinds: Sequence[str]) -> tuple[Message, ...]:
    """Kinds of value in words."""
    return tuple(
        message("schema-kind.boolean-or-else" if kind == "boolean" and len(kinds) > 1 else f"schema-kind.{kind}")
        for kind in kinds
    )


def _entries_fix(kinds: Sequence[str], value: Any) -> Message | None:
    """How entries are written that have names of their own, where a list of them is; None where there is none."""
    entry = value[0] if kinds == ["object"] and isinstance(value, list) and value else None
    name: Any = entry
    if isinstance(entry, Mapping) and entry:
        name = next(iter(entry)) if len(entry) == 1 else entry.get("id", entry.get("code", "a-name"))
    return message("schema-type.fix-no-dashes", first=name) if isinstance(name, str) else None


def _type_fix(kinds: Sequence[str], value: Any, path: Sequence[str | int]) -> Message:
    """How a value of the wrong kind is usually fixed."""
    key = next((step for step in reversed(path) if isinstance(step, str)), "")
    if isinstance(value, str) and (fix := _written_otherwise(kinds, value, key)) is not None:
        return fix
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if "object" in kinds and "array" not in kinds and len(kinds) > 1 and isinstance(value, list):  # a condition's test
        return message("condition-bare-list.fix")
    if {"number", "integer"} & {*kinds} and "string" not in kinds:
        return _number_fix(kinds, value)
    if "boolean" in kinds and "string" not in kinds and isinstance(value, str):
        if value.lower() in ("yes", "y", "on", "true"):
            return message("schema-type.fix-true")
        if value.lower() in ("no", "n", "off", "false"):
            return message("schema-type.fix-false")
    if "string" in kinds and (number or isinstance(value, bool)):
        return message("schema-type.fix-quotes", value=shown(value))
    if kinds == ["string"] and isinstance(value, list):
        return message("schema-type.fix-one")
    if "array" in kinds and (number or isinstance(value, str)) and len(str(value)) <= _SHORT:
        return message("schema-type.fix-list", value=", ".join(names_in(str(value))) or "…")
    if kinds == ["object"] and len(path) == 2 and (value is False or str(value).lower() in _GONE):
        return message("schema-type.fix-null", key=str(path[-1]))
    if kinds == ["object"]:
        return message("schema-type.fix-mapping")
    return message("schema-type.fix", expected=_kinds(kinds))


def _written_otherwise(kinds: Sequence[str], value: str, key: str) -> Message | None:
    """What is meant by a range ('40–60'), a comparison ('< 26'), a number with a unit ('6 cm'), or dashes without spaces."""
    numeric = not {"number", "integer"}.isdisjoint(kinds)
    if numeric or kinds == ["array"]:
        bounds = key in BOUNDS or "object" in kinds
        if (fix := range_fix(value, as_list=kinds == ["array"], as_bounds=bounds)) is not None:
            return fix
    if (
        numeric
        and (fix := comparison_fix(value) or (None if "string" in kinds else number_fix(key, value))) is not None
    ):
        return fix
    if kinds == ["array"] and re.match(r"-\w", value):
        return message("schema-type.fix-dashes", first=value[1:].split()[0])
    return None


def _number_fix(kinds: Sequence[str], value: Any) -> Message:
    """How a number is usually meant that was written otherwise."""
    if isinstance(value, str):
        if found := re.fullmatch(r"\s*(-?\d{1,9})(?:[.,](\d{1,9}))?\s*(%?)[^\d]{0,20}", value):
            meant = float(f"{found[1]}.{found[2] or 0}") / (100 if found[3] else 1)
            return message("schema-type.fix-number", number=f"{meant:g}")
        if found := re.fullmatch(r"(\d{1,4}) ?/ ?([1-9]\d{0,3})", value):
            return message("schema-type.fix-number", number=f"{int(found[1]) / int(found[2]):.3g}")
    if isinstance(value, float):
        return message("schema-type.fix-whole", number=f"{value:.0f}")
    if "boolean" in kinds:
        return message("schema-type.fix", expected=_kinds(kinds))
    return message("schema-type.fix-digits", expected=_kinds(kinds))


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
    fits = matches(pattern, plain) and len(plain) <= _SHORT
    return message(code, value=shown(value)), message(f"{code}.fix-example", example=plain) if fits else None


def _too_deep(data: Any, origin: Origin) -> Iterator[Problem]:
    """What a schema cannot say of conditions: how deep they may lie within one another."""
    for path, raw in _conditions(data):
        try:
            Condition.parse(raw)
        except ConditionError as error:
            yield origin.problem_at((*path, *error.path), error.says.code, error.says.params, fix=error.fix)


def _conditions(data: Any) -> Iterator[tuple[Path, object]]:
    """Every condition of a profile that its schema accepts, with the path to it."""
    for section in ("rules", "methods"):
        for name, part in data.get(section, {}).items():
            if "if" in part:
                yield (section, name, "if"), part["if"]
    for name, case in data.get("cases", {}).items():
        for region, expected in case["expect"].get("regions", {}).items():
            yield ("cases", name, "expect", "regions", region), expected


def shown(value: object) -> str | Message:
    """A value as a message shows it: short, text in quotes, collections by their kind."""
    match value:
        case bool():
            return "true" if value else "false"
        case int() | float():
            return f"{value:.15g}" if abs(value) < _IMPLAUSIBLE else message("shown.long-number")
        case str():
            return message("shown.text", text=value if len(value) <= _SHORT else f"{value[: _SHORT - 3]}...")
        case Decimal() | date():
            return str(value)
        case Mapping():
            return message("schema-kind.object")
        case list() | tuple():
            return message("schema-kind.array")
    return message("shown.other", type=type(value).__name__)
