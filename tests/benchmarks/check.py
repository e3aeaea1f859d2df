"""How long a mentor waits for ``check``, as a ratio to what cannot be saved: starting up and reading the profile."""

from __future__ import annotations

import subprocess
import sys
from time import perf_counter

NAME = "griffon-bruxellois-rough"
READ = f"from coatrules import load_profile; load_profile({NAME!r})"


def measure(rounds: int = 7) -> list[tuple[str, float, float]]:
    """(name, ratio of the best times, target: the ratio may be at most this). Every run is a process of its own."""
    check = read = float("inf")
    for _ in range(rounds):  # taken in turn, so that a busy machine slows both
        check = min(check, _seconds("-m", "coatrules", "check", NAME))
        read = min(read, _seconds("-c", READ))
    return [("check: one profile / start-up and reading it", check / read, 3.0)]


def _seconds(*arguments: str) -> float:
    start = perf_counter()
    subprocess.run([sys.executable, *arguments], check=False, capture_output=True)
    return perf_counter() - start


if __name__ == "__main__":
    for name, ratio, target in measure():
        print(f"{name}: {ratio:.2f} (at most {target})")
