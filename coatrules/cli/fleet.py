"""``coatrules fleet BOOK``: a work order for every dog of a book, from JSON Lines to JSON Lines."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Executor, ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import get_context
from pathlib import Path
from typing import Any

from coatrules.book.checkpoint import Checkpoint, checkpoint_file, work_through
from coatrules.book.fleet import Run, run_of
from coatrules.cli.common import add_folders, day, minutes, today
from coatrules.extras import require_extra
from coatrules.problems import InputError, Problem


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("book", metavar="BOOK", type=Path, help="JSON Lines: a dog's history in each line")
    parser.add_argument("--out", type=Path, metavar="FILE", required=True, help="write the work orders to this file")
    parser.add_argument("--date", type=day, metavar="DAY", help="the day of the work (default: today)")
    parser.add_argument(
        "--minutes", type=minutes, metavar="N", help="minutes for each dog (default: its profile's visit)"
    )
    parser.add_argument("--profile", metavar="ID", help="work by this profile instead of those the histories name")
    add_folders(parser)
    parser.add_argument("--processes", type=_count, metavar="N", default=1, help="work in so many processes")
    parser.add_argument("--dask", metavar="ADDRESS", help="work on this Dask cluster, whose workers can read the book")
    parser.add_argument("--resume", action="store_true", help="go on with a run that was killed")
    parser.set_defaults(run=run)


def _count(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 1024:
        raise ArgumentTypeError(f"'{text}' is not a number of processes; write a whole number from 1 to 1024")
    return int(text)


def run(args: Namespace) -> int:
    """Works through the book; exit code 1 where lines had to be refused."""
    if (problem := _output_problem(args)) is not None:
        raise InputError([problem])
    book_run = run_of(today(args), args.minutes, args.profile, args.profiles)
    with _executor(args) as (executor, ahead, shared), _progress(args.book) as tell:
        done = _work_through(
            args, book_run, executor=executor, ahead=ahead, shared=shared, resume=args.resume, tell=tell
        )
    if done.refused:
        lines = f"{done.refused} of {done.dogs} line{'s' if done.dogs != 1 else ''}"
        print(f"{lines} could not be worked; see their problems in {args.out}.", file=sys.stderr)
    return 1 if done.refused else 0


def _output_problem(args: Namespace) -> Problem | None:
    """Returns what is wrong with the file to write to, before anything is written over."""
    out, checkpoint = args.out, checkpoint_file(args.out)
    anew = f"to begin anew, delete {checkpoint.name}."
    if out.exists() and args.book.exists() and out.samefile(args.book):
        message, hint = "the work orders cannot be written over the book", "Say --out with another file."
    elif checkpoint.exists() and not args.resume:
        message, hint = "a run that writes this file was killed", f"Say --resume to go on with it; {anew}"
    elif checkpoint.exists() and not out.exists():
        message, hint = "what the run that was killed had written is gone", f"Put it back; {anew}"
    else:
        return None
    return Problem(code="cannot-write", message=message, file=str(out), hint=hint)


def _work_through(args: Namespace, book_run: Run, **options: Any) -> Checkpoint:
    try:
        return work_through(args.book, args.out, book_run, **options)
    except BrokenExecutor as error:
        raise InputError([_workers_killed()]) from error
    except Exception as error:
        if type(error).__name__ == "KilledWorker":  # Dask's, which need not be installed
            raise InputError([_workers_killed()]) from error
        raise


def _workers_killed() -> Problem:
    hint = "Nothing is lost: repeat the command with --resume."
    return Problem(code="workers-killed", message="the workers were killed, again and again", hint=hint)


@contextmanager
def _executor(args: Namespace) -> Iterator[tuple[Executor | None, int, bool]]:
    """Where to work, how many parts to have on the way, and whether the workers read the book themselves."""
    if args.dask is not None:
        require_extra("fleet", "distributed")
        from distributed import Client

        try:
            client = Client(args.dask, timeout=10)
        except (OSError, ValueError) as error:
            message = f"there is no Dask scheduler at '{args.dask}'"
            raise InputError([Problem(code="no-cluster", message=message)]) from error
        with client:
            workers = max(1, sum(client.ncores().values()))
            yield client.get_executor(pure=False), 2 * workers + 2, True
    elif args.processes > 1:
        with ProcessPoolExecutor(args.processes, mp_context=get_context("spawn")) as pool:
            yield pool, 2 * args.processes + 2, False
    else:
        yield None, 1, False


@contextmanager
def _progress(book: Path) -> Iterator[Callable[[Checkpoint], None]]:
    """A bar on standard error where that is a terminal."""
    if not sys.stderr.isatty():
        yield lambda _: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (BarColumn(), TextColumn("{task.percentage:>3.0f} %  {task.fields[dogs]} dogs"), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("", total=book.stat().st_size if book.is_file() else None, dogs=0)
        yield lambda done: bar.update(task, completed=done.read, dogs=done.dogs)
