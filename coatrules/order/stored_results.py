"""Results from the plain data they were stored as, by this version or an earlier one, as ``stored`` reads orders."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date as Date
from functools import cache
from typing import Any, TypeVar, get_args

from cattrs import Converter

from coatrules.catalogue.message import Message
from coatrules.catalogue.plain_data import day_of, message_of, value_of
from coatrules.conditions.condition import Miss
from coatrules.dog.history import History
from coatrules.formats.structure import exact
from coatrules.order.explanation import Explanation, RuleTrace
from coatrules.order.stored import order_of, read_back
from coatrules.problems import Problem
from coatrules.read_only import ReadOnly

T = TypeVar("T")


def stored_explanation(data: Mapping[str, Any]) -> Explanation:
    """Returns the explanation that ``Explanation.to_dict`` made the data of; raises ``InputError`` for any other data."""
    return read_back(_explanation, data, "explanation")


Part = Callable[[Mapping[str, Any]], dict[str, Any]]
"""Takes from plain data the fields of a result that stand together in them."""


def stored_result(kind: type[T], data: Mapping[str, Any], schema: str, *parts: Part) -> T:
    """Returns a result whose plain data have the names of its fields; raises ``InputError`` for what is none by ``schema``.
    ``parts``: fields that stand together in the data."""

    def read(plain: Mapping[str, Any]) -> T:
        fields = dict(plain)
        for part in parts:
            fields |= part(plain)
        return _converter().structure(fields, kind)

    return read_back(read, data, schema)


def stored_part(name: str, *keys: str) -> Part:
    """Returns what takes ``profile_id`` from ``id`` under ``profile``, and so on."""
    return lambda plain: {f"{name}_{key}": plain[name][key] for key in keys}


def _explanation(data: Mapping[str, Any]) -> Explanation:
    return Explanation(
        order=order_of(data["order"]),
        region=data["region"],
        rules=tuple(map(_trace, data["rules"])),
        elsewhere=tuple(data["elsewhere"]),
    )


def _trace(data: Mapping[str, Any]) -> RuleTrace:
    return RuleTrace(
        rule=data["rule"],
        because=data["because"],
        sources=tuple(map(message_of, data["sources"])),
        facts=dict(value_of(data["facts"])),
        misses=tuple(
            Miss(
                fact=miss["fact"],
                value=value_of(miss["value"]),
                wanted=message_of(miss["wanted"]),
                absent=miss["absent"],
            )
            for miss in data["misses"]
        ),
    )


@cache
def _converter() -> Converter:
    """Reads what ``plain_data`` wrote."""
    made = Converter(detailed_validation=False)
    for kind, read in (
        (Date, day_of),
        (Message, message_of),
        (Problem, Problem.from_dict),
        (History, History.from_dict),
        (float, _number),
        (int, exact(int)),
        (str, exact(str)),
    ):
        made.register_structure_hook(kind, lambda data, _, read=read: read(data))
    made.register_structure_hook(str | int, lambda data, _: data)
    made.register_structure_hook_func(lambda kind: kind is Any, lambda data, _: data)
    made.register_structure_hook_func(
        lambda kind: getattr(kind, "__origin__", None) is Mapping,
        lambda data, kind: ReadOnly(
            {
                key: made.structure(inner, get_args(kind)[1]) for key, inner in data.items()
            }  # of any other data: an error
        ),
    )
    return made


def _number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError(value)
    return float(value)
