"""Many dogs: a work order for each, in order and in constant memory, on any ``concurrent.futures.Executor``.

A book is JSON Lines (one history a line, UTF-8, https://jsonlines.org): what cannot be worked becomes a record of its
problems in the same place, and stops nothing. The results are the same bytes on every executor.
"""

from __future__ import annotations

import json
import sys
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Executor, Future
from contextlib import suppress
from datetime import date as Date
from functools import lru_cache
from hashlib import sha256
from itertools import islice
from pathlib import Path
from typing import Any, TypeVar

from attrs import evolve, frozen

from coatrules.disk import lines, opened, read
from coatrules.dog.history import History
from coatrules.dog.loading import given_history, history_of
from coatrules.dog.regime import worked_by
from coatrules.order.arguments import checked_day
from coatrules.order.engine import order, summary
from coatrules.order.salon import Salon
from coatrules.order.work_order import WorkOrder
from coatrules.problems import InputError, Problem, nearest_fix
from coatrules.profile.compiled import compile_profile
from coatrules.profile.loading import load_profile
from coatrules.profile.model import Profile
from coatrules.profile.shelves import library
from coatrules.read_only import NOTHING
from coatrules.reading import MAX_BYTES, read_json

WHOSE = ("format", "dog", "profile")
REGIME = "/"
"""Between a profile's id and its regime, where editions are told apart."""
SUMMARY = ("date", "minutes", "next_visit")
"""What a summary tells: less than 2,000 bytes a dog."""
_SUMMARISED = frozenset((*WHOSE, *SUMMARY))
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
    salon: Salon | None = None,
    executor: Executor | None = None,
) -> Iterator[WorkOrder | InputError]:
    """The work order of every dog, in the order of ``histories``; where there can be none, the ``InputError`` itself.

    ``profiles``: one for all dogs, itself or by its id, or those that the histories name, by id. ``salon``: its open days, and how much
    time there is for each dog where ``minutes`` does not say it for all.
    ``executor``: where to work; here and one by one if none is given. Histories are taken only a few hundred dogs ahead of what is asked
    for. What a later visit would find is not looked at (``NextVisit.late`` is empty): it takes several times as long.
    """
    chosen = load_profile(profiles) if isinstance(profiles, str) else profiles
    orders = _Orders(chosen, checked_day(date), minutes, salon)
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
    salon: Salon | None = None

    def __call__(self, histories: list[History | Mapping[str, Any]]) -> list[WorkOrder | InputError]:
        return [self._order(history) for history in histories]

    def _order(self, raw_history: History | Mapping[str, Any]) -> WorkOrder | InputError:
        try:
            history = given_history(raw_history)
            usual = self.salon.minutes_for(history.dog.id) if self.salon is not None else None
            minutes = usual if self.minutes is None else self.minutes
            compiled = compile_profile(worked_by(self._profile(history), history, self.date))
            answer = order(compiled, history, self.date, minutes)
            return answer if self.salon is None else self.salon.with_open_day(answer)
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
    """What the profiles' files held when the run began."""
    fields: tuple[str, ...] = ()
    """What is told of each order, beside whose it is and by which profile; everything where this is empty."""
    version: str = ""
    """Of the engine that began the run."""


def run_of(
    date: Date,
    minutes: float | None = None,
    profile: str | None = None,
    folders: Iterable[Path] = (),
    fields: Sequence[str] = (),
) -> Run:
    """A run by the profiles that are there now; raises ``InputError`` where the one for all dogs is not."""
    folder_names = tuple(str(folder) for folder in folders)
    stamps = []
    for name, file in sorted(library(folder_names).items()):
        with suppress(InputError):  # what cannot be read is said where a dog needs it
            stamps.append(f"{name} {sha256(read(file, MAX_BYTES)).hexdigest()}")
    edition = sha256("\n".join(stamps).encode()).hexdigest()
    run = Run(checked_day(date), minutes, profile, folder_names, edition, tuple(fields), engine_version())
    if profile is not None and isinstance(result := _loaded(run, profile), InputError):
        raise result
    return run


def engine_version() -> str:
    """The version of this program."""
    version: str = sys.modules[__name__.partition(".")[0]].__version__  # the root leads to packages above this one
    return version


def edition_of(run: Run, name: str) -> str:
    """The content hash of a profile as this process has it; empty where it cannot be used."""
    of, _, regime = name.partition(REGIME)
    loaded = _loaded(run, of)
    if isinstance(loaded, InputError):
        return ""
    profile = loaded.regimes.get(regime) if regime else loaded
    return "" if profile is None else compile_profile(profile).edition.sha256


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
    sha256: str = ""
    """Of its lines, by which a worker knows that it reads the same book."""
    read_sha256: str = ""
    """Of the book's lines up to the part's end."""


def parts(
    book: Iterable[tuple[bytes, int]],
    *,
    first: int = 1,
    start: int = 0,
    file: str | None = None,
    dogs: int = DOGS,
    before: Any = None,
) -> Iterator[Part]:
    """The rest of a book, which stands at ``start``, in parts of whole lines. ``file``: where workers can read it.

    ``book`` gives each line and its size in bytes; ``before`` is the running hash of the lines before.
    """
    held: list[bytes] = []
    size, end = 0, start
    so_far = before.copy() if before is not None else sha256()

    def part() -> Part:
        of_part = sha256(b"".join(held)).hexdigest()
        return Part(first, start, end, file, () if file else tuple(held), of_part, so_far.hexdigest())

    for line, bytes_ in book:
        held.append(line)
        so_far.update(line)
        size += len(line)
        end += bytes_
        if len(held) == dogs or size >= PART_BYTES:
            yield part()
            first, start, size, held = first + len(held), end, 0, []
    if held:
        yield part()


@frozen
class Answers:
    """A part's answers, a line each; ``refused`` of its dogs have none but a record of problems."""

    part: Part
    lines: bytes
    next_line: int
    dogs: int
    refused: int
    editions: Mapping[str, str] = NOTHING
    """The content hash of every profile that was used, by its id; empty where it could not be used."""


@frozen
class Answering:
    """Answers parts of a book; goes to the workers with each."""

    run: Run

    def __call__(self, part: Part) -> Answers:
        if (version := engine_version()) != self.run.version:
            params = {"version": version, "wanted": self.run.version}
            raise InputError([Problem(code="worker-version", params=params)])
        answers: list[bytes] = []
        editions: dict[str, str] = {}
        refused, number = 0, part.first
        for number, line in enumerate(_lines(part), part.first):
            if line.strip():
                answer, bad = _answer(self.run, number, line, editions)
                answers.append(answer)
                refused += bad
        return Answers(evolve(part, lines=()), b"".join(answers), number + 1, len(answers), refused, editions)


def _lines(part: Part) -> tuple[bytes, ...]:
    if part.file is None:
        return part.lines
    path, found, at = Path(part.file), [], part.start
    with opened(path) as book:
        book.seek(part.start)
        for line, size in lines(book, path, MAX_BYTES):
            found.append(line)
            at += size
            if at >= part.end:
                break
    if sha256(b"".join(found)).hexdigest() != part.sha256:
        raise InputError([Problem(code="worker-book", file=part.file)])
    return tuple(found)


def _answer(run: Run, number: int, line: bytes, editions: dict[str, str]) -> tuple[bytes, bool]:
    """The answer to one line, and whether it is a refusal; the profile that was used is added to ``editions``."""
    try:
        history = history_of((read_json(line),))
        name = run.profile or _named(history)
        loaded = _loaded(run, name)
        editions[name] = edition_of(run, name)
        if isinstance(loaded, InputError):
            raise loaded
        compiled = compile_profile(worked_by(loaded, history, run.date))
        if compiled.profile.regime != loaded.regime:
            editions[f"{name}{REGIME}{compiled.profile.regime}"] = compiled.edition.sha256
        if run.fields and _SUMMARISED.issuperset(run.fields):
            answer = _picked(summary(compiled, history, run.date, run.minutes), run.fields)
        else:
            answer = _picked(order(compiled, history, run.date, run.minutes).to_dict(), run.fields)
    except InputError as error:
        return _json_line({"line": number, "problems": [problem_data(problem) for problem in error.problems]}), True
    except Exception as error:  # one dog that the engine fails on may not cost the others their night
        problem = Problem(code="engine", params={"error": type(error).__name__})
        return _json_line({"line": number, "problems": [problem_data(problem)]}), True
    return _json_line(answer), False


def _picked(answer: dict[str, Any], fields: Sequence[str]) -> dict[str, Any]:
    """What is asked of an answer, and always what it is an answer to."""
    return {key: value for key, value in answer.items() if key in fields or key in WHOSE} if fields else answer


def problem_data(problem: Problem) -> dict[str, Any]:
    """A problem as plain data; its line is the book's, so only the column is told."""
    return {key: value for key, value in problem.to_dict().items() if key not in ("file", "line")}


def _json_line(data: dict[str, Any]) -> bytes:
    return json.dumps(data, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


@lru_cache(maxsize=256)
def _loaded(run: Run, name: str) -> Profile | InputError:
    """The profile, or why it cannot be used; kept for the run, as a book names few."""
    try:
        return load_profile(name, shelves=run.folders)
    except InputError as error:
        return error
