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


SHORT: dict[str, Any] = {
    "format": 1,
    "id": "short",
    "label": "A short profile",
    "visit": {"every_weeks": 3, "minutes": 60, "pace_spread": 0.15},
    "coats": {
        name: {
            "breakthrough_weeks": 4,
            "mm_per_week": growth,
            "full_mm": full,
            "blown_weeks": blown,
            "ready_mm": 6,
            "cover_mm": 6,
            "layer_gap_mm": 2,
            "undercoat_weeks": 5,
        }
        for name, growth, full, blown in (("jacket", 2.1, 45, 24), ("furnishing", 2.5, 80, 34))
    },
    "groups": {"body": ["back", "side", "neck", "chest"], "legs": ["foreleg", "hind-leg"]},
    "regions": {
        name: {"label": name.capitalize(), "coat": coat, "minutes": {"pull": 12, "card": 4}, "anatomy": "none"}
        for name, coat in (
            ("head", "furnishing"),
            ("neck", "jacket"),
            ("back", "jacket"),
            ("side", "jacket"),
            ("chest", "jacket"),
            ("foreleg", "furnishing"),
            ("hind-leg", "furnishing"),
            ("tail", "jacket"),
        )
    },
    "layer_targets": {
        "jacket": {
            "regions": ["body", "tail"],
            "layers": 4,
            "take": {"usual": 0.2, "at_most": 0.35, "low_spot": 0.05},
            "cover": {"at_least": 0.5},
            "longest_mm": [15, 35],
        },
        "furnishing": {"regions": ["head", "legs"], "layers": 3, "take": {"usual": 0.15, "at_most": 0.3}},
    },
    "sensitive_zones": {"muzzle": {"regions": ["head"], "level": "medium", "bout_minutes": 5, "rest_minutes": 5}},
    "rules": {
        "dull-back": {
            "regions": ["back"],
            "if": {"blown_share": {"minimum": 0.3}},
            "then": {"priority": 10},
            "because": "What is blown on the back is what people see.",
        }
    },
}
"""Eight parts of a dog, for runs over so many dogs that a whole breed's profile would take a day."""


def short_dog(number: int) -> dict[str, Any]:
    """The history of one dog by ``SHORT``: up to eight visits, most dogs few, as in a registry."""
    draw = Random(number)
    visits = draw.choice((0, 1, 1, 2, 2, 3, 4, 6, 8))
    days = [DAY - timedelta(days=21 * (visits - n) + draw.randrange(-3, 4)) for n in range(visits)]
    made: dict[str, Any] = {
        "format": 1,
        "dog": {
            "id": f"dog-{number}",
            "profile": "short",
            "born": "2022-05-01",
            "sex": draw.choice(("female", "male")),
        },
        "visits": [
            {
                "visit": day.isoformat(),
                "work": {
                    part: {"pull": draw.choice((0.1, 0.2, 0.3)), "card": True}
                    for part in draw.sample(("body", "legs", "head", "tail"), 2)
                },
            }
            for day in days
        ],
    }
    if draw.random() < 0.5:
        made["arrival"] = {"body": {"grown_weeks": draw.randrange(8, 30)}}
    return made


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
