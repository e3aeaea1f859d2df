"""``coatrules due DOG...``: who of the book must come, soonest first."""

from __future__ import annotations

import json
import os
import shutil
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from contextlib import AbstractContextManager, nullcontext
from datetime import date
from pathlib import Path
from typing import Any

from coatrules.book.due import Due, due
from coatrules.book.entries import Entry, entries, files
from coatrules.catalogue.speaking import say
from coatrules.cli.common import add_folders, add_salon, day, profile_for, salon_of, today, write_result
from coatrules.cli.progress import Tell, progress, shows_progress
from coatrules.dog.regime import worked_by
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import CompiledProfile, compile_profile
from coatrules.profile.model import Profile

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
    as_of = today(args)
    due_dogs, problems = dues(args, as_of)
    if args.until is not None:
        due_dogs = [dog for dog in due_dogs if min(dog.visit.best, dog.day) <= args.until]
    if due_dogs or not problems or args.format != "table":  # a book that cannot be read does not say that no dog is due
        write_result(render(due_dogs, as_of, args.format, problems, why=args.why), args.out)
    for problem in problems if args.format != "json" else ():
        print(problem, file=sys.stderr)
    return 1 if any(problem.severity == "error" for problem in problems) else 0


def dues(args: Namespace, as_of: date) -> tuple[list[Due], list[Problem]]:
    """Returns all dogs of the book, soonest first, and all problems."""
    due_dogs: list[Due] = []
    problems: list[Problem] = []
    profiles, salon = _Profiles(args), salon_of(args, args.dog)
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
                    due_dogs.append(due(profiles.of(entry), entry.history, as_of, salon))
                except InputError as error:
                    problems += entry.placed(error.problems)
            done += entry.size
            tell(done, label)
    return sorted(due_dogs, key=lambda dog: dog.rank), problems


def _dog_twice(name: str | int, first: Entry, again: Entry) -> Problem:
    params = {"dog": name, "first": first.file, "line": first.line}
    return Problem(code="dog-twice", params=params, severity="warning", file=again.file, line=again.line)


class _Profiles:
    """The profiles of the book, each loaded once."""

    def __init__(self, args: Namespace) -> None:
        self.args = args
        self.loaded: dict[str | None, Profile | InputError] = {}

    def of(self, entry: Entry) -> CompiledProfile:
        """The profile of one dog; raises ``InputError`` where there is none, or it has problems."""
        assert entry.history is not None
        name = self.args.profile or entry.history.dog.profile
        if name is None:
            profile_for(self.args, entry.history)  # raises, and says what to do
        if name not in self.loaded:
            try:
                self.loaded[name] = profile_for(self.args, entry.history)
            except InputError as error:
                self.loaded[name] = error
        loaded = self.loaded[name]
        if isinstance(loaded, InputError):
            raise InputError([Problem(code="profile-unusable", params={"profile": name}, file=entry.file)]) from loaded
        return compile_profile(worked_by(loaded, entry.history, today(self.args)))


def render(due_dogs: list[Due], as_of: date, form: str, problems: Sequence[Problem] = (), *, why: bool = False) -> str:
    """Returns the dogs in the form asked for; only JSON holds the problems too, where there are any. ``why``: the table in
    sentences, not in a line a dog."""
    if form == "calendar":
        from coatrules.report.calendar import calendar, due_event

        return calendar([due_event(dog) for dog in due_dogs if dog.visit.hold is None], as_of)
    from coatrules.report.due import due_data, reasons, sheet, table

    if form == "csv":
        return sheet(due_dogs, as_of)
    if form == "json":
        data: dict[str, Any] = {
            "format": 1,
            "date": as_of.isoformat(),
            "dogs": [due_data(dog, as_of) for dog in due_dogs],
        }
        if problems:
            from coatrules.report.problems import problem_data

            data["problems"] = list(map(problem_data, problems))
        return json.dumps(data, indent=2, ensure_ascii=False) + "\n"
    width = shutil.get_terminal_size((80, 24)).columns
    return reasons(due_dogs, as_of, max(80, width)) if why else table(due_dogs, as_of, width)


def _progress(book: list[Path], label: str) -> AbstractContextManager[Tell]:
    """A progress bar for a long book."""
    total = sum(os.path.getsize(file) for file in files(book) if os.path.isfile(file)) if shows_progress() else 0
    return progress(total, label) if total >= LONG_BOOK else nullcontext(lambda done, label: None)
