"""Values that are equal where their fields are, and show them; once for all classes."""

from __future__ import annotations

from typing import Any

from attrs import Attribute, fields


class ByFields:
    """A base for frozen attrs classes with ``eq=False, repr=False``: attrs would write and compile each class its own ways
    to compare and show, which is half of what making a class takes, at every start.

    A field with ``eq=False`` neither counts nor shows.
    """

    __slots__ = ()

    def __eq__(self, other: object) -> bool:
        return _told(self) == _told(other) if other.__class__ is self.__class__ else NotImplemented

    def __hash__(self) -> int:
        return hash(_told(self))

    def __repr__(self) -> str:
        shown = [f"{own.name}={getattr(self, own.name)!r}" for own in _counting(self)]
        return f"{type(self).__name__}({', '.join(shown)})"


def _told(value: Any) -> tuple[object, ...]:
    return tuple([getattr(value, own.name) for own in _counting(value)])


def _counting(value: Any) -> list[Attribute[Any]]:
    return [own for own in fields(type(value)) if own.eq]
