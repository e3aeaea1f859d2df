"""A book of many dogs: every history in files, folders and JSON Lines, read one at a time."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

from attrs import evolve, frozen

from coatrules.dog.history import History
from coatrules.dog.loading import history_of
from coatrules.formats.documents import cannot_read
from coatrules.order.salon import SALON
from coatrules.problems import InputError, Problem
from coatrules.reading import read_json
from coatrules.recording.append import read_history

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
        if path.is_dir():
            candidates = (
                file
                for file in path.rglob("*")
                if file.suffix.lower() in (*ONE_DOG, *LINES) and file.name != SALON and file.is_file()
            )
            result += sorted(
                f for f in candidates if not any(part.startswith(".") for part in f.relative_to(path).parts)
            )
        else:
            result.append(path)
    return list(dict.fromkeys(result))


def entries(paths: Iterable[Path]) -> Iterator[Entry]:
    """Every dog of the book, one at a time; what cannot be read is an entry with problems and stops nothing."""
    for file in files(paths):
        try:
            if file.suffix.lower() in LINES:
                with file.open("rb") as lines:
                    yield from (_of_line(file, number, text) for number, text in enumerate(lines, 1) if text.strip())
            else:
                yield _of_file(file)
        except OSError as error:
            yield Entry(str(file), 1, 0, problems=(cannot_read(file, error),))


def _of_file(file: Path) -> Entry:
    content = file.read_bytes()
    try:
        return Entry(str(file), 1, len(content), read_history(content, file))
    except InputError as error:
        return Entry(str(file), 1, len(content), problems=error.problems)


def _of_line(file: Path, number: int, text: bytes) -> Entry:
    entry = Entry(str(file), number, len(text))
    try:
        return evolve(entry, history=history_of((read_json(text.rstrip(b"\r\n"), str(file)),)))
    except InputError as error:
        return evolve(entry, problems=entry.placed(error.problems))
