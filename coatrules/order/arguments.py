"""What is asked for beside the dog, checked: the day, and the minutes there are."""

from __future__ import annotations

from datetime import date as Date
from datetime import datetime

from coatrules.formats.plain import number_or_none
from coatrules.formats.values import FIRST_DAY, LAST_DAY
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import CompiledProfile

SHORTEST, LONGEST = 1, 600
"""Minutes of a visit."""


def checked_day(value: object) -> Date:
    """The day asked for; raises ``InputError`` for text, for a moment, for all else that is no day and outside the years 1900 to 2199."""
    if isinstance(value, Date) and not isinstance(value, datetime):
        if FIRST_DAY <= value <= LAST_DAY:
            return value
        raise InputError([Problem(code="date-out-of-range", params={"value": value.isoformat()})])
    raise InputError([Problem(code="date", params={"value": repr(value)})])


def checked_minutes(compiled: CompiledProfile, value: object) -> float:
    """The minutes asked for, the profile's usual visit where nothing is said; raises ``InputError`` for what is no visit."""
    return compiled.profile.visit.minutes if value is None else usable_minutes(value)


def usable_minutes(value: object) -> float:
    """The minutes of a visit; raises ``InputError`` for what is no number, and below ``SHORTEST`` and above ``LONGEST``."""
    minutes = number_or_none(value)
    if minutes is None:
        raise InputError([Problem(code="minutes-not-a-number", params={"value": repr(value), "most": LONGEST})])
    if not SHORTEST <= minutes <= LONGEST:
        raise InputError([Problem(code="minutes", params={"minutes": minutes, "most": LONGEST})])
    return minutes
