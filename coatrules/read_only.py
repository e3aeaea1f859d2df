"""A mapping that nobody can change: what documents and answers hold, so that one dog's data never becomes another's."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NoReturn, TypeVar

K = TypeVar("K")
V = TypeVar("V")


class ReadOnly(dict[K, V]):
    """A dict that refuses every change. It pickles, copies, compares and goes into JSON as a dict does, and has a hash."""

    __slots__ = ()

    def _refuse(self, *_: object, **__: object) -> NoReturn:
        raise TypeError("this mapping is read-only; make a changed copy with dict(...)")

    __setitem__ = __delitem__ = clear = pop = popitem = setdefault = update = _refuse
    __ior__ = _refuse

    def __hash__(self) -> int:  # type: ignore[override]  # what cannot change can have one
        return hash(frozenset(self.items()))

    def __reduce__(self) -> tuple[type[ReadOnly[K, V]], tuple[dict[K, V]]]:
        return type(self), (dict(self),)


NOTHING: Mapping[Any, Any] = ReadOnly()
"""One for all that say nothing: a book has many."""


def read_only(mapping: Mapping[str, Any]) -> ReadOnly[str, Any]:
    """Returns the mapping itself where it is read-only, else a read-only copy: what fields of answers are made by."""
    return mapping if type(mapping) is ReadOnly else ReadOnly(mapping)


def frozen_plain(data: Any) -> Any:
    """Returns plain data with all its mappings read-only and its lists as tuples, at every depth."""
    if isinstance(data, Mapping):
        return ReadOnly({key: frozen_plain(value) for key, value in data.items()})
    if isinstance(data, list | tuple):
        return tuple(map(frozen_plain, data))
    return data
