"""Documents back into plain data by cattrs: they tell what somebody wrote, and leave out defaults."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from datetime import date
from functools import cache
from typing import Any

from attrs import fields, has
from cattrs import Converter
from cattrs.gen import make_dict_unstructure_fn, override

from coatrules.conditions.condition import Condition
from coatrules.formats.structure import extras_field, written


def document_data(value: object) -> Any:
    """A value of a document as its schema has it: keys as they are written, defaults left out, whole numbers whole."""
    return _documents().unstructure(value)


@cache
def _documents() -> Converter:
    made = base_converter()
    made.register_unstructure_hook(float, lambda value: int(value) if float(value).is_integer() else value)
    made.register_unstructure_hook(Condition, lambda value: json.loads(value.text))

    def record(kind: Any) -> Callable[[Any], Any]:
        named = {field: key for key, (field, _) in written(kind).items()}
        own: dict[str, Any] = {
            a.name: override(omit=a.name not in named, rename=named.get(a.name)) for a in fields(kind)
        }
        plain: Callable[[Any], Any] = make_dict_unstructure_fn(kind, made, _cattrs_omit_if_default=True, **own)
        extras = extras_field(kind)
        if extras is None:
            return plain
        return lambda value: {**plain(value), **thawed(getattr(value, extras))}

    made.register_unstructure_hook_factory(has, record)
    return made


def thawed(data: Any) -> Any:
    """Returns read-only plain data as dicts and lists, at every depth."""
    if isinstance(data, Mapping):
        return {key: thawed(value) for key, value in data.items()}
    return [thawed(value) for value in data] if isinstance(data, list | tuple) else data


def base_converter() -> Converter:
    """What every way out shares: tuples as lists, dates as ISO 8601 text."""
    made = Converter(unstruct_collection_overrides={tuple: list})
    made.register_unstructure_hook(date, date.isoformat)
    return made
