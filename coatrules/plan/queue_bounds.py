"""What a region's coat allows on the days of a plan, as positions in its queue of hair.

Pulling takes from the front of the queue and puts back at its end, so every question of a plan ("which hair is ready on
that day?") has one position as its answer: all hair before it is, all hair behind it is not. A position is a share of today's
coat plus all that was pulled up to some visit of the plan, which makes every question linear in the shares pulled.

The planner takes only hair that is ready and long enough to hide the skin: then the cover that is left is linear too. It
differs from "ready" only where a coat is ready before it covers.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from functools import cached_property
from typing import NamedTuple

from attrs import frozen

from coatrules.coat.growth import Growth, days_to_age, ripening_days
from coatrules.coat.measures import (
    days_until_longer,
    days_until_ready,
    hair_lengths,
    overgrown_masses,
    standing,
    surface,
)
from coatrules.coat.queue import WHOLE, Coat, fresh
from coatrules.coat.ripening import HORIZON_DAYS

_FRESH = Coat((fresh(WHOLE, 0),))
_TINY = 1e-9


class QueueBound(NamedTuple):
    """A position in the queue: ``share`` of today's coat, and all that is pulled up to visit ``after`` (from 1; 0: none)."""

    share: float
    after: int


class CoverLeft(NamedTuple):
    """Cover straight after each visit from ``first`` (from 0) on: ``constant``, an entry a visit, and the terms of the work.

    A term is an entry of each of the rest: at the visit in ``visits`` (from 0) it adds its weight * all that is pulled up to
    the visit in ``after`` (from 1).
    """

    first: int
    constant: Sequence[float]
    visits: Sequence[int]
    after: Sequence[int]
    weights: Sequence[float]


@frozen(slots=False, eq=False)  # the cached properties need a place to stay
class Hair:
    """One region's coat on the day a plan is made, how it grows, and the days (ordinals, rising) it is worked on.

    What is ready, overgrown or covering stays so if it is not pulled: each is looked for only until all of the coat is.
    """

    coat: Coat
    growth: Growth
    pace: float
    visits: tuple[int, ...]

    def ready(self) -> list[QueueBound]:
        """At each visit the end of the hair that may be pulled."""

        def ripe(day: int) -> int:
            lengths = hair_lengths(self.coat, self.growth, self.pace, day)
            covering = sum(c.mass for c, mm in zip(self.coat.cohorts, lengths, strict=True) if mm >= self._hides_from)
            return min(round(standing(self.coat, self.growth, self.pace, day).ready_share * WHOLE), covering)

        ready_after = days_until_ready(_FRESH, self.growth, self.pace, 0, WHOLE)
        return self._bounds(
            self.visits, ripe, max(HORIZON_DAYS if ready_after is None else ready_after, self.hides_after)
        )

    def overgrown(self, days: Sequence[int], longest_mm: float) -> list[QueueBound]:
        """On each of the days (rising) the end of the hair that is loose or longer than ``longest_mm``.

        Hair of one day comes loose one after the other, and hands take what is loose of it first: older hair that still
        holds goes before it. Of hair pulled at one of the visits all counts once the first is loose: how much is left of
        what was taken in part before is not linear in that.
        """
        growth, pace = self.growth, self.pace
        grows_past = days_until_longer(_FRESH, growth, pace, 0, longest_mm)
        loosens = ripening_days(growth, pace).loosens + 1
        wait = loosens if grows_past is None else min(loosens, grows_past)

        def end(day: int) -> int:
            masses = overgrown_masses(self.coat, growth, pace, day, longest_mm)
            last = max((at for at, mass in enumerate(masses) if mass), default=None)
            return 0 if last is None else sum([c.mass for c in self.coat.cohorts[:last]]) + masses[last]

        return self._bounds(days, end, wait, at_once=wait == grows_past)

    def as_long(self, day: int, mm: float) -> QueueBound:
        """The end of the hair that is ``mm`` (0 to full grown) or longer on ``day``."""

        def old(day: int) -> int:
            lengths = hair_lengths(self.coat, self.growth, self.pace, day)
            return sum(c.mass for c, length in zip(self.coat.cohorts, lengths, strict=True) if length >= mm - _TINY)

        return self._bounds((day,), old, days_to_age(self.growth.age_at(mm) - _TINY, self.pace))[0]

    def covered(self, at_least: Sequence[float]) -> list[bool]:
        """Whether the cover is at least so much at each visit if nothing is pulled before."""
        covered: list[bool] = []
        most = max(at_least)
        for wanted, day in zip(at_least, self.visits, strict=True):
            cover = surface(self.coat, self.growth, self.pace, day).cover
            if cover >= most:  # and so it stays
                return [*covered, *[True] * (len(self.visits) - len(covered))]
            covered.append(cover >= wanted)
        return covered

    def cover_left(self, first: int) -> CoverLeft:
        """The cover straight after each visit from ``first`` on (from 0), as long as no more is pulled than ``ready`` allows."""
        constant: list[float] = []
        of_visit: list[int] = []
        after: list[int] = []
        weights: list[float] = []
        coat, growth, pace, visits = self.coat, self.growth, self.pace, self.visits
        cover_mm, hides = growth.cover_mm, dict[int, float]()  # so many days after its pull
        oldest = youngest = untouched = 0.0
        for visit_index, day in enumerate(visits[first:], first):
            if youngest < 1.0:
                lengths = hair_lengths(coat, growth, pace, day)
                oldest, youngest = min(1.0, lengths[0] / cover_mm), min(1.0, lengths[-1] / cover_mm)
                untouched = surface(coat, growth, pace, day).cover
            constant.append(untouched)
            of_visit.append(visit_index)
            after.append(visit_index + 1)
            weights.append(-oldest)
            # From the front to the end of the queue hair hides less, in steps; each step is at one visit's position.
            cover_here = youngest
            for number in range(
                bisect_right(visits, day - self.hides_after) if cover_here == 1.0 else 0, visit_index + 1
            ):
                days = day - visits[number]
                cover_behind = hides.get(days)
                if cover_behind is None:
                    cover_behind = hides[days] = min(1.0, growth.length(pace * days / 7) / cover_mm)
                if number and cover_here != cover_behind:
                    of_visit.append(visit_index)
                    after.append(number)
                    weights.append(cover_here - cover_behind)
                cover_here = cover_behind
        return CoverLeft(first, constant, of_visit, after, weights)

    def _bounds(
        self, days: Sequence[int], old: Callable[[int], int], wait: int, *, at_once: bool = True
    ) -> list[QueueBound]:
        """On each day ``old`` of today's coat; once that is all, also what was pulled ``wait`` days before.

        Of a coat that was never cut all is old ``wait`` days after its pull, if hair of one day gets so ``at_once``: what a
        cut shortened, or what gets so one after the other, is asked for.
        """
        of_today: list[QueueBound] = []
        for day in days:
            mass = old(day) if self.coat.cuts or not at_once else self._pulled_by(day - wait)
            if mass == WHOLE or (not at_once and bisect_right(self.visits, day - wait)):
                break
            of_today.append(QueueBound(mass / WHOLE, 0))
        return [*of_today, *[QueueBound(1.0, bisect_right(self.visits, day - wait)) for day in days[len(of_today) :]]]

    def _pulled_by(self, day: int) -> int:
        return sum([cohort.mass for cohort in self.coat.cohorts if cohort.day <= day])

    @cached_property
    def _hides_from(self) -> float:
        """The length from which hair hides all that it ever will: a dog's own hair may stop before it hides the skin whole."""
        return min(self.growth.cover_mm, self.growth.full_mm) - _TINY

    @cached_property
    def hides_after(self) -> int:
        """Days after which hair that was never cut hides all that it ever will."""
        return days_to_age(self.growth.age_at(self._hides_from), self.pace)
