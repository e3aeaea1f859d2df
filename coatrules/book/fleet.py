"""Many dogs: a work order for each, in order and in constant memory, on any ``concurrent.futures.Executor``.

A book is JSON Lines (one history a line, UTF-8, https://jsonlines.org): what cannot be worked becomes a record of its
problems in the same place, and stops nothing. The results are the same bytes on every executor.
"""

from __future__ import annotations

import json
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import Executor, Future
from datetime import date as Date
from functools import lru_cache
from hashlib import sha256
from itertools import islice
from pathlib import Path
from typing import Any, BinaryIO, TypeVar

from attrs import frozen

from coatrules.dog.history import History
from coatrules.dog.loading import given_history, history_of
from coatrules.order.arguments import checked_day
from coatrules.order.engine import order
from coatrules.order.work_order import WorkOrder
from coatrules.problems import InputError, Problem, nearest_fix
from coatrules.profile.compiled import CompiledProfile, compile_profile
from coatrules.profile.loading import load_profile
from coatrules.profile.model import Profile
from coatrules.profile.shelves import library
from coatrules.reading import MAX_BYTES, read_json

T = TypeVar("T")
R = TypeVar("R")

DOGS = 40
"""Dogs sent to a worker at a time: about half a second's work, beside which the sending is nothing."""
PART_BYTES = 8_000_000
AHEAD = 16
"""Parts being worked on, or waiting for a worker, at a time, where nothing else is said."""


# -- in Python ---------------------------------------------------------------------------------------------------------


def work_orders(
    histories: Iterable[History | Mapping[str, Any]],
    profiles: Profile | Mapping[str, Profile] | str,
    *,
    date: Date,
    minutes: float | None = None,
    executor: Executor | None = None,
) -> Iterator[WorkOrder | InputError]:
    """The work order of every dog, in the order of ``histories``; where there can be none, the ``InputError`` itself.

    ``profiles``: one for all dogs, itself or by its id, or those that the histories name, by id.
    ``executor``: where to work; here and one by one if none is given. Histories are taken only a few hundred dogs ahead of what is asked
    for. What a later visit would find is not looked at (``NextVisit.late`` is empty): it takes several times as long.
    """
    chosen = load_profile(profiles) if isinstance(profiles, str) else profiles
    orders = _Orders(chosen, checked_day(date), minutes)
    rest = iter(histories)
    groups = iter(lambda: list(islice(rest, DOGS if executor is not None else 1)), [])
    for results in in_order(executor, orders, groups):
        yield from results


@frozen(eq=False, repr=False)
class _Orders:
    """What is asked of every group of dogs; goes to the workers with each."""

    profiles: Profile | Mapping[str, Profile]
    date: Date
    minutes: float | None

    def __call__(self, histories: list[History | Mapping[str, Any]]) -> list[WorkOrder | InputError]:
        return [self._order(history) for history in histories]

    def _order(self, raw_history: History | Mapping[str, Any]) -> WorkOrder | InputError:
        try:
            history = given_history(raw_history)
            return order(compile_profile(self._profile(history)), history, self.date, self.minutes)
        except InputError as error:
            return error

    def _profile(self, history: History) -> Profile:
        if isinstance(self.profiles, Profile):
            return self.profiles
        name = _named(history)
        if name not in self.profiles:
            params, fix = {"profile": name}, nearest_fix(name, self.profiles)
            raise InputError([history.origin.problem_at(("dog", "profile"), "profile-not-given", params, fix=fix)])
        return self.profiles[name]


def in_order(executor: Executor | None, work: Callable[[T], R], tasks: Iterable[T], ahead: int = AHEAD) -> Iterator[R]:
    """What ``work`` makes of each task, in their order, with at most ``ahead`` tasks taken and not yet answered."""
    if executor is None:
        yield from map(work, tasks)
        return
    waiting: deque[Future[R]] = deque()
    try:
        for task in tasks:
            waiting.append(executor.submit(work, task))
            if len(waiting) >= ahead:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
    finally:  # also where nobody asks for the rest
        for future in waiting:
            future.cancel()


def _named(history: History) -> str:
    if history.dog.profile is None:
        raise InputError([history.origin.problem_at(("dog",), "no-profile")])
    return history.dog.profile


# -- from line to line -------------------------------------------------------------------------------------------------


@frozen
class Run:
    """What a run over a book asks; made by ``run_of``. ``profile``: for all dogs, None for the one each history names."""

    date: Date
    minutes: float | None
    profile: str | None
    folders: tuple[str, ...]
    edition: str
    """The profiles that were there when the run began: another edition is another run."""


def run_of(date: Date, minutes: float | None = None, profile: str | None = None, folders: Iterable[Path] = ()) -> Run:
    """A run by the profiles that are there now; raises ``InputError`` where the one for all dogs is not."""
    folder_names = tuple(str(folder) for folder in folders)
    profile_files = library(folder_names)
    stamps = [
        f"{name} {file} {(stat := file.stat()).st_size} {stat.st_mtime_ns}"
        for name, file in sorted(profile_files.items())
    ]
    run = Run(date, minutes, profile, folder_names, sha256("\n".join(stamps).encode()).hexdigest())
    if profile is not None and isinstance(result := _compiled(run, profile), InputError):
        raise result
    return run


@frozen
class Part:
    """Some lines of a book: ``first`` is the number of the first, ``start`` and ``end`` their place in bytes.

    The lines themselves go along, unless the workers are to read them from ``file``.
    """

    first: int
    start: int
    end: int
    file: str | None
    lines: tuple[bytes, ...] = ()


def parts(
    book: BinaryIO, *, first: int = 1, start: int = 0, file: str | None = None, dogs: int = DOGS
) -> Iterator[Part]:
    """The rest of a book, which stands at ``start``, in parts of whole lines. ``file``: where workers can read it."""
    lines: list[bytes] = []
    size, end = 0, start
    for line, bytes_ in bounded_lines(book):
        lines.append(line)
        size += len(line)
        end += bytes_
        if len(lines) == dogs or size >= PART_BYTES:
            yield Part(first, start, end, file, () if file else tuple(lines))
            first, start, size, lines = first + len(lines), end, 0, []
    if lines:
        yield Part(first, start, end, file, () if file else tuple(lines))


def bounded_lines(book: BinaryIO) -> Iterator[tuple[bytes, int]]:
    """Each line, and how many bytes it took; of a line too long to be read only as much as shows that."""
    while line := book.readline(MAX_BYTES + 2):
        size, more = len(line), line
        while not more.endswith(b"\n") and (more := book.readline(MAX_BYTES)):
            size += len(more)
        yield line, size


@frozen
class Answers:
    """A part's answers, a line each; ``refused`` of its dogs have none but a record of problems."""

    part: Part
    lines: bytes
    next_line: int
    dogs: int
    refused: int


@frozen
class Answering:
    """Answers parts of a book; goes to the workers with each."""

    run: Run

    def __call__(self, part: Part) -> Answers:
        answers: list[bytes] = []
        refused, number = 0, part.first
        for number, line in enumerate(_lines(part), part.first):
            if line.strip():
                answer, bad = _answer(self.run, number, line)
                answers.append(answer)
                refused += bad
        return Answers(part, b"".join(answers), number + 1, len(answers), refused)


def _lines(part: Part) -> Iterator[bytes]:
    if part.file is None:
        yield from part.lines
        return
    with open(part.file, "rb") as book:
        book.seek(part.start)
        at = part.start
        for line, size in bounded_lines(book):
            yield line
            at += size
            if at >= part.end:
                return


def _answer(run: Run, number: int, line: bytes) -> tuple[bytes, bool]:
    """The answer to one line, and whether it is a refusal."""
    try:
        history = history_of((read_json(line),))
        compiled = _compiled(run, run.profile or _named(history))
        if isinstance(compiled, InputError):
            raise compiled
        answer = order(compiled, history, run.date, run.minutes).to_dict()
    except InputError as error:
        return _json_line({"line": number, "problems": [problem_data(problem) for problem in error.problems]}), True
    except Exception as error:  # one dog that the engine fails on may not cost the others their night
        problem = Problem(code="engine", params={"error": type(error).__name__})
        return _json_line({"line": number, "problems": [problem_data(problem)]}), True
    return _json_line(answer), False


def problem_data(problem: Problem) -> dict[str, Any]:
    """A problem as plain data; its line is the book's, so only the column is told."""
    return {
        "code": problem.code,
        "severity": problem.severity,
        "message": problem.message,
        "path": list(problem.path),
        "column": problem.column,
        "hint": problem.hint,
    }


def _json_line(data: dict[str, Any]) -> bytes:
    return json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


@lru_cache(maxsize=256)
def _compiled(run: Run, name: str) -> CompiledProfile | InputError:
    """The profile ready to answer, or why it is not; kept for the run, as a book names few."""
    try:
        return compile_profile(load_profile(name, shelves=run.folders))
    except InputError as error:
        return error
