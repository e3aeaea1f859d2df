"""``coatrules due DOG...``: who of the book must come, soonest first."""

from __future__ import annotations

import json
import shutil
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

from coatrules.book.due import Due, due
from coatrules.book.entries import Entry, entries, files
from coatrules.cli.common import add_folders, day, profile_of, today, write_result
from coatrules.cli.output import output_file
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import CompiledProfile, compile_profile

LONG_BOOK = 200_000
"""Bytes from which a progress bar is shown: about a second's work."""


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument(
        "dog", nargs="+", metavar="DOG", type=Path, help="histories: files, folders of them, or JSON Lines"
    )
    parser.add_argument("--date", type=day, metavar="DAY", help="the day it is asked on (default: today)")
    parser.add_argument("--until", type=day, metavar="DAY", help="only those due by this day")
    parser.add_argument("--profile", metavar="ID", help="work by this profile instead of those the histories name")
    add_folders(parser)
    parser.add_argument(
        "--format", choices=("table", "json", "csv", "calendar"), default="table", help="how to show it"
    )
    parser.add_argument("--out", type=Path, metavar="FILE", help="write it to this file")
    parser.set_defaults(run=run)


def run(args: Namespace) -> int:
    """Shows who is due; what cannot be read is said on standard error and stops nothing."""
    as_of = today(args)
    due_dogs, problems = dues(args, as_of)
    if args.until is not None:
        due_dogs = [dog for dog in due_dogs if dog.visit.best <= args.until]
    if due_dogs or not problems or args.format != "table":  # a book that cannot be read does not say that no dog is due
        write_result(render(due_dogs, as_of, args.format), output_file(args))
    for problem in problems:
        print(problem, file=sys.stderr)
    return 1 if any(problem.severity == "error" for problem in problems) else 0


def dues(args: Namespace, as_of: date) -> tuple[list[Due], list[Problem]]:
    """Returns all dogs of the book, soonest first, and all problems."""
    due_dogs: list[Due] = []
    problems: list[Problem] = []
    profiles = _Profiles(args)
    first_entries: dict[str | int, Entry] = {}
    with _progress(args.dog) as advance:
        for entry in entries(args.dog):
            problems += entry.problems
            if entry.history is not None:
                name = entry.history.dog.id
                if name in first_entries:
                    message = f"the dog '{name}' stands in this book already: {first_entries[name].file}, line {first_entries[name].line}"
                    hint = "Give one of the two another id, or take one out."
                    problems.append(
                        Problem(
                            code="dog-twice",
                            message=message,
                            severity="warning",
                            file=entry.file,
                            line=entry.line,
                            hint=hint,
                        )
                    )
                first_entries.setdefault(name, entry)
                try:
                    due_dogs.append(due(profiles.of(entry), entry.history, as_of))
                except InputError as error:
                    problems += entry.placed(error.problems)
            advance(entry.size)
    return sorted(due_dogs, key=lambda dog: dog.rank), problems


class _Profiles:
    """The profiles of the book, each loaded once."""

    def __init__(self, args: Namespace) -> None:
        self.args = args
        self.loaded: dict[str | None, CompiledProfile | InputError] = {}

    def of(self, entry: Entry) -> CompiledProfile:
        """The profile of one dog; raises ``InputError`` where there is none, or it has problems."""
        assert entry.history is not None
        name = self.args.profile or entry.history.dog.profile
        if name is None:
            profile_of(self.args, entry.history)  # raises, and says what to do
        if name not in self.loaded:
            try:
                self.loaded[name] = compile_profile(profile_of(self.args, entry.history))
            except InputError as error:
                self.loaded[name] = error
        loaded = self.loaded[name]
        if isinstance(loaded, InputError):
            raise InputError(
                [Problem(code="no-profile", message=f"its profile '{name}' cannot be used", file=entry.file)]
            ) from loaded
        return loaded


def render(due_dogs: list[Due], as_of: date, form: str) -> str:
    """Returns the dogs in the form asked for."""
    if form == "calendar":
        from coatrules.report.calendar import calendar, due_event

        return calendar(map(due_event, due_dogs), as_of)
    from coatrules.report.due import due_data, sheet, table

    if form == "csv":
        return sheet(due_dogs, as_of)
    if form == "json":
        data = {"format": 1, "date": as_of.isoformat(), "dogs": [due_data(dog, as_of) for dog in due_dogs]}
        return json.dumps(data, indent=2, ensure_ascii=False) + "\n"
    return table(due_dogs, as_of, width=max(80, shutil.get_terminal_size((100, 24)).columns))


@contextmanager
def _progress(book: list[Path]) -> Iterator[Callable[[int], object]]:
    """A progress bar for a long book, on standard error and only in a terminal."""
    total = 0
    if sys.stderr.isatty():
        total = sum(file.stat().st_size for file in files(book) if file.is_file())
    if total < LONG_BOOK:
        yield lambda size: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("Reading the book", total=total)
        yield lambda size: bar.advance(task, size)
