"""What is asked for beside the dog, checked: the day, and the minutes there are."""

from __future__ import annotations

from datetime import date as Date
from datetime import datetime
from typing import SupportsFloat

from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import CompiledProfile

LONGEST = 600
"""Minutes of the longest visit."""


def checked_day(said: object) -> Date:
    """The day asked for; raises ``InputError`` for text, for a moment and for all else that is no day."""
    if isinstance(said, Date) and not isinstance(said, datetime):
        return said
    hint = "Give a datetime.date, as in date(2026, 3, 21)."
    raise InputError([Problem(code="date", message=f"{said!r} is not a day", hint=hint)])


def checked_minutes(compiled: CompiledProfile, said: object) -> float:
    """The minutes asked for, the profile's usual visit where nothing is said; raises ``InputError`` for what is no visit."""
    minutes = compiled.profile.visit.minutes if said is None else said
    shown = repr(minutes)
    if isinstance(minutes, SupportsFloat):  # as text is not
        found = float(minutes)
        if 0 < found <= LONGEST:
            return found
        shown = f"{found:g}"
    hint = f"Say a number of minutes from 1 to {LONGEST}."
    raise InputError([Problem(code="minutes", message=f"{shown} minutes are not a visit", hint=hint)])
