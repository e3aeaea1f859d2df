"""What people write where a number is wanted: ranges, comparisons, numbers with units. Used to say how it is written instead."""

from __future__ import annotations

import re
from typing import Final

from coatrules.catalogue.message import Message, message
from coatrules.catalogue.spellings import typed_as
from coatrules.catalogue.typed_amounts import duration, length, number, share
from coatrules.formats.units import factors, with_unit

_NUMBER: Final = r"(\d{1,6}(?:[.,]\d{1,6})?)"
_UNIT: Final = r"(?:\s*([a-z\"″”]{1,12}\.?))?"
_RANGE: Final = re.compile(rf"{_NUMBER}\s*(?:-|–|—|−|to|\.\.\.?|…)\s*{_NUMBER}{_UNIT}")
_COMPARED: Final = re.compile(rf"(<=|>=|=<|=>|<|>|≤|≥)\s*{_NUMBER}{_UNIT}")
_AT_LEAST: Final = re.compile(rf"{_NUMBER}{_UNIT}\s*(?:\+|or more)")
_RHYTHMS: Final = (("typed.weekly", 1.0), ("typed.fortnightly", 2.0))
_KEYWORD: Final = {
    **dict.fromkeys(("<=", "=<", "≤"), "maximum"),
    **dict.fromkeys((">=", "=>", "≥"), "minimum"),
    "<": "exclusiveMaximum",
    ">": "exclusiveMinimum",
}

_MONTHS: Final = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


def month_number(text: str) -> int | None:
    """Returns the number of a month that a text names, such as 'June' or 'sept.'; None for any other text."""
    start = text.strip().lower()[:3]
    return _MONTHS.index(start) + 1 if start in _MONTHS else None


def names_in(text: str) -> list[str]:
    """Returns the names that a text lists, such as 'back, loin and croup'."""
    return [name for name in re.split(r"\s*(?:[,;/&+]|\band\b)\s*", text.strip(" ()[]")) if name]


_JOINED: Final = re.compile(r"([a-z][a-z0-9_-]{0,39})(?: *= *|:)([^\s:=/][^:=]{0,60})")


def colon_fix(text: str) -> Message | None:
    """Returns how a key and its value are written that 'minutes:90' or 'minutes = 90' join; None for any other text."""
    found = _JOINED.fullmatch(text.strip())
    return None if found is None else message("fix.colon", key=found[1], value=found[2].strip())


def comparison_fix(key: str, text: str) -> Message | None:
    """Returns how a comparison such as '< 26' is written under a key; None for any other text."""
    found = _COMPARED.fullmatch(text.strip())
    if found is None:
        return None
    return message("schema-type.fix-comparison", keyword=_KEYWORD[found[1]], number=_number(key, found[2], found[3]))


def at_least_fix(key: str, text: str) -> Message | None:
    """Returns how '60+' or '60 mm or more' is written under a key; None for any other text."""
    found = _AT_LEAST.fullmatch(text.strip())
    if found is None:
        return None
    return message("schema-type.fix-comparison", keyword="minimum", number=_number(key, found[1], found[2]))


def amount_meant(key: str, text: str) -> float | None:
    """Returns the number that a text says in words or as a fraction under a key, as people type it: 'a fifth', '1 in 5', '1h20',
    'two', 'fortnightly'; None for any other text."""
    if key.endswith("minutes"):
        return duration(text)
    if key == "every_weeks":
        return next((weeks for code, weeks in _RHYTHMS if typed_as(text, code)), None)
    if key.endswith("_mm"):
        return length(text)
    plain = None if re.search(r"\d", text) else number(text)
    return share(text) if plain is None and not factors(key) else plain


def range_fix(key: str, text: str, *, as_list: bool, as_bounds: bool) -> Message | None:
    """Returns how a range such as '40–60' is written under a key: as a list of two, as the bounds of a test, or as one number; None
    for any other text."""
    found = _RANGE.fullmatch(text.strip())
    if found is None:
        return None
    low, high = (_number(key, end, found[3]) for end in found.groups()[:2])
    if as_list or as_bounds:
        return message("schema-type.fix-range" if as_list else "schema-type.fix-bounds", low=low, high=high)
    return message("schema-type.fix-one-number", middle=f"{(float(low) + float(high)) / 2:g}")


def _number(key: str, number: str, unit: str | None) -> str:
    """A number as it is written under a key whose figure it says in this unit; in one that the key does not know, as it stands."""
    meant = with_unit(key, f"{number} {unit}") if unit else None
    return number.replace(",", ".") if meant is None else f"{meant:g}"


def number_fix(key: str, text: str) -> Message | None:
    """Returns how a number with a unit such as '6 cm' is written under a key, in the key's own unit; None for any other text."""
    meant = with_unit(key, text)
    return None if meant is None else message("schema-type.fix-number", number=f"{meant:g}")
