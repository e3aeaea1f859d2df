"""Every command that writes, while the system fails or the process is stopped or killed at every call, one by one: what it writes is
whole or as before, nothing it reads is touched, a refusal is said in words, and nothing is left lying about."""

from __future__ import annotations

import contextlib
import errno
import io
import json
import os
import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

from coatrules.__main__ import terminated
from coatrules.cli import main
from tests.support.book import HISTORY, PROFILE
from tests.unit.profile.test_format1 import OLD
from tests.unit.recording.test_append_crash import KILLED, Faults, killed_after, killed_before

pytestmark = pytest.mark.slow

MAPPING = "format: 1\ncolumns: {date: Day, dog: Dog, part: Part, share: Share}\nalways: {task: pull}\n"
DAY = ["--date", "2026-03-21", "--profiles", "."]
COMMANDS: dict[str, tuple[list[str], tuple[str, ...]]] = {
    "order": (["order", "pip.yaml", "--out", "order.txt", *DAY], ("order.txt",)),
    "order over an old file": (["order", "pip.yaml", "--out", "old.txt", *DAY], ("old.txt",)),
    "order through a link": (["order", "pip.yaml", "--out", "link.txt", *DAY], ("linked.txt",)),
    "order over one of two names": (["order", "pip.yaml", "--out", "two.txt", *DAY], ()),
    "draw": (["draw", "pip.yaml", "--out", "pip.svg", *DAY], ("pip.svg",)),
    "due": (["due", "pip.yaml", "--out", "due.txt", *DAY], ("due.txt",)),
    "plan": (["plan", "pip.yaml", "--visits", "1", "--every", "3", "--out", "plan.txt", *DAY], ("plan.txt",)),
    "check": (["check", "--explain", "schema-id", "--out", "findings.txt"], ("findings.txt",)),
    "check and fix": (["check", "slip.yaml", "--fix"], ("slip.yaml",)),
    "rehearse": (["rehearse", "small.yaml", "--out", "year.txt", "--profiles", "."], ("year.txt",)),
    "compare": (["compare", "small.yaml", "small.yaml", "--out", "same.txt", "--profiles", "."], ("same.txt",)),
    "new": (["new", "dog", "--out", "new.yaml"], ("new.yaml",)),
    "tidy": (["tidy", "untidy.yaml"], ("untidy.yaml",)),
    "migrate": (["migrate", "format1.yaml"], ("format1.yaml",)),
    "import": (
        ["import", "sheet.csv", "mapping.yaml", "--out", "imported"],
        ("imported/pip.yaml", "imported/zoe.yaml"),
    ),
    "record": (["record", "pip.yaml", "--did", "back=0.1", *DAY], ("pip.yaml",)),
    "record a correction": (
        ["record", "pip.yaml", "--correct", "2026-02-28", "--left", "back", *DAY[2:]],
        ("pip.yaml",),
    ),
    "record a withdrawal": (["record", "pip.yaml", "--withdraw", "2026-02-28", *DAY[2:]], ("pip.yaml",)),
    "fleet": (["fleet", "book.jsonl", "--out", "out.jsonl", *DAY], ("out.jsonl",)),
}


def refused(number: int) -> Callable[[Callable[[], Any]], Any]:
    def strike(call: Callable[[], Any]) -> None:
        if call.__name__ == "close":
            call()  # Linux closes a file even where it reports an error: close(2)
        raise OSError(number, os.strerror(number))

    return strike


def stopped(number: signal.Signals) -> Callable[[Callable[[], Any]], Any]:
    """A signal that comes while a call to the system is at work."""

    def strike(call: Callable[[], Any]) -> Any:
        answer = call()
        os.kill(os.getpid(), number)
        return answer

    return strike


STRIKES: dict[str, Callable[[Callable[[], Any]], Any]] = {
    "full": refused(errno.ENOSPC),
    "broken": refused(errno.EIO),
    "forbidden": refused(errno.EACCES),
    "killed before": killed_before,
    "killed after": killed_after,
    "Ctrl-C": stopped(signal.SIGINT),
    "SIGTERM": stopped(signal.SIGTERM),
}
STOPPED = {130: "Stopped.", 143: "Stopped."}

ALIKE = ("broken", "forbidden", "killed before", "SIGTERM")
"""Handled as a full disk, a kill and Ctrl-C are; tried where a document is written and where a visit is."""
ALL_ERRORS = ("order", "record")
"""Struck at every call, by every fault; the others from where they begin to write, as all read alike."""
BEFORE = 8
"""The calls before the first flush that prepare it: a lock, a file that is new."""
WRITES_AS_ORDER_DOES = ("draw", "due", "plan", "check", "check and fix", "rehearse", "compare", "migrate")
AROUND = range(-4, 5)
"""The calls about the first flush in which such a command writes; what goes before and after is long in some, and as in ``order``."""
ATTACKS = [
    (name, struck)
    for name in COMMANDS
    for struck in (("full",) if name in WRITES_AS_ORDER_DOES else STRIKES)
    if name in ALL_ERRORS or struck not in ALIKE
]


def _prepare(place: Path) -> None:
    for path in sorted(place.rglob("*"), reverse=True):
        path.rmdir() if path.is_dir() and not path.is_symlink() else path.unlink()
    (place / "small.yaml").write_text(json.dumps(PROFILE), encoding="utf-8")
    (place / "pip.yaml").write_text(HISTORY, encoding="utf-8")
    (place / "mapping.yaml").write_text(MAPPING, encoding="utf-8")
    (place / "sheet.csv").write_text("Day,Dog,Part,Share\n2026-01-01,Pip,back,0.2\n2026-01-01,Zoe,back,0.2\n", "utf-8")
    (place / "slip.yaml").write_text(json.dumps(PROFILE).replace('"label"', '"lable"', 1), encoding="utf-8")
    (place / "format1.yaml").write_text(OLD, encoding="utf-8")
    line = json.dumps({"format": 1, "dog": {"id": "x", "profile": "small"}}) + "\n"
    (place / "book.jsonl").write_text(line * 2, encoding="utf-8")
    (place / "untidy.yaml").write_text(yaml.safe_dump(PROFILE, sort_keys=True) + "\n\n", encoding="utf-8")
    for name in ("old.txt", "linked.txt", "two.txt"):
        (place / name).write_text("as before", encoding="utf-8")
    (place / "link.txt").symlink_to("linked.txt")
    (place / "second.txt").hardlink_to(place / "two.txt")


def _contents(place: Path) -> dict[str, bytes]:
    """What the files hold; a lock or a copy that could not be removed is hidden and stands in nobody's way."""
    found = (path for path in place.rglob("*") if path.is_file() and path.suffix not in (".lock", ".new"))
    return {str(path.relative_to(place)): path.read_bytes() for path in found}


def _in_child(arguments: list[str], at: int, strike: Callable[[Callable[[], Any]], Any]) -> tuple[int, int, int, str]:
    """How the command ended, how many calls there were, which was the first flush, and what was said; no strike where ``at`` is 0."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        write, close, end = os.write, os._exit, os._exit
        said = io.StringIO()
        faults = Faults(at, strike)
        code = 99
        signal.signal(signal.SIGINT, signal.default_int_handler)
        signal.signal(signal.SIGTERM, terminated)
        with contextlib.redirect_stderr(said), contextlib.redirect_stdout(said):
            try:
                faults.set(pytest.MonkeyPatch())
                code = main(arguments)
            except SystemExit as ended:
                code = int(str(ended.code))
            except BaseException as error:
                said.write(f"Traceback {type(error).__name__}: {error}")
        write(writing, f"{faults.count} {faults.flushed_at} {said.getvalue()[:5000]}".encode("utf-8", "replace"))
        close(code) if code != 99 else end(99)
    os.close(writing)
    with os.fdopen(reading, "rb") as pipe:
        calls, flushed, words = (*pipe.read().decode().split(" ", 2), "", "", "")[:3]
    code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    return code, int(calls or 0), int(flushed or 0), words


def _goes_on(arguments: list[str], before: dict[str, bytes], after: dict[str, bytes]) -> bool:
    """Whether a run over a book that was broken off comes to the same end, begun again or resumed as it asks to be."""
    here = Path.cwd()
    if not (here / "out.jsonl.checkpoint").exists():
        main(arguments)
    else:
        main([*arguments, "--resume"])
    return _contents(here) == after


@pytest.mark.parametrize(("name", "struck"), ATTACKS)
def test_a_fault_at_any_call_leaves_all_as_it_was_or_all_as_it_should_be(
    name: str, struck: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    arguments, written = COMMANDS[name]
    _prepare(tmp_path)
    before = _contents(tmp_path)
    clean = main(arguments)  # here first, so that no child need import what it takes
    after = _contents(tmp_path)
    assert clean in (0, 1)
    assert after != before
    _prepare(tmp_path)
    _, calls, flushed, _ = _in_child(arguments, 0, STRIKES[struck])
    assert calls > 5
    first, last = (flushed + AROUND.start, flushed + AROUND.stop) if name in WRITES_AS_ORDER_DOES else (1, calls + 1)
    if name not in ALL_ERRORS:
        first = max(first, flushed - BEFORE)
    for at in range(max(first, 1), min(last, calls + 1)):
        _prepare(tmp_path)
        code, _, _, said = _in_child(arguments, at, STRIKES[struck])
        now = _contents(tmp_path)
        assert "Traceback" not in said, (at, said)
        if code == 0 or (code == clean and now == after):
            assert now == after, at
        elif code in (1, 2):  # the second of a folder or a file named on the command line that seems not to be there
            assert now == before or (name == "fleet" and _goes_on(arguments, before, after)), (at, said)
            assert "error: " in said
        elif code in STOPPED:
            assert said.splitlines()[-1].startswith(STOPPED[code]), (at, said)
            assert now in (before, after) or (name == "fleet" and _goes_on(arguments, before, after)), (at, said)
        else:
            assert code == KILLED, (at, said)
            if name == "fleet":
                assert _goes_on(arguments, before, after), at
                continue
            for file in {*before, *written}:
                blank = now.get(file, b"").rstrip(b"\n") == before.get(file, b"").rstrip(b"\n")  # room for a visit
                copies = [path.read_bytes() for path in tmp_path.rglob("*.new")]
                assert blank or now.get(file) in (before.get(file), after.get(file)) or after.get(file) in copies, (
                    at,
                    file,
                )
