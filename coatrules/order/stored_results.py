"""Results from the plain data they were stored as, by this version or an earlier one, as ``stored`` reads orders."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date as Date
from functools import cache
from typing import Any, TypeVar, get_args

from cattrs import Converter

from coatrules.catalogue.message import Message
from coatrules.conditions.condition import Miss
from coatrules.dog.history import History
from coatrules.formats.structure import exact
from coatrules.order.explanation import Explanation, RuleTrace
from coatrules.order.stored import day_of, message_of, order_of, problem_of, read_back, value_of
from coatrules.problems import Problem
from coatrules.read_only import ReadOnly

T = TypeVar("T")


def stored_explanation(data: Mapping[str, Any]) -> Explanation:
    """Returns the explanation that ``Explanation.to_dict`` made the data of; raises ``InputError`` for any other data."""
    return read_back(_explanation, data, "explanation")


def stored_result(kind: type[T], data: Mapping[str, Any], schema: str) -> T:
    """Returns a result whose plain data have the names of its fields; raises ``InputError`` for what is none by ``schema``."""
    return read_back(lambda plain: _converter().structure(plain, kind), data, schema)


def stored_plan(kind: type[T], data: Mapping[str, Any]) -> T:
    """Returns what planning answered: in its data the dog and the profile stand together."""

    def flat(plain: Mapping[str, Any]) -> T:
        of = {f"{part}_{key}": plain[part][key] for part, key in _OF}
        return _converter().structure({**plain, **of}, kind)

    return read_back(flat, data, "plan")


_OF = (("dog", "id"), ("dog", "name"), ("profile", "id"), ("profile", "label"))


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
        (Problem, problem_of),
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
