"""Whether a condition holds on some facts: its parts as plain functions."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, Final, TypeAlias

Facts: TypeAlias = Mapping[str, object]
"""What is known, by name: texts, numbers, true or false, and lists or tuples of these. What is unknown is left out."""

Tree: TypeAlias = dict[str, Any]
_Test: TypeAlias = Callable[[object], bool]

COMBINE: Final = ("anyOf", "allOf", "not")


def pairs(tree: Tree) -> list[tuple[str, Tree]]:
    """The facts of a condition, each with what it must be."""
    return [(name, schema) for name, schema in tree.items() if name not in COMBINE]


def same(first: object, second: object) -> bool:
    """Equality of JSON values: 1 equals 1.0, and true does not equal 1, within lists too."""
    if isinstance(first, bool) or isinstance(second, bool):
        return first is second
    if isinstance(first, list | tuple) and isinstance(second, list | tuple):
        return len(first) == len(second) and all(map(same, first, second))
    return first == second


def is_number(value: object) -> bool:
    return type(value) is float or (isinstance(value, (int, float)) and not isinstance(value, bool))


# A bound says nothing of what is not a number, nor `contains` of what is not a list. NaN, which JSON has not, meets no
# bound.
_VALUE_TESTS: Final[Mapping[str, Callable[[Any], Callable[[Any], bool]]]] = {
    "const": lambda want: (lambda value: value == want) if isinstance(want, str) else lambda value: same(value, want),
    "enum": lambda options: lambda value: any(same(value, option) for option in options),
    "minimum": lambda least: lambda value: value >= least if is_number(value) else True,
    "maximum": lambda most: lambda value: value <= most if is_number(value) else True,
    "exclusiveMinimum": lambda below: lambda value: value > below if is_number(value) else True,
    "exclusiveMaximum": lambda above: lambda value: value < above if is_number(value) else True,
    "contains": lambda schema: _contains_test(schema),
    "not": lambda schema: _negated(value_test(schema)),
    "anyOf": lambda schemas: _any_test([*map(value_test, schemas)]),
    "allOf": lambda schemas: _all_test([*map(value_test, schemas)]),
}


def value_test(schema: Tree) -> _Test:
    return _all_test([_VALUE_TESTS[key](value) for key, value in schema.items()])


def _contains_test(schema: Tree) -> _Test:
    if set(schema) == {"const"} and isinstance(want := schema["const"], str):
        return lambda value: not isinstance(value, (list, tuple)) or want in value
    test = value_test(schema)
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


def condition_test(tree: Tree) -> Callable[[Facts], bool]:
    return _all_test([*(_fact_test(name, value_test(schema)) for name, schema in pairs(tree)), *_part_tests(tree)])


def _part_tests(tree: Tree) -> Iterator[Callable[[Facts], bool]]:
    if "anyOf" in tree:
        yield _any_test([condition_test(part) for part in tree["anyOf"]])
    yield from (condition_test(part) for part in tree.get("allOf", ()))
    if "not" in tree:
        yield _negated(condition_test(tree["not"]))
