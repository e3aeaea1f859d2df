"""The spellings of the words that people type, from the catalogue in the language in force."""

from __future__ import annotations

import re

from coatrules.catalogue.speaking import say


def spellings(code: str) -> tuple[str, ...]:
    """Returns the ways in which a word of the catalogue may be typed, the first of them the one to show."""
    return tuple(say(code).split("|"))


def either(code: str) -> str:
    """Returns the ways in which a word of the catalogue may be typed as alternatives of a pattern, the longest first."""
    return "|".join(map(re.escape, sorted(spellings(code), key=len, reverse=True)))


def typed_as(text: str, code: str) -> bool:
    """Whether a text is this word."""
    return " ".join(text.lower().split()) in map(str.lower, spellings(code))
