"""Plain data into frozen values, strictly: nothing is coerced, nothing unknown passes.

The fast road for documents that are right. What it refuses is explained by ``schema_faults`` from the JSON Schema; a property
test holds the two to the same verdict.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from contextlib import suppress
from datetime import date
from decimal import Decimal
from functools import cache, lru_cache
from types import UnionType
from typing import Annotated, Any, Literal, TypeVar, Union, get_args, get_origin

from coatrules.conditions.condition import Condition
from coatrules.formats.values import (
    EXTRAS,
    MAPPINGS,
    NAMES,
    SHARED,
    UNWRITTEN,
    Key,
    Length,
    Matches,
    NotBoth,
    Range,
    iso_date,
)
from coatrules.read_only import ReadOnly, frozen_plain

T = TypeVar("T")
Hook = Callable[[Any], Any]


def structure(data: object, kind: type[T]) -> T:
    """``data`` as a ``kind``; raises ``ValueError``, ``TypeError``, ``KeyError`` or another plain error if it does not fit."""
    wanted: Any = kind  # to mypy a class need not be hashable
    made: T = hook(wanted)(data)
    return made


@cache
def hook(kind: Any) -> Hook:
    """What makes a ``kind`` of plain data; made when first asked for."""
    if kind in _SIMPLE:
        return _SIMPLE[kind]
    origin, parts = get_origin(kind), get_args(kind)
    if origin is Annotated:
        return _annotated(*parts)
    if origin is Literal:
        return _one_of(frozenset(parts))
    if origin in (Union, UnionType):
        # A key that is there must have a value: null is not one.
        return _either([hook(part) for part in parts if part is not type(None)])
    if origin is tuple:
        return _listed(hook(parts[0]))
    if origin is Mapping:
        return _mapped(*map(hook, parts))
    return _record(kind)


def exact(kind: type) -> Hook:
    """A hook that takes values of just one type as they are; raises ``TypeError`` for any other."""

    def checked(value: Any) -> Any:
        if type(value) is not kind:
            raise TypeError(value)
        return value

    return checked


def _float(value: Any) -> float:
    if type(value) is float:
        return value
    if type(value) is Decimal and value.is_finite():  # as database drivers give it
        return float(value)
    if type(value) is not int:
        raise TypeError(value)
    return float(value)


def _int(value: Any) -> int:
    # JSON Schema counts 3.0 as an integer.
    if type(value) is float and value.is_integer():
        return int(value)
    if type(value) is Decimal and value.is_finite() and value == int(value):
        return int(value)
    if type(value) is not int:
        raise TypeError(value)
    return value


_SIMPLE: dict[Any, Hook] = {
    str: exact(str),
    bool: exact(bool),
    float: _float,
    int: _int,
    date: iso_date,
    object: frozen_plain,
    Condition: Condition.parse,
}


def _written(kind: Any) -> Mapping[str, tuple[str, Any]]:
    found = {}
    for name, meant in kind.__annotations__.items():
        marks = getattr(meant, "__metadata__", ())
        if UNWRITTEN not in marks and EXTRAS not in marks:
            found[next((mark.name for mark in marks if isinstance(mark, Key)), name)] = (name, meant)
    return ReadOnly(found)


written: Callable[[Any], Mapping[str, tuple[str, Any]]] = cache(_written)
"""The keys of a class of documents, each with the name and the type of its field; read off once."""


def extras_field(kind: Any) -> str | None:
    """The name of the field that keeps the keys ``x-...`` of a class of documents; None where it takes none."""
    marked = (name for name, meant in kind.__annotations__.items() if EXTRAS in getattr(meant, "__metadata__", ()))
    return next(marked, None)


def _record(kind: Any) -> Hook:
    known = {key: (name, hook(meant)) for key, (name, meant) in written(kind).items()}
    extras = extras_field(kind)

    def record(value: Any) -> Any:
        if not isinstance(value, MAPPINGS):
            raise TypeError(value)
        values = {}
        others = {}
        for key, part in value.items():
            if extras is not None and key not in known and key.startswith("x-"):
                others[key] = frozen_plain(part)
            else:
                name, made = known[key]
                values[name] = made(part)
        return kind(**values, **{extras: ReadOnly(others)}) if extras is not None and others else kind(**values)

    return record


def _annotated(kind: Any, *marks: Any) -> Hook:
    made = hook(kind)
    if SHARED in marks:
        made = _shared(made)
    elif NAMES in marks:
        made = _named(made)
    sizes = [mark.check for mark in marks if isinstance(mark, Length)]
    tests = [mark.check for mark in marks if isinstance(mark, (Range, Matches, NotBoth))]

    def annotated(value: Any) -> Any:
        for size in sizes:
            size(value)  # as it is written
        result = made(value)
        for test in tests:
            test(result)
        return result

    return annotated if sizes or tests else made


def _named(made: Hook) -> Hook:
    """Names in a list, or in a mapping from each to true."""

    def named(value: Any) -> Any:
        if isinstance(value, MAPPINGS):
            if not all(meant is True for meant in value.values()):
                raise ValueError(value)
            value = tuple(value)
        return made(value)

    return named


def _shared(made: Hook) -> Hook:
    """One value for all that say the same in single values."""

    # Typed, for a scissoring to 1 mm is not the same as one to a length that nobody wrote down.
    @lru_cache(4096, typed=True)
    def of(keys: tuple[str, ...], *values: Any) -> Any:
        return made(dict(zip(keys, values, strict=True)))

    def shared(value: Any) -> Any:
        if not isinstance(value, dict) or any(isinstance(part, dict | list) for part in value.values()):
            return made(value)  # what holds another record has no hash
        return of(tuple(value), *value.values())

    return shared


def _one_of(values: frozenset[str]) -> Hook:
    def one_of(value: Any) -> Any:
        if value not in values:
            raise ValueError(value)
        return value

    return one_of


def _either(hooks: list[Hook]) -> Hook:
    if len(hooks) == 1:
        return hooks[0]

    def either(value: Any) -> Any:
        for made in hooks:
            with suppress(TypeError):
                return made(value)
        raise TypeError(value)

    return either


def _listed(made: Hook) -> Hook:
    def listed(value: Any) -> Any:
        if type(value) not in (list, tuple):
            raise TypeError(value)
        return tuple([made(item) for item in value])

    return listed


def _mapped(made_key: Hook, made: Hook) -> Hook:
    @lru_cache(4096, typed=True)
    def name(key: Any) -> str:
        return sys.intern(made_key(key))  # the same names come up in every dog of a book: one copy of each serves all

    def mapped(value: Any) -> Any:
        if not isinstance(value, MAPPINGS):
            raise TypeError(value)
        return ReadOnly({name(key): made(part) for key, part in value.items()})

    return mapped
