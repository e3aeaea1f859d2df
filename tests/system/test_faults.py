"""Every command that writes, while the system fails or the process is killed at every call, one by one: what it writes is whole or as
before, nothing it reads is touched, a refusal is said in words, and nothing is left lying about."""

from __future__ import annotations

import contextlib
import errno
import io
import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

from coatrules.cli import main
from tests.support.book import HISTORY, PROFILE
from tests.unit.recording.test_append_crash import KILLED, Faults, killed_after, killed_before

pytestmark = pytest.mark.slow

MAPPING = "format: 1\ncolumns: {date: Day, dog: Dog, part: Part, share: Share}\nalways: {task: pull}\n"
DAY = ["--date", "2026-03-21", "--profiles", "."]
COMMANDS: dict[str, tuple[list[str], tuple[str, ...]]] = {
    "order": (["order", "pip.yaml", "--out", "order.txt", *DAY], ("order.txt",)),
    "order over an old file": (["order", "pip.yaml", "--out", "old.txt", *DAY], ("old.txt",)),
    "order through a link": (["order", "pip.yaml", "--out", "link.txt", *DAY], ("linked.txt",)),
    "order over one of two names": (["order", "pip.yaml", "--out", "two.txt", *DAY], ()),
    "due": (["due", "pip.yaml", "--out", "due.txt", *DAY], ("due.txt",)),
    "new": (["new", "dog", "--out", "new.yaml"], ("new.yaml",)),
    "tidy": (["tidy", "untidy.yaml"], ("untidy.yaml",)),
    "import": (
        ["import", "sheet.csv", "mapping.yaml", "--out", "imported"],
        ("imported/pip.yaml", "imported/zoe.yaml"),
    ),
    "record": (["record", "pip.yaml", "--did", "back=0.1", *DAY], ("pip.yaml",)),
}


def refused(number: int) -> Callable[[Callable[[], Any]], Any]:
    def strike(call: Callable[[], Any]) -> None:
        if call.__name__ == "close":
            call()  # Linux closes a file even where it reports an error: close(2)
        raise OSError(number, os.strerror(number))

    return strike


STRIKES: dict[str, Callable[[Callable[[], Any]], Any]] = {
    "full": refused(errno.ENOSPC),
    "broken": refused(errno.EIO),
    "forbidden": refused(errno.EACCES),
    "killed before": killed_before,
    "killed after": killed_after,
}


ALIKE = ("broken", "forbidden")
"""Handled as a full disk is; tried where a document is written and where a visit is."""
ALL_ERRORS = ("order", "record")
ATTACKS = [(name, struck) for name in COMMANDS for struck in STRIKES if name in ALL_ERRORS or struck not in ALIKE]


def _prepare(place: Path) -> None:
    for path in sorted(place.rglob("*"), reverse=True):
        path.rmdir() if path.is_dir() and not path.is_symlink() else path.unlink()
    (place / "small.yaml").write_text(json.dumps(PROFILE), encoding="utf-8")
    (place / "pip.yaml").write_text(HISTORY, encoding="utf-8")
    (place / "mapping.yaml").write_text(MAPPING, encoding="utf-8")
    (place / "sheet.csv").write_text("Day,Dog,Part,Share\n2026-01-01,Pip,back,0.2\n2026-01-01,Zoe,back,0.2\n", "utf-8")
    (place / "untidy.yaml").write_text(yaml.safe_dump(PROFILE, sort_keys=True) + "\n\n", encoding="utf-8")
    for name in ("old.txt", "linked.txt", "two.txt"):
        (place / name).write_text("as before", encoding="utf-8")
    (place / "link.txt").symlink_to("linked.txt")
    (place / "second.txt").hardlink_to(place / "two.txt")


def _contents(place: Path) -> dict[str, bytes]:
    """What the files hold; a lock or a copy that could not be removed is hidden and stands in nobody's way."""
    found = (path for path in place.rglob("*") if path.is_file() and path.suffix not in (".lock", ".new"))
    return {str(path.relative_to(place)): path.read_bytes() for path in found}


def _in_child(arguments: list[str], at: int, strike: Callable[[Callable[[], Any]], Any]) -> tuple[int, bool, str]:
    """How the command ended, whether the fault was reached, and what was said."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        write, close, end = os.write, os._exit, os._exit
        said = io.StringIO()
        faults = Faults(at, strike)
        code = 99
        with contextlib.redirect_stderr(said), contextlib.redirect_stdout(io.StringIO()):
            try:
                faults.set(pytest.MonkeyPatch())
                code = main(arguments)
            except SystemExit as ended:
                code = int(str(ended.code))
            except BaseException as error:
                said.write(f"Traceback {type(error).__name__}: {error}")
        write(writing, f"{int(faults.count >= at)}{said.getvalue()[:5000]}".encode("utf-8", "replace"))
        close(code) if code != 99 else end(99)
    os.close(writing)
    with os.fdopen(reading, "rb") as pipe:
        answer = pipe.read().decode()
    code = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    return code, answer[:1] != "0", answer[1:]


@pytest.mark.parametrize(("name", "struck"), ATTACKS)
def test_a_fault_at_any_call_leaves_all_as_it_was_or_all_as_it_should_be(
    name: str, struck: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    arguments, written = COMMANDS[name]
    _prepare(tmp_path)
    before = _contents(tmp_path)
    assert main(arguments) == 0
    after = _contents(tmp_path)
    assert after != before
    for at in range(1, 400):
        _prepare(tmp_path)
        code, reached, said = _in_child(arguments, at, STRIKES[struck])
        now = _contents(tmp_path)
        assert "Traceback" not in said, (at, said)
        if code == 0:
            assert now == after, at
        elif code in (1, 2):  # the second of a folder or a file named on the command line that seems not to be there
            assert now == before, (at, said)
            assert "error: " in said
        else:
            assert code == KILLED
            for file in {*before, *written}:
                blank = now.get(file, b"").rstrip(b"\n") == before.get(file, b"").rstrip(b"\n")  # room for a visit
                copies = [path.read_bytes() for path in tmp_path.rglob("*.new")]
                assert blank or now.get(file) in (before.get(file), after.get(file)) or after.get(file) in copies, (
                    at,
                    file,
                )
        if not reached:
            assert code == 0
            break
    else:
        pytest.fail("the command never came to its end")
    assert at > 5
