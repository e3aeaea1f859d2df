"""What happens to a history when the writer is killed, the disk is full, or two write at once: no acknowledged visit is
lost, and the file reads. The faults are set at every call to the system, one by one.
"""

from __future__ import annotations

import errno
import os
import resource
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from functools import wraps
from pathlib import Path
from typing import Any

import pytest

from coatrules.dog.history import Visit, Work
from coatrules.dog.loading import load_history
from coatrules.problems import InputError
from coatrules.recording.append import append_visit
from tests.support.book import HISTORY, JSON_HISTORY
from tests.support.paths import ROOT

fcntl = pytest.importorskip("fcntl", reason="faults are set in child processes made by fork, which this system lacks")

CALLS = (
    *(
        "chmod",
        "chown",
        "close",
        "fstat",
        "fsync",
        "ftruncate",
        "link",
        "lseek",
        "open",
        "read",
        "replace",
        "stat",
        "unlink",
    ),
    "write",
)
KILLED = 9
NEW = Visit(day=date(2026, 3, 21), work={"back": Work(pull=0.2)}, note="a visit that must not be half there")
CORRECTION = Visit(day=date(2026, 1, 31), work={"back": Work(pull=0.1)}, corrects=True, note="half of it")
WITHDRAWAL = Visit(day=date(2026, 1, 31), withdrawn=True, note="another dog's")
FILES = [("pip.yaml", HISTORY), ("pip.json", JSON_HISTORY)]


@pytest.fixture(params=FILES, ids=["yaml", "json"])
def file(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    name, text = request.param
    path = tmp_path / str(name)
    path.write_text(text, encoding="utf-8")
    return path


class Faults:
    """Counts the calls to the system and lets ``strike`` happen at the one that is asked for."""

    def __init__(self, at: int, strike: Callable[[Callable[[], Any]], Any]) -> None:
        self.at, self.strike, self.count = at, strike, 0
        self.flushed_at = 0
        """Which call was the first to see to it that something is on the disk."""

    def set(self, patch: pytest.MonkeyPatch) -> Faults:
        for name in CALLS:
            patch.setattr(os, name, self._watched(getattr(os, name), name))
        patch.setattr(fcntl, "flock", self._watched(fcntl.flock, "flock"))
        return self

    def _watched(self, call: Callable[..., Any], name: str) -> Callable[..., Any]:
        def watched(*arguments: Any, **named: Any) -> Any:
            self.count += 1
            if name == "fsync" and not self.flushed_at:
                self.flushed_at = self.count
            if self.count == self.at:
                return self.strike(wraps(call)(lambda: call(*arguments, **named)))
            return call(*arguments, **named)

        return watched


def killed_before(_: Callable[[], Any]) -> None:
    os._exit(KILLED)


def killed_after(call: Callable[[], Any]) -> None:
    call()
    os._exit(KILLED)


def in_child(work: Callable[[], object]) -> int:
    """Runs ``work`` in a process of its own and gives its exit code: 0 acknowledged, 1 refused."""
    child = os.fork()
    if child == 0:
        try:
            work()
            os._exit(0)
        except InputError:
            os._exit(1)
        finally:
            os._exit(99)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


@pytest.mark.parametrize("new", [NEW, CORRECTION, WITHDRAWAL], ids=["visit", "correction", "withdrawal"])
@pytest.mark.parametrize("text", [HISTORY, HISTORY.replace("\n", "\r\n"), HISTORY.rstrip()], ids=["lf", "crlf", "open"])
@pytest.mark.parametrize("room", [False, True], ids=["cut", "blank"])
def test_what_a_power_cut_leaves_of_a_visit_is_never_taken_for_one(
    tmp_path: Path, new: Visit, text: str, room: bool
) -> None:
    """Cut at each byte, with the blank lines behind it that held its room or without: it counts whole, or is refused, or is not
    there. Half a correction may not count as a visit, half a withdrawal not as a day without work."""
    file = tmp_path / "pip.yaml"
    file.write_bytes(text.encode())
    old = load_history(file)
    append_visit(file, new)
    after, whole = file.read_bytes(), load_history(file)
    assert whole.visits == (*old.visits, new)
    outcomes = set()
    for size in range(len(text.encode()), len(after)):
        file.write_bytes(after[:size] + b"\n" * (len(after) - size if room else 0))
        try:
            left = load_history(file)
        except InputError as refused:
            outcomes.add(
                "refused" if "cut-off" in {one.code for one in refused.problems} else "refused, and nobody knows why"
            )
        else:
            outcomes.add("whole" if left.visits == whole.visits else "old")
            assert left.counting() in (old.counting(), whole.counting())
            assert left.visits in (old.visits, whole.visits)
    assert "refused" in outcomes <= {"refused", "whole", "old"}


@pytest.mark.slow
@pytest.mark.parametrize("new", [NEW, CORRECTION, WITHDRAWAL], ids=["visit", "correction", "withdrawal"])
@pytest.mark.parametrize("strike", [killed_before, killed_after])
def test_a_writer_killed_at_any_call_leaves_a_history_that_reads(
    file: Path, strike: Callable[[Callable[[], Any]], Any], new: Visit
) -> None:
    before, old = file.read_bytes(), load_history(file).visits
    outcomes = []
    for at in range(1, 200):
        file.write_bytes(before)

        def work(at: int = at) -> None:
            Faults(at, strike).set(pytest.MonkeyPatch())
            append_visit(file, new)

        code = in_child(work)
        assert code in (0, KILLED)
        visits = load_history(file).visits
        assert visits in (old, (*old, new))
        outcomes.append(len(visits) - len(old))
        if code == 0:
            assert visits == (*old, new)
            break
        # Nothing the dead left behind, such as its lock, stands in the way of the next.
        if visits == old:
            assert append_visit(file, new).visits == (*old, new)
            assert load_history(file).visits == (*old, new)
    else:
        pytest.fail("the writer never came to its end")
    assert outcomes == sorted(outcomes)  # once there, it stays there
    assert outcomes.count(0) > 8  # the faults really were set on the way


@pytest.mark.parametrize("error", [errno.ENOSPC, errno.EIO, errno.EACCES])
def test_a_refusal_of_the_system_at_any_call_is_said_and_loses_nothing(
    file: Path, error: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    before, old = file.read_bytes(), load_history(file).visits
    refused = 0

    def strike(call: Callable[[], Any]) -> None:
        if call.__name__ == "close":
            call()  # Linux closes a file even where it reports an error: close(2)
        raise OSError(error, os.strerror(error))

    for at in range(1, 200):
        file.write_bytes(before)
        with monkeypatch.context() as patch:
            faults = Faults(at, strike).set(patch)
            try:
                append_visit(file, NEW)
                hint = None
            except InputError as problem:
                hint = problem.problems[0].hint
        acknowledged = hint is None
        assert acknowledged or "Nothing was recorded" in str(hint)
        refused += not acknowledged
        assert load_history(file).visits == ((*old, NEW) if acknowledged else old)
        if not acknowledged:
            assert file.read_bytes() == before
        if faults.count < at:
            break
    else:
        pytest.fail("the writer never came to its end")
    assert refused > 5


@pytest.mark.parametrize("which", [1, 2])
def test_a_write_that_stops_halfway_is_taken_back(tmp_path: Path, which: int, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "pip.yaml"
    file.write_text(HISTORY, encoding="utf-8")
    write, calls = os.write, iter(range(1, 100))

    def half(handle: int, data: bytes) -> int:
        return write(handle, data[: len(data) // 2] if next(calls) == which else data)

    monkeypatch.setattr(os, "write", half)
    with pytest.raises(InputError, match="cannot write"):
        append_visit(file, NEW)
    assert file.read_text(encoding="utf-8") == HISTORY


def test_a_file_changed_behind_the_lock_is_noticed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "pip.yaml"
    file.write_text(HISTORY, encoding="utf-8")
    fsync = os.fsync

    def replaced(handle: int) -> None:
        fsync(handle)
        (tmp_path / "other").write_text(HISTORY, encoding="utf-8")
        os.replace(tmp_path / "other", file)

    monkeypatch.setattr(os, "fsync", replaced)
    with pytest.raises(InputError, match="another program"):
        append_visit(file, NEW)
    assert file.read_text(encoding="utf-8") == HISTORY


def test_two_writers_at_once_lose_nothing(file: Path) -> None:
    old = len(load_history(file).visits)
    starts = (date(2024, 1, 1), date(2025, 1, 1))
    each = 20

    def work(first: date) -> None:
        for number in range(each):
            append_visit(file, Visit(day=first + timedelta(days=number), work={"back": Work(pull=0.1)}))

    children = []
    for first in starts:
        child = os.fork()
        if child == 0:
            try:
                work(first)
                os._exit(0)
            finally:
                os._exit(99)
        children.append(child)
    assert [os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in children] == [0, 0]
    days = [visit.day for visit in load_history(file).visits[old:]]
    assert len(days) == 2 * each
    for first in starts:
        assert [day for day in days if day.year == first.year] == [first + timedelta(days=n) for n in range(each)]
    assert sorted(path.name for path in file.parent.iterdir()) == [file.name]  # no lock or half-made file is left


def test_a_lock_that_is_held_is_waited_for_then_said(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("coatrules.disk.locking.PATIENCE_SECONDS", 0.05)
    held = os.open(file.with_name(f".{file.name}.lock"), os.O_CREAT | os.O_RDWR)
    fcntl.flock(held, fcntl.LOCK_EX)
    before = file.read_bytes()
    with pytest.raises(InputError, match="another program is writing to this file"):
        append_visit(file, NEW)
    assert file.read_bytes() == before
    os.close(held)
    assert append_visit(file, NEW).visits[-1] == NEW


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    disk = tmp_path / "disk"
    disk.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=64k", "none", str(disk)]
    if sys.platform != "linux" or os.geteuid() != 0 or subprocess.run(mount, capture_output=True).returncode != 0:
        pytest.skip("only root may mount a small disk; the limit on file size below stands in for it")
    yield disk
    subprocess.run(["umount", str(disk)], check=True)


@pytest.mark.parametrize(("name", "text"), FILES, ids=["yaml", "json"])
def test_a_full_disk_loses_nothing(small_disk: Path, name: str, text: str) -> None:
    file = small_disk / name
    file.write_text(text, encoding="utf-8")
    filler = small_disk / "filler"
    filler.write_bytes(b"x" * 16_384)
    acknowledged = list(load_history(file).visits)
    full = filled(file, acknowledged)
    assert any(word in full.problems[0].message for word in ("space", "full"))
    filler.unlink()
    more = Visit(day=date(2027, 1, 1), note="there is room again")
    assert append_visit(file, more).visits[-1] == more
    assert load_history(file).visits == (*acknowledged, more)


def filled(file: Path, acknowledged: list[Visit]) -> InputError:
    """Records until there is no more room; every visit that was acknowledged is there then, and nothing else."""
    for number in range(100):
        visit = Visit(day=date(2025, 1, 1) + timedelta(days=number), note=f"{number:04}" * 300)
        try:
            append_visit(file, visit)
        except InputError as full:
            assert load_history(file).visits == tuple(acknowledged)
            assert not [path for path in file.parent.iterdir() if path.name not in (file.name, "filler")]
            return full
        acknowledged.append(visit)
    pytest.fail("the disk was never full")


@pytest.mark.parametrize(("name", "text"), FILES, ids=["yaml", "json"])
def test_a_limit_on_the_size_of_files_loses_nothing(tmp_path: Path, name: str, text: str) -> None:
    # The kernel then writes a part and says how much: the same as a disk that fills up in the middle of a write.
    file = tmp_path / name
    file.write_text(text, encoding="utf-8")

    def work() -> None:
        resource.setrlimit(resource.RLIMIT_FSIZE, (10_000, resource.RLIM_INFINITY))
        acknowledged = list(load_history(file).visits)
        filled(file, acknowledged)
        assert len(acknowledged) > 4

    assert in_child(work) == 0
    assert len(load_history(file).visits) > 4


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "text", "call", "times"),
    [("pip.yaml", HISTORY, "write", 2), ("pip.yaml", HISTORY, "fsync", 2), ("pip.json", JSON_HISTORY, "/rename", 1)],
)
def test_a_kill_by_the_kernel_leaves_a_history_that_reads(
    tmp_path: Path, name: str, text: str, call: str, times: int
) -> None:
    # strace kills at the real calls on the file, not at Python's names for them.
    strace = shutil.which("strace")
    if strace is None or subprocess.run([strace, "-qq", "-o", os.devnull, "true"], capture_output=True).returncode:
        pytest.skip("needs strace and the right to trace; the faults above are set at Python's own calls")
    writer = (
        "import sys; from datetime import date; from pathlib import Path; from coatrules.dog.history import Visit;"
        "from coatrules.recording.append import append_visit;"
        "append_visit(Path(sys.argv[1]), Visit(day=date(2026, 3, 21), note='whole'))"
    )
    file = tmp_path / name
    home = ROOT
    environment = {**os.environ, "PYTHONDONTWRITEBYTECODE": "1"}  # writing byte code changes names too
    codes = []
    for at in range(1, times + 2):
        file.write_text(text, encoding="utf-8")
        old = load_history(file).visits
        # A change of name is traced in the whole process: the filter by path does not see it.
        only = [] if call == "/rename" else ["-P", str(file)]
        inject = [*only, "-e", f"trace={call}", "-e", f"inject={call}:signal=KILL:when={at}"]
        command = [strace, "-qq", "-f", "-o", os.devnull, *inject, sys.executable, "-c", writer, str(file)]
        codes.append(subprocess.run(command, capture_output=True, cwd=home, env=environment).returncode)
        visits = load_history(file).visits
        assert visits[: len(old)] == old
        assert [visit.note for visit in visits[len(old) :]] in ([], ["whole"])
    assert len(visits) == len(old) + 1
    assert [code == 0 for code in codes] == [False] * times + [True]
