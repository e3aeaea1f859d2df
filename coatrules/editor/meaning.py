"""What stands behind a word of a profile: what it means, what holds there when all is merged, and where that was written."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from attrs import frozen

from coatrules.catalogue.message import Message, message
from coatrules.editor.completion import names_as_values
from coatrules.editor.cursor import word_at
from coatrules.editor.profile_text import Merged
from coatrules.formats.keys import about
from coatrules.problems import Path as ValuePath
from coatrules.problems import path_text

LONGEST = 400
"""Characters of a value that are shown: enough for a target, too few for all regions."""


@frozen(kw_only=True)
class Place:
    """Where something is written: line and column count from 1."""

    file: str
    line: int
    column: int


@frozen(kw_only=True)
class Hover:
    """What is shown of a word: its columns from ``start`` up to ``end``, counted from 0, and the sentences about it."""

    start: int
    end: int
    sentences: tuple[Message, ...]


def hover(text: str, line: int, column: int, merged: Merged) -> Hover | None:
    """Returns what is to be said of the word at a line and column (from 0); None where nothing is known of it."""
    path, start, end = word_at(text, line, column)
    sentences = tuple(_sentences(_named(text, line, path, (start, end), merged) or path, merged))
    return Hover(start=start, end=end, sentences=sentences) if sentences and path else None


def _sentences(path: ValuePath, merged: Merged) -> Iterator[Message]:
    what = about(path)
    if "description" in what:
        yield message("editor.meaning", text=what["description"])
    try:
        value = merged.value(path)
    except LookupError:
        if "default" in what:
            yield message("editor.default", value=_shown(what["default"]))
    else:
        yield message("editor.value", path=path_text(path), value=_shown(value))
        if (place := _written(path, merged)) is not None:
            yield message("editor.set-in", file=Path(place.file).name, line=place.line)
    if what.get("examples"):
        yield message("editor.example", value=_shown(what["examples"][0]))


def definition(text: str, line: int, column: int, merged: Merged) -> Place | None:
    """Returns where the word at a line and column (from 0) was set: a name where it is defined, a key where its value was
    written, here or in a profile that this one builds on; None where nobody wrote it."""
    path, start, end = word_at(text, line, column)
    return _written(_named(text, line, path, (start, end), merged) or path, merged)


def _named(text: str, line: int, path: ValuePath, columns: tuple[int, int], merged: Merged) -> ValuePath | None:
    """The path to what the word in these columns names; None where it is no name."""
    word = (text.split("\n") + [""] * (line + 1))[line][slice(*columns)].strip("\"'")
    return next(((section, word) for section in names_as_values(path) if word in merged.names(section)), None)


def _written(path: ValuePath, merged: Merged) -> Place | None:
    try:
        merged.value(path)
    except LookupError:
        return None
    file, line, column = merged.origin.place(path, key=True)
    return Place(file=file, line=line, column=column) if file and line else None


def _shown(value: Any) -> str:
    """A value as it would be written within a line."""
    if isinstance(value, Mapping):
        shown = "{" + ", ".join(f"{key}: {_shown(inner)}" for key, inner in value.items()) + "}"
    elif isinstance(value, list | tuple):
        shown = "[" + ", ".join(map(_shown, value)) + "]"
    else:
        shown = value if isinstance(value, str) else json.dumps(value)
    return shown if len(shown) <= LONGEST else f"{shown[: LONGEST - 1]}…"
