"""How long strict reading with places takes, as a ratio to PyYAML's own C loader without them."""

from __future__ import annotations

from collections.abc import Callable
from time import perf_counter

import yaml

from coatrules.reading import read_yaml


def profile_text(regions: int = 60) -> str:
    """About 600 lines that look like a profile: short mappings in one line, words, numbers, sentences."""
    lines = ["format: 1", "id: made-up", "label: Made up, rough coat", "", "regions:"]
    for n in range(regions):
        lines += [
            f"  region-{n}: {{label: Region {n}, coat: jacket, minutes: {{pull: {n % 9 + 4}, card: 2.5}}}}",
            f"  # how region {n} is worked",
        ]
    lines.append("rules:")
    for n in range(regions):
        lines += [
            f"  keep-{n}-standing:",
            f"    regions: [region-{n}, region-{(n + 1) % regions}]",
            "    if: {longest_mm: {minimum: 12, maximum: 30.5}, undercoat: some}",
            f"    then: {{take: {{at_most: 0.{n % 8 + 1}}}, priority: -{n}}}",
            '    because: "The hair here comes back slowly; a larger share would show for months."',
            "    source: practice",
            "    enabled: true",
            "    note: the outline – seen from the side – stays even",
        ]
    return "\n".join(lines) + "\n"


def measure(rounds: int = 30) -> list[tuple[str, float, float]]:
    """(name, ratio of the best times, target: the ratio may be at most this)."""
    text = profile_text()
    ours = theirs = float("inf")
    for _ in range(rounds):  # taken in turn, so that a busy machine slows both
        ours = min(ours, _seconds(lambda: read_yaml(text)))
        theirs = min(theirs, _seconds(lambda: yaml.load(text, Loader=yaml.CSafeLoader)))
    return [("reading: YAML with places / CSafeLoader without", ours / theirs, 0.6)]


def _seconds(call: Callable[[], object]) -> float:
    start = perf_counter()
    call()
    return perf_counter() - start


if __name__ == "__main__":
    for name, ratio, target in measure():
        print(f"{name}: {ratio:.2f} (at most {target})")
