"""What is asked for beside the dog, checked: the day, and the minutes there are."""

from __future__ import annotations

from datetime import date as Date
from datetime import datetime
from typing import SupportsFloat

from coatrules.formats.values import FIRST_DAY, LAST_DAY
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import CompiledProfile

LONGEST = 600
"""Minutes of the longest visit."""


def checked_day(said: object) -> Date:
    """The day asked for; raises ``InputError`` for text, for a moment, for all else that is no day and outside the years 1900 to 2199."""
    if isinstance(said, Date) and not isinstance(said, datetime):
        if FIRST_DAY <= said <= LAST_DAY:
            return said
        raise InputError([Problem(code="date-out-of-range", params={"value": said.isoformat()})])
    raise InputError([Problem(code="date", params={"value": repr(said)})])


def checked_minutes(compiled: CompiledProfile, said: object) -> float:
    """The minutes asked for, the profile's usual visit where nothing is said; raises ``InputError`` for what is no visit."""
    minutes = compiled.profile.visit.minutes if said is None else said
    if isinstance(minutes, bool) or not isinstance(minutes, SupportsFloat):  # as text is not
        raise InputError([Problem(code="minutes-not-a-number", params={"value": repr(minutes), "most": LONGEST})])
    found = float(minutes)
    if not 0 < found <= LONGEST:
        raise InputError([Problem(code="minutes", params={"minutes": found, "most": LONGEST})])
    return found
