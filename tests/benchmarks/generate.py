"""Made-up dogs for measuring with: the same number always makes the same dog. ``python -m tests.benchmarks.generate N``
writes N of them as JSON Lines."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from datetime import date, timedelta
from random import Random
from typing import Any

DAY = date(2026, 3, 21)
"""The day that all their visits lie before."""
PROFILE = "griffon-bruxellois-rough"
PARTS = ("body", "legs", "head", "jacket", "neck", "tail")


def dog(number: int, *, visits: int = 12, every_days: int = 21) -> dict[str, Any]:
    """The history of one dog, by the rough Griffon's profile."""
    draw = Random(number)
    first = DAY - timedelta(days=visits * every_days)
    days = [first + timedelta(days=n * every_days + draw.randrange(-3, 4)) for n in range(visits)]
    return {
        "format": 1,
        "dog": {
            "id": f"dog-{number}",
            "name": f"Dog {number}",
            "profile": PROFILE,
            "born": "2022-05-01",
            "sex": "male",
        },
        "arrival": {"body": {"grown_weeks": draw.randrange(10, 30)}, "legs": {"grown_weeks": draw.randrange(10, 30)}},
        "visits": [_visit(draw, day) for day in days],
    }


def _visit(draw: Random, day: date) -> dict[str, Any]:
    work: dict[str, Any] = {}
    for part in draw.sample(PARTS, draw.randrange(2, 5)):
        work[part] = {"pull": draw.choice((0.1, 0.15, 0.2, 0.25, 0.3))}
        if part == "body":
            work[part]["card"] = True
    if draw.random() < 0.3:
        work["sanitary"] = {"clip": 3}
    visit: dict[str, Any] = {"visit": day.isoformat(), "work": work}
    if draw.random() < 0.2:
        visit["seen"] = {"back": {"longest_mm": draw.randrange(8, 30), "skin": "sound"}}
    if draw.random() < 0.2:
        visit["reactions"] = {draw.choice(("toes", "head")): draw.choice(("unsettled", "calm", "stop"))}
    return visit


def book(dogs: int, *, visits: int = 12) -> Iterator[bytes]:
    """Lines of JSON."""
    for number in range(dogs):
        yield json.dumps(dog(number, visits=visits), separators=(",", ":")).encode() + b"\n"


if __name__ == "__main__":
    sys.stdout.buffer.writelines(book(int(sys.argv[1])))
