"""What YAML reads otherwise than it was meant: a text that ends at '#', quotation marks that become part of a text."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any, Final

import yaml

from coatrules.problems import Problem
from coatrules.reading.characters import ODD_QUOTE

_COMMENT: Final = re.compile(r" #[^\n]*")
"""A comment one space behind a value; with two it is set apart and meant."""
_LEAST_WORDS: Final = 3
_SENTENCES: Final = frozenset({"about", "because", "caution", "note"})
"""Keys of sentences: of these one word before the comment is enough."""
_ENDS: Final = (".", "!", "?")


def slips(text: str, file: str) -> Iterator[Problem]:
    """Yields a warning for each text without straight quotes that is cut short by a comment, or keeps the quotes that were meant to
    go round it. ``text`` must be a profile that can be read."""
    if ODD_QUOTE.search(text) is None and _COMMENT.search(text) is None:
        return  # as nearly always: no need to read it again
    before = ""
    for event in yaml.parse(text, Loader=getattr(yaml, "CSafeLoader", yaml.SafeLoader)):
        key, before = before, event.value if isinstance(event, yaml.ScalarEvent) else ""
        if not isinstance(event, yaml.ScalarEvent) or event.style or not event.value:
            continue
        words = event.value.split()
        least = 1 if key in _SENTENCES else _LEAST_WORDS
        if ODD_QUOTE.match(event.value):
            params = {"quote": event.value[0], "codepoint": f"U+{ord(event.value[0]):04X}"}
            yield _slip("curled-quotes", params, file, event.start_mark)
        comment = _COMMENT.match(text, event.end_mark.index) if event.end_mark is not None else None
        if comment is not None and len(words) >= least and not event.value.endswith(_ENDS):
            params = {"last": words[-1], "rest": " ".join(comment[0].split())[:40]}
            yield _slip("text-cut-short", params, file, event.start_mark)


def _slip(code: str, params: Mapping[str, Any], file: str, mark: Any) -> Problem:
    return Problem(code=code, params=params, severity="warning", file=file, line=mark.line + 1, column=mark.column + 1)
