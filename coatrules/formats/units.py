"""Figures written in another unit than their key has: what they were most likely meant to be."""

from __future__ import annotations

import re
from typing import Final

from coatrules.catalogue.message import Message, message

_MM: Final = {"cm": 10.0, "inches": 25.4}
_WEEKS: Final = {"days": 1 / 7, "months": 365.25 / 12 / 7, "years": 365.25 / 7}
_MINUTES: Final = {"seconds": 1 / 60, "hours": 60.0}
_RATE: Final = {
    "mm-a-day": 7.0,
    "mm-a-month": 7 * 12 / 365.25,
    "cm-a-month": 70 * 12 / 365.25,
    "inches-a-month": 177.8 * 12 / 365.25,
}
"""By unit how many of the key's own unit (mm, weeks, minutes, mm a week) it is."""
_WRITTEN: Final = (
    (r"mm\.?|millimet(re|er)s?", None),
    (r"cm\.?|centimet(re|er)s?", "cm"),
    (r"in|ins|inch(es)?|\"|″|”", "inches"),
    (r"w(ee)?ks?\.?|w", None),
    (r"d|days?", "days"),
    (r"mths?|months?", "months"),
    (r"y|yrs?|years?", "years"),
    (r"m|mins?\.?|minutes?", None),
    (r"s|secs?\.?|seconds?", "seconds"),
    (r"h|hrs?|hours?", "hours"),
)
"""Units as people write them behind a number; None for those that keys have."""


def factors(key: str) -> dict[str, float]:
    """By unit other than a key's own how many of its own it is; empty for a key without a unit."""
    if key == "mm_per_week":
        return _RATE
    if key.endswith("_mm"):
        return _MM
    if key.endswith("_weeks") or key.startswith("weeks_"):
        return _WEEKS
    return _MINUTES if key in ("minutes", "bout_minutes", "rest_minutes", "minutes_planned") else {}


def other_unit_fix(key: str, value: float, low: float, high: float) -> Message | None:
    """Returns the fix of a figure outside of ``low`` to ``high`` that lies within it if it was meant in another unit; None where no
    unit brings it there."""
    for unit, factor in factors(key).items():
        meant = value * factor
        if low <= meant <= high:
            return message("fix.other-unit", meant=float(f"{meant:.3g}"), value=value, unit=message(f"unit.{unit}"))
    return None


def with_unit(key: str, text: str) -> float | None:
    """Returns the number that a text such as '6 cm' says under a key, in the key's own unit; None for any other text."""
    found = _WITH_UNIT.fullmatch(text)
    factor = None if found is None else _factor(key, found[2])
    return None if found is None or factor is None else float(f"{float(found[1].replace(',', '.')) * factor:.3g}")


def has_foreign_unit(key: str, text: str) -> bool:
    """Whether a text is a number with a unit in which a key's figure cannot be said."""
    found = _WITH_UNIT.fullmatch(text)
    return found is not None and _factor(key, found[2]) is None and any(unit for unit in _units(found[2]))


_WITH_UNIT: Final = re.compile(r"\s*(\d{1,6}(?:[.,]\d{1,6})?)\s*([^\d\s.,]{1,12}\.?)\s*")


def _units(text: str) -> list[str | None]:
    """The units that a text may stand for; None for one that keys have."""
    return [unit for pattern, unit in _WRITTEN if re.fullmatch(pattern, text, re.IGNORECASE)]


def _factor(key: str, text: str) -> float | None:
    """How many of a key's own unit a unit is."""
    units = _units(text)
    return None if not units else 1.0 if units[0] is None else factors(key).get(units[0])
