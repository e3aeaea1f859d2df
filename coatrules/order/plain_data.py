"""Results into plain data for JSON by cattrs: every field is told, numbers to four places. Imported only where something is written out."""

from __future__ import annotations

from datetime import date
from functools import cache
from typing import Any

from cattrs import Converter
from cattrs.cols import is_namedtuple, namedtuple_dict_unstructure_factory

from coatrules.catalogue.message import Message
from coatrules.catalogue.plain_data import message_data
from coatrules.formats.unstructure import base_converter
from coatrules.order.reasons import Reason
from coatrules.problems import Problem
from coatrules.read_only import ReadOnly

_AS_IS = frozenset((str, int, bool, type(None)))


def result_data(value: Any) -> Any:
    """A value of a result as plain data: dates as ISO 8601 text, tuples as lists, numbers to four places."""
    kind = type(value)
    if kind in _AS_IS:
        return value
    if kind is float:
        return round(value, 4)
    if kind is dict or kind is ReadOnly:
        return {
            # Most values need no call of their own.
            name: inner if (kind := type(inner)) in _AS_IS else round(inner, 4) if kind is float else result_data(inner)
            for name, inner in value.items()
        }
    if kind is tuple or kind is list:
        return [inner if type(inner) in _AS_IS else result_data(inner) for inner in value]
    if kind is date:
        return value.isoformat()
    if kind is Message:
        return message_data(value)
    if kind is Reason:
        own = {"own": True} if value.own else {}
        return {"rule": value.rule, "text": value.text, "facts": result_data(value.facts)} | own
    return _results().unstructure(value)


@cache
def _results() -> Converter:
    made = base_converter()
    made.register_unstructure_hook(float, lambda value: round(value, 4))
    made.register_unstructure_hook_factory(is_namedtuple, lambda kind: namedtuple_dict_unstructure_factory(kind, made))
    made.register_unstructure_hook(Reason, result_data)
    made.register_unstructure_hook(Message, message_data)
    made.register_unstructure_hook(Problem, Problem.to_dict)
    return made
