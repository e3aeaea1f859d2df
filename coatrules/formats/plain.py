"""Plain data from other programs: held to what a file may say, as they come without having been read from one."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from datetime import date, datetime
from decimal import Decimal
from math import isfinite, nan
from numbers import Integral, Real
from typing import Any, SupportsFloat

from attrs import evolve

from coatrules.formats.values import MAPPINGS
from coatrules.problems import InputError, Path, Problem
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
_KINDS = frozenset((str, int, float, bool, type(None), Decimal, date, dict, list, tuple))
"""Python's own."""
_SHOWN = 60
"""Characters of a value that are shown."""


class Plain:
    """Data of another program, looked over once.

    Dates and finite decimals may stand where they are meant, as database drivers give them, but not under a key of somebody's own
    (``x-…``), which is handed on as it is. What is derived from one of Python's kinds (an enumeration of texts, a scalar of numpy)
    counts as that kind.
    """

    def __init__(self, data: Any) -> None:
        self._given = data
        self._derived = False

    @property
    def data(self) -> Any:
        """The data of Python's own kinds alone; itself where it was so. To be asked for after ``faults``."""
        return _of_own_kinds(self._given) if self._derived else self._given

    def faults(self) -> Iterator[Problem]:
        """What no file could hold, each with its path."""
        nodes = 0
        waiting: list[tuple[Path, Any]] = [((), self._given)]
        while waiting:
            path, value = waiting.pop()
            nodes += 1
            if nodes > MAX_NODES:
                yield Problem(code="too-many-values", params={"most": MAX_NODES})
                return
            kind = type(value)
            if kind not in _KINDS and (own := of_own_kind(value)) is not value:
                self._derived = True
                value, kind = own, type(own)
            if kind is str:
                yield from _text(value, path)
            elif kind is float or kind is Decimal:
                yield from _number(value, path)
            elif kind in _HARMLESS:
                continue
            elif kind is int:
                if abs(value) > MAX_WHOLE:
                    number = (
                        str(value) if value.bit_length() < 2 * MAX_WHOLE.bit_length() else "…"
                    )  # seldom text at all
                    yield Problem(code="number", params={"number": number, "most": MAX_WHOLE}, path=path)
            elif len(path) >= MAX_DEPTH:
                yield Problem(code="too-deep", params={"most": MAX_DEPTH}, path=path)
                return
            elif isinstance(value, MAPPINGS):
                for key, inner in value.items():
                    if isinstance(key, str):
                        if type(key) is not str:
                            self._derived = True
                            key = str.__str__(key)
                        problems = list(_text(key, (*path, key)))
                        if problems and problems[0].code == "broken-character":
                            yield evolve(problems[0], path=path)  # no path that holds the key could be written out
                            continue
                        yield from problems
                        waiting.append(((*path, key), inner))
            elif kind is list or kind is tuple:
                waiting += [((*path, number), inner) for number, inner in enumerate(value)]
            elif not isinstance(value, date) or _own(path):  # of a day the schema says whether it is expected
                yield Problem(code="value-type", params={"kind": kind.__name__}, path=path)


def of_own_kind(value: Any) -> Any:
    """A value that is derived from one of Python's kinds, or stands for one in numpy, as that; any other as it is."""
    if type(value) in _KINDS or isinstance(value, MAPPINGS):
        return value
    if isinstance(value, str):
        return str.__str__(value)
    if isinstance(value, list | tuple):
        return list(value)
    if isinstance(value, Decimal):
        return Decimal(value)
    if isinstance(value, Real):
        with suppress(OverflowError, TypeError, ValueError):  # to numpy a time between two days is an integer
            return int(value) if isinstance(value, Integral) else float(value)
    if isinstance(value, date):
        return value if isinstance(value, datetime) else date(value.year, value.month, value.day)
    if getattr(value, "shape", None) == ():  # numpy's true and false, and its days
        item = value.item()
        return item if type(item) in (bool, date) else value
    return value


def number_or_none(value: Any) -> float | None:
    """A number of any kind; None for what is none, as text and true are not, and NaN for one without end."""
    if type(of_own_kind(value)) is bool or not isinstance(value, SupportsFloat):
        return None
    try:
        return float(value)
    except TypeError:  # an array of several
        return None
    except (OverflowError, ValueError):  # an integer without end, a signalling NaN
        return nan


def checked_text(value: object) -> str:
    """A name or a text asked for, perhaps by a request from elsewhere; raises ``InputError`` for what is none."""
    if isinstance(value, str):
        return value
    raise InputError([Problem(code="not-text", params={"value": repr(value)[:_SHOWN]})])


def _of_own_kinds(data: Any) -> Any:
    if isinstance(data, MAPPINGS):
        return {of_own_kind(key): _of_own_kinds(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [_of_own_kinds(value) for value in data]
    return of_own_kind(data)


def _number(value: float | Decimal, path: Path) -> Iterator[Problem]:
    if type(value) is Decimal and _own(path):
        yield Problem(code="value-type", params={"kind": "Decimal"}, path=path)
    elif (type(value) is Decimal and value.is_nan()) or not isfinite(
        value
    ):  # of a signalling NaN it may not even be asked
        yield Problem(code="number-not-finite", params={"number": str(value)}, path=path)


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
