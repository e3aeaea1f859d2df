"""A run over a book, from file to file: resumed after a kill, no line is lost, none comes twice, and no two runs are mixed.

After each part the answers are on the disk before the checkpoint says so; what stands behind the checkpoint when a run is
resumed is cut off and done again.
"""

import gzip
import json
import os
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import BrokenExecutor, Executor
from hashlib import sha256
from pathlib import Path
from typing import Annotated, Any, Literal

from attrs import asdict, evolve, frozen

from coatrules.book.entries import opened_book
from coatrules.book.fleet import AHEAD, Answering, Answers, Run, edition_of, in_order, parts
from coatrules.disk import Growing, growing, lines, opened, read, read_inputs, remove, write
from coatrules.formats.documents import Origin
from coatrules.formats.validation import structured
from coatrules.formats.values import Matches, Range
from coatrules.problems import InputError, Problem
from coatrules.reading import MAX_BYTES, read_json

Count = Annotated[int, Range(0, 2**63 - 1)]
Digest = Annotated[str, Matches("^([0-9a-f]{64})?$")]


@frozen
class Asked:
    """What makes a run the same run, beside its book and its profiles."""

    date: str
    minutes: str
    profile: str
    fields: str


@frozen
class Checkpoint:
    """How far a run is: bytes read and written, and what they were; the next line's number, dogs answered and refused so far."""

    format: Literal[1]
    engine: str
    asked: Asked
    book_size: Count
    book_sha256: Digest
    read: Count
    read_sha256: Digest
    written: Count
    written_sha256: Digest
    line: Count
    dogs: Count
    refused: Count
    profiles: Mapping[str, Digest]
    """The content hash of every profile used so far."""


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
    """Answers a book line by line into ``out``; blank lines have no answer. Names that end in .gz are compressed with gzip.

    ``shared``: the workers can read the book themselves. ``resume``: go on where a run that was killed left off, if there
    was one. ``tell`` is called as the run goes on. Raises ``InputError`` where a file cannot be used, where the workers
    fail, and where what is resumed is another run.
    """
    mark = checkpoint_file(out)
    marked = os.path.exists(mark)
    if marked and not os.path.exists(out):
        raise InputError(
            [Problem(code="run-lost" if resume else "run-interrupted", params=_named(mark), file=str(out))]
        )
    with read_inputs(), opened_book(book, piped=True) as source, growing(out) as sink:
        if marked and not resume:
            raise InputError([Problem(code="run-interrupted", params=_named(mark), file=str(out))])
        stored = os.path.isfile(book)
        if stored:
            with opened_book(book) as first:
                next(lines(first, book, MAX_BYTES), None)  # what is no book at all is refused before all of it is read
        done = _begun(book if stored else None, run)
        if marked and resume:
            done = _resumed(mark, done, run)
        book_lines = lines(source, book, MAX_BYTES)
        skipped = _skipped(book_lines, done, mark)
        answered = _kept(sink, done, mark)
        sink.cut(done.written)
        sent = str(book.resolve()) if shared and stored and not _packed(book) else None
        todo = parts(book_lines, first=done.line, start=done.read, file=sent, before=skipped)
        results = in_order(executor, Answering(run), todo, ahead)
        if resumable := sink.regular and stored:
            _save(mark, done)
        for answers in _from_workers(results):
            content = gzip.compress(answers.lines, 6, mtime=0) if _packed(out) else answers.lines
            profiles = _checked_editions(answers, done, run)
            sink.add(content)
            answered.update(content)
            done = evolve(
                done,
                read=answers.part.end,
                read_sha256=answers.part.read_sha256,
                written=done.written + len(content),
                written_sha256=answered.hexdigest(),
                line=answers.next_line,
                dogs=done.dogs + answers.dogs,
                refused=done.refused + answers.refused,
                profiles=profiles,
            )
            if resumable:
                _save(mark, done)
            tell(done)
        if stored and _book_hash(book) != (done.book_size, done.book_sha256):
            raise InputError([Problem(code="book-changed", params=_named(mark), file=str(book))])
        remove(mark)
    return done


def _named(mark: Path) -> dict[str, object]:
    return {"checkpoint": mark.name}


def _packed(file: Path) -> bool:
    return file.name.lower().endswith(".gz")


def _begun(book: Path | None, run: Run) -> Checkpoint:
    """The checkpoint of a run that has done nothing yet; without ``book`` the book can be read only once."""
    size, digest = (0, "") if book is None else _book_hash(book)
    asked = Asked(run.date.isoformat(), json.dumps(run.minutes), run.profile or "", ",".join(run.fields))
    nothing_yet = sha256().hexdigest()
    return Checkpoint(
        format=1,
        engine=run.version,
        asked=asked,
        book_size=size,
        book_sha256=digest,
        read=0,
        read_sha256=nothing_yet,
        written=0,
        written_sha256=nothing_yet,
        line=1,
        dogs=0,
        refused=0,
        profiles={},
    )


def _book_hash(book: Path) -> tuple[int, str]:
    """The size and the hash of the file that holds a book, as it is on the disk."""
    size, digest = 0, sha256()
    with opened(book) as file:
        while piece := file.read(1 << 20):
            size += len(piece)
            digest.update(piece)
    return size, digest.hexdigest()


def _skipped(book_lines: Iterator[tuple[bytes, int]], done: Checkpoint, mark: Path) -> Any:
    """Passes over the lines that are answered and returns their running hash."""
    at, digest = 0, sha256()
    while at < done.read and (line := next(book_lines, None)):
        digest.update(line[0])
        at += line[1]
    if at != done.read or digest.hexdigest() != done.read_sha256:
        raise InputError([Problem(code="book-changed", params=_named(mark), file=str(mark))])
    return digest


def _kept(sink: Growing, done: Checkpoint, mark: Path) -> Any:
    """The running hash of the answers that stay."""
    size, digest = 0, sha256()
    for piece in sink.kept(done.written):
        size += len(piece)
        digest.update(piece)
    if size != done.written or digest.hexdigest() != done.written_sha256:
        raise InputError([Problem(code="out-changed", params=_named(mark), file=str(mark))])
    return digest


def _resumed(mark: Path, new: Checkpoint, run: Run) -> Checkpoint:
    """The checkpoint of the run that was interrupted; raises ``InputError`` where this is another run."""
    try:
        document = read_json(read(mark, MAX_BYTES), str(mark))
        done = structured(document.data, Checkpoint, "checkpoint", Origin((((), document),)))
    except InputError as error:
        raise InputError([Problem(code="checkpoint", file=str(mark)), *error.problems]) from error
    if done.engine != new.engine:
        params = {"then": done.engine, "now": new.engine, **_named(mark)}
        raise InputError([Problem(code="other-engine", params=params, file=str(mark))])
    if done.asked != new.asked:
        raise InputError([Problem(code="other-run", file=str(mark))])
    if not new.book_sha256 or (done.book_size, done.book_sha256) != (new.book_size, new.book_sha256):
        raise InputError([Problem(code="book-changed", params=_named(mark), file=str(mark))])
    for name, edition in done.profiles.items():
        if edition_of(run, name) != edition:
            raise InputError(
                [Problem(code="profile-changed", params={"profile": name, **_named(mark)}, file=str(mark))]
            )
    return done


def _from_workers(results: Iterable[Answers]) -> Iterator[Answers]:
    """The answers; whatever the workers fail with is a problem that says how to go on."""
    answers = iter(results)
    while True:
        try:
            answer = next(answers)
        except StopIteration:
            return
        except InputError:
            raise
        except (KeyboardInterrupt, SystemExit, GeneratorExit):
            raise
        except BaseException as error:  # asyncio's cancelling of a task is no exception to Python
            name = type(error).__name__
            killed = isinstance(error, BrokenExecutor) or name == "KilledWorker"  # Dask's, which need not be installed
            code, params = ("workers-killed", {}) if killed else ("workers-failed", {"error": name})
            raise InputError([Problem(code=code, params=params)]) from error
        yield answer


def _checked_editions(answers: Answers, done: Checkpoint, run: Run) -> Mapping[str, str]:
    """All profiles used so far; raises ``InputError`` where a worker has another edition of one than this process."""
    for name, edition in answers.editions.items():
        own = done.profiles.get(name)
        if own is None:
            own = edition_of(run, name)
        if own != edition:
            raise InputError([Problem(code="worker-edition", params={"profile": name})])
    new = answers.editions.keys() - done.profiles.keys()
    return {**done.profiles, **answers.editions} if new else done.profiles


def _save(mark: Path, done: Checkpoint) -> None:
    data = asdict(done)
    data["profiles"] = dict(done.profiles)
    write(mark, json.dumps(data).encode() + b"\n", own=True)
