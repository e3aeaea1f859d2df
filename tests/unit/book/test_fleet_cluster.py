"""A Dask cluster that lacks something: each is said within seconds, and a cluster of two minds is never mixed."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from coatrules.book.checkpoint import checkpoint_file, work_through
from coatrules.book.fleet import run_of
from coatrules.cli import main
from tests.support.paths import ROOT
from tests.unit.book.test_fleet import DAY, command, few_dogs, folder, lines_of

pytestmark = [
    pytest.mark.slow,
    pytest.mark.filterwarnings("ignore"),  # the cluster's own
]

pytest.importorskip("distributed", reason="the extra 'fleet' is not installed")

__all__ = ["few_dogs", "folder"]  # fixtures


@contextmanager
def _scheduler(folder: Path) -> Iterator[tuple[str, subprocess.Popen[bytes]]]:
    file = folder / "scheduler.json"
    line = ["-m", "distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard"]
    with _ended(
        subprocess.Popen([sys.executable, *line, "--scheduler-file", str(file)], stderr=subprocess.DEVNULL)
    ) as p:
        until = time.monotonic() + 60
        while not file.exists() and time.monotonic() < until:
            time.sleep(0.05)
        time.sleep(0.2)
        import json

        yield json.loads(file.read_bytes())["address"], p


@contextmanager
def _worker(address: str, at: Path, **environment: str) -> Iterator[None]:
    code = (
        "import asyncio, distributed\n"
        "async def main():\n"
        f"    async with distributed.Worker({address!r}, nthreads=1, dashboard_address=None) as worker:\n"
        "        await worker.finished()\n"
        "asyncio.run(main())\n"
    )
    with _ended(
        subprocess.Popen(
            [sys.executable, "-P", "-c", code], cwd=at, env={**os.environ, **environment}, stderr=subprocess.DEVNULL
        )
    ):
        yield


@contextmanager
def _ended(process: subprocess.Popen[bytes]) -> Iterator[subprocess.Popen[bytes]]:
    try:
        yield process
    finally:
        process.kill()
        process.wait()


def _edition(folder: Path) -> Path:
    """The package as another machine might have it: with another edition of the library's profiles."""
    other = folder / "other"
    shutil.copytree(ROOT / "coatrules", other / "coatrules", ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("profiles", "schemas"):
        shutil.copytree(ROOT / name, other / "coatrules" / name)
    for profile in (other / "coatrules" / "profiles").glob("*.yaml"):
        text = profile.read_text(encoding="utf-8")
        profile.write_text(text.replace("\nlabel: ", "\nlabel: Other ", 1), encoding="utf-8")
    return other


@pytest.mark.parametrize("address", ["nowhere at all", "tls://127.0.0.1:1", "tcp://127.0.0.1:1", "ucx://x"])
def test_an_address_that_leads_nowhere_is_said(folder: Path, address: str, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "book.jsonl").write_bytes(b"".join(lines_of(3)))
    assert main(command(folder, "--dask", address)) == 1
    err = capsys.readouterr().err
    assert f"there is no Dask scheduler at '{address}'" in err
    assert not (folder / "out.jsonl").exists()


def test_a_cluster_without_workers_or_without_the_package_is_said(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "book.jsonl").write_bytes(b"".join(lines_of(3)))
    empty = folder / "empty"
    (empty / "coatrules").mkdir(parents=True)
    (empty / "coatrules" / "__init__.py").write_text("raise ImportError('not here')\n", encoding="utf-8")
    with _scheduler(folder) as (address, _):
        assert main(command(folder, "--dask", address)) == 1
        assert "has no workers that answer" in capsys.readouterr().err
        with _worker(address, empty, PYTHONPATH=str(empty)):
            assert main(command(folder, "--dask", address)) == 1
            assert "lacks coatrules" in capsys.readouterr().err
        (empty / "coatrules" / "__init__.py").write_text("__version__ = '0.0.7'\n", encoding="utf-8")
        time.sleep(1)
        with _worker(address, empty, PYTHONPATH=str(empty)):
            assert main(command(folder, "--dask", address)) == 1
            assert "a worker has coatrules 0.0.7" in capsys.readouterr().err
    assert not (folder / "out.jsonl").exists()


def test_two_editions_are_never_mixed(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book, out = folder / "book.jsonl", folder / "out.jsonl"
    text = b"".join(line for n, line in enumerate(lines_of(400)) if n % 7 != 6)
    book.write_bytes(text.replace(b'"small"', b'"griffon-bruxellois-rough"').replace(b'"body"', b'"back"'))
    line = ["fleet", str(book), "--out", str(out), "--date", DAY.isoformat()]
    other = _edition(folder)
    with (
        _scheduler(folder) as (address, _),
        _worker(address, ROOT, PYTHONPATH=str(ROOT)),
        _worker(address, other, PYTHONPATH=str(other)),
    ):
        time.sleep(3)  # until both are there
        assert main([*line, "--dask", address]) == 1
    err = capsys.readouterr().err
    assert "another edition of the profile 'griffon-bruxellois-rough'" in err
    assert "--resume" in err
    assert b'"Other ' not in out.read_bytes()
    assert main([*line, "--resume"]) == 0
    work_through(book, folder / "alone.jsonl", run_of(DAY))
    assert out.read_bytes() == (folder / "alone.jsonl").read_bytes()


@pytest.mark.usefixtures("few_dogs")
def test_a_scheduler_that_is_lost_ends_the_run_in_one_line(folder: Path) -> None:
    (folder / "book.jsonl").write_bytes(b"".join(lines_of(4000)))
    out = folder / "out.jsonl"
    with (
        _scheduler(folder) as (address, scheduler),
        _worker(address, ROOT, PYTHONPATH=str(ROOT)),
        subprocess.Popen(
            [sys.executable, "-m", "coatrules", *command(folder, "--dask", address)],
            cwd=ROOT,
            stderr=subprocess.PIPE,
            text=True,
        ) as run,
    ):
        while run.poll() is None and not (out.exists() and out.stat().st_size):
            time.sleep(0.05)
        scheduler.kill()
        _, err = run.communicate(timeout=60)
    assert run.returncode == 1
    assert err.startswith("error: the workers cannot go on (")
    assert "--resume" in err
    assert "Traceback" not in err
    assert checkpoint_file(out).exists()
