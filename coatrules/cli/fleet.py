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
from coatrules.catalogue.speaking import say
from coatrules.cli.common import add_folders, day, minutes, today
from coatrules.cli.progress import progress
from coatrules.extras import require_extra
from coatrules.problems import InputError, Problem


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("book", metavar="BOOK", type=Path, help=say("help.fleet.BOOK"))
    parser.add_argument("--out", type=Path, metavar="FILE", required=True, help=say("help.fleet.--out"))
    parser.add_argument("--date", type=day, metavar="DAY", help=say("help.--date"))
    parser.add_argument("--minutes", type=minutes, metavar="N", help=say("help.fleet.--minutes"))
    parser.add_argument("--profile", metavar="ID", help=say("help.--profile-of-each"))
    add_folders(parser)
    parser.add_argument("--processes", type=_count, metavar="N", default=1, help=say("help.fleet.--processes"))
    parser.add_argument("--dask", metavar="ADDRESS", help=say("help.fleet.--dask"))
    parser.add_argument("--resume", action="store_true", help=say("help.fleet.--resume"))
    parser.set_defaults(run=run)


def _count(text: str) -> int:
    if not text.isdecimal() or not 1 <= int(text) <= 1024:
        raise ArgumentTypeError(say("argument.processes", text=text))
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
        print(say("fleet.refused", refused=done.refused, dogs=done.dogs, file=args.out), file=sys.stderr)
    return 1 if done.refused else 0


def _output_problem(args: Namespace) -> Problem | None:
    """Returns what is wrong with the file to write to, before anything is written over."""
    out, checkpoint = args.out, checkpoint_file(args.out)
    if out.exists() and args.book.exists() and out.samefile(args.book):
        code = "out-is-input"
    elif checkpoint.exists() and not args.resume:
        code = "run-interrupted"
    elif checkpoint.exists() and not out.exists():
        code = "run-lost"
    else:
        return None
    return Problem(code=code, params={"checkpoint": checkpoint.name}, file=str(out))


def _work_through(args: Namespace, book_run: Run, **options: Any) -> Checkpoint:
    try:
        return work_through(args.book, args.out, book_run, **options)
    except BrokenExecutor as error:
        raise InputError([Problem(code="workers-killed")]) from error
    except Exception as error:
        if type(error).__name__ == "KilledWorker":  # Dask's, which need not be installed
            raise InputError([Problem(code="workers-killed")]) from error
        raise


@contextmanager
def _executor(args: Namespace) -> Iterator[tuple[Executor | None, int, bool]]:
    """Where to work, how many parts to have on the way, and whether the workers read the book themselves."""
    if args.dask is not None:
        require_extra("fleet", "distributed")
        from distributed import Client

        try:
            client = Client(args.dask, timeout=10)
        except (OSError, ValueError) as error:
            raise InputError([Problem(code="no-cluster", params={"address": args.dask})]) from error
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
    """A bar for the bytes of the book, with the dogs that are done."""
    total = book.stat().st_size if book.is_file() else None
    with progress(total, say("progress.dogs", dogs=0)) as tell:
        yield lambda done: tell(done.read, say("progress.dogs", dogs=done.dogs))
