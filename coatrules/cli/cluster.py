"""Where a run over a book works: here, in processes of its own, or on a Dask cluster; and whether that is fit for it."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import get_context, parent_process
from threading import Thread
from typing import Any

from coatrules.book.fleet import engine_version
from coatrules.extras import require_extra
from coatrules.problems import InputError, Problem

SECONDS = 5
"""How long a scheduler and its workers have to answer before anything is begun."""


@contextmanager
def processes(count: int) -> Iterator[Executor]:
    """Processes that end with this one, however it ends."""
    with ProcessPoolExecutor(count, mp_context=get_context("spawn"), initializer=_begin) as pool:
        try:
            yield pool
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise


def _begin() -> None:
    """Lets a worker end when its parent does, and leaves Ctrl-C to the parent."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        parent.join()  # a parent that is killed says nothing to those who wait for work
        os._exit(1)


@contextmanager
def dask_cluster(address: str) -> Iterator[tuple[Executor, int]]:
    """The workers of a scheduler, and how many tasks they work at; raises ``InputError`` where they lack what a run needs."""
    require_extra("fleet", "distributed")
    import logging

    from distributed import Client

    for name in [name for name in logging.root.manager.loggerDict if name.partition(".")[0] == "distributed"]:
        logging.getLogger(name).setLevel(logging.CRITICAL)  # what is wrong is said once, and by us
    try:
        client = Client(address, timeout=SECONDS)
    except Exception as error:  # of whatever library the address calls for
        raise InputError([Problem(code="no-cluster", params={"address": address})]) from error
    try:
        yield _executor(client, address)
    finally:
        client.close(timeout=1)


def _executor(client: Any, address: str) -> tuple[Executor, int]:
    try:
        client.wait_for_workers(1, timeout=SECONDS)
        found = client.run(_probe(), on_error="return")
    except Exception as error:
        raise InputError([Problem(code="no-workers", params={"address": address})]) from error
    for worker, version in found.items():
        if not isinstance(version, str) or not version:
            raise InputError([Problem(code="worker-without-package", params={"worker": worker})])
        if version != engine_version():
            params = {"version": version, "wanted": engine_version()}
            raise InputError([Problem(code="worker-version", params=params)])
    executor: Executor = client.get_executor(pure=False)
    return executor, max(1, sum(client.ncores().values()))


def _probe() -> Callable[[], str]:
    def version() -> str:  # not of a module's own, so that it is sent whole to a worker that lacks this package
        try:
            import coatrules
        except ImportError:
            return ""
        return coatrules.__version__

    return version
