"""Days as a salon's own sheet writes them: by the mapping's figures, by ISO 8601, or with the month in words."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from datetime import date
from functools import lru_cache

from coatrules.catalogue.languages import catalogue
from coatrules.catalogue.translated import languages

_TIME = re.compile(r"[ T]\d{1,2}:\d{2}(:\d{2}(\.\d+)?)?( ?[ap]m)?$", re.IGNORECASE)
"""A time behind the day, as spreadsheets add it."""
_MONTH = r"(?P<M>[^\W\d_]{3,})\.?"
_DAY = r"(?P<D>\d{1,2})(?:\.|[^\W\d_]{2})?"
_YEAR = r"(?P<Y>\d{4}|\d{2})"
_GAP = r"[\s,./-]*"
_WEEKDAY = r"(?:[^\W\d_]+\.?,?\s+)?"
_IN_WORDS = (
    re.compile(rf"{_WEEKDAY}{_DAY}{_GAP}{_MONTH}{_GAP}{_YEAR}"),
    re.compile(rf"{_WEEKDAY}{_MONTH}{_GAP}{_DAY}(?:,\s*|\s+){_YEAR}"),
)
"""Day, month in words, year; and month, day, year: no other order is written with a month in words."""


def day_written(text: str, patterns: Iterable[re.Pattern[str]]) -> date | None:
    """Returns the day that a text says by one of the patterns (``date_pattern``), or with its month in words; None for what is none."""
    text = _TIME.sub("", text.strip())
    for match in filter(None, (pattern.fullmatch(text) for pattern in patterns)):
        with suppress(ValueError):
            return date(_year(match), int(match["M"]), int(match["D"]))
    for match in filter(None, (pattern.fullmatch(text) for pattern in _IN_WORDS)):
        month = _month_called(match["M"])
        if month is not None:
            with suppress(ValueError):
                return date(_year(match), month, int(match["D"]))
    return None


def _year(match: re.Match[str]) -> int:
    return int(match["Y"]) + (2000 if len(match["Y"]) == 2 else 0)


def date_pattern(dates: str) -> re.Pattern[str]:
    """Returns ``DD.MM.YYYY`` as a regular expression; a single letter stands for one digit or two."""
    tokens = {"D": "(?P<D>[0-9]{1,2})", "DD": "(?P<D>[0-9]{2})", "M": "(?P<M>[0-9]{1,2})", "MM": "(?P<M>[0-9]{2})"}
    tokens |= {"YY": "(?P<Y>[0-9]{2})", "YYYY": "(?P<Y>[0-9]{4})"}
    parts: Iterable[str] = re.findall("[DMY]+|[^DMY]+", dates)
    return re.compile("".join(tokens.get(part, re.escape(part)) for part in parts), re.ASCII)


def _month_called(word: str) -> int | None:
    """Returns the month of a name, whole or shortened, in any language there is; None where it is none, or may be several."""
    letters = _letters(word)
    for names in _month_names():
        beginning = [number for number, name in enumerate(names, 1) if name.startswith(letters)]
        leaving_out = [number for number, name in enumerate(names, 1) if _shortens(letters, name)]
        for months in (beginning, leaving_out):
            if len(months) == 1:
                return months[0]
    return None


def _shortens(word: str, name: str) -> bool:
    """Whether a name has these letters in this order, from the first on: ``mrz`` of ``marz``."""
    rest = iter(name)
    return name[0] == word[0] and all(letter in rest for letter in word)


@lru_cache(maxsize=1)
def _month_names() -> Sequence[Sequence[str]]:
    """Returns the names of the twelve months in every language for which there is a library."""
    return tuple(_named_months())


def _named_months() -> Iterator[tuple[str, ...]]:
    for tag in languages():
        with suppress(ModuleNotFoundError):  # English needs none
            spoken = catalogue(tag)
            # Of a day in words the longest word is the month.
            days = [spoken.amount("date", date(2026, month, 9)) for month in range(1, 13)]
            yield tuple([_letters(max(re.findall(r"[^\W\d_]+", day), key=len)) for day in days])


def _letters(text: str) -> str:
    """Returns a word in small letters without accents."""
    return "".join(
        letter for letter in unicodedata.normalize("NFKD", text.casefold()) if not unicodedata.combining(letter)
    )
