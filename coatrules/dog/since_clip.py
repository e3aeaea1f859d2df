"""What was done with clipped hair since: whether it was stripped out whole, and how often, or pulled a share at a time."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import NamedTuple

from coatrules.coat.queue import WHOLE, Pull
from coatrules.dog.strippable import NEARLY_ALL

LET_GROW = 2
"""A clipped coat is let grow before so many whole strips, and may then be rolled: two or three bring most such coats back (published
for the Border Terrier)."""


class SinceClip(NamedTuple):
    """One region since it was last clipped to a length on ``day``. Days are ordinals, masses parts per million.

    strips: the days on which it was stripped out whole since. begun: mass that came in a strip that is not done. rolled: pulled a
    share at a time since the last of them all. pulled: all that came since.
    """

    day: int
    strips: tuple[int, ...] = ()
    begun: int = 0
    rolled: bool = False
    pulled: int = 0

    @property
    def old_hair(self) -> int:
        """The last day of which hair is still to be stripped out; what was pulled later is new hair."""
        return self.strips[-1] if self.strips else self.day

    @property
    def grows(self) -> bool:
        """Whether nothing is to be pulled before it can be stripped out whole."""
        return not self.rolled and len(self.strips) < LET_GROW

    def after(self, day: int, mass: int, *, of_strip: bool) -> SinceClip:
        """Returns the same after a pull on a day, ``of_strip`` where the visit was part of a whole strip."""
        if not mass:
            return self
        after = self._replace(pulled=self.pulled + mass)
        if mass < NEARLY_ALL * WHOLE and not of_strip:
            return after._replace(rolled=True)
        if self.begun + mass < NEARLY_ALL * WHOLE:
            return after._replace(begun=self.begun + mass)
        return after._replace(strips=(*self.strips, day), begun=0, rolled=False)


def since_clip(clipped: int, pulls: Iterable[Pull], strip_days: Collection[int]) -> SinceClip:
    """Returns what came of a region by all ``pulls`` since it was clipped; ``strip_days``: of visits that were part of a whole strip."""
    since = SinceClip(clipped)
    for pull in pulls:
        since = since.after(pull.day, pull.mass, of_strip=pull.day in strip_days)
    return since
