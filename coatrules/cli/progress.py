"""The progress bar of long work: on standard error, only in a terminal, and only where ``rich`` is installed."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from importlib.util import find_spec
from typing import TypeVar

T = TypeVar("T")
Tell = Callable[[float, str], None]
"""Told how much is done, and what to show beside the bar."""


def shows_progress() -> bool:
    """Returns whether a bar would be seen."""
    return sys.stderr.isatty() and find_spec("rich") is not None


@contextmanager
def progress(total: float | None, label: str) -> Iterator[Tell]:
    """Shows a bar that is cleared in the end. ``total``: how much there is to do; None if that is not known."""
    if not shows_progress():
        yield lambda done, label: None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(label, total=total)
        yield lambda done, label: bar.update(task, completed=done, description=label)


def tracked(items: Sequence[T], label: str) -> Iterator[T]:
    """Yields the items one by one, and shows how many are done."""
    with progress(len(items), label) as tell:
        for done, item in enumerate(items, 1):
            yield item
            tell(done, label)
