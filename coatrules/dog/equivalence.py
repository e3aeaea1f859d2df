"""Work done once for all that are alike: most of a dog's regions are, and what holds for one holds for the others."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeVar

V = TypeVar("V")


def once_per_class(marks: Mapping[str, object], make: Callable[[str], V]) -> dict[str, V]:
    """What is made of each name; names of one mark share what is made of the first. A mark must be hashable."""
    made: dict[object, V] = {}
    found = {}
    for name, mark in marks.items():
        if mark not in made:
            made[mark] = make(name)
        found[name] = made[mark]
    return found
