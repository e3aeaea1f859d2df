"""A text that is indented with tabs, which YAML does not have, read as it was most likely meant."""

from __future__ import annotations

import re
from typing import Final, NamedTuple

from coatrules.problems import InputError, Problem
from coatrules.reading.places import Document
from coatrules.reading.source import Source
from coatrules.reading.yaml_text import yaml_documents

_INDENT: Final = re.compile(r"^( +)\S", re.MULTILINE)
_WIDTHS: Final = (2, 4, 8)
"""Spaces for which a tab usually stands, beside the indent that the rest of the text has."""


class AsMeant(NamedTuple):
    """A text with spaces for its tabs: for each so many as ``width`` says, the source with them, and the documents in it."""

    width: int
    source: Source
    documents: tuple[Document, ...]


def as_meant(source: Source) -> AsMeant:
    """Returns the text in the first width in which it can be read; raises ``InputError`` where there is none, with what is wrong in
    every width."""
    refused: list[tuple[Problem, ...]] = []
    for width in _widths(source.text):
        attempt = _indented(source, width)
        try:
            return AsMeant(width, attempt, yaml_documents(attempt))
        except InputError as error:
            refused.append(error.problems)
    first, *others = refused
    raise InputError(
        one for one in first if all((one.code, one.line) in {(two.code, two.line) for two in other} for other in others)
    )


def with_spaces(text: str, file: str = "<text>") -> str:
    """Returns a text with spaces for its tabs, as it can be read; the same text where it cannot."""
    try:
        width = as_meant(Source.checked(text, file, tabs=False)).width
    except InputError:
        return text
    return "\n".join(_spaced(line, width) for line in text.split("\n"))


def _widths(text: str) -> list[int]:
    """How many spaces a tab may stand for in a text, the likeliest first."""
    indents = [len(match[1]) for match in _INDENT.finditer(text)]
    return list(dict.fromkeys((*((min(indents),) if indents else ()), *_WIDTHS)))


def _spaced(line: str, width: int) -> str:
    """A line with spaces for all its tabs: up to the next multiple of ``width`` where they indent it, one each behind."""
    rest = line.lstrip(" \t")
    return line[: len(line) - len(rest)].expandtabs(width) + rest.replace("\t", " ")


def _indented(source: Source, width: int) -> Source:
    """The source with spaces for its tabs; places still count the characters that were written."""
    lines = source.text.split("\n")
    spaced = [_spaced(line, width) for line in lines]
    starts, at = [], 0
    for written, line in zip(lines, spaced, strict=True):
        starts.append(at + len(line) - len(written) if at else 0)
        at += len(line) + 1
    attempt = Source("\n".join(spaced), source.file, tuple(starts))
    attempt.careful, attempt.problems = source.careful, [*source.problems]
    return attempt
