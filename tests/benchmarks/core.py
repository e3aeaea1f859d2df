"""The main job from a cold start, against a floor measured in the same run.

Processor time, each thing and its floor in turn, so that a busy machine slows both alike.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

ROOT = Path(__file__).parents[2]
HISTORY = "examples/salon/pip.yaml"
FILES = (HISTORY, "profiles/griffon-bruxellois-rough.yaml", "profiles/points-of-the-dog.yaml")
COMMAND = "from coatrules.__main__ import run; run()"  # all that the installed command holds
FLOOR = """
import sys, yaml
for name in sys.argv[1:]:
    with open(name, "rb") as file:
        list(yaml.load_all(file, Loader=yaml.CSafeLoader))
"""


def measure() -> list[tuple[str, float, float]]:
    """(name, ratio, at most)."""
    return [("cold start of `order` / loading the same YAML files", cold(), 5.0)]


def cold(rounds: int = 9) -> float:
    """Processor time of a whole process, with its modules compiled to bytecode beforehand, as an installation has them."""
    ours = [sys.executable, "-c", COMMAND, "order", HISTORY, "--date", "2026-03-21"]
    floor = [sys.executable, "-c", FLOOR, *FILES]
    with TemporaryDirectory() as cache:
        environment = {**os.environ, "PYTHONPYCACHEPREFIX": cache}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        _process(ours, environment)
        _process(floor, environment)
        return median(_process(ours, environment) / _process(floor, environment) for _ in range(rounds))


def _process(command: list[str], environment: dict[str, str]) -> float:
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, cwd=ROOT, env=environment, check=True, stdout=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
