"""Documents back into plain data by cattrs: they tell what somebody wrote, and leave out defaults."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from functools import cache
from typing import Any

from cattrs import Converter
from cattrs.cols import is_namedtuple, namedtuple_dict_unstructure_factory
from cattrs.gen import override

from coatrules.formats.structure import written


def document_data(value: object) -> Any:
    """A value of a document as its schema has it: keys as they are written, defaults left out, whole numbers whole."""
    return _documents().unstructure(value)


@cache
def _documents() -> Converter:
    made = base_converter()
    made.register_unstructure_hook(float, lambda value: int(value) if value.is_integer() else value)

    def record(kind: Any) -> Callable[[Any], Any]:
        named = {field: key for key, (field, _) in written(kind).items()}
        own = {field: override(omit=field not in named, rename=named.get(field)) for field in kind._fields}
        return namedtuple_dict_unstructure_factory(kind, made, True, **own)

    made.register_unstructure_hook_factory(is_namedtuple, record)
    return made


def base_converter() -> Converter:
    """What every way out shares: tuples as lists, dates as ISO 8601 text."""
    made = Converter(unstruct_collection_overrides={tuple: list})
    made.register_unstructure_hook(date, date.isoformat)
    return made
