"""Conditions on facts: a small part of JSON Schema, checked, put in words, and made quick.

A condition maps the names of facts to what each must be. What a fact must be is a JSON Schema made of ``const``,
``enum``, ``minimum``, ``maximum``, ``exclusiveMinimum``, ``exclusiveMaximum``, ``contains``, ``not``, ``anyOf`` and
``allOf``; a bare text, number, true or false is short for ``const``. Beside the facts, ``anyOf``, ``allOf`` and ``not``
combine whole conditions. Everything named must hold. What a keyword means is said in JSON Schema Validation, draft
2020-12, section 6, and JSON Schema Core, section 10; draft-07 says the same of these.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from math import isfinite
from typing import Any, Final, TypeAlias

from attrs import frozen

from coatrules.problems import Path, nearest, path_text

Facts: TypeAlias = Mapping[str, object]
"""What is known, by name: texts, numbers, true or false, and lists or tuples of these. What is unknown is left out."""

_Schema: TypeAlias = dict[str, Any]  # in the normal form that _fact_schema and _tree make
_Test: TypeAlias = Callable[[object], bool]

_ABSENT: Final = object()
_BOUNDS: Final = {
    "minimum": "at least",
    "exclusiveMinimum": "more than",
    "maximum": "at most",
    "exclusiveMaximum": "less than",
}
_COMBINE: Final = ("anyOf", "allOf", "not")
_KEYWORDS: Final = frozenset({"const", "enum", *_BOUNDS, "contains", *_COMBINE})
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


@frozen
class Miss:
    """One reason why a condition does not hold: the fact, its value (None if ``absent``), and what was wanted."""

    fact: str
    value: object
    wanted: str
    absent: bool = False


@frozen(slots=False)  # the cached properties need a place to stay
class Condition:
    """A checked condition; make one with ``parse``. Two that are written alike are equal, in whatever order of keys.

    ``text`` is the condition as JSON in its normal form: short forms written out, keys sorted, 1.0 as 1.
    """

    text: str

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
        return tuple({(miss.fact, miss.wanted): miss for miss in _misses(self._tree, facts, True)}.values())

    def met(self, facts: Facts) -> dict[str, object]:
        """The values of those facts that the condition reads and that are known, by name."""
        return {name: facts[name] for name in self._names if name in facts}

    @cached_property
    def _tree(self) -> _Schema:
        tree: _Schema = json.loads(self.text)
        return tree

    @cached_property
    def _names(self) -> tuple[str, ...]:
        return tuple(sorted(set(_names(self._tree))))

    @cached_property
    def _test(self) -> Callable[[Facts], bool]:
        return _condition_test(self._tree)

    def __reduce__(self) -> tuple[type[Condition], tuple[str]]:
        return Condition, (self.text,)  # the cached test is a closure, which cannot be pickled


# --- checking -------------------------------------------------------------------------------------------------------


def _tree(raw: object, path: Path, depth: int) -> _Schema:
    """A condition in its normal form."""
    found = _mapping(raw, path, depth, "a condition names facts and what they must be, as in 'cover: {minimum: 0.5}'")
    tree: _Schema = {}
    for name, value in found.items():
        at = (*path, name)
        if name in _COMBINE:
            tree[name] = _combined(name, value, at, depth, _tree)
        elif name in _KEYWORDS:
            hint = f"put it under the fact's name, as in 'cover: {{{name}: ...}}'"
            raise ConditionError(at, f"'{name}' says what a fact must be: {hint}")
        else:
            tree[name] = _fact_schema(value, at, depth + 1)
    return tree


def _fact_schema(raw: object, path: Path, depth: int) -> _Schema:
    """What one fact must be, in its normal form."""
    if isinstance(raw, str | int | float):
        return {"const": _plain(raw, path, depth)}
    if isinstance(raw, list | tuple):
        hint = "write 'enum: [...]' for one of these, 'contains' for an entry of a list"
        raise ConditionError(path, f"a list alone says too little: {hint}")
    found = _mapping(raw, path, depth, "expected a text, a number, true or false, or such as '{minimum: 0.5}'")
    schema: _Schema = {}
    for key, value in found.items():
        at = (*path, key)
        if key in _BOUNDS:
            if isinstance(value, bool) or not isinstance(value, int | float):
                raise ConditionError(at, f"'{key}' needs a number")
            schema[key] = _plain(value, at, depth)
        elif key == "const":
            schema[key] = _plain(value, at, depth)
        elif key == "enum":
            schema[key] = [_plain(one, (*at, i), depth) for i, one in enumerate(_list(value, at))]
        elif key == "contains":
            schema[key] = _fact_schema(value, at, depth + 1)
        elif key in _COMBINE:
            schema[key] = _combined(key, value, at, depth, _fact_schema)
        else:
            raise ConditionError(at, f"'{key}' is not a word of conditions. {nearest(key, _KEYWORDS)}".rstrip())
    return schema


def _combined(key: str, raw: object, path: Path, depth: int, read: Callable[[object, Path, int], _Schema]) -> object:
    """The value of ``anyOf``, ``allOf`` or ``not``, whose parts are read by ``read``."""

    def part(one: object, at: Path) -> _Schema:
        if isinstance(one, Mapping) and not one:  # it would make the whole mean always or never, which nobody sees
            raise ConditionError(at, f"nothing is written here, so '{key}' decides nothing")
        return read(one, at, depth + 1)

    return part(raw, path) if key == "not" else [part(one, (*path, i)) for i, one in enumerate(_list(raw, path))]


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
        return [_plain(one, (*path, i), depth + 1) for i, one in enumerate(raw)]
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


def _pairs(tree: _Schema) -> list[tuple[str, _Schema]]:
    return [(name, schema) for name, schema in tree.items() if name not in _COMBINE]


def _parts(tree: _Schema) -> list[_Schema]:
    return [*tree.get("anyOf", ()), *tree.get("allOf", ()), *([tree["not"]] if "not" in tree else ())]


def _names(tree: _Schema) -> Iterator[str]:
    yield from (name for name, _ in _pairs(tree))
    for part in _parts(tree):
        yield from _names(part)


def _object_schema(tree: _Schema) -> dict[str, object]:
    pairs = _pairs(tree)
    schema: dict[str, object] = {"type": "object", "required": [name for name, _ in pairs], "properties": dict(pairs)}
    for key in _COMBINE:
        if key in tree:
            schema[key] = _object_schema(tree[key]) if key == "not" else [_object_schema(part) for part in tree[key]]
    return schema


def _misses(tree: _Schema, facts: Facts, wanted: bool) -> Iterator[Miss]:
    """The facts that keep the condition from being as wanted: true, or (within ``not``) false."""
    for name, schema in _pairs(tree):
        value = facts.get(name, _ABSENT)
        if (value is not _ABSENT and _value_test(schema)(value)) is not wanted:
            want = _say(schema if wanted else {"not": schema})
            yield Miss(name, None, want, absent=True) if value is _ABSENT else Miss(name, value, want)
    together = [*tree.get("allOf", ())]
    if "anyOf" in tree and any(_condition_test(part)(facts) for part in tree["anyOf"]) is not wanted:
        together += tree["anyOf"]
    for part in together:
        if _condition_test(part)(facts) is not wanted:
            yield from _misses(part, facts, wanted)
    if "not" in tree and _condition_test(tree["not"])(facts) is wanted:
        yield from _misses(tree["not"], facts, not wanted)


# --- in words -------------------------------------------------------------------------------------------------------


def words(subschema: object) -> str:
    """What a fact must be, in plain words: ``at least 0.5``, ``between 3 and 8``, ``at most 1.2 and not 0``.

    Takes a subschema or its short form; raises ConditionError if it is neither.
    """
    return _say(_fact_schema(subschema, (), 0))


def _say(schema: _Schema) -> str:
    said: list[str] = []
    if "const" in schema:
        said.append(_say_value(schema["const"]))
    if "enum" in schema:
        said.append(f"one of {', '.join(map(_say_value, schema['enum']))}")
    bounds = dict(_BOUNDS)
    if "minimum" in schema and "maximum" in schema:
        said.append(f"between {_say_value(schema['minimum'])} and {_say_value(schema['maximum'])}")
        del bounds["minimum"], bounds["maximum"]
    said += [f"{word} {_say_value(schema[key])}" for key, word in bounds.items() if key in schema]
    if "contains" in schema:
        said.append(f"a list with {_say(schema['contains'])} in it" if schema["contains"] else "a list with entries")
    if "anyOf" in schema:
        said.append(_joined([_say(one) for one in schema["anyOf"]], " or "))
    said += [_say(one) for one in schema.get("allOf", ())]
    if "not" in schema:
        inner = schema["not"]
        said.append(_say(inner["not"]) if set(inner) == {"not"} else f"not {_bracketed(_say(inner))}")
    return _joined(said, " and ") if said else "known"


def _joined(said: Sequence[str], word: str) -> str:
    return said[0] if len(said) == 1 else word.join(map(_bracketed, said))


def _bracketed(said: str) -> str:
    return f"({said})" if " and " in said or " or " in said else said


def _say_value(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return f"the list [{', '.join(map(_say_value, value))}]"
    return str(value) if value != "" else "blank"


# --- one condition, tested ------------------------------------------------------------------------------------------


def _same(one: object, two: object) -> bool:
    """Equality of JSON values: 1 equals 1.0, and true does not equal 1, within lists too."""
    if isinstance(one, bool) or isinstance(two, bool):
        return one is two
    if isinstance(one, list | tuple) and isinstance(two, list | tuple):
        return len(one) == len(two) and all(map(_same, one, two))
    return one == two


def _is_number(value: object) -> bool:
    return type(value) is float or (isinstance(value, (int, float)) and not isinstance(value, bool))


# A bound says nothing of what is not a number, nor `contains` of what is not a list. NaN, which JSON has not, meets no
# bound.
_VALUE_TESTS: Final[Mapping[str, Callable[[Any], Callable[[Any], bool]]]] = {
    "const": lambda want: (lambda value: value == want) if isinstance(want, str) else lambda value: _same(value, want),
    "enum": lambda wants: lambda value: any(_same(value, want) for want in wants),
    "minimum": lambda least: lambda value: value >= least if _is_number(value) else True,
    "maximum": lambda most: lambda value: value <= most if _is_number(value) else True,
    "exclusiveMinimum": lambda below: lambda value: value > below if _is_number(value) else True,
    "exclusiveMaximum": lambda above: lambda value: value < above if _is_number(value) else True,
    "contains": lambda schema: _contains_test(schema),
    "not": lambda schema: _negated(_value_test(schema)),
    "anyOf": lambda schemas: _any_test([*map(_value_test, schemas)]),
    "allOf": lambda schemas: _all_test([*map(_value_test, schemas)]),
}


def _value_test(schema: _Schema) -> _Test:
    return _all_test([_VALUE_TESTS[key](value) for key, value in schema.items()])


def _contains_test(schema: _Schema) -> _Test:
    if set(schema) == {"const"} and isinstance(want := schema["const"], str):
        return lambda value: not isinstance(value, (list, tuple)) or want in value
    test = _value_test(schema)
    return lambda value: not isinstance(value, (list, tuple)) or any(map(test, value))


def _negated(test: Callable[[Any], bool]) -> Callable[[Any], bool]:
    return lambda value: not test(value)


def _any_test(tests: Sequence[Callable[[Any], bool]]) -> Callable[[Any], bool]:
    return lambda value: any(test(value) for test in tests)


def _all_test(tests: Sequence[Callable[[Any], bool]]) -> Callable[[Any], bool]:
    if len(tests) == 1:
        return tests[0]
    if len(tests) == 2:
        first, second = tests
        return lambda value: first(value) and second(value)

    return lambda value: all(test(value) for test in tests)


def _fact_test(name: str, test: _Test) -> Callable[[Facts], bool]:
    return lambda facts: name in facts and test(facts[name])


def _condition_test(tree: _Schema) -> Callable[[Facts], bool]:
    return _all_test([*(_fact_test(name, _value_test(schema)) for name, schema in _pairs(tree)), *_part_tests(tree)])


def _part_tests(tree: _Schema) -> Iterator[Callable[[Facts], bool]]:
    if "anyOf" in tree:
        yield _any_test([_condition_test(part) for part in tree["anyOf"]])
    yield from (_condition_test(part) for part in tree.get("allOf", ()))
    if "not" in tree:
        yield _negated(_condition_test(tree["not"]))


def which_hold(conditions: Iterable[Condition], facts: Facts) -> list[int]:
    """The indices of the conditions that hold, each asked in turn. For facts asked about once; else ``compile_all``."""
    return [index for index, condition in enumerate(conditions) if condition.holds(facts)]


# --- many conditions, tested at once --------------------------------------------------------------------------------


def compile_all(conditions: Sequence[Condition]) -> Callable[[Facts], list[int]]:
    """A function from facts to the indices, rising, of the conditions that hold: as ``which_hold``, but fast.

    Compiling takes as long as asking one by one of two or three dogs. Threads may share the function; it cannot be
    pickled.
    """
    conditions = tuple(conditions)
    code = _Code()
    tests = [code.condition(each._tree) for each in conditions]
    shared = Counter(test for each in tests for test in each)
    blocks: dict[str, list[str]] = {}  # conditions under the test that most of them share, so that it is asked once
    for index, each in enumerate(tests):
        common = max(each, key=shared.__getitem__, default="True")
        rest = [test for test in each if test != common]
        blocks.setdefault(common, []).append(f"        if {_and(rest)}:\n            add({index})\n")
    ifs = [f"    if {common}:\n{''.join(inner)}" for common, inner in blocks.items()]
    source = "".join([*code.opening(), *ifs, "    found.sort()\n    return found\n"])
    space: dict[str, Any] = {**code.table, "ask": lambda facts: which_hold(conditions, facts)}
    exec(source, space)  # made from checked parts alone: every name and number went through repr or the table
    holding: Callable[[Facts], list[int]] = space["holding"]
    return holding


class _Code:
    """Python source for conditions: each fact is read once into ``v0``, ``v1``...

    A fact compared with numbers must be a number and one asked for entries a list, or all is left to the slow way
    (``ask``). So bounds can be plain comparisons, and a fact that is absent can be stood for by a NaN or an empty list
    of its own (``no_v0``), which match nothing.
    """

    def __init__(self) -> None:
        self.table: dict[str, object] = {"same": _same}
        self._facts: dict[str, str] = {}
        self._numbers: set[str] = set()
        self._lists: set[str] = set()

    def condition(self, tree: _Schema) -> list[str]:
        """The tests that must all be true."""
        tests = [test for name, schema in _pairs(tree) for test in self._fact(name, schema)]
        return [*tests, *self._combined(tree, lambda part: _and(self.condition(part)))]

    def opening(self) -> Iterator[str]:
        """The lines that read the facts; to be asked for last."""
        yield "def holding(facts):\n    get = facts.get\n    found = []\n    add = found.append\n"
        for name, v in self._facts.items():
            self.table[f"no_{v}"] = float("nan") if v in self._numbers else [] if v in self._lists else _ABSENT
            yield f"    {v} = get({name!r}, no_{v})\n"
            if v in self._numbers:
                yield f"    if type({v}) is not float and type({v}) is not int:\n        return ask(facts)\n"
            if v in self._lists:
                yield f"    if type({v}) is not list and type({v}) is not tuple:\n        return ask(facts)\n"

    def _fact(self, name: str, schema: _Schema) -> list[str]:
        v = self._facts.setdefault(name, f"v{len(self._facts)}")
        tests = self._value(v, schema)
        matches_nothing_if_absent = schema and not any(key in schema for key in _COMBINE)
        return tests if matches_nothing_if_absent else [f"{v} is not no_{v}", *tests]

    def _value(self, v: str, schema: _Schema) -> list[str]:
        signs = {"minimum": ">=", "maximum": "<=", "exclusiveMinimum": ">", "exclusiveMaximum": "<"}
        tests = list(self._combined(schema, lambda part: _and(self._value(v, part))))
        for key, value in schema.items():
            if key in signs:
                self._numbers.add(v)
                tests.append(f"{v} {signs[key]} {float(value)!r}")  # Python compares two floats fastest
            elif key in ("const", "enum"):
                tests.append(self._equal(v, [value] if key == "const" else value))
            elif key == "contains":
                tests.append(self._entry(v, value))
        return tests

    def _equal(self, v: str, wants: Sequence[object]) -> str:
        texts = tuple(want for want in wants if isinstance(want, str))
        tests = [f"{v} in {texts!r}" if len(texts) > 1 else f"{v} == {texts[0]!r}"] if texts else []
        tests += [f"{v} is {want!r}" for want in wants if isinstance(want, bool)]
        tests += [f"same({v}, {self._keep(want)})" for want in wants if isinstance(want, list)]
        if numbers := [f"{v} == {want!r}" for want in wants if _is_number(want)]:
            self._numbers.add(v)
            tests += numbers
        return f"({' or '.join(tests)})"

    def _entry(self, v: str, schema: _Schema) -> str:
        self._lists.add(v)
        if set(schema) == {"const"} and isinstance(schema["const"], str):
            return f"{schema['const']!r} in {v}"
        return f"any(map({self._keep(_value_test(schema))}, {v}))"

    def _keep(self, value: object) -> str:
        name = f"k{len(self.table)}"
        self.table[name] = value
        return name

    @staticmethod
    def _combined(schema: _Schema, write: Callable[[_Schema], str]) -> Iterator[str]:
        if "anyOf" in schema:
            yield f"({' or '.join(map(write, schema['anyOf']))})"
        yield from map(write, schema.get("allOf", ()))
        if "not" in schema:
            yield f"not {write(schema['not'])}"


def _and(tests: Sequence[str]) -> str:
    return f"({' and '.join(tests)})" if tests else "True"
