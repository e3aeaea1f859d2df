"""A book of many dogs: every history in files, folders and JSON Lines, and when each dog is due."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date as Date
from datetime import timedelta
from pathlib import Path

from attrs import evolve, frozen

from coatrules.dog.history import History
from coatrules.dog.loading import history_of
from coatrules.dog.state import Past, past_of, record_on
from coatrules.order.decide import Verdict
from coatrules.order.engine import order_by
from coatrules.order.next_visit import NextVisit, best_day, next_visit
from coatrules.order.work_order import WorkOrder
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import CompiledProfile
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
        return tuple(found._replace(line=found.line + self.line - 1) if found.line else found for found in problems)


def files(places: Iterable[Path]) -> list[Path]:
    """The files that a book is made of: those named, and in folders all that could hold histories, sorted, hidden ones left out."""
    found: list[Path] = []
    for place in places:
        if place.is_dir():
            inside = (file for file in place.rglob("*") if file.suffix.lower() in (*ONE_DOG, *LINES) and file.is_file())
            found += sorted(f for f in inside if not any(part.startswith(".") for part in f.relative_to(place).parts))
        else:
            found.append(place)
    return list(dict.fromkeys(found))


def entries(places: Iterable[Path]) -> Iterator[Entry]:
    """Every dog of the book, one at a time; what cannot be read is an entry with problems and stops nothing."""
    for file in files(places):
        try:
            if file.suffix.lower() in LINES:
                with file.open("rb") as lines:
                    yield from (_of_line(file, number, text) for number, text in enumerate(lines, 1) if text.strip())
            else:
                yield _of_file(file)
        except OSError as error:
            message = f"cannot read this file: {(error.strerror or type(error).__name__).lower()}"
            yield Entry(str(file), 1, 0, problems=(Problem("cannot-read", message, file=str(file)),))


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


@frozen(eq=False)
class Due:
    """When a dog must come, and what that visit will hold. ``visit`` is the window; ``day`` its best day, never before
    the day asked about. ``last`` is the last day of work on record. ``order`` is the work as it would be on ``day``.
    """

    last: Date | None
    visit: NextVisit
    day: Date
    order: WorkOrder

    @property
    def rank(self) -> tuple[Date, Date, str]:
        """Soonest first; of one day, the one that can wait least."""
        return self.visit.best, self.visit.latest or Date.max, self.order.dog_id


def due(plan: CompiledProfile, history: History, day: Date) -> Due:
    """When a dog must come back, asked on ``day``; raises ``InputError`` where the history and the profile do not fit."""
    known = past_of(plan, history, day)
    last = max((visit.day for _, visit in known.told if visit.work), default=None)
    never = NextVisit(day, day, None, ())  # where no work is on record nothing speaks for waiting
    visit = never if last is None else _window(plan, known, last)
    best = max(visit.best, day)
    if any(day < visit.day <= best for visit in history.visits):  # on record, and still to come
        known = past_of(plan, history, best)
    return Due(last, visit, best, order_by(plan, history, record_on(plan, known, best)))


def _window(plan: CompiledProfile, past: Past, last: Date) -> NextVisit:
    """The window that the coat leaves after all that is on record, on the last day of which anything was noted.

    Only places with unsound skin set no end: whatever else was noted may be over by then, and the order of that day says so.
    """
    record = record_on(plan, past, past.told[-1][1].day)
    unsound = {name for name, own in record.regions.items() if own.skin == "unsound"}
    verdicts = {name: Verdict("forbid" if name in unsound else "leave") for name in plan.regions}
    visit = next_visit(plan, record, verdicts, worked=())
    # The interval counts from the last work, not from the last note.
    planned = last + timedelta(days=round(plan.profile.visit.every_weeks * 7))
    return visit._replace(planned=planned, best=best_day(planned, visit.earliest, visit.latest))
