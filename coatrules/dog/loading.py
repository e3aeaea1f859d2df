"""Loads a dog's history from a file, a stream of documents or plain data."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from attrs import evolve

from coatrules.catalogue.message import message
from coatrules.disk import read
from coatrules.dog.frames import unfinished_from
from coatrules.dog.history import History, Visit
from coatrules.formats.documents import Origin, documents_of, without_file
from coatrules.formats.validation import empty_file, structured
from coatrules.problems import InputError, Problem
from coatrules.problems import Path as ValuePath
from coatrules.reading import MAX_BYTES, Document, read_yaml


def load_history(source: str | Path | Mapping[str, Any]) -> History:
    """A dog's history from a YAML stream, a JSON file, or plain data; raises ``InputError`` with every problem found."""
    if isinstance(source, Mapping):
        return history_of((without_file(source),))
    return read_history(read(Path(source), MAX_BYTES), Path(source))


def read_history(content: bytes, file: Path) -> History:
    """The history in ``content``; where it ends within a visit that was being recorded, the problems say how to mend that."""
    cut_off = list(_cut_off(content, file))
    try:
        documents = documents_of(content, file)
        if not documents:
            raise empty_file(str(file), message("empty.fix-history"))
        history = history_of(documents)
    except InputError as error:
        raise InputError([*error.problems, *cut_off]) from error
    if cut_off:
        raise InputError(evolve(problem, severity="error") for problem in cut_off)
    return history


def _cut_off(content: bytes, file: Path) -> Iterator[Problem]:
    """A note on a YAML history of which all reads but a visit that was cut off while it was recorded."""
    line = None if file.suffix.lower() == ".json" else unfinished_from(content)
    if line is None:
        return
    try:
        whole = history_of(read_yaml(b"\n".join(content.split(b"\n")[: line - 1]), str(file)))
    except InputError:
        return
    params: dict[str, object] = {"line": line}
    if whole.visits:
        code, params["day"] = "cut-off", whole.visits[-1].day
    else:
        code = "cut-off-first"
    yield Problem(code=code, params=params, severity="note", file=str(file), line=line, column=1)


def given_history(history: History | Mapping[str, Any]) -> History:
    """A history handed over by another program: a loaded one, or plain data, which can never have a file opened."""
    return history if isinstance(history, History) else history_of((without_file(history),))


def given_visit(visit: Mapping[str, Any]) -> Visit:
    """Returns one visit handed over by another program, as plain data; raises ``InputError`` with every problem found."""
    return visit_of(without_file(visit))


def visit_of(document: Document, path: ValuePath = ()) -> Visit:
    """Returns the visit that a document holds; raises ``InputError`` with every problem found. ``path``: where it is to stand."""
    data = {"format": 1, "dog": {"id": "any"}, "visits": [document.data]}
    try:
        return structured(data, History, "history", Origin(((("visits", 0), document),))).visits[0]
    except InputError as error:
        raise InputError(evolve(problem, path=(*path, *problem.path[2:])) for problem in error.problems) from error


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
