"""The same book on a real Dask cluster whose workers are killed while they work."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import pytest

from coatrules.book.checkpoint import Checkpoint, work_through
from coatrules.book.fleet import run_of
from coatrules.cli import main
from tests.unit.book.test_fleet import DAY, few_dogs, folder, lines_of

pytestmark = pytest.mark.slow

distributed = pytest.importorskip("distributed", reason="the extra 'fleet' is not installed")

__all__ = ["few_dogs", "folder"]  # fixtures


@pytest.mark.usefixtures("few_dogs")
@pytest.mark.filterwarnings("ignore")  # the cluster's own, about workers that end
def test_killed_workers_cost_no_line(folder: Path) -> None:
    book, out = folder / "book.jsonl", folder / "out.jsonl"
    book.write_bytes(b"".join(lines_of(60)))
    run = run_of(DAY, folders=[folder])
    work_through(book, folder / "alone.jsonl", run)
    with (
        distributed.LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as cluster,
        distributed.Client(cluster) as client,
    ):
        killed: list[int] = []

        def kill(_: Checkpoint) -> None:
            if len(killed) < 2:
                pid = cluster.workers[len(killed)].pid  # each is killed once
                os.kill(pid, signal.SIGKILL)
                killed.append(pid)

        executor = client.get_executor(pure=False)
        done = work_through(book, out, run, executor=executor, shared=True, ahead=6, tell=kill)
        assert len(killed) == 2
        assert done.dogs == sum(bool(line.strip()) for line in lines_of(60))
        assert out.read_bytes() == (folder / "alone.jsonl").read_bytes()

        command = ["fleet", str(book), "--out", str(folder / "cli.jsonl"), "--date", DAY.isoformat()]
        assert main([*command, "--profiles", str(folder), "--dask", cluster.scheduler_address]) == 1
        assert (folder / "cli.jsonl").read_bytes() == out.read_bytes()


def test_an_address_without_a_scheduler_is_said(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = folder / "book.jsonl"
    book.write_bytes(b"".join(lines_of(3)))
    assert main(["fleet", str(book), "--out", str(folder / "out.jsonl"), "--dask", "nowhere at all"]) == 1
    assert "no Dask scheduler" in capsys.readouterr().err
