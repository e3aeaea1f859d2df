"""A book of many dogs: every history in files, folders and JSON Lines, read one at a time."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO, cast

from attrs import evolve, frozen

from coatrules.disk import files_below, lines, opened, read
from coatrules.dog.history import History
from coatrules.dog.loading import history_of, read_history
from coatrules.order.salon import SALON
from coatrules.problems import InputError, Problem
from coatrules.reading import MAX_BYTES, read_json

LINES = (".jsonl", ".ndjson")
ONE_DOG = (".yaml", ".yml", ".json")


@frozen
class Entry:
    """One dog of a book, or what is wrong where one should stand. ``line`` is where it starts, ``size`` its bytes."""

    file: str
    line: int
    size: int
    history: History | None = None
    problems: tuple[Problem, ...] = ()

    def placed(self, problems: Iterable[Problem]) -> tuple[Problem, ...]:
        """Problems whose lines were counted from this entry, counted from the start of its file."""
        return tuple(
            evolve(problem, line=problem.line + self.line - 1) if problem.line else problem for problem in problems
        )


def files(paths: Iterable[Path]) -> list[Path]:
    """Returns the files that a book is made of: those named, and in folders all that could hold histories, sorted, hidden ones left out."""
    result: list[Path] = []
    for path in paths:
        if os.path.isdir(path):  # unlike the path's own way, no name is too long to ask for
            result += sorted(
                file
                for file in files_below(path)
                if file.name != SALON and (file.suffix.lower() in ONE_DOG or is_book(file))
            )
        else:
            result.append(path)
    return list(dict.fromkeys(result))


def entries(paths: Iterable[Path]) -> Iterator[Entry]:
    """Every dog of the book, one at a time; what cannot be read is an entry with problems and stops nothing."""
    for file in files(paths):
        try:
            if is_book(file):
                with opened_book(file) as book:
                    for number, (text, size) in enumerate(lines(book, file, MAX_BYTES), 1):
                        if text.strip():
                            yield _of_line(file, number, text, size)
            else:
                yield _of_file(file)
        except InputError as error:
            yield Entry(str(file), 1, 0, problems=error.problems)


def is_book(file: Path) -> bool:
    """Whether a file holds a dog in each line, by its name."""
    return file.name.lower().removesuffix(".gz").endswith(LINES)


@contextmanager
def opened_book(file: Path, *, piped: bool = False) -> Iterator[BinaryIO]:
    """A book to be read from its start, as it is or compressed with gzip (RFC 1952), as its name says."""
    with opened(file, piped=piped) as stored:
        if not file.name.lower().endswith(".gz"):
            yield stored
            return
        import gzip  # seldom needed

        with gzip.GzipFile(fileobj=stored) as unpacked:
            yield cast(BinaryIO, unpacked)


def _of_file(file: Path) -> Entry:
    content = read(file, MAX_BYTES)
    try:
        return Entry(str(file), 1, len(content), read_history(content, file))
    except InputError as error:
        return Entry(str(file), 1, len(content), problems=error.problems)


def _of_line(file: Path, number: int, text: bytes, size: int) -> Entry:
    entry = Entry(str(file), number, size)
    try:
        return evolve(entry, history=history_of((read_json(text.rstrip(b"\r\n"), str(file)),)))
    except InputError as error:
        return evolve(entry, problems=entry.placed(error.problems))
