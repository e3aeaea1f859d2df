"""Days that people write in another form than year-month-day: the day that is meant, or what is wrong with it."""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Iterator
from contextlib import suppress
from datetime import date
from typing import Final

from coatrules.catalogue.message import Message, message
from coatrules.formats.slips import month_number

_CENTURY: Final = 2000
_YEAR_FIRST: Final = re.compile(r"(\d{4})\s*[-./ ]\s*(\d{1,2})\s*[-./ ]\s*(\d{1,2})|(\d{4})(\d\d)(\d\d)")
_YEAR_LAST: Final = re.compile(r"(\d{1,2})\s*([-./ ])\s*(\d{1,2})\s*[-./ ]\s*(\d{4}|\d\d)")
_DAY_FIRST: Final = re.compile(
    r"(\d{1,2})(?:\.|st|nd|rd|th)?\s*[- ]?\s*([a-z]+)\.?,?\s*[- ]?\s*(\d{4}|\d\d)", re.IGNORECASE
)
_MONTH_FIRST: Final = re.compile(r"([a-z]+)\.?\s*(\d{1,2})(?:st|nd|rd|th)?,?\s+(\d{4})", re.IGNORECASE)
_NO_DAY: Final = re.compile(r"(?:([a-z]+)\.?,?\s+)?(\d{4})(?:-(\d{1,2}))?", re.IGNORECASE)


def date_fix(value: object) -> Message | None:
    """Returns how a day is written that a text such as '23 Feb 2026' or '23.2.26' says; None where it says none."""
    text = str(value).strip()
    if (day := _missing_day(text)) is not None:
        return message("schema-format.fix-no-such-day", days=day)
    days = list(dict.fromkeys(_days(text)))
    if len(days) == 1:
        return message("schema-format.fix-date", day=days[0].isoformat())
    if days:
        return message("schema-format.fix-either", first=days[0].isoformat(), second=days[1].isoformat())
    if found := _NO_DAY.fullmatch(text):
        month = month_number(found[1]) if found[1] else int(found[3] or 7)
        if month is not None and 1 <= month <= 12:
            return message("schema-format.fix-no-day", day=date(max(1900, int(found[2])), month, 15).isoformat())
    return None


def _missing_day(text: str) -> int | None:
    """The days of the month that a date in its right form names, where it has no such day."""
    found = re.fullmatch(r"(\d{4})-(\d\d)-(\d\d)", text)
    if found is None or not 1 <= int(found[2]) <= 12 or int(found[1]) == 0:
        return None
    days = monthrange(int(found[1]), int(found[2]))[1]
    return days if int(found[3]) > days else None


def _days(text: str) -> Iterator[date]:
    """The days that a text may mean: with dots the day stands first, with strokes the month may."""
    if found := _YEAR_FIRST.fullmatch(text):
        year, month, day = (int(part) for part in found.groups() if part)
        yield from _day(year, month, day)
    if found := _YEAR_LAST.fullmatch(text):
        yield from _day(int(found[4]), int(found[3]), int(found[1]))
        if found[2] != ".":
            yield from _day(int(found[4]), int(found[1]), int(found[3]))
    for pattern, places in ((_DAY_FIRST, (3, 2, 1)), (_MONTH_FIRST, (3, 1, 2))):
        if (found := pattern.fullmatch(text)) and (number := month_number(found[places[1]])) is not None:
            yield from _day(int(found[places[0]]), number, int(found[places[2]]))


def _day(year: int, month: int, day: int) -> Iterator[date]:
    with suppress(ValueError):
        yield date(year if year >= 100 else _CENTURY + year, month, day)
