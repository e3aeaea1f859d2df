"""Sentences with places to fill in: ``{share:share} of the hair``. How a value is shown is said in the place itself, so that one
code serves every language.

A place is ``{name}`` or ``{name:kind}``. Kinds: ``share``, ``fraction`` (1/5), ``percent``, ``weeks``, ``minutes``, ``halves`` (4½),
``mm``, ``day`` (with its weekday), ``date``, ``short`` (21 Mar), ``list`` (a, b and c), ``either`` (a, b or c),
``label`` (a part of the dog), ``names`` (such in a row: A, b, c), ``labels`` (such within a sentence: a, b, c), ``lower`` (one
within a sentence, or several in a list), ``quoted``, ``number``, ``fixed`` (0.50), ``figure`` (as a file has it: 0.5 in every language),
``series`` (a, b, c), ``clauses`` (a; b; c), ``few`` (a, b, c, d and 9 more), ``value`` (of a fact: yes, 0.25,
none), ``written`` (the same with a decimal point in every language). A message within a message is put into words by the
same catalogue. A sentence that depends on a number is a ``Plural``.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache
from string import Formatter
from typing import Any, NamedTuple

Kinds = Mapping[str, Callable[[Any], str]]


class Plural(NamedTuple):
    """A sentence in two forms, chosen by the number ``by``: as gettext's ``msgid`` and ``msgid_plural``."""

    by: str
    one: str
    other: str


class Piece(NamedTuple):
    """Plain text, and the place after it: ``name`` is empty where none follows."""

    text: str
    name: str
    kind: str


@lru_cache(maxsize=4096)
def pieces(template: str) -> tuple[Piece, ...]:
    """Returns a template cut at its places."""
    return tuple(Piece(text, name or "", kind or "") for text, name, kind, _ in Formatter().parse(template))


def fill(template: str, params: Mapping[str, Any], kinds: Kinds, plain: Callable[[Any], str]) -> str:
    """Returns the sentence; ``kinds`` show values of a kind, ``plain`` those of none. Raises ``KeyError`` for what is not given."""
    return "".join(
        [
            text + (kinds[kind](params[name]) if kind else plain(params[name])) if name else text
            for text, name, kind in pieces(template)
        ]
    )
