"""Writing so that a crash, a full disk or a second writer at any moment leaves the old content or the new one, never less.

What is there keeps its kind, its permissions, its owner and its other names: a link leads where it led, a device and a pipe
are written to and not replaced.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from errno import ENOENT
from pathlib import Path
from typing import BinaryIO, TextIO

from coatrules.catalogue.speaking import say
from coatrules.disk.locking import locked, same
from coatrules.disk.reading import FLAGS, is_input, named, reason, refuse_irregular
from coatrules.problems import InputError, Problem

_NEW = os.O_WRONLY | os.O_CREAT | os.O_EXCL | FLAGS


def write(path: Path, content: bytes, *, expected: bytes | None = None, own: bool = False) -> None:
    """Makes ``content`` the whole of a file, new or old; on return it is safely on the disk.

    ``expected`` is what the file must still hold; only then, or where it is the program's ``own``, may it be one that this
    command has read. Raises ``InputError``.
    """
    with _failures(path, "cannot-write"):
        file, status = _target(path)
        if status is not None and expected is None and not own:
            _refuse_input(path, status)
        if status is not None and not stat.S_ISREG(status.st_mode):
            if stat.S_ISDIR(status.st_mode):
                refuse_irregular(status)
            _pour(file, content)
            return
        with locked(file):
            if expected is not None and _held(file, len(expected)) != expected:
                raise OSError(say("changed-meanwhile"))
            _replace(file, content, status)


def create(path: Path, content: bytes) -> None:
    """Writes a file that must not exist yet; raises ``FileExistsError`` where it does, and any other ``OSError``."""
    beside = _written_beside(path, content, None)
    try:
        os.link(beside, path)  # unlike a renaming it never takes another's place
    except FileExistsError:
        raise
    except OSError:  # a disk without links
        with os.fdopen(os.open(path, _NEW, 0o666), "wb") as file:
            _flushed(file, content)
    finally:
        _forget(beside)
    _flush_folder(path.parent)


def remove(path: Path) -> None:
    """Removes a file, if it is there."""
    with suppress(FileNotFoundError):
        os.unlink(path)


def nowhere_to_write(stream: TextIO) -> None:
    """Lets a stream that takes no more lead nowhere, so that nothing is left to write when Python ends."""
    with suppress(OSError):  # a stream of another program's making has no number
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)


class Change:
    """A file while it is being changed: nobody else writes to it who asks for its lock. ``content`` is what it holds."""

    def __init__(self, handle: int, path: Path, content: bytes) -> None:
        self._handle, self._path, self.content = handle, path, content

    def extend(self, addition: bytes) -> None:
        """Adds to the end. Room is taken first, with blank lines, so that neither a full disk nor a crash leaves less than a
        file that reads; whoever wrote to the file behind the lock loses nothing."""
        handle, content, room = self._handle, self.content, b"\n" * len(addition)
        try:
            self._put(room, "disk-full")
            os.fsync(handle)
            if _whole(handle) != content + room or not same(handle, self._path):
                raise OSError(say("changed-meanwhile"))
            self._put(addition, "written-in-part")
            os.fsync(handle)
            if _whole(handle) != content + addition or not same(handle, self._path):
                raise OSError(say("changed-meanwhile"))
        except BaseException:
            with suppress(OSError):
                if self._only_ours(addition):
                    os.ftruncate(handle, len(content))
            raise

    def replace(self, content: bytes) -> None:
        """Makes ``content`` the whole of the file, in one step."""
        status = os.fstat(self._handle)
        if _whole(self._handle) != self.content or not same(self._handle, self._path):
            raise OSError(say("changed-meanwhile"))
        _replace(self._path, content, status)

    def _put(self, text: bytes, code: str) -> None:
        os.lseek(self._handle, len(self.content), os.SEEK_SET)
        if os.write(self._handle, text) != len(text):
            raise OSError(say(code))

    def _only_ours(self, addition: bytes) -> bool:
        """Whether all that stands behind the old content was put there just now."""
        now = _whole(self._handle)
        tail = now[len(self.content) :].rstrip(b"\n")
        return now.startswith(self.content) and addition.startswith(tail)


@contextmanager
def changing(path: Path, most: int, *, code: str) -> Iterator[Change]:
    """The file that ``path`` names or links to, locked, with its content (one byte more than ``most`` at most).

    What the system refuses meanwhile is raised as an ``InputError`` with ``code``.
    """
    with _failures(path, code):
        file, status = _target(path)
        if status is None:
            raise FileNotFoundError(ENOENT, os.strerror(ENOENT))
        refuse_irregular(status)
        with locked(file):
            handle = os.open(file, os.O_RDWR | FLAGS)
            try:
                yield Change(handle, file, _whole(handle, most + 1))
            finally:
                with suppress(OSError):  # all that matters is on the disk by now, or was refused
                    os.close(handle)


class Growing:
    """A file that a long run writes, part by part; each is on the disk when ``add`` returns."""

    def __init__(self, file: BinaryIO, *, regular: bool) -> None:
        self._file, self.regular = file, regular

    def kept(self, size: int) -> Iterator[bytes]:
        """Yields the first ``size`` bytes, piece by piece; fewer where there are fewer."""
        if not self.regular:
            return
        self._file.seek(0)
        while size > 0 and (piece := self._file.read(min(size, 1 << 20))):
            size -= len(piece)
            yield piece

    def cut(self, size: int) -> None:
        """Leaves only the first ``size`` bytes, of which there are as many."""
        if self.regular:
            self._file.truncate(size)
            self._file.seek(size)

    def add(self, content: bytes) -> None:
        self._file.write(content)
        self._file.flush()
        if self.regular:
            os.fsync(self._file.fileno())


@contextmanager
def growing(path: Path) -> Iterator[Growing]:
    """A file for a long run, opened as it is and locked as long as the run lives; raises ``InputError`` with the code
    ``run-alive`` where another run writes it."""
    with _failures(path, "cannot-write"):
        file, status = _target(path)
        if status is not None:
            _refuse_input(path, status)
        if status is not None and not stat.S_ISREG(status.st_mode):
            with os.fdopen(os.open(file, os.O_WRONLY | FLAGS), "wb") as device:
                yield Growing(device, regular=False)
            return
        with (
            locked(file, patience=0, code="run-alive"),
            os.fdopen(os.open(file, os.O_RDWR | os.O_CREAT | FLAGS, 0o666), "r+b") as opened,
        ):
            yield Growing(opened, regular=True)


def _target(path: Path) -> tuple[Path, os.stat_result | None]:
    """Where a name leads through all links, and what is there; None for nothing."""
    with named():
        try:
            status = os.stat(path)
        except FileNotFoundError:
            return Path(os.path.realpath(path)), None
    if not stat.S_ISREG(status.st_mode):
        return path, status  # standard output, for one, has no other name
    return Path(os.path.realpath(path)), status


def _refuse_input(path: Path, status: os.stat_result) -> None:
    if is_input(status):
        raise InputError([Problem(code="out-is-input", file=str(path))])


def _pour(file: Path, content: bytes) -> None:
    with os.fdopen(os.open(file, os.O_WRONLY | FLAGS), "wb", buffering=0) as device:
        rest = memoryview(content)
        while rest:
            rest = rest[device.write(rest) or 0 :]


def _replace(file: Path, content: bytes, status: os.stat_result | None) -> None:
    """The content in place of what is there; where another name or owner would be lost by that, over it."""
    beside = _written_beside(file, content, status)
    try:
        if status is None or (status.st_nlink == 1 and _given(beside, status)):
            os.replace(beside, file)
            _flush_folder(file.parent)
            return
        old = _held(file, status.st_size)
    except BaseException:
        _forget(beside)
        raise
    try:
        _overwrite(file, content)
    except BaseException:
        _overwrite(file, old)  # where that fails too, or the process is killed, the new content is still beside
        _forget(beside)
        raise
    _forget(beside)


def _overwrite(file: Path, content: bytes) -> None:
    with os.fdopen(os.open(file, os.O_WRONLY | FLAGS), "wb") as old:
        _flushed(old, content)
        old.truncate()
        os.fsync(old.fileno())


def _forget(beside: Path) -> None:
    """Removes a copy that is not needed; one that cannot be removed is hidden, and in nobody's way."""
    with suppress(OSError):
        os.unlink(beside)


def _given(beside: Path, status: os.stat_result) -> bool:
    """Whether the new file could be given the owner and the permissions of the old one."""
    try:
        made = os.stat(beside)
        if (made.st_uid, made.st_gid) != (status.st_uid, status.st_gid):
            os.chown(beside, status.st_uid, status.st_gid)
        os.chmod(beside, stat.S_IMODE(status.st_mode))
    except PermissionError:
        return False
    return True


def _written_beside(file: Path, content: bytes, status: os.stat_result | None) -> Path:
    mode = 0o666 if status is None else 0o600  # nobody else reads it before it has the permissions of the old one
    beside = file.with_name(f".{file.name}.{os.getpid()}.new")
    remove(beside)  # of a process that had this number and was killed
    handle = os.open(beside, _NEW, mode)
    try:
        with os.fdopen(handle, "wb") as new:
            _flushed(new, content)
    except BaseException:
        with suppress(OSError):
            os.unlink(beside)
        raise
    return beside


def _flushed(file: BinaryIO, content: bytes) -> None:
    file.write(content)
    file.flush()
    os.fsync(file.fileno())


def _flush_folder(folder: Path) -> None:
    with suppress(OSError):  # some systems cannot open a folder; the file itself is flushed
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _held(file: Path, most: int) -> bytes:
    handle = os.open(file, os.O_RDONLY | FLAGS)
    try:
        return _whole(handle, most + 1)
    finally:
        os.close(handle)


def _whole(handle: int, most: int = 1 << 40) -> bytes:
    os.lseek(handle, 0, os.SEEK_SET)
    parts = []
    while most > 0 and (part := os.read(handle, min(most, 1 << 20))):
        parts.append(part)
        most -= len(part)
    return b"".join(parts)


@contextmanager
def _failures(path: Path, code: str) -> Iterator[None]:
    """What the system refuses, in words."""
    try:
        yield
    except OSError as error:
        raise InputError([Problem(code=code, params={"reason": reason(error)}, file=str(path))]) from error
