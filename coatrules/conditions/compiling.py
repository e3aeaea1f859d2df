"""Many conditions compiled to one function: as asking one by one, but fast."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence, Set
from typing import Any, Final

from coatrules.conditions.condition import Condition
from coatrules.conditions.evaluation import COMBINE, Facts, Tree, is_number, pairs, same, value_test

_ABSENT: Final = object()


def holding_indices(conditions: Iterable[Condition], facts: Facts) -> list[int]:
    """Returns the indices of the conditions that hold, each asked in turn. For facts asked about once; else ``compile_all``."""
    return [index for index, condition in enumerate(conditions) if condition.holds(facts)]


def compile_all(conditions: Sequence[Condition], trusted: Set[str] = frozenset()) -> Callable[[Facts], list[int]]:
    """Returns a function from facts to the indices, rising, of the conditions that hold: as ``holding_indices``, but fast.

    ``trusted``: facts that, where known, are always numbers, or always lists; any other is looked at before it is used.

    Compiling takes as long as asking one by one of two or three dogs, so it waits until it is asked of the first: many a profile
    is only checked or built on. Threads may share the function; it cannot be pickled.
    """
    made: list[Callable[[Facts], list[int]]] = []

    def indices(facts: Facts) -> list[int]:
        if not made:
            made.append(_compiled(tuple(conditions), trusted))
        return made[0](facts)

    return indices


def _compiled(conditions: Sequence[Condition], trusted: Set[str]) -> Callable[[Facts], list[int]]:
    code = _Code(trusted)
    tests = [code.condition(condition.tree) for condition in conditions]
    shared = Counter(test for required in tests for test in required)
    blocks: dict[str, list[str]] = {}  # conditions under the test that most of them share, so that it is asked once
    for index, required in enumerate(tests):
        common = max(required, key=shared.__getitem__, default="True")
        rest = [test for test in required if test != common]
        blocks.setdefault(common, []).append(f"            if {_and(rest)}:\n                add({index})\n")
    ifs = [f"        if {common}:\n{''.join(inner)}" for common, inner in blocks.items()]
    unlike = "    except TypeError:  # no number, where one was compared\n        return ask(facts)\n"
    source = "".join(
        [*code.opening(), "    try:\n        pass\n", *ifs, unlike, "    indices.sort()\n    return indices\n"]
    )
    space: dict[str, Any] = {**code.table, "ask": lambda facts: holding_indices(conditions, facts)}
    exec(source, space)  # made from checked parts alone: every name and number went through repr or the table
    compiled: Callable[[Facts], list[int]] = space["compiled"]
    return compiled


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
        yield "def compiled(facts):\n    get = facts.get\n    indices = []\n    add = indices.append\n"
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

    def _equal(self, v: str, values: Sequence[object]) -> str:
        texts = tuple(value for value in values if isinstance(value, str))
        tests = [f"{v} in {texts!r}" if len(texts) > 1 else f"{v} == {texts[0]!r}"] if texts else []
        tests += [f"{v} is {value!r}" for value in values if isinstance(value, bool)]
        tests += [f"same({v}, {self._keep(value)})" for value in values if isinstance(value, list)]
        if numbers := [f"{v} == {value!r}" for value in values if is_number(value)]:
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
