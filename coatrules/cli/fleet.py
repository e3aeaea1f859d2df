"""``coatrules fleet BOOK``: a work order for every dog of a book, from JSON Lines to JSON Lines."""

from __future__ import annotations

import os
import sys
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Callable, Iterator
from concurrent.futures import Executor
from contextlib import contextmanager
from pathlib import Path

from coatrules.book.checkpoint import Checkpoint, checkpoint_file, work_through
from coatrules.book.fleet import SUMMARY, run_of
from coatrules.catalogue.english import ENGLISH
from coatrules.catalogue.speaking import say, speaking
from coatrules.cli.cluster import dask_cluster, processes
from coatrules.cli.common import add_folders, day, minutes, today
from coatrules.cli.progress import progress
from coatrules.formats.resources import schema
from coatrules.problems import InputError, visible


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("book", metavar=say("metavar.BOOK"), type=Path, help=say("help.fleet.BOOK"))
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument("--out", type=Path, metavar=say("metavar.FILE"), help=say("help.fleet.--out"))
    what.add_argument("--verify", type=Path, metavar=say("metavar.FILE"), help=say("help.fleet.--verify"))
    parser.add_argument("--date", type=day, metavar=say("metavar.DAY"), help=say("help.--date"))
    parser.add_argument("--minutes", type=minutes, metavar=say("metavar.N"), help=say("help.fleet.--minutes"))
    parser.add_argument("--profile", metavar=say("metavar.ID"), help=say("help.--profile-of-each"))
    add_folders(parser)
    shown = parser.add_mutually_exclusive_group()
    shown.add_argument(
        "--fields", type=_fields, metavar=say("metavar.KEY,KEY"), default=(), help=say("help.fleet.--fields")
    )
    shown.add_argument(
        "--summary", dest="fields", action="store_const", const=SUMMARY, help=say("help.fleet.--summary")
    )
    parser.add_argument(
        "--processes", type=_count, metavar=say("metavar.N"), default=1, help=say("help.fleet.--processes")
    )
    parser.add_argument("--dask", metavar=say("metavar.ADDRESS"), help=say("help.fleet.--dask"))
    parser.add_argument("--resume", action="store_true", help=say("help.fleet.--resume"))
    parser.set_defaults(run=run, error=parser.error, default=parser.get_default)


def _count(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 1024:
        raise ArgumentTypeError(say("argument.processes", text=text))
    return int(text)


def _fields(text: str) -> tuple[str, ...]:
    known = tuple(schema("work-order")["properties"])
    fields = tuple(field.strip() for field in text.split(","))
    for field in fields:
        if field not in known:
            raise ArgumentTypeError(say("argument.one-of", text=field, names=known))
    return fields


def run(args: Namespace) -> int:
    """Works through the book; exit code 1 where lines had to be refused. Answers are for programs, and the same bytes in whatever
    process they are worked out: in English, whatever language is asked for."""
    with speaking(ENGLISH):
        return _run(args)


def _run(args: Namespace) -> int:
    if args.verify is not None:
        return _verify(args)
    book_run = run_of(today(args), args.minutes, args.profile, args.profiles, args.fields)
    try:
        with _executor(args) as (executor, ahead, shared), _progress(args.book) as tell:
            done = work_through(
                args.book,
                args.out,
                book_run,
                executor=executor,
                ahead=ahead,
                shared=shared,
                resume=args.resume,
                tell=tell,
            )
    except KeyboardInterrupt as stop:
        if os.path.exists(checkpoint_file(args.out)):
            stop.args = (say("fleet.stopped"),)
        raise
    if done.refused:
        print(visible(say("fleet.refused", refused=done.refused, dogs=done.dogs, file=args.out)), file=sys.stderr)
    return 1 if done.refused else 0


_OF_A_RUN = ("date", "minutes", "profile", "profiles", "fields", "processes", "dask", "resume")
"""Options that say how answers are made, of which nothing is asked where they are compared."""


def _verify(args: Namespace) -> int:
    from coatrules.book.verification import verify

    for option in _OF_A_RUN:
        if getattr(args, option) != args.default(option):
            name = "summary" if args.fields == SUMMARY and option == "fields" else option
            args.error(say("usage.verify-alone", option=f"--{name}"))
    verified = verify(args.verify, args.book)
    if verified.problems:
        raise InputError(verified.problems)
    text = say("fleet.verified", refused=verified.refused, dogs=verified.dogs, file=args.verify)
    print(visible(text), file=sys.stderr)
    return 0


@contextmanager
def _executor(args: Namespace) -> Iterator[tuple[Executor | None, int, bool]]:
    """Where to work, how many parts to have on the way, and whether the workers read the book themselves."""
    if args.dask is not None:
        with dask_cluster(args.dask) as (cluster, workers):
            yield cluster, 2 * workers + 2, True
    elif args.processes > 1:
        with processes(args.processes) as pool:
            yield pool, 2 * args.processes + 2, False
    else:
        yield None, 1, False


@contextmanager
def _progress(book: Path) -> Iterator[Callable[[Checkpoint], None]]:
    """A bar for the bytes of the book, with the dogs that are done."""
    total = os.path.getsize(book) if os.path.isfile(book) else None
    with progress(total, say("progress.dogs", dogs=0)) as tell:
        yield lambda done: tell(done.read, say("progress.dogs", dogs=done.dogs))
