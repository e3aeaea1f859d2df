"""``coatrules due DOG...``: who of the book must come, soonest first."""

from __future__ import annotations

import json
import os
import shutil
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Collection, Iterator, Sequence
from contextlib import AbstractContextManager, nullcontext
from datetime import date
from pathlib import Path
from typing import Any

from coatrules import Due, Engine, History, Profile, Salon
from coatrules.book.entries import Entry, entries, files
from coatrules.catalogue.speaking import say
from coatrules.cli.common import (
    add_folders,
    add_salon,
    day,
    engine_of,
    profile_name,
    salon_document,
    salon_of,
    today,
    write_result,
)
from coatrules.cli.progress import Tell, progress, shows_progress
from coatrules.formats.documents import Origin
from coatrules.problems import InputError, Problem, spelt_alike_fix

LONG_BOOK = 200_000
"""Bytes from which a progress bar is shown: about a second's work."""


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("dog", nargs="+", metavar=say("metavar.DOG"), type=Path, help=say("help.due.DOG"))
    parser.add_argument("--date", type=day, metavar=say("metavar.DAY"), help=say("help.due.--date"))
    parser.add_argument("--until", type=day, metavar=say("metavar.DAY"), help=say("help.due.--until"))
    parser.add_argument("--profile", metavar=say("metavar.ID"), help=say("help.--profile-of-each"))
    add_folders(parser)
    add_salon(parser)
    parser.add_argument("--why", action="store_true", help=say("help.due.--why"))
    parser.add_argument(
        "--format", choices=("table", "json", "csv", "calendar"), default="table", help=say("help.--format")
    )
    parser.add_argument("--out", type=Path, metavar=say("metavar.FILE"), help=say("help.--out"))
    parser.set_defaults(run=run)


def run(args: Namespace) -> int:
    """Shows who is due; what cannot be read stops nothing and is shown on standard error, or within the JSON."""
    salon, as_of = salon_of(args, args.dog), today(args)
    engine = engine_of(args, salon)
    due_dogs, problems = dues(args, engine, salon)
    if args.until is not None:
        due_dogs = [dog for dog in due_dogs if min(dog.visit.best, dog.day) <= args.until]
    if due_dogs or not problems or args.format != "table":  # a book that cannot be read does not say that no dog is due
        write_result(render(engine, due_dogs, as_of, args.format, problems, why=args.why), args.out)
    for problem in problems if args.format != "json" else ():
        print(problem, file=sys.stderr)
    return 1 if any(problem.severity == "error" for problem in problems) else 0


def dues(args: Namespace, engine: Engine, salon: Salon | None = None) -> tuple[list[Due], list[Problem]]:
    """Returns all dogs of the book, soonest first, and all problems."""
    as_of = today(args)
    due_dogs: list[Due] = []
    problems: list[Problem] = []
    unusable: dict[str, InputError | None] = {}
    first_entries: dict[str | int, Entry] = {}
    label, done = say("progress.book"), 0
    with _progress(args.dog, label) as tell:
        for entry in entries(args.dog):
            problems += entry.problems
            if entry.history is not None:
                name = entry.history.dog.id
                if name in first_entries:
                    problems.append(_dog_twice(name, first_entries[name], entry))
                first_entries.setdefault(name, entry)
                try:
                    profile = _usable(args, engine, entry.history, entry.file, unusable)
                    due_dogs.append(engine.due(entry.history, date=as_of, profile=profile))
                except InputError as error:
                    problems += entry.placed(error.problems)
            done += entry.size
            tell(done, label)
    if salon is not None and any(map(os.path.isdir, args.dog)):
        problems += _strangers(args, salon, set(map(str, first_entries)))
    return sorted(due_dogs, key=lambda dog: dog.rank), problems


def _strangers(args: Namespace, salon: Salon, known: Collection[str]) -> Iterator[Problem]:
    """What the salon's file says of dogs of which there is no history in the book."""
    unknown = [dog for dog in salon.dogs if dog not in known]
    document = salon_document(args, args.dog) if unknown else None
    if document is not None:
        origin = Origin((((), document),))
        for dog in unknown:
            fix = spelt_alike_fix(dog, known)
            yield origin.problem_at(
                ("dogs", dog), "salon-stranger", {"dog": dog}, fix=fix, severity="warning", key=True
            )


def _dog_twice(name: str | int, first: Entry, again: Entry) -> Problem:
    params = {"dog": name, "first": first.file, "line": first.line}
    return Problem(code="dog-twice", params=params, severity="warning", file=again.file, line=again.line)


def _usable(
    args: Namespace, engine: Engine, history: History, file: str, unusable: dict[str, InputError | None]
) -> Profile:
    """The profile of one dog; raises ``InputError`` where there is none, or it has problems, which are looked for once."""
    name = profile_name(args, history)
    if name not in unusable:
        unusable[name] = None
        try:
            engine.profile(name)
        except InputError as error:
            unusable[name] = error
    if (problems := unusable[name]) is not None:
        raise InputError([Problem(code="profile-unusable", params={"profile": name}, file=file)]) from problems
    return engine.profile(name)


def render(
    engine: Engine, due_dogs: list[Due], as_of: date, form: str, problems: Sequence[Problem] = (), *, why: bool = False
) -> str:
    """Returns the dogs in the form asked for; only JSON holds the problems too, where there are any. ``why``: the table in
    sentences, not in a line a dog."""
    if form == "calendar":
        return engine.calendar(due_dogs, date=as_of)
    if form == "csv":
        return engine.due_sheet(due_dogs)
    if form == "json":
        data: dict[str, Any] = {"format": 1, "date": as_of.isoformat(), "dogs": engine.due_rows(due_dogs)}
        if problems:
            data["problems"] = engine.data(problems)
        return json.dumps(data, indent=2, ensure_ascii=False) + "\n"
    if not due_dogs:
        return say("due.none") + "\n"
    width = shutil.get_terminal_size((80, 24)).columns
    return engine.text(due_dogs, max(80, width) if why else width, reasons=why)


def _progress(book: list[Path], label: str) -> AbstractContextManager[Tell]:
    """A progress bar for a long book."""
    total = sum(os.path.getsize(file) for file in files(book) if os.path.isfile(file)) if shows_progress() else 0
    return progress(total, label) if total >= LONG_BOOK else nullcontext(lambda done, label: None)
