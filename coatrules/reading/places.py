"""Where each value of a document was written."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from coatrules.reading.source import Entry, Source, line_and_column


class Places:
    """Where each value, and each key, of a document starts; in JSON looked for only once a place is asked for."""

    def __init__(self, line_starts: tuple[int, ...], root: Entry | Source) -> None:
        self._line_starts = line_starts
        self._root = root

    def place(self, path: Sequence[str | int], key: bool = False) -> tuple[int, int]:
        """The line and column, counted from 1, of the value at ``path``, or of its key.

        Where the document has no such path, the place of the nearest ancestor that it has.
        """
        if isinstance(self._root, Source) and not path:
            # The document itself, of which most is said: for that alone no place need be looked for.
            text = self._root.text
            return line_and_column(self._line_starts, len(text) - len(text.lstrip()))
        entry = self._entry(path)
        return line_and_column(self._line_starts, entry[0] if key else entry[1])

    def within(self, path: Sequence[str | int]) -> Places:
        """Returns the places of the value at ``path``, each with its path from there."""
        return Places(self._line_starts, self._entry(path))

    def _entry(self, path: Sequence[str | int]) -> Entry:
        if isinstance(self._root, Source):
            from coatrules.reading.json_text import json_entry

            self._root = json_entry(self._root)[1]
        entry = self._root
        for part in path:
            child = entry[2].get(part) if entry[2] else None
            if child is None:
                break
            entry = child
        return entry


class Document(NamedTuple):
    """One document: ``data`` is made of dict (keys are text), list, str, int, float, bool and None only."""

    data: Any
    places: Places
    file: str

    def within(self, *path: str | int) -> Document:
        """Returns the part of the document at ``path``, which it has, as a document of its own."""
        data = self.data
        for key in path:
            data = data[key]
        return Document(data, self.places.within(path), self.file)
