"""What a visit is for, and for how long the dog may stand on the table: a day's time, less what is on record for it."""

from __future__ import annotations

from typing import NamedTuple

from coatrules.dog.safety import FIRST_VISIT_MINUTES, PUPPY_MINUTES, Stage, puppy, stage_of
from coatrules.dog.state import DogState
from coatrules.profile.compiled import CompiledProfile
from coatrules.profile.floor import DAY_MINUTES


class TableTime(NamedTuple):
    """``most``: minutes that the dog may stand on the table in a day; ``available``: there are today, work on record taken off."""

    stage: Stage
    most: float
    available: float


def table_time(compiled: CompiledProfile, state: DogState, asked: float) -> TableTime:
    """Returns the time there is where so many minutes are asked for."""
    first_coat = compiled.first_coat_weeks
    most = PUPPY_MINUTES if puppy(state.age_weeks, first_coat) else DAY_MINUTES
    available = max(0.0, min(asked, most - state.spent_minutes))
    stage = stage_of(state.age_weeks, first_coat, state.visits, min(asked, most))
    if stage == "practice":
        available = min(available, FIRST_VISIT_MINUTES)
    return TableTime(stage, most, available)
