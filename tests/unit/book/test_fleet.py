"""Many dogs: the same answers on every road, in order, and no line lost or doubled after a kill."""

from __future__ import annotations

import io
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from contextlib import nullcontext
from datetime import date
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules.book import checkpoint, fleet
from coatrules.book.checkpoint import Checkpoint, checkpoint_file, work_through
from coatrules.book.fleet import Answering, Part, in_order, parts, run_of, work_orders
from coatrules.catalogue.message import message
from coatrules.cli import main
from coatrules.disk import lines as bounded_lines
from coatrules.dog.loading import history_of
from coatrules.formats.digest import Edition
from coatrules.formats.documents import without_file
from coatrules.order.engine import order as one_order
from coatrules.order.engine import summary
from coatrules.order.work_order import WorkOrder
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import compile_profile
from coatrules.profile.loading import load_profile
from coatrules.reading import MAX_BYTES, read_json
from tests.support.book import PROFILE
from tests.support.strategies import START
from tests.support.strategies import histories as random_histories
from tests.support.strategies import profiles as random_profiles

DAY = date(2026, 3, 21)


def dog(number: int) -> dict[str, Any]:
    visits = [
        {"visit": f"2026-0{month}-11", "work": {"body": {"pull": (number + month) % 5 / 10}}, "note": "Früh da"}
        for month in (1, 2, 3)
    ]
    return {"format": 1, "dog": {"id": f"dog-{number}", "profile": "small"}, "visits": visits}


def lines_of(dogs: int) -> list[bytes]:
    """Lines of a book of which every seventh is bad in one way or another."""
    bad = [b"{no json", b'{"format": 1, "dog": {"id": "x"}}', b'{"format": 2}', b"\xff\xfe", b"[1, 2]", b"   "]
    return [
        (bad[number // 7 % len(bad)] if number % 7 == 6 else json.dumps(dog(number)).encode()) + b"\n"
        for number in range(dogs)
    ]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "small.yaml").write_text(json.dumps(PROFILE), encoding="utf-8")
    return tmp_path


@pytest.fixture
def book(folder: Path) -> Path:
    path = folder / "book.jsonl"
    path.write_bytes(b"".join(lines_of(42)))
    return path


@pytest.fixture
def few_dogs(monkeypatch: pytest.MonkeyPatch) -> None:
    """Parts of four dogs, so that a small book has many."""
    monkeypatch.setattr(fleet.parts, "__kwdefaults__", {**(fleet.parts.__kwdefaults__ or {}), "dogs": 4})


def expected(folder: Path, lines: list[bytes]) -> list[Any]:
    """The answers one by one, by the plain road."""
    profile = load_profile("small", shelves=[folder])
    answers: list[Any] = []
    for number, line in enumerate(lines, 1):
        if not line.strip():
            continue
        if number % 7 == 0:
            answers.append(number)
        else:
            history = history_of((read_json(line),))
            answers.append(json.loads(json.dumps(one_order(compile_profile(profile), history, DAY).to_dict())))
    return answers


def test_every_dog_is_answered_in_order_and_a_bad_line_stops_nothing(folder: Path, book: Path) -> None:
    out = folder / "out.jsonl"
    assert main(["fleet", str(book), "--out", str(out), "--date", "2026-03-21", "--profiles", str(folder)]) == 1
    answers = [json.loads(line) for line in out.read_bytes().splitlines()]
    lines = lines_of(42)
    assert len(answers) == sum(bool(line.strip()) for line in lines)
    for answer, right in zip(answers, expected(folder, lines), strict=True):
        if isinstance(right, int):
            assert answer["line"] == right
            assert answer["problems"]
            assert all(problem["message"] for problem in answer["problems"])
        else:
            assert answer == right
    assert not checkpoint_file(out).exists()


@pytest.mark.usefixtures("few_dogs")
def test_the_bytes_are_the_same_on_every_executor(folder: Path, book: Path) -> None:
    run = run_of(DAY, folders=[folder])
    alone = folder / "alone.jsonl"
    checkpoint = work_through(book, alone, run)
    with ThreadPoolExecutor(16) as threads:  # one compiled profile shared by sixteen threads
        work_through(book, folder / "threads.jsonl", run, executor=threads, ahead=20)
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as processes:
        assert work_through(book, folder / "processes.jsonl", run, executor=processes, shared=True) == checkpoint
    assert (folder / "threads.jsonl").read_bytes() == alone.read_bytes()
    assert (folder / "processes.jsonl").read_bytes() == alone.read_bytes()


class Stopped(Exception):
    """Stands for a kill."""


@pytest.mark.slow
@pytest.mark.usefixtures("few_dogs")
def test_a_run_goes_on_wherever_it_was_stopped(folder: Path, book: Path) -> None:
    run = run_of(DAY, folders=[folder])
    whole, out = folder / "whole.jsonl", folder / "out.jsonl"
    checkpoints: list[Checkpoint] = []
    end = work_through(book, whole, run, tell=checkpoints.append)
    assert len(checkpoints) == 11
    for stop in range(len(checkpoints)):
        count = 0

        def tell(_: Checkpoint, stop: int = stop) -> None:
            nonlocal count
            count += 1
            if count > stop:
                raise Stopped

        with pytest.raises(Stopped):
            work_through(book, out, run, tell=tell)
        with out.open("ab") as file:  # what was written after the checkpoint and not yet vouched for
            file.write(b'{"half a line')
        assert work_through(book, out, run, resume=True) == end
        assert out.read_bytes() == whole.read_bytes()


@pytest.mark.slow
def test_after_a_real_kill_no_line_is_lost_or_doubled(folder: Path) -> None:
    book, out = folder / "book.jsonl", folder / "out.jsonl"
    book.write_bytes(b"".join(lines_of(900)))
    command = [sys.executable, "-m", "coatrules", "fleet", str(book), "--out", str(out)]
    command += ["--date", "2026-03-21", "--profiles", str(folder)]
    with subprocess.Popen(command, stderr=subprocess.DEVNULL) as process:
        while process.poll() is None and not (checkpoint_file(out).exists() and out.stat().st_size):
            time.sleep(0.01)
        os.kill(process.pid, signal.SIGKILL)
    assert checkpoint_file(out).exists()
    again = subprocess.run(command, stderr=subprocess.PIPE, text=True, check=False)
    assert again.returncode == 1
    assert "--resume" in again.stderr
    assert subprocess.run([*command, "--resume"], stderr=subprocess.PIPE, check=False).returncode == 1
    answers = [json.loads(line) for line in out.read_bytes().splitlines()]
    names = [answer["dog"]["id"] if "dog" in answer else answer["line"] for answer in answers]
    right = [n + 1 if n % 7 == 6 else f"dog-{n}" for n, line in enumerate(lines_of(900)) if line.strip()]
    assert names == right


def test_another_run_is_not_resumed(folder: Path, book: Path) -> None:
    out = folder / "out.jsonl"

    def stop(_: Checkpoint) -> None:
        raise Stopped

    with pytest.raises(Stopped):
        work_through(book, out, run_of(DAY, folders=[folder]), tell=stop)
    with pytest.raises(InputError, match="different settings"):
        work_through(book, out, run_of(date(2026, 3, 22), folders=[folder]), resume=True)
    checkpoint_file(out).write_text("[", encoding="utf-8")
    with pytest.raises(InputError, match="unreadable checkpoint"):
        work_through(book, out, run_of(DAY, folders=[folder]), resume=True)


def test_files_that_cannot_be_used_are_said(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    missing = [str(folder / "none.jsonl"), "--out", str(folder / "out.jsonl")]
    assert main(["fleet", *missing]) == 1
    assert "no such file" in capsys.readouterr().err
    assert main(["fleet", *missing, "--profile", "no-such"]) == 1
    assert "unknown profile: 'no-such'" in capsys.readouterr().err


def command(folder: Path, *more: str) -> list[str]:
    where = [str(folder / "book.jsonl"), "--out", str(folder / "out.jsonl"), "--profiles", str(folder)]
    return ["fleet", *where, "--date", "2026-03-21", *more]


@pytest.mark.usefixtures("book")
def test_how_many_lines_were_refused_is_said_and_where_to_look(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(command(folder)) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert err == f"5 of 41 lines could not be worked; see their problems in {folder / 'out.jsonl'}.\n"
    first_run = (folder / "out.jsonl").read_bytes()
    assert main(command(folder, "--processes", "2")) == 1
    assert (folder / "out.jsonl").read_bytes() == first_run
    (folder / "book.jsonl").write_text(json.dumps(dog(1)) + "\n", encoding="utf-8")
    capsys.readouterr()
    assert main(command(folder)) == 0
    assert capsys.readouterr() == ("", "")


def test_a_book_is_never_written_over(folder: Path, book: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = book.read_bytes()
    (folder / "other-name.jsonl").hardlink_to(book)
    for name in ("book.jsonl", "other-name.jsonl"):
        assert main(command(folder, "--out", str(folder / name))) == 1
        assert "output file is also an input" in capsys.readouterr().err
    assert book.read_bytes() == before


@pytest.mark.usefixtures("book")
def test_an_unfinished_run_is_neither_forgotten_nor_mixed(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mark = checkpoint_file(folder / "out.jsonl")
    mark.write_text("{}", encoding="utf-8")
    assert main(command(folder)) == 1
    err = capsys.readouterr().err
    assert "a run that writes this file was interrupted" in err
    assert "Fix: Use --resume to continue, or delete out.jsonl.checkpoint to start over." in err
    assert main(command(folder, "--resume")) == 1
    err = capsys.readouterr().err
    assert "the output of the interrupted run is gone" in err
    assert "Fix: Put it back, or delete out.jsonl.checkpoint to start over." in err
    (folder / "out.jsonl").touch()
    assert main(command(folder, "--resume")) == 1
    assert f"{mark}: error: unreadable checkpoint\n    Fix: Delete the file to start over.\n" in capsys.readouterr().err
    mark.unlink()
    assert main(command(folder)) == 1
    assert not mark.exists()


@pytest.mark.parametrize("processes", ["0", "-1", "two", "1.5", "1025"])
def test_a_number_of_processes_that_is_none(processes: str, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(command(folder, f"--processes={processes}"))
    assert ended.value.code == 2
    assert f"'{processes}' is not a number of processes; write a whole number from 1 to 1024" in capsys.readouterr().err


class Failing(Executor):
    """Works on one part, then fails as workers do."""

    def __init__(self, error: type[BaseException]) -> None:
        self.error, self.done = error, 0

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        future: Future[Any] = Future()
        self.done += 1
        if self.done == 1:
            future.set_result(fn(*args, **kwargs))
        else:
            future.set_exception(self.error())
        return future


class KilledWorker(Exception):
    """Named as the cluster's own error is, which is known by its name where the cluster is not installed."""


@pytest.mark.parametrize("error", [BrokenExecutor, KilledWorker])
@pytest.mark.usefixtures("book", "few_dogs")
def test_workers_that_are_killed_lose_nothing(
    error: type[Exception], folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patched:
        patched.setattr("coatrules.cli.fleet.processes", lambda _: nullcontext(Failing(error)))
        assert main(command(folder, "--processes", "2")) == 1
    assert capsys.readouterr().err == (
        "error: worker processes keep crashing; nothing is lost\n    Fix: Run the command again with --resume.\n"
    )
    assert checkpoint_file(folder / "out.jsonl").exists()
    assert main(command(folder, "--resume")) == 1
    answers = [json.loads(line) for line in (folder / "out.jsonl").read_bytes().splitlines()]
    assert len(answers) == sum(bool(line.strip()) for line in lines_of(42))


@pytest.mark.usefixtures("book")
def test_any_other_error_is_not_said_to_be_the_workers(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("coatrules.cli.fleet.work_through", stopping(Stopped))
    with pytest.raises(Stopped):
        main(command(folder))


def stopping(error: type[Exception]) -> Any:
    """A run that ends with an error as soon as its first part is done."""

    def work(*run: Any, **how: Any) -> Checkpoint:
        def stop(_: Checkpoint) -> None:
            raise error

        return work_through(*run, **how | {"tell": stop})

    return work


def test_a_line_too_long_is_refused_and_not_kept(folder: Path) -> None:
    good = json.dumps(dog(1)).encode()
    text = good + b"\n" + b"x" * (MAX_BYTES + 5_000_000) + b"\n" + good
    lines = list(bounded_lines(io.BytesIO(text), Path("book"), MAX_BYTES))
    assert [size for _, size in lines] == [len(good) + 1, MAX_BYTES + 5_000_001, len(good)]
    assert len(lines[1][0]) == MAX_BYTES + 2
    answers = Answering(run_of(DAY, folders=[folder]))(Part(1, 0, len(text), None, tuple(line for line, _ in lines)))
    first, second, third = (json.loads(line) for line in answers.lines.splitlines())
    assert first == third
    assert second["problems"][0]["code"] == "too-large"


@settings(max_examples=60)
@given(
    st.lists(st.binary(max_size=30).map(lambda b: b.replace(b"\n", b"")), max_size=40), st.integers(1, 7), st.booleans()
)
def test_parts_cut_a_book_into_whole_lines(lines: list[bytes], dogs: int, ended: bool) -> None:
    text = b"\n".join(lines) + (b"\n" if ended else b"")
    cut = list(parts(bounded_lines(io.BytesIO(text), Path("book"), MAX_BYTES), dogs=dogs))
    assert b"".join(line for part in cut for line in part.lines) == text
    assert [part.start for part in cut] == [0, *(part.end for part in cut)][: len(cut)]
    numbers = [part.first + n for part in cut for n in range(len(part.lines))]
    assert numbers == list(range(1, len(numbers) + 1))


def test_work_orders_takes_any_executor_and_gives_errors_as_values(folder: Path) -> None:
    profile = load_profile("small", shelves=[folder])
    histories = [dog(1), {"format": 1, "dog": {"id": "x"}, "visits": 3}, dog(2), {"format": 1, "dog": {"id": "y"}}]
    alone = list(work_orders(histories, {"small": profile}, date=DAY))
    assert [type(result) for result in alone] == [WorkOrder, InputError, WorkOrder, InputError]
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        far = list(work_orders(histories, {"small": profile}, date=DAY, executor=pool))
    assert [as_plain(result) for result in far] == [as_plain(result) for result in alone]
    whole = list(work_orders(histories, profile, date=DAY, minutes=30))
    assert isinstance(whole[3], WorkOrder)  # one profile for all: the history need not name it
    assert whole[3].minutes_available == 30


def as_plain(result: WorkOrder | InputError) -> Any:
    return result.to_dict() if isinstance(result, WorkOrder) else result.problems


class Counting(Executor):
    """Works only when asked for the result, and counts what waits."""

    def __init__(self) -> None:
        self.waiting = self.most = 0

    def submit(self, fn: Any, /, *args: Any, **kwargs: Any) -> Future[Any]:
        self.waiting += 1
        self.most = max(self.most, self.waiting)
        future: Future[Any] = Future()
        result = fn(*args, **kwargs)
        original = future.result

        def asked(timeout: float | None = None) -> Any:
            self.waiting -= 1
            return original(timeout)

        future.set_result(result)
        future.result = asked  # type: ignore[method-assign]  # to see when it is asked for
        return future


def test_only_so_many_tasks_are_on_the_way() -> None:
    pool = Counting()
    count = 0

    def tasks() -> Iterator[int]:
        nonlocal count
        for number in range(1000):
            count += 1
            yield number

    results = in_order(pool, lambda n: n * n, tasks(), ahead=5)
    assert [next(results) for _ in range(3)] == [0, 1, 4]
    assert count <= 8
    assert list(results) == [n * n for n in range(3, 1000)]
    assert pool.most == 5


def test_a_dog_the_engine_fails_on_costs_only_its_own_line(
    folder: Path, book: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = one_order

    def order(compiled: Any, history: Any, *rest: Any) -> Any:
        if history.dog.id == "dog-3":
            raise ZeroDivisionError
        return real(compiled, history, *rest)

    monkeypatch.setattr(fleet, "order", order)
    checkpoint.work_through(book, folder / "out.jsonl", run_of(DAY, folders=[folder]))
    lines = (folder / "out.jsonl").read_bytes().splitlines()
    assert json.loads(lines[3])["problems"][0]["code"] == "engine"
    assert json.loads(lines[4])["dog"]["id"] == "dog-4"


def test_an_error_comes_back_whole_from_another_process() -> None:
    import pickle

    error = InputError(
        [
            Problem(code="unknown-station", params={"name": "x"}, file="a", line=3),
            Problem(code="no-value", params={"key": "b"}, fix=message("fix.use-name", name="c")),
        ]
    )
    assert pickle.loads(pickle.dumps(error)).problems == error.problems


# --- summaries --------------------------------------------------------------------------------------------------------


@settings(max_examples=20, deadline=None)
@given(random_profiles(), random_histories(), st.integers(0, 500), st.none() | st.sampled_from([5, 20, 45, 200]))
def test_a_summary_is_the_same_as_in_the_whole_order(
    profile: dict[str, Any], history: dict[str, Any], days: int, minutes: float | None
) -> None:
    day = date.fromordinal(START.toordinal() + days)
    compiled, dog = compile_profile(load_profile(profile)), history_of((without_file(history),))
    whole = one_order(compiled, dog, day, minutes).to_dict()
    found = summary(compiled, dog, day, minutes)
    assert found == {key: whole[key] for key in found}
    assert found.keys() == {*fleet.WHOSE, *fleet.SUMMARY}


def _answered(folder: Path, *fields: str) -> list[dict[str, Any]]:
    run = run_of(DAY, folders=[folder], fields=fields)
    lines = Answering(run)(Part(1, 0, 0, None, tuple(lines_of(7)))).lines.splitlines()
    return [json.loads(line) for line in lines]


@pytest.mark.parametrize("fields", [fleet.SUMMARY, ("next_visit",), ("minutes", "steps"), ("dog",)])
def test_the_fields_asked_for_are_those_of_the_order(folder: Path, fields: tuple[str, ...]) -> None:
    for whole, part in zip(_answered(folder), _answered(folder, *fields), strict=True):
        kept = {key: value for key, value in whole.items() if key in (*fleet.WHOSE, *fields)}
        assert part == (whole if "problems" in whole else kept)


def test_a_summary_puts_no_work_in_order(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # It was worked out and thrown away, which is half of the cost of an order.
    def never(*_: Any) -> Any:
        raise AssertionError

    monkeypatch.setattr("coatrules.order.engine.steps", never)
    monkeypatch.setattr("coatrules.order.today.fit", never)
    assert all("next_visit" in answer for answer in _answered(folder, *fleet.SUMMARY)[:-1])


def test_the_edition_of_a_profile_is_worked_out_once(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    # It was for every dog: 6 ms of 46.
    hashed: list[Edition] = []
    once = vars(Edition)["sha256"].fget

    def counted(edition: Edition) -> str:
        hashed.append(edition)
        found: str = once(edition)
        return found

    monkeypatch.setattr(Edition, "sha256", property(counted))
    _answered(folder)
    assert len({id(edition) for edition in hashed}) == 1
