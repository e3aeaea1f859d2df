"""Plain data from other programs: held to what a file may say, as they come without having been read from one."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from math import isfinite
from typing import Any

from coatrules.formats.values import MAPPINGS
from coatrules.problems import Path, Problem
from coatrules.reading.source import (
    MAX_DEPTH,
    MAX_MARKS,
    MAX_NODES,
    MAX_SCALAR,
    MAX_WHOLE,
    hidden_character,
    too_many_marks,
)

_HARMLESS = frozenset((bool, type(None)))


def plain_faults(data: Any) -> Iterator[Problem]:
    """What no file could hold, each with its path. Dates and finite decimals may stand where they are meant, as database drivers
    give them, but not under a key of somebody's own (``x-…``), which is handed on as it is."""
    nodes = 0
    waiting: list[tuple[Path, Any]] = [((), data)]
    while waiting:
        path, value = waiting.pop()
        nodes += 1
        if nodes > MAX_NODES:
            yield Problem(code="too-many-values", params={"most": MAX_NODES})
            return
        kind = type(value)
        if kind is str:
            yield from _text(value, path)
        elif kind is Decimal and _own(path):
            yield Problem(code="value-type", params={"kind": kind.__name__}, path=path)
        elif kind is float or kind is Decimal:
            if not isfinite(value):
                yield Problem(code="number-not-finite", params={"number": str(value)}, path=path)
        elif kind in _HARMLESS:
            continue
        elif kind is int:
            if abs(value) > MAX_WHOLE:
                number = str(value) if value.bit_length() < 2 * MAX_WHOLE.bit_length() else "…"  # seldom text at all
                yield Problem(code="number", params={"number": number, "most": MAX_WHOLE}, path=path)
        elif len(path) >= MAX_DEPTH:
            yield Problem(code="too-deep", params={"most": MAX_DEPTH}, path=path)
            return
        elif isinstance(value, MAPPINGS):
            for key, inner in value.items():
                if type(key) is str:
                    yield from _text(key, (*path, key))
                    waiting.append(((*path, key), inner))
        elif kind is list or kind is tuple:
            waiting += [((*path, number), inner) for number, inner in enumerate(value)]
        elif _own(path):  # elsewhere the schema says what is expected
            yield Problem(code="value-type", params={"kind": kind.__name__}, path=path)


def _own(path: Path) -> bool:
    return any(isinstance(part, str) and part.startswith("x-") for part in path)


def _text(text: str, path: Path) -> Iterator[Problem]:
    if len(text) > MAX_SCALAR:
        yield Problem(code="text-too-long", params={"length": len(text), "most": MAX_SCALAR}, path=path[:-1])
    elif not text.isascii() and too_many_marks(text) is not None:
        yield Problem(code="combining-marks", params={"most": MAX_MARKS}, path=path)
    elif (hidden := hidden_character(text)) is not None:
        code = "broken-character" if "\ud800" <= hidden <= "\udfff" else "control-character"
        yield Problem(code=code, params={"codepoint": f"U+{ord(hidden):04X}"}, path=path)
