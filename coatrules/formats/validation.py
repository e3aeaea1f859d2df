"""The strict way in: plain data as a frozen value, or every fault with its place; and how much a document may hold."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, TypeVar

from coatrules.catalogue.message import Message
from coatrules.formats.documents import Origin
from coatrules.formats.structure import structure
from coatrules.formats.values import MAPPINGS
from coatrules.problems import InputError, Problem

T = TypeVar("T")
MOST = {"visits": 1000, "regions": 200, "groups": 500, "rules": 500, "methods": 500, "cases": 500}
"""How many a document may hold."""
MOST_PARTS = 50_000
_SCALARS = frozenset((str, int, float, bool, type(None)))
_CONTAINERS = (list, tuple, *MAPPINGS)


def structured(data: Any, kind: type[T], name: str, origin: Origin) -> T:
    """``data`` as a ``kind``; raises ``InputError`` with every fault against the packaged schema ``name``."""
    if problems := list(_too_much(data, origin)):
        raise InputError(problems)
    try:
        return structure(data, kind)
    except Exception as error:  # whatever the strict road refuses, the schema explains
        from coatrules.formats.schema_faults import explain

        problems = explain(name, data, origin)
        raise InputError(problems or [origin.problem_at((), "structure", {"error": str(error)})]) from error


def _too_much(data: Any, origin: Origin) -> Iterator[Problem]:
    """What is far beyond any dog and any profile, so that nothing of it need be looked at."""
    for key, most in MOST.items() if isinstance(data, Mapping) else ():
        held = data.get(key)
        if isinstance(held, Mapping | list | tuple) and len(held) > most:
            yield origin.problem_at((key,), "too-many", {"key": key, "entries": len(held), "most": most}, key=True)
    parts, containers = 0, [data] if isinstance(data, _CONTAINERS) else []
    while containers:
        parts += sum(map(len, containers))
        if parts > MOST_PARTS:
            yield origin.problem_at((), "too-many-values", {"most": MOST_PARTS})
            return
        containers = [
            inner
            for outer in containers
            for inner in (outer.values() if isinstance(outer, MAPPINGS) else outer)
            if type(inner) not in _SCALARS and isinstance(inner, _CONTAINERS)
        ]


def empty_file(file: str, fix: Message) -> InputError:
    """Returns what to raise where a file holds nothing."""
    return InputError([Problem(code="empty", file=file, line=1, column=1, fix=fix)])
