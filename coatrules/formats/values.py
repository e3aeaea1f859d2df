"""The kinds of value that documents are made of: bounded numbers, ids, words, shares, dates."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from datetime import date
from functools import cache, lru_cache
from typing import Annotated, Any, Final, Literal, NamedTuple

MAPPINGS = (dict, Mapping)
"""For ``isinstance``: a plain dict is known at once, while ``Mapping`` alone is slow to ask for."""

TaskKind = Literal["card", "pull", "clip", "scissor", "comb"]
Level = Literal["low", "medium", "high"]
Outline = Literal[
    "terrier",
    "terrier-pricked",
    "terrier-half-pricked",
    "low-terrier",
    "low-terrier-dropped",
    "low-terrier-half-pricked",
    "long-and-low",
    "hound",
    "leggy-hound",
    "leggy-hound-pricked",
    "shepherd",
    "spaniel",
    "setter",
    "flat-nosed",
]
Reaction = Literal["calm", "unsettled", "stop"]


class Range(NamedTuple):
    """Bounds of a number; ``above`` excludes the lower one."""

    low: float
    high: float = float("inf")
    above: bool = False

    def check(self, value: float) -> None:
        if not (self.low < value if self.above else self.low <= value) or value > self.high:
            raise ValueError(value)


def matches(pattern: str, value: str) -> bool:
    """Whether a text matches a pattern of JSON Schema, in which ``$`` stands for the end only (ECMA-262, 22.2.2.4); Python's
    also lets a last line break pass."""
    return _compiled(pattern).search(value) is not None


def id_from_name(name: str) -> str:
    """Returns an id made of a name: small letters and digits, the words joined by hyphens; empty where it has none."""
    ascii_ = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub("[^a-z0-9]+", "-", ascii_).strip("-")


@cache
def _compiled(pattern: str) -> re.Pattern[str]:
    return re.compile(pattern[:-1] + r"\Z" if pattern.endswith("$") else pattern)


class Matches(NamedTuple):
    """A pattern that a text must match, as JSON Schema's ``pattern`` does."""

    pattern: str

    def check(self, value: str) -> None:
        if not matches(self.pattern, value):
            raise ValueError(value)


class Length(NamedTuple):
    """How many characters, items or keys are written there."""

    least: int
    most: int = 1_000_000

    def check(self, value: Any) -> None:
        if not self.least <= len(value) <= self.most:
            raise ValueError(value)


class NotBoth(NamedTuple):
    """Two keys that say the same in two ways."""

    one: str
    other: str

    def check(self, value: object) -> None:
        if getattr(value, self.one) is not None and getattr(value, self.other) is not None:
            raise ValueError(value)


class Key(NamedTuple):
    """What a field is called where it is written."""

    name: str


UNWRITTEN: Final = "unwritten"
"""Marks a field that no document has."""
EXTRAS: Final = "extras"
"""Marks the field that keeps the keys ``x-...`` of an object: another program's, handed back and never looked at."""
EXTRA: Final = "x-"
"""What such keys begin with."""
SHARED: Final = "shared"
"""Marks values of which there is one for all that say the same: a book says few things, often."""

NAMES: Final = "names"
"""Marks a list of names that may also be written as a mapping from each name to true, so that a profile can take names out of it."""

ID_PATTERN = "^[a-z][a-z0-9-]*$"
OPAQUE_PATTERN = r"^[^\u0000-\u001f\u007f-\u009f]*$"
FACT_PATTERN = "^[a-z][a-z0-9_]*$"
_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)

Id = Annotated[str, Matches(ID_PATTERN)]
IdPattern = Annotated[str, Matches("^[a-z*][a-z0-9*-]*$")]
"""An id, in which ``*`` stands for any number of characters."""
OpaqueId = Annotated[str, Length(1, 200), Matches(OPAQUE_PATTERN)] | Annotated[int, Range(-(2**63 - 1), 2**63 - 1)]
"""An id of another program, kept as it is: any text without control characters, or a whole number of 64 bits."""
Place = Annotated[str, Length(1, 400), Matches(r"^[a-z]\S*$")]
"""The path to a value of a profile as messages show it: ``layer_targets.jacket.take``."""
FactName = Annotated[str, Matches(FACT_PATTERN)]
Words = Annotated[str, Length(1, 2000)]
Share = Annotated[float, Range(0, 1)]
Points = Annotated[float, Range(-100, 100)]
Millimetres = Annotated[float, Range(0, 300)]
PositiveMillimetres = Annotated[float, Range(0, 300, above=True)]
Minutes = Annotated[float, Range(0, 600, above=True)]
Ids = Annotated[tuple[Id, ...], Length(1)]
Names = Annotated[tuple[Id, ...], Length(1), NAMES]
SourceOf = Id | Ids | Annotated[Mapping[FactName, Id], Length(1)]
"""Where an object's numbers come from: one source's id, several, or one for each key."""


FIRST_DAY: Final = date(1900, 1, 1)
LAST_DAY: Final = date(2199, 12, 31)
"""The days that documents may name: enough for any dog, and years of growth away from where Python's calendar ends."""


@lru_cache(maxsize=4096)  # the dogs of a book share their days
def iso_date(value: object) -> date:
    """A date from exactly ``YYYY-MM-DD``, or a date itself, as database drivers give it; raises ``ValueError`` for anything
    else, and outside the years 1900 to 2199."""
    if type(value) is date:
        day = value
    elif isinstance(value, str) and _DATE.fullmatch(value):
        day = date.fromisoformat(value)
    else:
        raise ValueError(value)
    if not FIRST_DAY <= day <= LAST_DAY:
        raise ValueError(value)
    return day
