"""Plain data into frozen values, strictly: nothing is coerced, nothing unknown passes.

The fast road for documents that are right. What it refuses is explained by ``schema_faults`` from the JSON Schema; a property
test holds the two to the same verdict.
"""

from __future__ import annotations

import types
from collections.abc import Callable, Mapping
from contextlib import suppress
from datetime import date
from functools import cache
from typing import Annotated, Any, TypeVar, Union, get_args, get_origin

from attrs import fields, has
from cattrs import Converter
from cattrs.gen import make_dict_structure_fn, override

from coatrules.conditions import Condition
from coatrules.values import iso_date

T = TypeVar("T")


def _exact(kind: type) -> Callable[[Any, Any], Any]:
    def structure(value: Any, _: Any) -> Any:
        if type(value) is not kind:
            raise TypeError(value)
        return value

    return structure


def _float(value: Any, _: Any) -> float:
    if type(value) not in (int, float):
        raise TypeError(value)
    return float(value)


def _int(value: Any, _: Any) -> int:
    # JSON Schema counts 3.0 as an integer.
    if type(value) is float and value.is_integer():
        return int(value)
    if type(value) is not int:
        raise TypeError(value)
    return value


def _is_constrained(kind: Any) -> bool:
    return get_origin(kind) is Annotated


def _is_union(kind: Any) -> bool:
    return get_origin(kind) in (Union, types.UnionType)


def _is_optional(kind: Any) -> bool:
    return _is_union(kind) and type(None) in get_args(kind)


def _is_list(kind: Any) -> bool:
    return get_origin(kind) is tuple


def _is_mapping(kind: Any) -> bool:
    return get_origin(kind) in (dict, Mapping)


@cache
def converter() -> Converter:
    """The one strict converter, made when first asked for."""
    made = Converter(forbid_extra_keys=True, detailed_validation=False)

    def constrained(kind: Any) -> Callable[[Any, Any], Any]:
        inner, *checks = get_args(kind)
        structure = made.get_structure_hook(inner)
        tests = tuple(check.check for check in checks)

        def hook(value: Any, _: Any) -> Any:
            result = structure(value, inner)
            for test in tests:
                test(result)
            return result

        return hook

    def optional(kind: Any) -> Callable[[Any, Any], Any]:
        inner: Any = Union.__getitem__(tuple(k for k in get_args(kind) if k is not type(None)))
        structure = made.get_structure_hook(inner)
        # A key that is there must have a value: null is not one.
        return lambda value, _: structure(value, inner)

    def either(kind: Any) -> Callable[[Any, Any], Any]:
        hooks = [(k, made.get_structure_hook(k)) for k in get_args(kind)]

        def hook(value: Any, _: Any) -> Any:
            for inner, structure in hooks:
                with suppress(TypeError):
                    return structure(value, inner)
            raise TypeError(value)

        return hook

    def listed(kind: Any) -> Callable[[Any, Any], Any]:
        inner = get_args(kind)[0]
        structure = made.get_structure_hook(inner)

        def hook(value: Any, _: Any) -> Any:
            if type(value) not in (list, tuple):
                raise TypeError(value)
            return tuple([structure(item, inner) for item in value])

        return hook

    def mapped(kind: Any) -> Callable[[Any, Any], Any]:
        key, inner = get_args(kind)
        structure_key, structure = made.get_structure_hook(key), made.get_structure_hook(inner)

        def hook(value: Any, _: Any) -> Any:
            if not isinstance(value, Mapping):
                raise TypeError(value)
            return {structure_key(k, key): structure(v, inner) for k, v in value.items()}

        return hook

    def record(kind: Any) -> Callable[[Any, Any], Any]:
        names = {f.name: override(rename=f.metadata["key"]) for f in fields(kind) if "key" in f.metadata}
        hidden = {f.name: override(omit=True) for f in fields(kind) if not f.init or f.metadata.get("hidden")}
        overrides: dict[str, Any] = names | hidden
        made_for = make_dict_structure_fn(kind, made, _cattrs_detailed_validation=False, **overrides)
        least = getattr(kind, "LEAST_KEYS", 0)

        def hook(value: Any, _: Any) -> Any:
            if not isinstance(value, Mapping) or len(value) < least:
                raise TypeError(value)
            return made_for(value, kind)

        return hook

    for exact in (str, bool):
        made.register_structure_hook(exact, _exact(exact))
    made.register_structure_hook(float, _float)
    made.register_structure_hook(int, _int)
    made.register_structure_hook(date, lambda value, _: iso_date(value))
    made.register_structure_hook_func(lambda kind: kind is object, lambda value, _: value)
    made.register_structure_hook(Condition, lambda value, _: Condition.parse(value))
    made.register_structure_hook_factory(has, record)
    made.register_structure_hook_factory(_is_mapping, mapped)
    made.register_structure_hook_factory(_is_list, listed)
    made.register_structure_hook_factory(_is_union, either)
    made.register_structure_hook_factory(_is_optional, optional)
    made.register_structure_hook_factory(_is_constrained, constrained)
    return made


def structure(data: object, kind: type[T]) -> T:
    """``data`` as a ``kind``; raises ``ValueError``, ``TypeError``, ``KeyError`` or another plain error if it does not fit."""
    return converter().structure(data, kind)
