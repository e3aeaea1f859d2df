"""Writes a visit down so that nothing is ever lost: checked before, locked, added at the end, flushed, read again.

A YAML history only grows: what stands in it is never written again. Room for the new visit is taken first with blank lines,
which mean nothing in YAML, and the visit is then written over them in one go; so a full disk or a crash at any moment
leaves a file that reads. A JSON history is written anew beside the old file, which it then replaces in one step.
"""

from __future__ import annotations

import json
import os
import re
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from errno import ENOENT
from pathlib import Path

from attrs import evolve

from coatrules.catalogue.message import Message, message
from coatrules.catalogue.speaking import say
from coatrules.dog.against_floor import against_floor
from coatrules.dog.history import History, Visit
from coatrules.dog.loading import history_of
from coatrules.dog.state import unknown_names
from coatrules.formats.documents import Origin, without_file
from coatrules.formats.validation import structured
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import CompiledProfile
from coatrules.reading import Document, read_json, read_yaml
from coatrules.recording.text import visit_data, visit_text

PATIENCE_SECONDS = 10.0
"""How long another writer is waited for; writing one visit takes milliseconds."""
_BINARY = getattr(os, "O_BINARY", 0)  # without it Windows would change line ends


def append_visit(
    file: Path,
    visit: Visit | Document,
    *,
    compiled: CompiledProfile | None = None,
    again: bool = False,
    anyway: bool = False,
) -> History:
    """Adds a visit to the history in ``file`` and returns the whole; on return it is safely on the disk.

    ``visit`` is a ``Visit``, or plain data that remembers where it was written. With ``compiled`` names that the profile does
    not have are refused, and work against the floor unless ``anyway`` and the visit has a note. Work on a day that has work
    on record already is refused unless ``again``. Raises ``InputError`` with every problem found, and then nothing was written.
    """
    document = visit if isinstance(visit, Document) else without_file(visit_data(visit))
    file = Path(os.path.realpath(file))  # through a link too, all writers must meet at one lock
    if file.suffix.lower() not in (".yaml", ".yml", ".json"):
        raise InputError([Problem(code="not-a-history", file=str(file))])
    with _failures(file), _locked(file):
        handle = os.open(file, os.O_RDWR | _BINARY)
        try:
            content = _whole(handle)
            old = read_history(content, file)
            new = with_visit(old, document, compiled, again=again)
            if compiled is not None:
                ask_back(compiled, new, anyway=anyway)
            if file.suffix.lower() == ".json":
                _replace(file, content, new.visits[-1], os.fstat(handle).st_mode)
            else:
                _extend(handle, file, content, old, new.visits[-1])
        finally:
            with suppress(OSError):  # all that matters is on the disk by now, or was refused
                os.close(handle)
    return new


def read_history(content: bytes, file: Path) -> History:
    """The history in ``content``; where only its last document does not read, a note on how to fix that goes with the problems."""
    if file.suffix.lower() == ".json":
        return history_of((read_json(content, str(file)),))
    try:
        return history_of(read_yaml(content, str(file)))
    except InputError as error:
        raise InputError([*error.problems, *cut_off(content, file)]) from error


def cut_off(content: bytes, file: Path) -> Iterator[Problem]:
    """A note on a YAML history of which all but the last document reads. ``content`` is known not to read as a whole."""
    starts = [marker.start() for marker in re.finditer(rb"^---[ \t]*(?:\r?\n|\Z)", content, re.MULTILINE)]
    if not starts or not content[: starts[-1]].strip():
        return
    try:
        whole = history_of(read_yaml(content[: starts[-1]], str(file)))
    except InputError:
        return
    line = content.count(b"\n", 0, starts[-1]) + 1
    params: dict[str, object] = {"line": line}
    if whole.visits:
        code, params["day"] = "cut-off", whole.visits[-1].day
    else:
        code = "cut-off-first"
    yield Problem(code=code, params=params, severity="note", file=str(file), line=line, column=1)


def with_visit(
    old: History, document: Document, compiled: CompiledProfile | None = None, *, again: bool = False
) -> History:
    """Returns the history with a visit at its end, checked as ``append_visit`` does but for the floor; nothing is written.

    A visit that corrects or withdraws one must have one of its day to do so.
    """
    path = ("visits", len(old.visits))
    origin = Origin(((path, document), *old.origin.parts))
    data = {"format": 1, "dog": {"id": old.dog.id}, "visits": [document.data]}
    visit = structured(data, History, "history", Origin(((("visits", 0), document),))).visits[0]
    new = evolve(old, visits=(*old.visits, visit), origin=origin)
    if compiled is not None and (problems := list(unknown_names(compiled, new))):
        raise InputError(problems)
    same_day = [earlier for _, earlier in old.counting() if earlier.day == visit.day]
    if visit.corrects or visit.withdrawn:
        if not same_day:
            raise InputError([origin.problem_at((*path, "visit"), "nothing-to-correct", {"day": visit.day})])
    elif not again and visit.work and any(earlier.work for earlier in same_day):
        raise InputError([origin.problem_at((*path, "visit"), "twice", {"day": visit.day.isoformat()})])
    return new


def ask_back(compiled: CompiledProfile, new: History, *, anyway: bool = False) -> None:
    """Raises ``InputError`` where the work of the last visit goes against the floor; with ``anyway`` only if no note says what
    happened."""
    visit = new.visits[-1]
    against = list(against_floor(compiled, new, visit.day, len(new.visits) - 1))
    if anyway and visit.note is None:
        against = [evolve(problem, code="anyway-without-note", severity="error") for problem in against[:1]]
    elif anyway:
        return
    if against:
        raise InputError(
            evolve(problem, code=problem.code.removeprefix("recorded-"), severity="error") for problem in against
        )


def _extend(handle: int, file: Path, content: bytes, old: History, visit: Visit) -> None:
    text = "---\n" + visit_text(visit_data(visit))
    addition = ("" if not content or content.endswith(b"\n") else "\n").encode() + text.encode()
    _reads_back(content + addition, file, (*old.visits, visit))
    try:
        os.lseek(handle, len(content), os.SEEK_SET)
        if os.write(handle, b"\n" * len(addition)) != len(addition):
            raise OSError(say("disk-full"))
        os.fsync(handle)
        os.lseek(handle, len(content), os.SEEK_SET)
        if os.write(handle, addition) != len(addition):
            raise OSError(say("written-in-part"))
        os.fsync(handle)
        if _whole(handle) != content + addition or not _same(handle, file):
            raise OSError(say("changed-meanwhile"))
    except OSError:
        with suppress(OSError):
            os.ftruncate(handle, len(content))
        raise


def _reads_back(content: bytes, file: Path, visits: tuple[Visit, ...]) -> None:
    """Text that the reader would refuse, or take for something else, must never reach the file."""
    reason = message("not-read-back")
    try:
        if history_of(read_yaml(content, str(file))).visits == visits:
            return
    except InputError as error:
        reason = Message(code=error.problems[0].code, params=error.problems[0].params)
    raise InputError([Problem(code="visit-unwritable", params={"reason": reason}, file=str(file))])


def _replace(file: Path, content: bytes, visit: Visit, mode: int) -> None:
    data = read_json(content, str(file)).data
    data = {**data, "visits": [*data.get("visits", ()), visit_data(visit)]}
    text = json.dumps(data, indent=2, ensure_ascii=False) + "\n"
    handle, name = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.")
    try:
        with os.fdopen(handle, "wb") as beside:
            beside.write(text.encode())
            beside.flush()
            os.fsync(beside.fileno())
        os.chmod(name, mode & 0o7777)
        os.replace(name, file)
    except BaseException:
        with suppress(OSError):
            os.unlink(name)
        raise
    _flush_folder(file.parent)


def _flush_folder(folder: Path) -> None:
    with suppress(OSError):  # some systems cannot open a folder; the file itself is flushed
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _whole(handle: int) -> bytes:
    os.lseek(handle, 0, os.SEEK_SET)
    parts = []
    while part := os.read(handle, 1 << 20):
        parts.append(part)
    return b"".join(parts)


@contextmanager
def _failures(file: Path) -> Iterator[None]:
    """What the system refuses, in words, with what it means for the record."""
    try:
        yield
    except OSError as error:
        reason = (error.strerror or str(error) or type(error).__name__).lower()
        raise InputError([Problem(code="cannot-record", params={"reason": reason}, file=str(file))]) from error


@contextmanager
def _locked(file: Path) -> Iterator[None]:
    """Only one writer at a time: the system's own lock on a small file beside, which ends with the process that holds it."""
    if not file.is_file():
        raise FileNotFoundError(ENOENT, os.strerror(ENOENT))
    lock = file.with_name(f".{file.name}.lock")
    until = time.monotonic() + PATIENCE_SECONDS
    while True:
        handle = os.open(lock, os.O_RDWR | os.O_CREAT, 0o666)
        held = False
        try:
            held = _lock(handle) and _same(handle, lock)
        finally:
            if not held:
                os.close(handle)
        if held:
            break
        if time.monotonic() > until:
            raise InputError([Problem(code="locked", file=str(file))])
        time.sleep(0.01)
    try:
        yield
    finally:
        # Removed while still held; whoever waited for the old one sees that it is gone and takes the new one.
        with suppress(OSError):
            os.unlink(lock)
        with suppress(OSError):
            os.close(handle)


def _same(handle: int, file: Path) -> bool:
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
