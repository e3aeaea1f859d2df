"""How long a mentor waits for ``check``: as ratios to starting up and reading, which cannot be saved, and to half a profile."""

from __future__ import annotations

import subprocess
import sys
from time import perf_counter, process_time
from typing import Any

from coatrules.check import examine
from coatrules.profile.compiled import compile_profile

NAME = "griffon-bruxellois-rough"
READ = f"from coatrules import load_profile; load_profile({NAME!r})"
REGIONS, RULES, TARGETS = 190, 480, 12
"""Of a profile larger than any that is shipped."""


def measure(rounds: int = 7) -> list[tuple[str, float, float]]:
    """(name, ratio of the best times, target: the ratio may be at most this). Every run of a command is a process of its own."""
    check = read = half = whole = float("inf")
    large, smaller = large_profile(REGIONS, RULES), large_profile(REGIONS // 2, RULES // 2)
    for _ in range(rounds):  # taken in turn, so that a busy machine slows both
        check = min(check, _seconds("-m", "coatrules", "check", "--alone", NAME))
        read = min(read, _seconds("-c", READ))
        half = min(half, _checked(smaller))
        whole = min(whole, _checked(large))
    return [
        ("check: one profile / start-up and reading it", check / read, 3.0),
        # A rule is asked about each of its regions, so a profile with twice of both is four times the work.
        (f"check: {REGIONS} regions and {RULES} rules / half of both", whole / half, 5.0),
    ]


def large_profile(regions: int, rules: int) -> dict[str, Any]:
    """A profile of so many regions, on most of which so many rules look."""
    names = [f"part-{number}" for number in range(regions)]
    coat = {"lag_weeks": 4, "mm_per_week": 2, "full_mm": 42, "rests_weeks": 8, "ready_mm": 6, "cover_mm": 6}
    conditions: list[dict[str, Any]] = [
        {"blown_share": {"minimum": 0.3}},
        {"age_weeks": {"minimum": 100}},
        {"weeks_to_show": {"maximum": 6}, "layers": {"minimum": 2}},
        {"skin": "sore", "outline_mm": {"maximum": 20}},
        {"anyOf": [{"last_reaction": "stop"}, {"weeks_since_visit": {"minimum": 9}}]},
    ]
    return {
        "format": 2,
        "id": "large",
        "label": "Large",
        "visit": {"every_weeks": 3, "minutes": 480, "pace_spread": 0.15},
        "coats": {"jacket": {**coat, "layer_gap_mm": 2}},
        "regions": {
            name: {"label": name, "coat": "jacket", "minutes": {"pull": 5}, "anatomy": "none"} for name in names
        },
        "layer_targets": {
            f"target-{number}": {"regions": names[number::TARGETS], "layers": 3, "take": {"usual": 0.2}}
            for number in range(TARGETS)
        },
        "rules": {
            f"rule-{number}": {
                **({} if number % 3 else {"regions": names[number % 7 :: 7]}),
                "if": {**conditions[number % len(conditions)], "visits": {"minimum": number}},
                "then": {"caution": f"Mind {number}."},
                "because": "Invented.",
            }
            for number in range(rules)
        },
    }


def _checked(profile: dict[str, Any]) -> float:
    compile_profile.cache_clear()
    start = process_time()
    examine(profile)
    return process_time() - start


def _seconds(*arguments: str) -> float:
    start = perf_counter()
    subprocess.run([sys.executable, *arguments], check=False, capture_output=True)
    return perf_counter() - start


if __name__ == "__main__":
    for name, ratio, target in measure():
        print(f"{name}: {ratio:.2f} (at most {target})")
