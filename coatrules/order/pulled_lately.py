"""What was pulled in the days before: it counts towards the share of one visit, so that nobody is asked for that share twice."""

from __future__ import annotations

from math import ceil
from typing import NamedTuple

from coatrules.coat.queue import Coat
from coatrules.dog.state import DogState
from coatrules.dog.whole_strip import GOES_ON_DAYS
from coatrules.profile.compiled import CompiledProfile


class Lately(NamedTuple):
    """The mass (parts per million) that was pulled of a region lately, and the last day (an ordinal) of it; 0 and 0 where none was."""

    mass: int = 0
    day: int = 0


def visit_days(compiled: CompiledProfile) -> int:
    """Returns how many days apart work is still that of one visit: less than half the profile's interval, by which calendar work is
    told apart, too (``decide``), and no longer than a whole strip goes on: by then the new coat stands beside the old one."""
    return min(ceil(3.5 * compiled.profile.visit.every_weeks) - 1, GOES_ON_DAYS)


def pulled_lately(compiled: CompiledProfile, state: DogState, coat: Coat, day: int | None = None) -> Lately:
    """Returns what was pulled of a region's ``coat`` at the visits that belong to the one of a ``day`` (an ordinal; the state's where
    none is given). Hair pulled before the dog first came is of no visit here."""
    on = state.day if day is None else day
    first = state.day if state.first_visit is None else state.first_visit
    lately = [cohort for cohort in coat.cohorts if cohort.day >= max(first, on - visit_days(compiled))]
    return Lately(sum(cohort.mass for cohort in lately), lately[-1].day) if lately else Lately()
