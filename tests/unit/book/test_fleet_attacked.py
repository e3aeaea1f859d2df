"""A run over a book while everything around it changes: nothing is mixed, nothing is lost, nothing is left running."""

from __future__ import annotations

import gzip
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import Executor, Future
from pathlib import Path
from typing import Any

import pytest
from attrs import evolve

from coatrules.book.checkpoint import Checkpoint, checkpoint_file, work_through
from coatrules.book.fleet import Answers, run_of
from coatrules.cli import main
from coatrules.problems import InputError
from tests.support.book import PROFILE
from tests.unit.book.test_fleet import DAY, Stopped, book, command, dog, few_dogs, folder, lines_of

__all__ = ["book", "few_dogs", "folder"]  # fixtures


@pytest.fixture
def stopped(folder: Path, book: Path, few_dogs: None) -> Path:
    """The output of a run that was stopped after twelve lines; it lies beside its book."""
    out = folder / "out.jsonl"
    count = 0

    def stop(_: Checkpoint) -> None:
        nonlocal count
        count += 1
        if count == 3:
            raise Stopped

    with pytest.raises(Stopped):
        work_through(book, out, run_of(DAY, folders=[folder]), tell=stop)
    return out


def test_what_has_not_changed_goes_on_to_the_same_bytes(folder: Path, book: Path, stopped: Path) -> None:
    profile = folder / "small.yaml"
    profile.write_bytes(b"# another comment, the same content\n" + profile.read_bytes())
    os.utime(book)
    assert main(command(folder, "--resume")) == 1
    work_through(book, folder / "alone.jsonl", run_of(DAY, folders=[folder]))
    assert stopped.read_bytes() == (folder / "alone.jsonl").read_bytes()


def _marked(change: Callable[[dict[str, Any]], None]) -> Callable[[Path], None]:
    def changed(folder: Path) -> None:
        mark = checkpoint_file(folder / "out.jsonl")
        data = json.loads(mark.read_bytes())
        change(data)
        mark.write_text(json.dumps(data), encoding="utf-8")

    return changed


def _changed(name: str, change: Callable[[bytes], bytes]) -> Callable[[Path], None]:
    def changed(folder: Path) -> None:
        (folder / name).write_bytes(change((folder / name).read_bytes()))

    return changed


CHANGES: dict[str, tuple[Callable[[Path], Any], str]] = {
    "a line of the book that was answered": (
        _changed("book.jsonl", lambda text: text.replace(b"dog-2", b"dog-9")),
        "the book has changed",
    ),
    "a line of the book to come": (
        _changed("book.jsonl", lambda text: text.replace(b"dog-40", b"dog-90")),
        "the book has changed",
    ),
    "a shorter book": (_changed("book.jsonl", lambda text: text[:-200]), "the book has changed"),
    "a longer book": (_changed("book.jsonl", lambda text: text + text), "the book has changed"),
    "an output cut off": (_changed("out.jsonl", lambda text: text[:1000]), "the output is no longer"),
    "another output": (_changed("out.jsonl", lambda text: text.replace(b"dog-1", b"dog-7")), "the output is no longer"),
    "a profile": (
        _changed("small.yaml", lambda text: text.replace(b"Small, rough coat", b"Smaller, rough coat")),
        "profile 'small' has changed",
    ),
    "bytes written that never were": (_marked(lambda data: data.update(written=50_000_000_000)), "no longer"),
    "bytes read that never were": (_marked(lambda data: data.update(read=100_000_000_000)), "the book has changed"),
    "null": (_marked(lambda data: data.update(written=None)), "unreadable checkpoint"),
    "text for a number": (_marked(lambda data: data.update(line="1")), "unreadable checkpoint"),
    "no line": (_marked(lambda data: data.pop("line")), "unreadable checkpoint"),
    "a list of profiles": (_marked(lambda data: data.update(profiles=[])), "unreadable checkpoint"),
    "less than nothing": (_marked(lambda data: data.update(dogs=-1)), "unreadable checkpoint"),
    "another program": (_marked(lambda data: data.update(engine="0.0.1")), "was begun by coatrules 0.0.1"),
}


@pytest.mark.parametrize("name", CHANGES)
def test_what_has_changed_is_refused_and_nothing_is_touched(
    name: str, folder: Path, stopped: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    change, said = CHANGES[name]
    change(folder)
    before = {file.name: file.read_bytes() for file in folder.iterdir()}
    assert main(command(folder, "--resume")) == 1
    err = capsys.readouterr().err
    assert said in err
    assert "Fix: " in err
    assert {file.name: file.read_bytes() for file in folder.iterdir()} == before


@pytest.mark.usefixtures("few_dogs")
def test_a_book_that_changes_while_it_is_read_is_said(folder: Path, book: Path) -> None:
    def change(_: Checkpoint) -> None:
        with book.open("ab") as file:
            file.write(b"\n")

    with pytest.raises(InputError, match="the book has changed"):
        work_through(book, folder / "out.jsonl", run_of(DAY, folders=[folder]), tell=change)


class OddWorker(Executor):
    """One of whose workers has another edition of the profile, or answers as another program does."""

    def __init__(self, odd: Callable[[Answers], Answers]) -> None:
        self.odd, self.count = odd, 0

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        future: Future[Any] = Future()
        self.count += 1
        answers = fn(*args, **kwargs)
        future.set_result(self.odd(answers) if self.count == 3 else answers)
        return future


@pytest.mark.usefixtures("few_dogs")
def test_a_worker_with_another_edition_is_found_out(folder: Path, book: Path) -> None:
    run, out = run_of(DAY, folders=[folder]), folder / "out.jsonl"
    pool = OddWorker(lambda answers: evolve(answers, lines=b"{}\n", editions={"small": "f" * 64}))
    with pytest.raises(InputError, match="another edition of the profile 'small'"):
        work_through(book, out, run, executor=pool)
    assert b"{}\n" not in out.read_bytes()
    work_through(book, out, run, resume=True)
    work_through(book, folder / "alone.jsonl", run)
    assert out.read_bytes() == (folder / "alone.jsonl").read_bytes()


def test_a_worker_of_another_version_refuses(folder: Path, book: Path) -> None:
    with pytest.raises(InputError, match=r"a worker has coatrules .*, this program is 9\.9"):
        work_through(book, folder / "out.jsonl", evolve(run_of(DAY, folders=[folder]), version="9.9"))


def test_a_second_run_on_the_same_output_is_told_that_the_first_is_alive(
    folder: Path, book: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    seen: list[str] = []

    def second(_: Checkpoint) -> None:
        assert main(command(folder)) == 1
        seen.append(capsys.readouterr().err)

    work_through(book, folder / "out.jsonl", run_of(DAY, folders=[folder]), tell=second)
    assert "another run is writing this file now" in seen[0]
    assert "--resume" not in seen[0]


@pytest.mark.usefixtures("book", "few_dogs")
def test_an_executor_that_fails_ends_in_one_line(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Failing(Executor):
        def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
            raise TypeError("inside")

    with pytest.raises(InputError, match=r"cannot go on \(TypeError\)") as failed:
        work_through(folder / "book.jsonl", folder / "out.jsonl", run_of(DAY), executor=Failing())
    assert "--resume" in failed.value.problems[0].hint


# -- ended from outside ------------------------------------------------------------------------------------------------


def _started(folder: Path, *more: str, dogs: int = 300) -> subprocess.Popen[str]:
    (folder / "book.jsonl").write_bytes(b"".join(lines_of(dogs)))
    process = subprocess.Popen(
        [sys.executable, "-m", "coatrules", *command(folder, *more)],
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=_interruptible,
    )
    out = folder / "out.jsonl"
    while process.poll() is None and not (out.exists() and out.stat().st_size):
        time.sleep(0.02)
    return process


def _interruptible() -> None:
    signal.signal(signal.SIGINT, signal.default_int_handler)  # in the background a shell lets it be ignored


def _descendants(pid: int) -> list[int]:
    found = []
    for status in Path("/proc").glob("[0-9]*/status"):
        try:
            text = status.read_text(encoding="utf-8")
        except OSError:
            continue
        if f"\nPPid:\t{pid}\n" in text:
            child = int(status.parent.name)
            found += [child, *_descendants(child)]
    return found


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="looks for processes as Linux tells of them")
@pytest.mark.parametrize("ended", [signal.SIGKILL, signal.SIGTERM, signal.SIGINT])
def test_no_worker_outlives_a_run_and_it_goes_on(folder: Path, ended: signal.Signals) -> None:
    process = _started(folder, "--processes", "2")
    workers = _descendants(process.pid)
    assert len(workers) >= 2
    process.send_signal(ended)
    _, err = process.communicate(timeout=60)
    until = time.monotonic() + 5
    while (alive := [pid for pid in workers if Path(f"/proc/{pid}").exists()]) and time.monotonic() < until:
        time.sleep(0.05)
    assert alive == []
    if ended != signal.SIGKILL:
        assert process.returncode == (143 if ended == signal.SIGTERM else 130)
        assert err == "Stopped. Run the command again with --resume to continue.\n"
    (folder / "alone.jsonl").unlink(missing_ok=True)
    assert main(command(folder, "--resume", "--processes", "2")) == 1
    work_through(folder / "book.jsonl", folder / "alone.jsonl", run_of(DAY, folders=[folder]))
    assert (folder / "out.jsonl").read_bytes() == (folder / "alone.jsonl").read_bytes()


@pytest.mark.slow
def test_ten_kills_and_resumes_give_the_bytes_of_the_unbroken_run(folder: Path) -> None:
    process = _started(folder, dogs=700)
    for _ in range(10):
        done = (folder / "out.jsonl").stat().st_size
        process.kill()
        process.communicate()
        process = subprocess.Popen(
            [sys.executable, "-m", "coatrules", *command(folder, "--resume")], stderr=subprocess.DEVNULL, text=True
        )
        while process.poll() is None and (folder / "out.jsonl").stat().st_size <= done:
            time.sleep(0.02)
    assert process.wait() == 1
    work_through(folder / "book.jsonl", folder / "alone.jsonl", run_of(DAY, folders=[folder]))
    assert (folder / "out.jsonl").read_bytes() == (folder / "alone.jsonl").read_bytes()


# -- what is written ---------------------------------------------------------------------------------------------------


@pytest.mark.usefixtures("book")
def test_a_summary_is_short_and_fields_are_those_asked_for(folder: Path) -> None:
    out = folder / "out.jsonl"
    (folder / "own.yaml").write_text(json.dumps({**PROFILE, "id": "own"}), encoding="utf-8")
    lines = [{**dog(n), "dog": {"id": f"d{n}", "profile": "griffon-bruxellois-rough"}, "visits": []} for n in range(5)]
    (folder / "book.jsonl").write_text("".join(json.dumps(line) + "\n" for line in lines), encoding="utf-8")
    assert main(command(folder, "--summary")) == 0
    answers = [json.loads(line) for line in out.read_bytes().splitlines()]
    assert {tuple(answer) for answer in answers} == {("format", "dog", "profile", "date", "minutes", "next_visit")}
    assert all(len(line) <= 2000 for line in out.read_bytes().splitlines())
    assert main(command(folder, "--fields", "date, refer")) == 0
    assert {tuple(json.loads(line)) for line in out.read_bytes().splitlines()} == {
        ("format", "dog", "profile", "date", "refer")
    }
    with pytest.raises(SystemExit):
        main(command(folder, "--fields", "date,colour"))


@pytest.mark.usefixtures("few_dogs")
def test_gzip_in_and_out_says_the_same_and_is_resumed(folder: Path, book: Path) -> None:
    run = run_of(DAY, folders=[folder])
    work_through(book, folder / "alone.jsonl", run)
    packed, out = folder / "book.jsonl.gz", folder / "out.jsonl.gz"
    packed.write_bytes(gzip.compress(book.read_bytes()))

    def stop(_: Checkpoint) -> None:
        raise Stopped

    with pytest.raises(Stopped):
        work_through(packed, out, run, tell=stop)
    work_through(packed, out, run, resume=True)
    assert gzip.decompress(out.read_bytes()) == (folder / "alone.jsonl").read_bytes()
    assert main(["fleet", str(packed), "--verify", str(out)]) == 0
    packed.write_bytes(packed.read_bytes()[:-40])
    with pytest.raises(InputError, match="end-of-stream"):
        work_through(packed, folder / "other.jsonl", run)


ANSWERS: dict[str, tuple[Callable[[list[bytes]], list[bytes]], str]] = {
    "one lost": (lambda lines: lines[:3] + lines[4:], "not the answer to line 4"),
    "one twice": (lambda lines: lines[:3] + lines[2:], "not the answer to line 4"),
    "one too many": (lambda lines: [*lines, lines[-1]], "more answers than the book has dogs"),
    "cut off": (lambda lines: [*lines[:-1], lines[-1][:40]], "broken answer to line 41"),
    "the end lost": (lambda lines: lines[:-5], "missing answer: to line"),
    "zeros": (lambda lines: [*lines[:4], b"\0" * 1000 + b"\n", *lines[5:]], "broken answer to line 5"),
    "two editions": (
        lambda lines: [lines[0], lines[1].replace(b'"sha256":"', b'"sha256":"0'), *lines[2:]],
        "two editions",
    ),
}


@pytest.mark.parametrize("name", ANSWERS)
def test_verify_finds_what_is_wrong_with_answers(
    name: str, folder: Path, book: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = folder / "out.jsonl"
    assert main(command(folder)) == 1
    assert main(["fleet", str(book), "--verify", str(out)]) == 0
    assert "41 answers, in the order of the book; 5 of them refused." in capsys.readouterr().err
    change, said = ANSWERS[name]
    out.write_bytes(b"".join(change(out.read_bytes().splitlines(keepends=True))))
    assert main(["fleet", str(book), "--verify", str(out)]) == 1
    assert said in capsys.readouterr().err


def test_a_book_comes_through_a_pipe_and_answers_go_into_one(folder: Path, book: Path) -> None:
    work_through(book, folder / "alone.jsonl", run_of(DAY, folders=[folder]))
    line = ["fleet", "-", "--out", "/dev/stdout", "--profiles", str(folder), "--date", DAY.isoformat()]
    done = subprocess.run(
        [sys.executable, "-m", "coatrules", *line], input=book.read_bytes(), capture_output=True, check=False
    )
    assert done.stdout == (folder / "alone.jsonl").read_bytes()
    assert done.returncode == 1


@pytest.mark.parametrize(
    "option",
    [
        "--date 2027-01-01",
        "--minutes 30",
        "--profile small",
        "--profiles .",
        "--fields date",
        "--summary",
        "--processes 2",
        "--dask tcp://127.0.0.1:1",
        "--resume",
    ],
)
def test_verify_takes_no_option_of_a_run(
    option: str, folder: Path, book: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # They were passed over: '--date' of another day still said that all was well.
    assert main(command(folder)) == 1
    with pytest.raises(SystemExit) as stopped:
        main(["fleet", str(book), "--verify", str(folder / "out.jsonl"), *option.split()])
    assert stopped.value.code == 2
    assert f"remove {option.split()[0]}\n" in capsys.readouterr().err
