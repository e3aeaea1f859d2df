"""The targets that hold on each day of a plan: those with ``if`` come and go with the time of the year and the dog itself.

All that such a condition may ask for (``profile.targets.TARGET_FACTS``) is known ahead; nothing of it is read off the coat.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date as Date
from itertools import pairwise
from typing import Final

from attrs import field, frozen

from coatrules.dog.history import History
from coatrules.dog.regime import worked_by
from coatrules.profile.compiled import CompiledProfile, compile_profile
from coatrules.profile.model import LayerTarget, Profile, Take

NO_TARGET: Final = LayerTarget(regions=(), layers=0, take=Take(usual=0.0, at_most=0.0))
"""Of a region of which nothing is wanted on a day."""


@frozen(eq=False)
class TargetsByDay:
    """A profile made ready for each of some days (ordinals), with the targets alone that hold on it."""

    compiled: Mapping[int, CompiledProfile]
    distinct: tuple[CompiledProfile, ...] = field(init=False)
    """The profile with each set of targets once, as they come to hold."""

    @distinct.default
    def _distinct(self) -> tuple[CompiledProfile, ...]:
        return tuple({id(compiled): compiled for compiled in self.compiled.values()}.values())

    def of(self, region: str, day: int) -> LayerTarget:
        """Returns what is wanted of a region on a day."""
        return self.compiled[day].regions[region].hand or NO_TARGET

    def ids(self, region: str) -> tuple[str | None, ...]:
        """Returns the id of a region's target in each of ``distinct``; None where nothing is wanted of it."""
        return tuple([compiled.regions[region].target_id for compiled in self.distinct])

    def changes(self, days: Iterable[int]) -> tuple[Date, ...]:
        """Returns those of the days (rising) on which other targets hold than on the one before."""
        return tuple(
            Date.fromordinal(day) for before, day in pairwise(days) if self.compiled[day] is not self.compiled[before]
        )


def targets_by_day(profile: Profile, history: History, days: Iterable[int]) -> TargetsByDay:
    """Returns the targets of a profile that hold for a dog on each of the days (ordinals)."""
    return TargetsByDay(
        {day: compile_profile(worked_by(profile, history, Date.fromordinal(day))) for day in sorted(set(days))}
    )
