"""All benchmarks, one table: ``python -m tests.benchmarks [MODULE...]``. Each ratio several times, with its spread."""

from __future__ import annotations

import gc
import sys
from importlib import import_module

MODULES = ("reading", "rules", "core", "fleet", "due", "check", "editor", "plan")
TIMES = 3


def main(names: list[str]) -> int:
    """Prints the table; 1 where a target is missed."""
    missed = 0
    print(f"{'':62}{'ratio':>8}{'spread':>16}{'target':>9}")
    for module in names or MODULES:
        runs = [_measured(module) for _ in range(TIMES)]
        for row in zip(*runs, strict=True):
            ratios = sorted(ratio for _, ratio, _ in row)
            name, _, target = row[0]
            middle, bad = ratios[len(ratios) // 2], ratios[len(ratios) // 2] > target
            missed += bad
            spread = f"{ratios[0]:.2f}-{ratios[-1]:.2f}"
            print(
                f"{module}: {name}"[:61].ljust(62)
                + f"{middle:8.2f}{spread:>16}{target:9.2f}  {'MISSED' if bad else 'met'}"
            )
    return 1 if missed else 0


def _measured(module: str) -> list[tuple[str, float, float]]:
    gc.collect()
    gc.freeze()  # or what was measured before would weigh on every collection
    found: list[tuple[str, float, float]] = import_module(f"tests.benchmarks.{module}").measure()
    return found


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
