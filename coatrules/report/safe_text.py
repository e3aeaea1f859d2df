"""Text from authors and histories, made safe for a terminal, a page or a picture: nothing in it can steer what shows it."""

from __future__ import annotations

import unicodedata

# Unicode Standard Annex 9 (Unicode 15), 2.1 to 2.6: marks, embeddings, overrides and isolates that turn text round.
_TURNING = {0x061C, 0x200E, 0x200F, *range(0x202A, 0x202F), *range(0x2066, 0x206A)}


def plain(text: str) -> str:
    """The text on one line, without control characters, direction marks and lone surrogates."""
    if text.isprintable():  # quick, and never true of a character that is left out
        return text
    return "".join(map(_printable, text))


def _printable(character: str) -> str:
    kind = unicodedata.category(character)
    if character in "\t\n\r" or kind in ("Zl", "Zp"):
        return " "
    return "" if kind in ("Cc", "Cs") or ord(character) in _TURNING else character


def short(text: str, most: int) -> str:
    """Plain text of at most ``most`` characters, an ellipsis where some are left out."""
    text = plain(text)
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"
