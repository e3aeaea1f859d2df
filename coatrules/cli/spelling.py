"""Letters that a terminal lacks, in those that it has: ``4.5 min`` for ``4½ min``, never a question mark where a spelling is known."""

from __future__ import annotations

import codecs
import unicodedata
from typing import Final

ERRORS: Final = "coatrules.spelt"
"""The name under which streams find this (``codecs.register_error``)."""
_SPELT: Final = {
    "½": "0.5",
    "·": "-",
    "…": "...",
    "±": "+/-",
    "≤": "<=",
    "≥": ">=",
    "→": "->",
    "×": "x",
    "–": "-",
    "—": "-",
    "−": "-",
    "‹": "<",
    "›": ">",
    "‘": "'",
    "’": "'",
    "“": "'",  # a double one would end a text in JSON
    "”": "'",
    "ß": "ss",
    "ø": "o",
    "Ø": "O",
    "æ": "ae",
    "œ": "oe",
    "Œ": "OE",
    "ł": "l",
    "Ł": "L",
}
_BOX: Final = frozenset(map(chr, range(0x2500, 0x2580)))
"""Unicode, chart "Box Drawing"."""


def spelt(error: UnicodeError) -> tuple[str, int]:
    """Returns what to write for the letters that cannot be, and where to go on: an error handler of ``codecs``."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    text = error.object
    return "".join(_spelling(text, at) for at in range(error.start, error.end)), error.end


def _spelling(text: str, at: int) -> str:
    letter = text[at]
    if letter == "½" and at and text[at - 1].isdecimal():
        return ".5"
    if letter in _SPELT:
        return _SPELT[letter]
    if letter in _BOX:
        return "|" if letter in "│┃║" else "-" if letter in "─━═" else "+"
    plain = unicodedata.normalize("NFKD", letter).encode("ascii", "ignore").decode()
    return plain or ("" if unicodedata.combining(letter) else "?")


codecs.register_error(ERRORS, spelt)
