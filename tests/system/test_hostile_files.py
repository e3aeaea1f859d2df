"""Files that are none, or never end, given to every command in every place where one is read: a plain refusal, soon and for little."""

from __future__ import annotations

import contextlib
import gzip
import io
import json
import os
import resource
import signal
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from coatrules.cli import main
from tests.support.book import HISTORY, PROFILE

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(sys.platform != "linux", reason="processes are bounded and measured as Linux does it"),
]

SECONDS, MEGABYTES = 2, 200
MAPPING = "columns: {date: Day, dog: Dog, part: Part, share: Share}\nalways: {task: pull}\n"


def sparse(path: Path) -> str:
    with path.open("wb") as file:
        file.truncate(3_000_000_000)
    return str(path)


def pipe(path: Path) -> str:
    os.mkfifo(path)
    return str(path)


def loop(path: Path) -> str:
    path.symlink_to(path)
    return str(path)


def packed(path: Path) -> str:
    """Three million bytes that unpack to three thousand million."""
    piece = gzip.compress(b"\0" * 100_000_000)
    named = path.with_name(f"{path.name}.gz")
    named.write_bytes(piece * 30)
    return str(named)


def unreadable(path: Path) -> str:
    path.write_bytes(b"\xff\xfe\0\0" * 1000)
    return str(path)


def marks(path: Path) -> str:
    path.write_text("a: " + "\u0301\u0316" * 200_000, encoding="utf-8")
    return str(path)


def folder_(path: Path) -> str:
    path.mkdir()
    return str(path)


def odd_folder(path: Path) -> str:
    """A folder of odd files."""
    path.mkdir()
    for name, make in (("sparse", sparse), ("pipe", pipe), ("loop", loop), ("marks", marks)):
        make(path / f"{name}.yaml")
    (path / "zero.yaml").symlink_to("/dev/zero")
    (path / "house-rules.yaml").symlink_to("loop.yaml")
    return str(path)


FILES: dict[str, Callable[[Path], str]] = {
    "sparse": sparse,
    "/dev/zero": lambda _: "/dev/zero",
    "/dev/stdin": lambda _: "/dev/stdin",
    "pipe": pipe,
    "loop": loop,
    "long name": lambda path: str(path.with_name("x" * 300 + path.suffix)),
    "NUL": lambda path: f"{path}\0{path.suffix}",
    "half a character": lambda path: f"{path}\ud800{path.suffix}",
    "folder": folder_,
    "folder of odd files": odd_folder,
    "packed": packed,
    "not UTF-8": unreadable,
    "marks": marks,
    "nothing": lambda path: str(path),
}

FOR_A_FOLDER = ("folder", "folder of odd files", "loop", "long name", "NUL", "half a character", "nothing")
"""What is given where a folder is wanted."""
COMMANDS: dict[str, tuple[str, str]] = {
    "order": (".yaml", "order @"),
    "order by JSON": (".json", "order @"),
    "order by a profile": (".yaml", "check @"),
    "order by a salon": (".yaml", "order pip.yaml --salon @ --profiles ."),
    "order by a folder": ("", "order pip.yaml --profiles @"),
    "explain": (".yaml", "explain @ back"),
    "explain by a folder": ("", "explain pip.yaml back --profiles @"),
    "draw": (".yaml", "draw @"),
    "draw a book": (".yaml", "draw @ --what book"),
    "draw by a salon": (".yaml", "draw pip.yaml --what book --salon @ --profiles ."),
    "draw by a folder": ("", "draw pip.yaml --profiles @"),
    "record": (".yaml", "record @ --did back=0.1"),
    "record by a salon": (".yaml", "record pip.yaml --as-planned --dry-run --salon @ --profiles ."),
    "record from": (".yaml", "record pip.yaml --from @ --profiles ."),
    "record verify": (".yaml", "record @ --verify"),
    "record correct": (".yaml", "record @ --correct 2026-02-28 --left back"),
    "record by a folder": ("", "record pip.yaml --did back=0.1 --profiles @"),
    "due": (".yaml", "due @"),
    "due by a salon": (".yaml", "due pip.yaml --salon @ --profiles ."),
    "due by a folder": ("", "due pip.yaml --profiles @"),
    "plan by a salon": (".yaml", "plan pip.yaml --salon @ --profiles ."),
    "due lines": (".jsonl", "due @"),
    "fleet": (".jsonl", "fleet @ --out out.jsonl"),
    "fleet verify": (".jsonl", "fleet book.jsonl --verify @"),
    "fleet by a folder": ("", "fleet book.jsonl --out out.jsonl --profiles @"),
    "fleet verify book": (".jsonl", "fleet @ --verify book.jsonl"),
    "import sheet": (".csv", "import @ mapping.yaml --out imported"),
    "import mapping": (".yaml", "import sheet.csv @ --out imported"),
    "import by a folder": ("", "import sheet.csv mapping.yaml --out imported --profiles @"),
    "check": (".yaml", "check @"),
    "check and fix": (".yaml", "check @ --fix"),
    "check by a folder": ("", "check small.yaml --profiles @"),
    "rehearse": (".yaml", "rehearse @"),
    "rehearse by a folder": ("", "rehearse small.yaml --profiles @"),
    "compare": (".yaml", "compare small.yaml @ --profiles ."),
    "compare old": (".yaml", "compare @ small.yaml --profiles ."),
    "compare by a folder": ("", "compare small.yaml small.yaml --profiles @"),
    "compare dog": (".yaml", "compare small.yaml small.yaml @ --profiles ."),
    "tidy": (".yaml", "tidy @"),
    "migrate": (".yaml", "migrate @"),
    "plan": (".yaml", "plan @"),
    "plan by a folder": ("", "plan pip.yaml --profiles @"),
    "profiles": (".yaml", "profiles @"),
    "profiles where": (".yaml", "profiles @ --where label"),
    "profiles of a folder": ("", "profiles --profiles @"),
    "new case": (".yaml", "new case @"),
    "new profile": (".yaml", "new profile --extends @"),
    "new by a folder": ("", "new dog --profiles @"),
}


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "small.yaml").write_text(json.dumps(PROFILE), encoding="utf-8")
    (tmp_path / "pip.yaml").write_text(HISTORY, encoding="utf-8")
    (tmp_path / "mapping.yaml").write_text(MAPPING, encoding="utf-8")
    (tmp_path / "sheet.csv").write_text("Day,Dog,Part,Share\n2026-01-01,Pip,back,0.2\n", encoding="utf-8")
    (tmp_path / "book.jsonl").write_text('{"format": 1, "dog": {"id": "x"}}\n', encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize(
    ("kind", "command"),
    [(kind, name) for kind in FILES for name, (suffix, _) in COMMANDS.items() if suffix or kind in FOR_A_FOLDER],
)
def test_it_is_refused_soon_and_for_little(kind: str, command: str, place: Path) -> None:
    suffix, line = COMMANDS[command]
    name = FILES[kind](place / f"hostile{suffix}")
    before = {path.name for path in place.iterdir()}
    code, said, seconds, megabytes = _run([name if word == "@" else word for word in line.split()])
    allowed = (0, 1, 2) if "folder" in kind else (1, 2)  # a folder of no dogs is a book of none
    assert code in allowed, said
    assert "Traceback" not in said
    assert said.replace("\n", " ").isprintable() or code == 2, said
    assert seconds <= SECONDS, seconds
    assert megabytes <= MEGABYTES
    left = {path.name for path in place.iterdir()} - before - {"out.jsonl", "out.jsonl.checkpoint"}
    assert left == set()


def _run(arguments: list[str]) -> tuple[int, str, float, int]:
    """The exit code of a command in a process of its own, what it said, the processor's seconds and megabytes beyond the start."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        code = 99
        said = io.StringIO()
        try:
            os.dup2(os.open("/dev/zero", os.O_RDONLY), 0)
            resource.setrlimit(resource.RLIMIT_CPU, (SECONDS + 2, SECONDS + 3))
            signal.alarm(60)  # on a machine that is busy with others; what it may use is bounded above
            Path("/proc/self/clear_refs").write_text("5", encoding="ascii")  # the peak counts from here
            start = _memory("VmRSS")
            with contextlib.redirect_stderr(said), contextlib.redirect_stdout(io.TextIOWrapper(io.BytesIO())):
                try:
                    code = main(arguments)
                except SystemExit as ended:
                    code = int(str(ended.code))
                except BaseException as error:
                    said.write(f"Traceback {type(error).__name__}: {error}")
        finally:
            answer = json.dumps([code, said.getvalue()[:20_000], _memory("VmHWM") - start])
            os.write(writing, answer.encode())
            os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as pipe_:
        heard = pipe_.read()
    _, status, used = os.wait4(child, 0)
    assert os.WIFEXITED(status), f"ended by signal {os.WTERMSIG(status)}: {arguments}"
    code, text, megabytes = json.loads(heard)
    return code, text, used.ru_utime + used.ru_stime, megabytes


def _memory(key: str) -> int:
    status = Path("/proc/self/status").read_text(encoding="ascii")
    return next(int(line.split()[1]) for line in status.splitlines() if line.startswith(key)) // 1024
