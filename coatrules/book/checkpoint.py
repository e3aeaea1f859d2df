"""A run over a book, from file to file: resumed after a kill, no line is lost and none comes twice.

After each part the answers are on the disk before the checkpoint says so; what stands behind the checkpoint when a run is
resumed is cut off and done again.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from concurrent.futures import Executor
from hashlib import sha256
from pathlib import Path
from typing import BinaryIO

from attrs import asdict, evolve, frozen

from coatrules.book.fleet import AHEAD, Answering, Run, in_order, parts
from coatrules.problems import InputError, Problem

HEAD = 65_536
"""Bytes at the start of a book by which it is known again."""


@frozen
class Checkpoint:
    """How far a run is: bytes read and written, the next line's number, dogs answered and refused so far."""

    read: int = 0
    written: int = 0
    line: int = 1
    dogs: int = 0
    refused: int = 0


def checkpoint_file(out: Path) -> Path:
    """Returns the file that holds the checkpoint of a run that writes ``out``, until the run is done."""
    return out.with_name(f"{out.name}.checkpoint")


def work_through(
    book: Path,
    out: Path,
    run: Run,
    *,
    executor: Executor | None = None,
    shared: bool = False,
    ahead: int = AHEAD,
    resume: bool = False,
    tell: Callable[[Checkpoint], None] = lambda _: None,
) -> Checkpoint:
    """Answers a book line by line into ``out``; blank lines have no answer.

    ``shared``: the workers can read the book themselves. ``resume``: go on where a run that was killed left off, if there
    was one. ``tell`` is called as the run goes on. Raises ``InputError`` where a file cannot be used, or what is resumed
    is another run.
    """
    mark = checkpoint_file(out)
    try:
        with book.open("rb") as source, out.open("r+b" if resume and mark.exists() else "wb") as sink:
            key = _key(source, run)
            done = _resumed(mark, key) if resume and mark.exists() else Checkpoint()
            source.seek(done.read)
            sink.truncate(done.written)
            sink.seek(done.written)
            _save(mark, key, done)
            file = str(book.resolve()) if shared else None
            todo = parts(source, first=done.line, start=done.read, file=file)
            for answers in in_order(executor, Answering(run), todo, ahead):
                sink.write(answers.lines)
                sink.flush()
                os.fsync(sink.fileno())
                done = evolve(
                    done,
                    read=answers.part.end,
                    written=done.written + len(answers.lines),
                    line=answers.next_line,
                    dogs=done.dogs + answers.dogs,
                    refused=done.refused + answers.refused,
                )
                _save(mark, key, done)
                tell(done)
        mark.unlink()
    except OSError as error:
        if error.strerror is None:  # not of a file, but of the workers
            raise
        params = {"reason": error.strerror.lower()}
        raise InputError([Problem(code="cannot-use", params=params, file=str(error.filename or out))]) from error
    return done


def _key(book: BinaryIO, run: Run) -> dict[str, object]:
    """What makes a run the same run: the book's beginning and all that is asked."""
    head = book.read(HEAD)
    first = head[: head.find(b"\n") + 1] or head  # a book may have grown since
    return {"book": sha256(first).hexdigest(), "run": json.loads(json.dumps(asdict(run), default=str))}


def _resumed(mark: Path, key: dict[str, object]) -> Checkpoint:
    try:
        data = json.loads(mark.read_bytes())
        if data["key"] != key:
            raise InputError([Problem(code="other-run", file=str(mark))])
        return Checkpoint(**data["done"])
    except (ValueError, KeyError, TypeError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError([Problem(code="checkpoint", file=str(mark))]) from error


def _save(mark: Path, key: dict[str, object], done: Checkpoint) -> None:
    new = mark.with_name(f"{mark.name}.new")
    with new.open("w", encoding="utf-8") as file:
        json.dump({"key": key, "done": asdict(done)}, file)
        file.flush()
        os.fsync(file.fileno())
    os.replace(new, mark)
