"""A book of 300 dogs through ``due``, as a ratio to reading and evaluating the same dogs one by one.

Run as ``python -m tests.benchmarks.due``. The book is invented: JSON Lines, two years of visits every three weeks.
"""

from __future__ import annotations

import json
import tempfile
from argparse import Namespace
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from time import process_time

from coatrules import Engine
from coatrules.book.entries import entries
from coatrules.cli.due import dues
from coatrules.order.engine import order
from coatrules.profile.compiled import compile_profile
from coatrules.profile.loading import load_profile

PROFILE = "griffon-bruxellois-rough"
DAY = date(2026, 3, 21)


def book(dogs: int) -> str:
    """So many dogs, one a line, with 8 to 24 visits each."""
    lines = []
    for n in range(dogs):
        visits = []
        for back in range(8 + n % 17, 0, -1):
            day = DAY - timedelta(days=21 * back - n % 30)
            work = {"jacket": {"card": True, "pull": 0.2, "minutes": 60}, "legs": {"pull": 0.2}}
            visits.append({"visit": day.isoformat(), "work": work, "reactions": {"toes": "unsettled"}})
        lines.append(json.dumps({"format": 1, "dog": {"id": f"dog-{n}", "profile": PROFILE}, "visits": visits}))
    return "\n".join(lines) + "\n"


def measure(dogs: int = 300, rounds: int = 2) -> list[tuple[str, float, float]]:
    """(name, ratio of the best times, target: the ratio may be at most this)."""
    compiled = compile_profile(load_profile(PROFILE))
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "book.jsonl"
        file.write_text(book(dogs), encoding="utf-8")
        chosen = Namespace(dog=[file], profile=None, profiles=[], salon=None, date=DAY)

        def one_by_one() -> None:
            for entry in entries([file]):
                assert entry.history is not None
                order(compiled, entry.history, DAY)

        def through_due() -> None:
            engine = Engine()
            found, problems = dues(chosen, engine)
            assert len(found) == dogs
            assert not problems
            engine.text(found)

        ours = theirs = float("inf")
        for _ in range(rounds):  # taken in turn, so that a busy machine slows both
            theirs = min(theirs, _seconds(one_by_one))
            ours = min(ours, _seconds(through_due))
    return [(f"due: {dogs} dogs / reading and evaluating them", ours / theirs, 1.5)]


def _seconds(call: Callable[[], object]) -> float:
    start = process_time()
    call()
    return process_time() - start


if __name__ == "__main__":
    for name, ratio, target in measure():
        print(f"{name}: {ratio:.2f} (at most {target})")
