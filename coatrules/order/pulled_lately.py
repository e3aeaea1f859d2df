"""What was pulled in the days before: it counts towards the share of one visit, so that nobody is asked for that share twice."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from itertools import accumulate
from typing import NamedTuple

from coatrules.coat.queue import Coat, mass_of
from coatrules.dog.state import DogState
from coatrules.dog.whole_strip import GOES_ON_DAYS
from coatrules.profile.compiled import CompiledProfile
from coatrules.profile.model import LayerTarget


class Pulled(NamedTuple):
    """Hair that was pulled on one day (an ordinal): its mass in parts per million."""

    day: int
    mass: int


class Lately(NamedTuple):
    """What was pulled of a region lately, all 0 where nothing was. mass: what counts of it (parts per million). day: the last one (an
    ordinal) since which a third of it, or of the usual share, was pulled. judged: the day by whose coat the rest of the share is decided,
    which goes from the last pull to today as that counts for less."""

    mass: int = 0
    day: int = 0
    judged: int = 0


def counts_for(compiled: CompiledProfile, days: int) -> float:
    """Returns which part (0 to 1) of what was pulled so many days ago counts towards the share of a visit: for half the profile's interval
    all of it, then less every day, and nothing once the interval is over, so that no share is asked for all at once. In a long
    interval half is as long as a whole strip goes on: by then the new coat stands beside the old one (common practice, no source)."""
    half = min(3.5 * compiled.profile.visit.every_weeks, GOES_ON_DAYS)
    return min(max(2 - days / half, 0.0), 1.0)


def counted(compiled: CompiledProfile, target: LayerTarget, pulls: Sequence[Pulled], day: int) -> int:
    """Returns what counts of ``pulls`` (oldest first) towards the share of a visit on a ``day`` (an ordinal), in parts per million: no more
    than one visit may take."""
    parts = [counts_for(compiled, day - pull.day) for pull in pulls]
    mass = sum(pull.mass * part for pull, part in zip(pulls, parts, strict=True))
    return round(min(mass, mass_of(target.take.at_most) * parts[-1])) if parts else 0


def pulls_of(state: DogState, coat: Coat) -> list[Pulled]:
    """Returns what was pulled of a region's ``coat`` since the dog first came, as far as it was not pulled again."""
    first = state.day if state.first_visit is None else state.first_visit
    return [Pulled(cohort.day, cohort.mass) for cohort in coat.cohorts if cohort.day >= first]


def pulled_lately(
    compiled: CompiledProfile, state: DogState, target: LayerTarget, coat: Coat, day: int | None = None
) -> Lately:
    """Returns what counts of the hair that was pulled of a region's ``coat`` before a ``day`` (an ordinal; the state's where none is
    given)."""
    on = state.day if day is None else day
    lately = [pull for pull in pulls_of(state, coat) if counts_for(compiled, on - pull.day)]
    if not lately:
        return Lately()
    last = lately[-1].day
    taken = list(accumulate(pull.mass for pull in reversed(lately)))
    since = lately[-1 - bisect_left(taken, min(mass_of(target.take.usual), taken[-1]) / 3)].day
    judged = on - round((on - last) * counts_for(compiled, on - last))
    return Lately(counted(compiled, target, lately, on), since, judged)
