"""What a region's coat allows on the days of a plan, as places in its queue of hair.

Pulling takes from the front of the queue and puts back at its end, so every question of a plan ("which hair is ready on
that day?") has one place as its answer: all hair before it is, all hair behind it is not. A place is a share of today's
coat plus all that was pulled up to some visit of the plan, which makes every question linear in the shares pulled.

The planner takes only hair that is ready and long enough to hide the skin: then the cover that is left is linear too. It
differs from "ready" only where a coat is ready before it covers.
"""

from __future__ import annotations

from bisect import bisect_right
from functools import cached_property
from typing import NamedTuple

from attrs import frozen

from coatrules.coat import (
    HORIZON_DAYS,
    WHOLE,
    Coat,
    Cohort,
    Growth,
    days_to_age,
    days_until_longer,
    days_until_pull_possible,
    hair_lengths,
    mass_longer,
    standing,
)

_FRESH = Coat((Cohort(WHOLE, 0),))
_TINY = 1e-9


class Mark(NamedTuple):
    """A place in the queue: ``share`` of today's coat, and all that is pulled up to visit ``after`` (from 1; 0: none)."""

    share: float
    after: int


class CoverLeft(NamedTuple):
    """Cover straight after a visit: ``constant`` + sum of weight * all that is pulled up to that visit (from 1)."""

    constant: float
    weights: tuple[tuple[int, float], ...]


@frozen(slots=False, eq=False)  # the cached properties need a place to stay
class Hair:
    """One region's coat on the day a plan is made, how it grows, and the days (ordinals, rising) it is worked on."""

    coat: Coat
    growth: Growth
    pace: float
    visits: tuple[int, ...]

    def ready(self, day: int) -> Mark:
        """The end of the hair that may be pulled on ``day``."""
        lengths = self._lengths(day)
        covering = sum(c.mass for c, mm in zip(self.coat.cohorts, lengths, strict=True) if mm >= self._hides_from)
        ripe = round(standing(self.coat, self.growth, self.pace, day).ready_share * WHOLE)
        return self._mark(min(ripe, covering), day, self._ready_wait)

    def late(self, day: int, longest_mm: float) -> Mark:
        """The end of the hair that is blown or longer than ``longest_mm`` on ``day``."""
        grows_past = days_until_longer(_FRESH, self.growth, self.pace, 0, longest_mm)
        wait = self._blown_wait if grows_past is None else min(self._blown_wait, grows_past)
        return self._mark(mass_longer(self.coat, self.growth, self.pace, day, longest_mm), day, wait)

    def as_long(self, day: int, mm: float) -> Mark:
        """The end of the hair that is ``mm`` (0 to full grown) or longer on ``day``."""
        lengths = self._lengths(day)
        old = sum(c.mass for c, length in zip(self.coat.cohorts, lengths, strict=True) if length >= mm - _TINY)
        return self._mark(old, day, days_to_age(self.growth.age_at(mm) - _TINY, self.pace))

    def cover_left(self, visit: int) -> CoverLeft:
        """The cover straight after ``visit`` (from 1), as long as no more is pulled than ``ready`` allows."""
        growth, day = self.growth, self.visits[visit - 1]
        grown = [growth.length(self.pace * (day - pulled) / 7) for pulled in self.visits[: visit - 1]]
        hides = [min(1.0, mm / growth.cover_mm) for mm in (*self._lengths(day), *grown)]
        # A coat that hides so much up to each place is a sum of steps down, each step at one place.
        constant, reached = 0.0, 0
        weights = {visit: -hides[0]}
        for place, (here, behind) in enumerate(zip(hides, [*hides[1:], 0.0], strict=True)):
            after = max(0, place + 1 - len(self.coat.cohorts))
            reached += 0 if after else self.coat.cohorts[place].mass
            constant += (here - behind) * (reached / WHOLE)
            if after:
                weights[after] = weights.get(after, 0.0) + here - behind
        return CoverLeft(constant, tuple((after, weight) for after, weight in weights.items() if weight))

    def cover_untouched(self, day: int) -> float:
        """The cover on ``day`` if nothing is pulled before."""
        return standing(self.coat, self.growth, self.pace, day).cover

    def _lengths(self, day: int) -> list[float]:
        return hair_lengths(self.coat, self.growth, self.pace, day)

    def _mark(self, old: int, day: int, wait: int) -> Mark:
        """``old`` of today's coat; where that is all, also what was pulled ``wait`` days before ``day`` or earlier."""
        return Mark(old / WHOLE, bisect_right(self.visits, day - wait) if old == WHOLE else 0)

    @cached_property
    def _hides_from(self) -> float:
        return self.growth.cover_mm - _TINY

    @cached_property
    def _ready_wait(self) -> int:
        ripe = days_until_pull_possible(_FRESH, self.growth, self.pace, 0, WHOLE, 0.0)
        return max(HORIZON_DAYS if ripe is None else ripe, days_to_age(self.growth.age_at(self._hides_from), self.pace))

    @cached_property
    def _blown_wait(self) -> int:
        return days_to_age(self.growth.blown_weeks, self.pace)
