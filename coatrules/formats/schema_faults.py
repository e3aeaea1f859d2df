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
from coatrules.conditions.condition import KEYWORDS, Condition, ConditionError, fact_fix, mentions
from coatrules.conditions.evaluation import COMBINE
from coatrules.formats.documents import Origin
from coatrules.formats.paths import value_at
from coatrules.formats.resources import whole_schema
from coatrules.formats.schema_branches import resolved
from coatrules.formats.value_faults import fault
from coatrules.formats.value_fixes import shown
from coatrules.formats.values import iso_date, matches
from coatrules.problems import MAX_PROBLEMS, Path, Problem, nearest_fix, spelt_alike_fix
from coatrules.reading.characters import ODD_SPACE

_dates = FormatChecker(formats=())
_dates.checks("date", raises=ValueError)(lambda value: not isinstance(value, str | date) or bool(iso_date(value)))

_DECIMAL = re.compile(r"\d+\b")
_TESTS = {
    **dict.fromkeys(("over", "above", "more than", "greater than", "at least", "least", "min", "from"), "minimum"),
    **dict.fromkeys(("under", "below", "less than", "fewer than", "at most", "most", "max", "to", "up to"), "maximum"),
    **dict.fromkeys(("is", "equals", "equal", "value"), "const"),
    **dict.fromkeys(("in", "one of", "any"), "enum"),
}
"""Words by which people test a fact, and the keyword for each."""
LACKING = frozenset(("schema-missing-key", "schema-missing-one", "schema-new-entry"))
"""What is said of a mapping without keys that it needs."""

# Plain data that came without a file may hold any mapping, and tuples, as the strict road takes them too.
_types = Draft202012Validator.TYPE_CHECKER.redefine_many(
    {
        "object": lambda _, value: isinstance(value, Mapping),
        "array": lambda _, value: isinstance(value, list | tuple),
        "number": lambda _, value: _is_number(value),
        "integer": lambda _, value: _is_number(value) and value == int(value),
    }
)


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
    if found and name == "profile":
        unknown = list(_unknown_facts(data, origin))
        places = {problem.path for problem in unknown}
        found = [*(one for one in found if not any(one.path[: len(place)] == place for place in places)), *unknown]
    if not found and name == "profile":
        found = list(_too_deep(data, origin))
    if name == "profile" and isinstance(data, Mapping) and "over" in data and "extends" not in data:
        found = list(_of_house_rules(found, origin))
    found = list(_of_misspelt_extends(found))
    found = list(dict.fromkeys(found))  # jsonschema reports a key that is missing once for each that is
    return list(_misnamed(list(_misplaced(found, name, data, origin)), data, origin))


def _of_house_rules(problems: Sequence[Problem], origin: Origin) -> Iterator[Problem]:
    """The problems, those of the keys that house rules would take over as one: that they build on no profile."""
    lacking = [problem for problem in problems if problem.code == "schema-missing-key" and not problem.path]
    if lacking:
        fix = message("schema-missing-key.fix-house-rules")
        yield origin.problem_at((), "schema-missing-key", {"key": "extends"}, fix=fix)
    yield from (problem for problem in problems if problem not in lacking)


def _of_misspelt_extends(problems: Sequence[Problem]) -> Iterator[Problem]:
    """The problems; where 'extends' is misspelt without those of the keys that it would bring."""
    misspelt = any(
        one.fix is not None and one.fix.params.get("name") == "extends" and len(one.path) == 1 for one in problems
    )
    yield from (one for one in problems if not (misspelt and one.code == "schema-missing-key" and not one.path))


def _unknown_facts(data: Any, origin: Origin) -> Iterator[Problem]:
    """What conditions name that is neither a fact nor a comparison."""
    own = value_at(data, ("comparisons",))
    for path, raw in _conditions(data):
        kind = whole_schema("profile")["$defs"]["expectation" if path[0] == "cases" else "condition"]
        known = [*(key for key in kind["properties"] if key not in COMBINE), *(own if isinstance(own, Mapping) else ())]
        for mention in mentions(raw, path):
            fact = mention[-1]
            if isinstance(fact, str) and fact.strip() and fact not in known and fact not in KEYWORDS:
                fix = fact_fix(fact, known)
                yield origin.problem_at(mention, "unknown-fact", {"fact": fact}, fix=fix, key=True)


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
        says, fix = fault(error)
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
    if (keyword := _TESTS.get(key.lower().replace("_", " "))) in known:
        return message("fix.use-name", name=keyword)
    if key in outermost:
        return message("schema-unknown-key.fix-level", key=key)
    below = [name for name, schema in known.items() if key in _keys_below(schema)]
    if len(below) == 1:
        return message("schema-unknown-key.fix-below", key=below[0], name=key)
    return nearest_fix(key, known)


def _keys_below(schema: Mapping[str, Any]) -> Iterator[str]:
    """The keys of the mapping that a key holds, where it holds one."""
    for kind in (schema, *schema.get("anyOf", ())):
        yield from kind.get("properties", ())


def _missing(name: str, schema: Any, path: Path, origin: Origin) -> Problem:
    about = schema.get("properties", {}).get(name, {}).get("description", "")
    params = {"key": name}
    if origin.blank((*path, name)):  # a key without a value is removed when profiles are merged
        fix = message("no-value.fix-required")
        return origin.problem_at((*path, name), "no-value", params, fix=fix, meaning=about, key=True)
    return origin.problem_at(path, "schema-missing-key", params, meaning=about)


def _too_deep(data: Any, origin: Origin) -> Iterator[Problem]:
    """What a schema cannot say of conditions: how deep they may lie within one another."""
    for path, raw in _conditions(data):
        try:
            Condition.parse(raw)
        except ConditionError as error:
            yield origin.problem_at((*path, *error.path), error.says.code, error.says.params, fix=error.fix)


def _conditions(data: Any) -> Iterator[tuple[Path, object]]:
    """Every condition of a profile, as it is written, with the path to it."""
    for section in ("rules", "methods", "layer_targets"):
        for name, part in _entries(data, section):
            yield from (((section, name, "if"), one) for key, one in _entries(part) if key == "if")
    for name, case in _entries(data, "cases"):
        for region, expected in _entries(case, "expect", "regions"):
            yield ("cases", name, "expect", "regions", region), expected


def _entries(data: Any, *path: str) -> Iterator[tuple[str, Any]]:
    """The entries of the mapping at a path; none where there is no mapping."""
    inner = value_at(data, path)
    yield from inner.items() if isinstance(inner, Mapping) else ()
