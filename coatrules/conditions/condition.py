"""Conditions on facts: a small part of JSON Schema, checked, put in words, and made quick.

A condition maps the names of facts to what each must be. What a fact must be is a JSON Schema made of ``const``,
``enum``, ``minimum``, ``maximum``, ``exclusiveMinimum``, ``exclusiveMaximum``, ``contains``, ``not``, ``anyOf`` and
``allOf``; a bare text, number, true or false is short for ``const``. Beside the facts, ``anyOf``, ``allOf`` and ``not``
combine whole conditions. Everything named must hold. What a keyword means is said in JSON Schema Validation, draft
2020-12, section 6, and JSON Schema Core, section 10; draft-07 says the same of these.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cached_property
from math import isfinite
from typing import Final, NamedTuple

from coatrules.conditions.evaluation import COMBINE, Facts, Tree, condition_test, pairs, value_test
from coatrules.problems import Path, nearest, path_text

_ABSENT: Final = object()
_BOUNDS: Final = {
    "minimum": "at least",
    "exclusiveMinimum": "more than",
    "maximum": "at most",
    "exclusiveMaximum": "less than",
}
_KEYWORDS: Final = frozenset({"const", "enum", *_BOUNDS, "contains", *COMBINE})
_DEPTH: Final = 20  # far beyond what a person can follow, far below what would exhaust Python's stack
_LARGEST: Final = 2**53  # whole numbers beyond it are not told apart everywhere (RFC 8259, section 6)


class ConditionError(ValueError):
    """A condition that cannot be used. ``path`` leads to the place in it, ``message`` says what is wrong there."""

    def __init__(self, path: Path, message: str) -> None:
        super().__init__(path, message)
        self.path = path
        self.message = message

    def __str__(self) -> str:
        return f"{path_text(self.path)}: {self.message}" if self.path else self.message


class Miss(NamedTuple):
    """One reason why a condition does not hold: the fact, its value (None if ``absent``), and what was expected."""

    fact: str
    value: object
    expected: str
    absent: bool = False


class Condition:
    """A checked condition; make one with ``parse``. Two that are written alike are equal, in whatever order of keys.

    ``text`` is the condition as JSON in its normal form: short forms written out, keys sorted, 1.0 as 1.
    """

    def __init__(self, text: str) -> None:
        self.text: Final = text

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Condition) and self.text == other.text

    def __hash__(self) -> int:
        return hash(self.text)

    def __repr__(self) -> str:
        return f"Condition({self.text!r})"

    @classmethod
    def parse(cls, raw: object) -> Condition:
        """Check ``raw`` (plain mappings, lists and scalars). Raises ConditionError at the first place that is wrong."""
        return cls(json.dumps(_tree(raw, (), 0), sort_keys=True))

    def holds(self, facts: Facts) -> bool:
        """Whether the facts are as wanted; a fact that is absent never is."""
        return self._test(facts)

    def schema(self) -> dict[str, object]:
        """The JSON Schema of a facts object for which the condition holds (the same in draft 2020-12 and draft-07)."""
        return _object_schema(json.loads(self.text))  # read anew: the caller may change it

    def facts(self) -> frozenset[str]:
        """The names of all facts that the condition reads."""
        return frozenset(self._names)

    def misses(self, facts: Facts) -> tuple[Miss, ...]:
        """Why the condition does not hold; empty if and only if it holds. Of ``anyOf``, every way that was missed."""
        return tuple({(miss.fact, miss.expected): miss for miss in _misses(self.tree, facts, True)}.values())

    def met(self, facts: Facts) -> dict[str, object]:
        """The values of those facts that the condition reads and that are known, by name."""
        return {name: facts[name] for name in self._names if name in facts}

    @cached_property
    def tree(self) -> Tree:
        """The condition in its normal form; not to be changed."""
        tree: Tree = json.loads(self.text)
        return tree

    @cached_property
    def _names(self) -> tuple[str, ...]:
        return tuple(sorted(set(_names(self.tree))))

    @cached_property
    def _test(self) -> Callable[[Facts], bool]:
        return condition_test(self.tree)

    def __reduce__(self) -> tuple[type[Condition], tuple[str]]:
        return Condition, (self.text,)  # the cached test is a closure, which cannot be pickled


# --- checking -------------------------------------------------------------------------------------------------------


def _tree(raw: object, path: Path, depth: int) -> Tree:
    """A condition in its normal form."""
    entries = _mapping(raw, path, depth, "a condition names facts and what they must be, as in 'cover: {minimum: 0.5}'")
    tree: Tree = {}
    for name, value in entries.items():
        at = (*path, name)
        if name in COMBINE:
            tree[name] = _combined(name, value, at, depth, _tree)
        elif name in _KEYWORDS:
            hint = f"put it under the fact's name, as in 'cover: {{{name}: ...}}'"
            raise ConditionError(at, f"'{name}' says what a fact must be: {hint}")
        else:
            tree[name] = _fact_schema(value, at, depth + 1)
    return tree


def _fact_schema(raw: object, path: Path, depth: int) -> Tree:
    """What one fact must be, in its normal form."""
    if isinstance(raw, str | int | float):
        return {"const": _plain(raw, path, depth)}
    if isinstance(raw, list | tuple):
        hint = "write 'enum: [...]' for one of these, 'contains' for an entry of a list"
        raise ConditionError(path, f"a list alone says too little: {hint}")
    entries = _mapping(raw, path, depth, "expected a text, a number, true or false, or such as '{minimum: 0.5}'")
    schema: Tree = {}
    for key, value in entries.items():
        at = (*path, key)
        if key in _BOUNDS:
            if isinstance(value, bool) or not isinstance(value, int | float):
                raise ConditionError(at, f"'{key}' needs a number")
            schema[key] = _plain(value, at, depth)
        elif key == "const":
            schema[key] = _plain(value, at, depth)
        elif key == "enum":
            schema[key] = [_plain(option, (*at, i), depth) for i, option in enumerate(_list(value, at))]
        elif key == "contains":
            schema[key] = _fact_schema(value, at, depth + 1)
        elif key in COMBINE:
            schema[key] = _combined(key, value, at, depth, _fact_schema)
        else:
            raise ConditionError(at, f"'{key}' is not a word of conditions. {nearest(key, _KEYWORDS)}".rstrip())
    return schema


def _combined(key: str, raw: object, path: Path, depth: int, read: Callable[[object, Path, int], Tree]) -> object:
    """The value of ``anyOf``, ``allOf`` or ``not``, whose parts are read by ``read``."""

    def read_part(part: object, at: Path) -> Tree:
        if isinstance(part, Mapping) and not part:  # it would make the whole mean always or never, which nobody sees
            raise ConditionError(at, f"nothing is written here, so '{key}' decides nothing")
        return read(part, at, depth + 1)

    return (
        read_part(raw, path)
        if key == "not"
        else [read_part(part, (*path, i)) for i, part in enumerate(_list(raw, path))]
    )


def _mapping(raw: object, path: Path, depth: int, expected: str) -> Mapping[str, object]:
    if not isinstance(raw, Mapping):
        raise ConditionError(path, f"nothing is written here: {expected}" if raw is None else expected)
    if depth > _DEPTH:
        raise ConditionError(path, f"conditions may lie at most {_DEPTH} deep within one another")
    for key in raw:
        if not isinstance(key, str) or not key.strip():
            raise ConditionError(path, "every name must be a text: put quotes round a number, true or false")
    return raw


def _list(raw: object, path: Path) -> Sequence[object]:
    if not isinstance(raw, list | tuple) or not raw:
        raise ConditionError(path, "expected a list with at least one entry")
    return raw


def _plain(raw: object, path: Path, depth: int) -> object:
    """A value to compare with, numbers in one form: JSON knows no difference between 1 and 1.0."""
    if isinstance(raw, list | tuple):
        if depth > _DEPTH:
            raise ConditionError(path, f"lists may lie at most {_DEPTH} deep within one another")
        return [_plain(item, (*path, i), depth + 1) for i, item in enumerate(raw)]
    if isinstance(raw, bool | str):
        return raw
    if not isinstance(raw, int | float):
        raise ConditionError(path, "expected a text, a number, true or false, or a list of these")
    if isinstance(raw, float) and not isfinite(raw):
        raise ConditionError(path, "expected a number that can be written in digits")
    if abs(raw) > _LARGEST:
        raise ConditionError(path, "this number is too large to be meant")
    return int(raw) if raw == int(raw) else float(raw)


# --- what a condition stands for, and why it does not hold ----------------------------------------------------------


def _parts(tree: Tree) -> list[Tree]:
    return [*tree.get("anyOf", ()), *tree.get("allOf", ()), *([tree["not"]] if "not" in tree else ())]


def _names(tree: Tree) -> Iterator[str]:
    yield from (name for name, _ in pairs(tree))
    for part in _parts(tree):
        yield from _names(part)


def _object_schema(tree: Tree) -> dict[str, object]:
    facts = pairs(tree)
    schema: dict[str, object] = {"type": "object", "required": [name for name, _ in facts], "properties": dict(facts)}
    for key in COMBINE:
        if key in tree:
            schema[key] = _object_schema(tree[key]) if key == "not" else [_object_schema(part) for part in tree[key]]
    return schema


def _misses(tree: Tree, facts: Facts, holds: bool) -> Iterator[Miss]:
    """The facts that keep the condition from being as wanted: true, or (within ``not``) false."""
    for name, schema in pairs(tree):
        value = facts.get(name, _ABSENT)
        if (value is not _ABSENT and value_test(schema)(value)) is not holds:
            expected = _in_words(schema if holds else {"not": schema})
            yield Miss(name, None, expected, absent=True) if value is _ABSENT else Miss(name, value, expected)
    together = [*tree.get("allOf", ())]
    if "anyOf" in tree and any(condition_test(part)(facts) for part in tree["anyOf"]) is not holds:
        together += tree["anyOf"]
    for part in together:
        if condition_test(part)(facts) is not holds:
            yield from _misses(part, facts, holds)
    if "not" in tree and condition_test(tree["not"])(facts) is holds:
        yield from _misses(tree["not"], facts, not holds)


# --- in words -------------------------------------------------------------------------------------------------------


def in_words(subschema: object) -> str:
    """Returns in plain words what a fact must be: ``at least 0.5``, ``between 3 and 8``, ``at most 1.2 and not 0``.

    Takes a subschema or its short form; raises ConditionError if it is neither.
    """
    return _in_words(_fact_schema(subschema, (), 0))


def _in_words(schema: Tree) -> str:
    phrases: list[str] = []
    if "const" in schema:
        phrases.append(_value_in_words(schema["const"]))
    if "enum" in schema:
        phrases.append(f"one of {', '.join(map(_value_in_words, schema['enum']))}")
    bounds = dict(_BOUNDS)
    if "minimum" in schema and "maximum" in schema:
        phrases.append(f"between {_value_in_words(schema['minimum'])} and {_value_in_words(schema['maximum'])}")
        del bounds["minimum"], bounds["maximum"]
    phrases += [f"{word} {_value_in_words(schema[key])}" for key, word in bounds.items() if key in schema]
    if "contains" in schema:
        phrases.append(
            f"a list with {_in_words(schema['contains'])} in it" if schema["contains"] else "a list with entries"
        )
    if "anyOf" in schema:
        phrases.append(_joined([_in_words(part) for part in schema["anyOf"]], " or "))
    phrases += [_in_words(part) for part in schema.get("allOf", ())]
    if "not" in schema:
        inner = schema["not"]
        phrases.append(_in_words(inner["not"]) if set(inner) == {"not"} else f"not {_bracketed(_in_words(inner))}")
    return _joined(phrases, " and ") if phrases else "known"


def _joined(phrases: Sequence[str], word: str) -> str:
    return phrases[0] if len(phrases) == 1 else word.join(map(_bracketed, phrases))


def _bracketed(phrase: str) -> str:
    return f"({phrase})" if " and " in phrase or " or " in phrase else phrase


def _value_in_words(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return f"the list [{', '.join(map(_value_in_words, value))}]"
    return str(value) if value != "" else "blank"
