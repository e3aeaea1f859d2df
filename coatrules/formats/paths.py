"""Plain data by paths: what is there, and the data with something else there."""

from __future__ import annotations

from typing import Any, Final

from coatrules.formats.values import MAPPINGS
from coatrules.problems import Path

_NOTHING: Final = object()


def has(data: Any, path: Path) -> bool:
    """Whether there is anything at a path, were it null."""
    return value_at(data, path, _NOTHING) is not _NOTHING


def value_at(data: Any, path: Path, otherwise: Any = None) -> Any:
    """Returns the value at a path; ``otherwise`` where there is none."""
    for step in path:
        try:
            data = data[step]
        except (LookupError, TypeError):
            return otherwise
    return data


def with_value(data: Any, path: Path, value: Any) -> Any:
    """Returns the data with another value at a path."""
    if not path:
        return value
    if isinstance(data, list | tuple) and isinstance(path[0], int) and path[0] < len(data):
        return [with_value(one, path[1:], value) if index == path[0] else one for index, one in enumerate(data)]
    if isinstance(data, MAPPINGS) or data is None:
        inner = dict(data or {})
        inner[path[0]] = with_value(inner.get(path[0]), path[1:], value)
        return inner
    return data
