"""Conditions on facts: a small part of JSON Schema, checked, put in words, and made quick.

A condition maps the names of facts to what each must be. What a fact must be is a JSON Schema made of ``const``,
``enum``, ``minimum``, ``maximum``, ``exclusiveMinimum``, ``exclusiveMaximum``, ``contains``, ``not``, ``anyOf`` and
``allOf``; a bare text, number, true or false is short for ``const``. Beside the facts, ``anyOf``, ``allOf`` and ``not``
combine whole conditions. Everything named must hold. What a keyword means is said in JSON Schema Validation, draft
2020-12, section 6, and JSON Schema Core, section 10; draft-07 says the same of these.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from math import isfinite
from typing import Any, Final, NamedTuple

from coatrules.catalogue.message import Message, message
from coatrules.conditions.evaluation import COMBINE, Facts, Tree, condition_test, pairs, value_test
from coatrules.problems import Path, nearest_fix, path_text

_ABSENT: Final = object()
BOUNDS: Final = {
    "minimum": "want.at-least",
    "exclusiveMinimum": "want.more-than",
    "maximum": "want.at-most",
    "exclusiveMaximum": "want.less-than",
}
"""The bounds of a number, each with the code of its words."""
KEYWORDS: Final = frozenset({"const", "enum", *BOUNDS, "contains", *COMBINE})
"""What a test of a fact is made of."""
_DEPTH: Final = 20  # far beyond what a person can follow, far below what would exhaust Python's stack
_LARGEST: Final = 2**53  # whole numbers beyond it are not told apart everywhere (RFC 8259, section 6)


class ConditionError(ValueError):
    """A condition that cannot be used. ``path`` leads to the place in it, ``says`` is what is wrong there, and ``fix`` how to
    fix it where that is not simply the fix of its code."""

    def __init__(self, path: Path, says: Message, fix: Message | None = None) -> None:
        super().__init__(path, says, fix)
        self.path = path
        self.says = says
        self.fix = fix

    @property
    def message(self) -> str:
        """What is wrong, in a sentence."""
        return self.says.text

    def __str__(self) -> str:
        return f"{path_text(self.path)}: {self.message}" if self.path else self.message


def _refused(path: Path, code: str, fix: Message | None = None, **params: Any) -> ConditionError:
    return ConditionError(path, message(code, **params), fix)


class Miss(NamedTuple):
    """One reason why a condition does not hold: the fact, its value (None if ``absent``), and what was ``wanted`` of it."""

    fact: str
    value: object
    wanted: Message
    absent: bool = False

    @property
    def expected(self) -> str:
        """What was wanted, in words: ``at least 0.5``."""
        return self.wanted.text


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


_COMBINED_BY: Final = {"and": "allOf", "or": "anyOf", "all": "allOf", "any": "anyOf"}
"""Words by which people combine conditions."""


def fact_fix(name: str, known: Iterable[str]) -> Message | None:
    """Returns the fix of what is no fact: the keyword or the known fact that was most likely meant."""
    keyword = _COMBINED_BY.get(name.lower())
    return nearest_fix(name, known) if keyword is None else message("fix.use-name", name=keyword)


def mentions(raw: object, path: Path = ()) -> Iterator[Path]:
    """Yields the path to every fact that a condition names, also to those of one that is not well formed; ``path`` leads to it."""
    for name, part in raw.items() if isinstance(raw, Mapping) else ():
        if name not in COMBINE:
            yield (*path, name)
        elif name == "not":
            yield from mentions(part, (*path, name))
        elif isinstance(part, list | tuple):
            for index, one in enumerate(part):
                yield from mentions(one, (*path, name, index))


# --- checking -------------------------------------------------------------------------------------------------------


def _tree(raw: object, path: Path, depth: int) -> Tree:
    """A condition in its normal form."""
    entries = _mapping(raw, path, depth, "condition-not-facts")
    tree: Tree = {}
    for name, value in entries.items():
        at = (*path, name)
        if name in COMBINE:
            tree[name] = _combined(name, value, at, depth, _tree)
        elif name in KEYWORDS:
            raise _refused(at, "condition-without-fact", keyword=name)
        else:
            tree[name] = _fact_schema(value, at, depth + 1)
    return tree


def _fact_schema(raw: object, path: Path, depth: int) -> Tree:
    """What one fact must be, in its normal form."""
    if isinstance(raw, str | int | float):
        return {"const": _plain(raw, path, depth)}
    if isinstance(raw, list | tuple):
        raise _refused(path, "condition-bare-list")
    entries = _mapping(raw, path, depth, "condition-not-a-test")
    schema: Tree = {}
    for key, value in entries.items():
        at = (*path, key)
        if key in BOUNDS:
            if isinstance(value, bool) or not isinstance(value, int | float):
                raise _refused(at, "condition-bound", keyword=key)
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
            raise _refused(at, "condition-keyword", nearest_fix(key, KEYWORDS), keyword=key)
    return schema


def _combined(key: str, raw: object, path: Path, depth: int, read: Callable[[object, Path, int], Tree]) -> object:
    """The value of ``anyOf``, ``allOf`` or ``not``, whose parts are read by ``read``."""

    def read_part(part: object, at: Path) -> Tree:
        if isinstance(part, Mapping) and not part:  # it would make the whole mean always or never, which nobody sees
            raise _refused(at, "condition-empty-part", keyword=key)
        return read(part, at, depth + 1)

    return (
        read_part(raw, path)
        if key == "not"
        else [read_part(part, (*path, i)) for i, part in enumerate(_list(raw, path))]
    )


def _mapping(raw: object, path: Path, depth: int, code: str) -> Mapping[str, object]:
    """A mapping, not too deep, all of whose keys are names; ``code`` names what is wrong with all else."""
    if not isinstance(raw, Mapping):
        raise _refused(path, "condition-empty", message(f"{code}.fix")) if raw is None else _refused(path, code)
    if depth > _DEPTH:
        raise _refused(path, "condition-too-deep", most=_DEPTH)
    for key in raw:
        if not isinstance(key, str) or not key.strip():
            raise _refused(path, "condition-name")
    return raw


def _list(raw: object, path: Path) -> Sequence[object]:
    if not isinstance(raw, list | tuple) or not raw:
        raise _refused(path, "condition-list")
    return raw


def _plain(raw: object, path: Path, depth: int) -> object:
    """A value to compare with, numbers in one form: JSON knows no difference between 1 and 1.0."""
    if isinstance(raw, list | tuple):
        if depth > _DEPTH:
            raise _refused(path, "condition-list-too-deep", most=_DEPTH)
        return [_plain(item, (*path, i), depth + 1) for i, item in enumerate(raw)]
    if isinstance(raw, bool | str):
        return raw
    if not isinstance(raw, int | float):
        raise _refused(path, "condition-value")
    if isinstance(raw, float) and not isfinite(raw):
        raise _refused(path, "number-not-finite", number=raw)
    if abs(raw) > _LARGEST:
        raise _refused(path, "number-too-large")
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
            wanted = _in_words(schema if holds else {"not": schema})
            yield Miss(name, None, wanted, absent=True) if value is _ABSENT else Miss(name, value, wanted)
    together = [*tree.get("allOf", ())]
    if "anyOf" in tree and any(condition_test(part)(facts) for part in tree["anyOf"]) is not holds:
        together += tree["anyOf"]
    for part in together:
        if condition_test(part)(facts) is not holds:
            yield from _misses(part, facts, holds)
    if "not" in tree and condition_test(tree["not"])(facts) is holds:
        yield from _misses(tree["not"], facts, not holds)


# --- in words -------------------------------------------------------------------------------------------------------


def in_words(subschema: object) -> Message:
    """Returns what a fact must be: ``at least 0.5``, ``between 3 and 8``, ``at most 1.2 and not 0``.

    Takes a subschema or its short form; raises ConditionError if it is neither.
    """
    return _in_words(_fact_schema(subschema, (), 0))


def _in_words(schema: Tree) -> Message:
    phrases: list[Message] = []
    if "const" in schema:
        phrases.append(message("want.value", value=_value_in_words(schema["const"])))
    if "enum" in schema:
        phrases.append(message("want.one-of", values=tuple(map(_value_in_words, schema["enum"]))))
    bounds = dict(BOUNDS)
    if "minimum" in schema and "maximum" in schema:
        phrases.append(message("want.between", low=schema["minimum"], high=schema["maximum"]))
        del bounds["minimum"], bounds["maximum"]
    phrases += [message(code, value=schema[key]) for key, code in bounds.items() if key in schema]
    if "contains" in schema:
        inner = schema["contains"]
        phrases.append(message("want.entry", entry=_in_words(inner)) if inner else message("want.entries"))
    if "anyOf" in schema:
        phrases.append(_joined([_in_words(part) for part in schema["anyOf"]], "want.or"))
    phrases += [_in_words(part) for part in schema.get("allOf", ())]
    if "not" in schema:
        inner = schema["not"]
        phrases.append(
            _in_words(inner["not"])
            if set(inner) == {"not"}
            else message("want.not", wanted=_bracketed(_in_words(inner)))
        )
    return _joined(phrases, "want.and") if phrases else message("want.known")


def _joined(phrases: Sequence[Message], code: str) -> Message:
    return phrases[0] if len(phrases) == 1 else message(code, wanted=tuple(map(_bracketed, phrases)))


def _bracketed(phrase: Message) -> Message:
    several = phrase.code in ("want.and", "want.or", "want.one-of", "want.between")
    return message("want.bracketed", wanted=phrase) if several else phrase


def _value_in_words(value: object) -> object:
    match value:
        case bool():
            return message("value.yes" if value else "value.no")
        case []:
            return message("value.no-entries")
        case list():
            return message("value.list", values=tuple(map(_value_in_words, value)))
        case "":
            return message("value.blank")
    return value
