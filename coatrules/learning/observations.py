"""What is written of a dog's hair and tells of its pace, its final length and the age it arrived with.

Each kind of record is a value with the hair it is about. Hair of a known age says the weeks since its pull; hair the dog
arrived with names its arrival group and says the weeks since the arrival. A record of many regions is given once for
each of them with ``weight`` 1 over their number. ``day`` and ``visit`` say where it was written and tell nothing.
"""

from __future__ import annotations

from functools import lru_cache
from math import comb, exp, log
from typing import Literal, NamedTuple

from coatrules.coat.growth import Growth

Verdict = Literal["easily", "mixed", "holds"]

STEPS = 100  # factors of a ripe share are read from a table of so many steps
EASILY_FROM, HOLDS_UP_TO, BLUR = 0.7, 0.3, 0.08  # between these a hand says mixed; how surely it tells. No source
GROWING_COMES = 0.3  # of growing hair that is asked for, what comes after all. No source
TRIED = 10  # a share that came of the share asked is as sure as so many tries
_LEAST = 1e-12


class Arrival(NamedTuple):
    """A group of regions of one kind of hair that arrived alike, at an age that nobody wrote down.

    cycle: how their hair grows. dog_weeks: the dog's own age then in weeks, if known: no hair is older.
    """

    cycle: Growth
    dog_weeks: float | None = None


class Part(NamedTuple):
    """A cohort's part of a sample of hair.

    weeks: since its pull, or since the arrival of the group ``arrived``. share: of the sample (0 to 1). kept: what is left
    of the cohort since its pull (above 0, at most 1), the rest having ripened first.
    """

    weeks: float
    share: float = 1.0
    kept: float = 1.0
    arrived: str | None = None


class Length(NamedTuple):
    """The longest hair of a region, measured. at_end: it stands still, or its root is faded."""

    region: str
    cycle: Growth
    weeks: float
    length_mm: float
    at_end: bool = False
    arrived: str | None = None
    weight: float = 1.0
    day: int = 0
    visit: int = -1


class AtLeast(NamedTuple):
    """Hair that is ``length_mm`` or more: a measure that ended there, hair cut at that length, trimmed tips."""

    region: str
    cycle: Growth
    weeks: float
    length_mm: float
    arrived: str | None = None
    weight: float = 1.0
    day: int = 0
    visit: int = -1


class Layers(NamedTuple):
    """Layers counted: the bounds of the region's pace that show as many. error: of the pace, by which hair is noticed."""

    region: str
    cycle: Growth
    layers: int
    least: float
    most: float
    error: float
    weight: float = 1.0
    day: int = 0
    visit: int = -1


class Felt(NamedTuple):
    """The hand's verdict on the oldest tenth of a region."""

    region: str
    cycle: Growth
    comes: Verdict
    tenth: tuple[Part, ...]
    weight: float = 1.0
    day: int = 0
    visit: int = -1


class Came(NamedTuple):
    """What came of the hair that was asked for: ``share`` (0 to 1) of it."""

    region: str
    cycle: Growth
    share: float
    asked: tuple[Part, ...]
    weight: float = 1.0
    day: int = 0
    visit: int = -1


Observation = Length | AtLeast | Layers | Felt | Came


@lru_cache(maxsize=16)
def verdict_table(comes: Verdict) -> tuple[float, ...]:
    """Returns the logarithm of the chance of a verdict at each of 101 ripe shares from 0 to 1."""
    chances = []
    for step in range(STEPS + 1):
        share = step / STEPS
        easily = 1 / (1 + exp(-(share - EASILY_FROM) / BLUR))
        holds = 1 / (1 + exp(-(HOLDS_UP_TO - share) / BLUR))
        chances.append({"easily": easily, "holds": holds, "mixed": 1 - easily - holds}[comes])
    return tuple(log(max(chance, _LEAST)) for chance in chances)


@lru_cache(maxsize=16)
def came_table(tenths: int) -> tuple[float, ...]:
    """Returns the logarithm of the chance that so many of ten tries come, at each of 101 ripe shares from 0 to 1."""
    chances = []
    for step in range(STEPS + 1):
        comes = GROWING_COMES + (1 - GROWING_COMES) * step / STEPS
        chances.append(comb(TRIED, tenths) * comes**tenths * (1 - comes) ** (TRIED - tenths))
    return tuple(log(max(chance, _LEAST)) for chance in chances)


@lru_cache(maxsize=1)
def end_table() -> tuple[float, ...]:
    """Returns the logarithm of each of 101 ripe shares: hair that is seen at its end has stopped."""
    return tuple(log(max(step, 0.5) / STEPS) for step in range(STEPS + 1))
