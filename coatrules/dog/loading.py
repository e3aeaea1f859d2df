"""Loads a dog's history from a file, a stream of documents or plain data."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from attrs import evolve

from coatrules.catalogue.message import message
from coatrules.dog.history import History, Visit
from coatrules.formats.documents import Origin, read_file, without_file
from coatrules.formats.validation import empty_file, structured
from coatrules.problems import Path as ValuePath
from coatrules.reading import Document


def load_history(source: str | Path | Mapping[str, Any]) -> History:
    """A dog's history from a YAML stream, a JSON file, or plain data; raises ``InputError`` with every problem found."""
    if isinstance(source, Mapping):
        return history_of((without_file(source),))
    documents = read_file(Path(source))
    if not documents:
        raise empty_file(str(source), message("empty.fix-history"))
    return history_of(documents)


def given_history(said: History | Mapping[str, Any]) -> History:
    """A history handed over by another program: a loaded one, or plain data, which can never have a file opened."""
    return said if isinstance(said, History) else history_of((without_file(said),))


def given_visit(said: Mapping[str, Any]) -> Visit:
    """Returns one visit handed over by another program, as plain data; raises ``InputError`` with every problem found."""
    document = without_file(said)
    data = {"format": 1, "dog": {"id": "any"}, "visits": [said]}
    return structured(data, History, "history", Origin(((("visits", 0), document),))).visits[0]


def history_of(documents: Sequence[Document]) -> History:
    """A history from the documents of its file, at least one: the dog first, then one for each visit."""
    first, *rest = documents
    data = first.data
    parts: list[tuple[ValuePath, Document]] = [((), first)]
    if rest and isinstance(data, Mapping) and isinstance(visits := data.get("visits", []), list):
        parts += [(("visits", len(visits) + n), document) for n, document in enumerate(rest)]
        data = {**data, "visits": [*visits, *(document.data for document in rest)]}
    origin = Origin(tuple(reversed(parts)))
    history = structured(data, History, "history", origin)
    # Without a file nothing has a place: the data need not be kept for it.
    return evolve(history, origin=origin) if first.file else history
