"""Where each value of a document was written."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple, TypeAlias

from coatrules.reading.source import Entries, Entry, Source, line_and_column

Steps = tuple[str | int, ...]
Arrangement: TypeAlias = Mapping[str, "Steps | Arrangement"]
"""The keys that a mapping is to have, each with the path to its value, or with the keys of a mapping that is new."""


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

    def rearranged(self, path: Steps, keys: Arrangement) -> Places:
        """Returns the places as those of ``Document.rearranged``."""
        return Places(self._line_starts, _rearranged_entry(self._entry(()), path, keys))

    def _entry(self, path: Sequence[str | int]) -> Entry:
        if isinstance(self._root, Source):
            from coatrules.reading.json_text import json_entry

            self._root = json_entry(self._root)[1]
        return _entry_at(self._root, path)


class Document(NamedTuple):
    """One document: ``data`` is made of dict (keys are text), list, str, int, float, bool and None only."""

    data: Any
    places: Places
    file: str

    def within(self, *path: str | int) -> Document:
        """Returns the part of the document at ``path``, which it has, as a document of its own."""
        return Document(_at(self.data, path), self.places.within(path), self.file)

    def rearranged(self, path: Steps, keys: Arrangement) -> Document:
        """Returns the document with other keys in the mapping, or instead of the list, at ``path``. Every value keeps its place."""
        return Document(_rearranged(self.data, path, keys), self.places.rearranged(path, keys), self.file)


def _rearranged(data: Any, path: Steps, keys: Arrangement) -> Any:
    if path:
        changed: Any = dict(data) if isinstance(data, Mapping) else list(data)
        changed[path[0]] = _rearranged(data[path[0]], path[1:], keys)
        return changed
    return {key: _at(data, at) if isinstance(at, tuple) else _rearranged(data, (), at) for key, at in keys.items()}


def _rearranged_entry(entry: Entry, path: Steps, keys: Arrangement) -> Entry:
    start, offset, inner = entry
    if path:
        below = dict(inner or {})
        if path[0] in below:
            below[path[0]] = _rearranged_entry(below[path[0]], path[1:], keys)
        return start, offset, below
    arranged: Entries = {key: _new_entry(entry, key, at) for key, at in keys.items()}
    return start, offset, arranged


def _new_entry(entry: Entry, key: str, at: Steps | Arrangement) -> Entry:
    """The entry of a key; of a mapping that is new where its key was, else what is around the first of its values."""
    if isinstance(at, tuple):
        return _entry_at(entry, at)
    inner: Entries = {name: _new_entry(entry, name, below) for name, below in at.items()}
    first = next(iter(at.values()), ())
    around = first[:-1] if isinstance(first, tuple) else ()
    start, offset, _ = _entry_at(entry, (key,) if entry[2] and key in entry[2] else around)
    return start, offset, inner


def _at(data: Any, path: Sequence[str | int]) -> Any:
    for key in path:
        data = data[key]
    return data


def _entry_at(entry: Entry, path: Sequence[str | int]) -> Entry:
    """The entry at a path, or of the nearest thing around it."""
    for step in path:
        child = entry[2].get(step) if entry[2] else None
        if child is None:
            break
        entry = child
    return entry
