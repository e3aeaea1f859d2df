"""From a file or a mapping to plain data that remembers where each value was written."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import islice
from pathlib import Path
from typing import Any, Final, NoReturn

from attrs import evolve

from coatrules.catalogue.message import Message
from coatrules.disk import read
from coatrules.formats.paths import value_at
from coatrules.formats.plain import Plain
from coatrules.formats.values import MAPPINGS
from coatrules.problems import MAX_PROBLEMS, InputError, Problem, Severity
from coatrules.problems import Path as ValuePath
from coatrules.read_only import NOTHING
from coatrules.reading import MAX_BYTES, Document, Places, read_json, read_json_partly, read_yaml, read_yaml_partly


class Origin:
    """Where data was written: documents, each with the path it stands at, the one that wins first.

    A merged profile has one document for each profile of its chain, all at the root; a history has one for each visit.
    """

    __slots__ = ("parts",)
    parts: tuple[tuple[ValuePath, Document], ...]

    def __init__(self, parts: tuple[tuple[ValuePath, Document], ...] = ()) -> None:
        object.__setattr__(self, "parts", parts)

    def __setattr__(self, name: str, value: object) -> NoReturn:
        raise AttributeError(f"an origin cannot be changed: {name}")

    def __reduce__(self) -> tuple[type[Origin], tuple[tuple[tuple[ValuePath, Document], ...]]]:
        return Origin, (self.parts,)

    def place(self, path: Sequence[str | int], *, key: bool = False) -> tuple[str, int, int]:
        """File, line and column (from 1; 0 if unknown) of the value at ``path``, or of the nearest thing around it."""
        best, deepest = ("", 0, 0), -1
        for prefix, document in self.parts:
            if tuple(path[: len(prefix)]) != prefix:
                continue
            inner = path[len(prefix) :]
            depth = len(prefix) + _depth(document.data, inner)
            if depth > deepest:
                deepest = depth
                best = (document.file, *document.places.place(inner, key=key)) if document.file else ("", 0, 0)
        return best

    def entry(self, path: Sequence[str | int], name: str) -> ValuePath:
        """Returns the path to a name in the list of names at ``path``, or to its key where a mapping was written there."""
        for prefix, document in self.parts:
            names = document.data
            for key in path[len(prefix) :]:
                names = names.get(key) if isinstance(names, MAPPINGS) else None
            # What stands there may be a fault of its own: a number, or a text that holds the name.
            if isinstance(names, (*MAPPINGS, list, tuple)) and name in names:
                return (*path, name if isinstance(names, MAPPINGS) else names.index(name))
        return tuple(path)

    def value(self, path: Sequence[str | int]) -> Any:
        """Returns what was written at ``path``, by the document that wins; None where none has it."""
        values = (
            value_at(document.data, tuple(path[len(prefix) :]))
            for prefix, document in self.parts
            if tuple(path[: len(prefix)]) == prefix
        )
        return next((value for value in values if value is not None), None)

    def blank(self, path: Sequence[str | int]) -> bool:
        """Whether the key at ``path`` was written with nothing as its value."""
        return any(
            tuple(path[: len(prefix)]) == prefix and tuple(path[len(prefix) :]) in idle_nulls({}, document.data)
            for prefix, document in self.parts
        )

    def problem_at(
        self,
        path: Sequence[str | int],
        code: str,
        params: Mapping[str, Any] = NOTHING,
        *,
        fix: Message | None = None,
        meaning: str = "",
        severity: Severity = "error",
        key: bool = False,
    ) -> Problem:
        """Returns a problem with its place filled in: of the value at ``path``, or with ``key`` of its key."""
        file, line, column = self.place(path, key=key)
        return Problem(
            code=code,
            params=params,
            severity=severity,
            file=file,
            line=line,
            column=column,
            path=tuple(path),
            fix=fix,
            meaning=meaning,
            key=key,
        )


NOWHERE: Final = Origin()
"""Of data of which nobody knows where it was written."""


def without_file(data: Any, path: ValuePath = ()) -> Document:
    """Plain data as a document that stands in no file; raises ``InputError`` for what no file could hold. ``path``: where it is to
    stand."""
    plain = Plain(data)
    if problems := list(islice(plain.faults(), MAX_PROBLEMS)):
        raise InputError(evolve(problem, path=(*path, *problem.path)) for problem in problems)
    return Document(plain.data, Places((0,), (0, 0, None)), "")


def as_document(data: Any) -> Document:
    """Plain data as a document, or the document that it is already; raises ``InputError`` for what no file could hold."""
    return data if isinstance(data, Document) else without_file(data)


def _depth(data: Any, path: Sequence[str | int]) -> int:
    """How many steps of the path the data has."""
    for steps, part in enumerate(path):
        try:
            data = data[part]
        except (KeyError, IndexError, TypeError):
            return steps
    return len(path)


def read_file(path: Path, *, piped: bool = False) -> tuple[Document, ...]:
    """The documents of a YAML or JSON file; raises ``InputError``, also where the file cannot be read."""
    return documents_of(read(path, MAX_BYTES, piped=piped), path)


def read_one(path: Path, code: str, *, piped: bool = False) -> Document:
    """The one document of a YAML or JSON file; raises ``InputError``, with ``code`` where there is none or more than one."""
    documents = read_file(path, piped=piped)
    if len(documents) != 1:
        raise InputError([Problem(code=code, params={"documents": len(documents)}, file=str(path))])
    return documents[0]


def documents_of(content: bytes, path: Path) -> tuple[Document, ...]:
    """The documents of what a YAML or JSON file holds; ``path`` is its name."""
    if path.suffix.lower() == ".json":
        return (read_json(content, str(path)),)
    return read_yaml(content, str(path))


def read_partly(path: Path) -> tuple[tuple[Document, ...], tuple[Problem, ...]]:
    """The documents of a YAML or JSON file as far as they can be read, and what is wrong in them; raises ``InputError`` where
    nothing more can be read after a fault."""
    content = read(path, MAX_BYTES)
    if path.suffix.lower() != ".json":
        return read_yaml_partly(content, str(path))
    document, problems = read_json_partly(content, str(path))
    return (document,), problems


def merge_patch(target: Any, patch: Any) -> Any:
    """JSON Merge Patch: ``patch`` applied to ``target``, neither changed. Source: RFC 7396, section 2."""
    if not isinstance(patch, MAPPINGS):
        return patch
    merged = dict(target) if isinstance(target, MAPPINGS) else {}
    for key, value in patch.items():
        if value is None:
            merged.pop(key, None)
        else:
            merged[key] = merge_patch(merged.get(key), value)
    return merged


def idle_nulls(target: Any, patch: Mapping[str, Any], path: ValuePath = ()) -> Iterator[ValuePath]:
    """The keys without a value in ``patch`` that take nothing out of ``target``: most likely left unfinished."""
    known = target if isinstance(target, MAPPINGS) else {}
    for key, value in patch.items():
        if value is None and key not in known:
            yield (*path, key)
        elif isinstance(value, MAPPINGS):
            yield from idle_nulls(known.get(key), value, (*path, key))
