"""One writer at a time: the system's own lock on a small file beside, which ends with the process that holds it."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from coatrules.problems import InputError, Problem

PATIENCE_SECONDS = 10.0
"""How long another writer is waited for; writing one visit takes milliseconds."""


@contextmanager
def locked(file: Path, *, patience: float | None = None, code: str = "locked") -> Iterator[None]:
    """Holds the lock of ``file``, by its real name; ``InputError`` with ``code`` where another holds it for too long.

    Raises ``OSError`` where there can be no file beside.
    """
    lock = file.with_name(f".{file.name}.lock")
    until = time.monotonic() + (PATIENCE_SECONDS if patience is None else patience)
    while True:
        handle = os.open(lock, os.O_RDWR | os.O_CREAT, 0o666)
        held = False
        try:
            held = _lock(handle) and same(handle, lock)
        finally:
            if not held:
                os.close(handle)
        if held:
            break
        if time.monotonic() > until:
            raise InputError([Problem(code=code, file=str(file))])
        time.sleep(0.01)
    try:
        yield
    finally:
        # Removed while still held; whoever waited for the old one sees that it is gone and takes the new one.
        with suppress(OSError):
            os.unlink(lock)
        with suppress(OSError):
            os.close(handle)


def same(handle: int, file: Path) -> bool:
    """Whether the open file is the one that has this name now."""
    try:
        return os.path.samestat(os.fstat(handle), os.stat(file))
    except FileNotFoundError:
        return False


if sys.platform == "win32":

    def _lock(handle: int) -> bool:
        import msvcrt

        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

else:

    def _lock(handle: int) -> bool:
        import fcntl

        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        return True
