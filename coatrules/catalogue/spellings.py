"""The spellings of the words that people type, from the catalogue in the language in force."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from typing import Final, TypeVar

from coatrules.catalogue.speaking import say

T = TypeVar("T")
_WRITTEN_OUT: Final = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "ø": "oe", "å": "aa"})
"""Letters of keyboards that lack them, in two (DIN 5007-2 and the Nordic usage)."""


def spellings(code: str) -> tuple[str, ...]:
    """Returns the ways in which a word of the catalogue may be typed, the first of them the one to show."""
    return tuple(say(code).split("|"))


def either(code: str) -> str:
    """Returns the ways in which a word of the catalogue may be typed as alternatives of a pattern, the longest first."""
    ways = {way for word in spellings(code) for way in written_ways(word)}
    return "|".join(map(re.escape, sorted(ways, key=lambda way: (-len(way), way))))


def typed_as(text: str, code: str) -> bool:
    """Whether a text is this word."""
    text = small(" ".join(text.split()))
    return any(text in written_ways(word) for word in spellings(code))


def small(text: str) -> str:
    """Returns a text in small letters, each accent on its letter."""
    return unicodedata.normalize("NFC", text).lower()


def written_ways(word: str) -> tuple[str, ...]:
    """Returns a word in small letters, and as it is typed without its accents: ``rücken``, ``ruecken``, ``rucken``."""
    word = small(word)
    if word.isascii():
        return (word,)
    return tuple(dict.fromkeys((word, _bare_letters(word.translate(_WRITTEN_OUT)), _bare_letters(word))))


def _bare_letters(word: str) -> str:
    return "".join(
        letter for letter in unicodedata.normalize("NFKD", word.casefold()) if not unicodedata.combining(letter)
    )


def however_written(meanings: Iterable[tuple[str, T]]) -> Iterator[tuple[str, T]]:
    """Yields words and what they mean, first as they are, then as they are typed without their accents."""
    pairs = list(meanings)
    yield from pairs
    for word, meaning in pairs:
        yield from ((way, meaning) for way in written_ways(word)[1:])
