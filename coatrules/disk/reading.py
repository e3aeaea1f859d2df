"""Reading files that somebody else wrote: regular files only, and never more than was asked for."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from errno import EINVAL, EISDIR
from pathlib import Path
from typing import BinaryIO

from coatrules.catalogue.message import Message, message
from coatrules.problems import InputError, Problem

LONGEST_LINE = 50_000_000
STANDARD_INPUT = "-"
OPENED_FOR_US = ("/dev/stdin", "/dev/fd/", "/proc/self/fd/")
"""Names of what the caller of a command has opened already, as a shell does for '<(...)'; a named pipe may have no writer."""
FLAGS = getattr(os, "O_BINARY", 0) | getattr(os, "O_NOCTTY", 0)  # without the first Windows would change line ends
_WITHOUT_WAITING = getattr(os, "O_NONBLOCK", 0)  # should a pipe have taken the file's place since it was looked at

_inputs: ContextVar[set[tuple[int, int]] | None] = ContextVar("inputs", default=None)


@contextmanager
def read_inputs() -> Iterator[None]:
    """From here on every file that is read is remembered, so that nothing is written over it."""
    if _inputs.get() is not None:
        yield  # a part of what remembers already
        return
    token = _inputs.set(set())
    try:
        yield
    finally:
        _inputs.reset(token)


def is_input(status: os.stat_result) -> bool:
    """Whether this file was read by the command that is running, by whatever name."""
    return (status.st_dev, status.st_ino) in (_inputs.get() or ())


def read(path: Path, most: int, *, piped: bool = False) -> bytes:
    """What a file holds, but one byte more than ``most`` at most. Raises ``InputError`` where it cannot be read."""
    with opened(path, piped=piped) as file:
        try:
            return file.read(most + 1)
        except OSError as error:
            raise InputError([cannot_read(path, error)]) from error


def opened(path: Path, *, piped: bool = False) -> BinaryIO:
    """A regular file, opened to be read; with ``piped`` also '-' for standard input, and a pipe that the caller has opened.

    Raises ``InputError`` for anything else: a device never ends, and a pipe may never begin.
    """
    try:
        if piped and str(path) == STANDARD_INPUT:
            return os.fdopen(os.dup(0), "rb")
        with named():
            status = os.stat(path)
        pipe = piped and stat.S_ISFIFO(status.st_mode) and str(path).startswith(OPENED_FOR_US)
        if not pipe:
            refuse_irregular(status)
        handle = os.open(path, os.O_RDONLY | FLAGS | (0 if pipe else _WITHOUT_WAITING))
        try:
            status = os.fstat(handle)
            if not pipe:
                refuse_irregular(status)
            if (inputs := _inputs.get()) is not None:
                inputs.add((status.st_dev, status.st_ino))
            return os.fdopen(handle, "rb")
        except BaseException:
            os.close(handle)
            raise
    except OSError as error:
        raise InputError([cannot_read(path, error)]) from error


def lines(file: BinaryIO, path: Path, most: int) -> Iterator[tuple[bytes, int]]:
    """Each line of a file, and how many bytes it took; of a line longer than ``most`` only as much as shows that.

    Raises ``InputError`` where the file cannot be read, and where a line is so long that this is no file of lines.
    """
    try:
        while line := file.readline(most + 2):
            size, more = len(line), line
            while not more.endswith(b"\n") and (more := file.readline(most)):
                size += len(more)
                if size > LONGEST_LINE:
                    raise InputError([Problem(code="line-too-long", params={"most": LONGEST_LINE}, file=str(path))])
            yield line, size
    except (OSError, EOFError) as error:  # the second of a compressed file that was cut off
        raise InputError([cannot_read(path, error)]) from error


def files_below(folder: Path) -> Iterator[Path]:
    """Every file of a folder and of the folders within it, however deep; hidden ones and links to folders are left out, and so is
    what cannot be listed."""
    waiting = [os.fspath(folder)]
    while waiting:
        try:
            entries = list(os.scandir(waiting.pop()))
        except OSError:
            continue
        for entry in entries:
            if entry.name.startswith("."):
                continue
            if entry.is_dir(follow_symlinks=False):
                waiting.append(entry.path)
            elif os.path.isfile(entry.path):
                yield Path(entry.path)


class Irregular(OSError):
    """Something that is no regular file; ``reason`` says what it is."""

    def __init__(self, reason: Message) -> None:
        super().__init__(EINVAL, reason.text)
        self.reason = reason


def refuse_irregular(status: os.stat_result) -> None:
    """Raises ``OSError`` for a folder, a device, a pipe and a socket."""
    if stat.S_ISDIR(status.st_mode):
        raise IsADirectoryError(EISDIR, os.strerror(EISDIR))
    if stat.S_ISFIFO(status.st_mode):
        raise Irregular(message("reason.pipe"))
    if not stat.S_ISREG(status.st_mode):
        raise Irregular(message("reason.device"))


@contextmanager
def named() -> Iterator[None]:
    """A name that no file can have, because of a NUL or of half a character, as an ``OSError`` like any other."""
    try:
        yield
    except ValueError as error:
        raise Irregular(message("reason.name")) from error


def reason(error: Exception) -> str | Message:
    """What the system said, as the parameter of a problem."""
    if isinstance(error, Irregular):
        return error.reason
    return (getattr(error, "strerror", None) or str(error) or type(error).__name__).lower()


def cannot_read(path: Path | str, error: Exception) -> Problem:
    """Returns what to say of a file that the system refuses to read."""
    return Problem(code="cannot-read", params={"reason": reason(error)}, file=str(path))
