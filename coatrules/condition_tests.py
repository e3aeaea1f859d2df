"""Conditions made quick: one tested as closures, many compiled into one function that reads each fact once.

Works on conditions in their normal form (``Condition.tree``), which are checked already.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence, Set
from typing import TYPE_CHECKING, Any, Final, TypeAlias

if TYPE_CHECKING:
    from coatrules.conditions import Condition

Facts: TypeAlias = Mapping[str, object]
"""What is known, by name: texts, numbers, true or false, and lists or tuples of these. What is unknown is left out."""

Tree: TypeAlias = dict[str, Any]
_Test: TypeAlias = Callable[[object], bool]

COMBINE: Final = ("anyOf", "allOf", "not")
_ABSENT: Final = object()


def pairs(tree: Tree) -> list[tuple[str, Tree]]:
    """The facts of a condition, each with what it must be."""
    return [(name, schema) for name, schema in tree.items() if name not in COMBINE]


def same(one: object, two: object) -> bool:
    """Equality of JSON values: 1 equals 1.0, and true does not equal 1, within lists too."""
    if isinstance(one, bool) or isinstance(two, bool):
        return one is two
    if isinstance(one, list | tuple) and isinstance(two, list | tuple):
        return len(one) == len(two) and all(map(same, one, two))
    return one == two


def is_number(value: object) -> bool:
    return type(value) is float or (isinstance(value, (int, float)) and not isinstance(value, bool))


# A bound says nothing of what is not a number, nor `contains` of what is not a list. NaN, which JSON has not, meets no
# bound.
_VALUE_TESTS: Final[Mapping[str, Callable[[Any], Callable[[Any], bool]]]] = {
    "const": lambda want: (lambda value: value == want) if isinstance(want, str) else lambda value: same(value, want),
    "enum": lambda wants: lambda value: any(same(value, want) for want in wants),
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


def which_hold(conditions: Iterable[Condition], facts: Facts) -> list[int]:
    """The indices of the conditions that hold, each asked in turn. For facts asked about once; else ``compile_all``."""
    return [index for index, condition in enumerate(conditions) if condition.holds(facts)]


# --- many conditions, tested at once --------------------------------------------------------------------------------


def compile_all(conditions: Sequence[Condition], trusted: Set[str] = frozenset()) -> Callable[[Facts], list[int]]:
    """A function from facts to the indices, rising, of the conditions that hold: as ``which_hold``, but fast.

    ``trusted``: facts that, where known, are always numbers, or always lists; any other is looked at before it is used.

    Compiling takes as long as asking one by one of two or three dogs. Threads may share the function; it cannot be
    pickled.
    """
    conditions = tuple(conditions)
    code = _Code(trusted)
    tests = [code.condition(each.tree) for each in conditions]
    shared = Counter(test for each in tests for test in each)
    blocks: dict[str, list[str]] = {}  # conditions under the test that most of them share, so that it is asked once
    for index, each in enumerate(tests):
        common = max(each, key=shared.__getitem__, default="True")
        rest = [test for test in each if test != common]
        blocks.setdefault(common, []).append(f"            if {_and(rest)}:\n                add({index})\n")
    ifs = [f"        if {common}:\n{''.join(inner)}" for common, inner in blocks.items()]
    unlike = "    except TypeError:  # no number, where one was compared\n        return ask(facts)\n"
    source = "".join(
        [*code.opening(), "    try:\n        pass\n", *ifs, unlike, "    found.sort()\n    return found\n"]
    )
    space: dict[str, Any] = {**code.table, "ask": lambda facts: which_hold(conditions, facts)}
    exec(source, space)  # made from checked parts alone: every name and number went through repr or the table
    holding: Callable[[Facts], list[int]] = space["holding"]
    return holding


class _Code:
    """Python source for conditions: each fact is read once into ``v0``, ``v1``...

    A fact compared with numbers must be one, neither true nor false nor what numbers cannot be compared with, and one asked
    for entries a list, or all is left to the slow way (``ask``). So bounds can be plain comparisons, and a fact that is
    absent can be stood for by a NaN or an empty list of its own (``no_v0``), which match nothing.
    """

    def __init__(self, trusted: Set[str]) -> None:
        self.trusted = trusted
        self.table: dict[str, object] = {"same": same}
        self._facts: dict[str, str] = {}
        self._numbers: set[str] = set()
        self._lists: set[str] = set()

    def condition(self, tree: Tree) -> list[str]:
        """The tests that must all be true."""
        tests = [test for name, schema in pairs(tree) for test in self._fact(name, schema)]
        return [*tests, *self._combined(tree, lambda part: _and(self.condition(part)))]

    def opening(self) -> Iterator[str]:
        """The lines that read the facts; to be asked for last."""
        yield "def holding(facts):\n    get = facts.get\n    found = []\n    add = found.append\n"
        for name, v in self._facts.items():
            self.table[f"no_{v}"] = float("nan") if v in self._numbers else [] if v in self._lists else _ABSENT
            yield f"    {v} = get({name!r}, no_{v})\n"
            if name in self.trusted:
                continue
            if v in self._numbers:
                yield f"    if {v} is True or {v} is False:\n        return ask(facts)\n"
            if v in self._lists:
                yield f"    if type({v}) is not list and type({v}) is not tuple:\n        return ask(facts)\n"

    def _fact(self, name: str, schema: Tree) -> list[str]:
        v = self._facts.setdefault(name, f"v{len(self._facts)}")
        tests = self._value(v, schema)
        matches_nothing_if_absent = schema and not any(key in schema for key in COMBINE)
        return tests if matches_nothing_if_absent else [f"{v} is not no_{v}", *tests]

    def _value(self, v: str, schema: Tree) -> list[str]:
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
        if numbers := [f"{v} == {want!r}" for want in wants if is_number(want)]:
            self._numbers.add(v)
            tests += numbers
        return f"({' or '.join(tests)})"

    def _entry(self, v: str, schema: Tree) -> str:
        self._lists.add(v)
        if set(schema) == {"const"} and isinstance(schema["const"], str):
            return f"{schema['const']!r} in {v}"
        return f"any(map({self._keep(value_test(schema))}, {v}))"

    def _keep(self, value: object) -> str:
        name = f"k{len(self.table)}"
        self.table[name] = value
        return name

    @staticmethod
    def _combined(schema: Tree, write: Callable[[Tree], str]) -> Iterator[str]:
        if "anyOf" in schema:
            yield f"({' or '.join(map(write, schema['anyOf']))})"
        yield from map(write, schema.get("allOf", ()))
        if "not" in schema:
            yield f"not {write(schema['not'])}"


def _and(tests: Sequence[str]) -> str:
    return f"({' and '.join(tests)})" if tests else "True"
