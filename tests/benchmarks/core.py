"""The main job against floors measured in the same run: a cold start, one warm work order, JSON in and JSON out.

Processor time, each thing and its floor in turn, so that a busy machine slows both alike.
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory

from coatrules.dog.loading import history_of, load_history
from coatrules.order.engine import order
from coatrules.profile.compiled import compile_profile
from coatrules.profile.loading import load_profile
from coatrules.reading import read_json
from tests.benchmarks.by_hand import DAY, PROFILE, dog, order_by_hand
from tests.benchmarks.by_hand_document import document
from tests.benchmarks.rules import ratio

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
    """(name, ratio, the ratio it should not pass)."""
    compiled = compile_profile(load_profile(PROFILE))
    histories = [dog(number) for number in range(8)]
    mark = compiled.profile.sha256
    for number in range(100):
        check(
            order(compiled, load_history(dog(number)), DAY).to_dict(), document(order_by_hand(dog(number), DAY), mark)
        )
    loaded = [load_history(history) for history in histories]
    lines = [json.dumps(history).encode() for history in histories]

    def warm() -> object:
        return [order(compiled, history, DAY) for history in loaded]

    def by_hand() -> object:
        return [order_by_hand(history, DAY) for history in histories]

    def from_json() -> object:
        orders = (order(compiled, history_of((read_json(line),)), DAY) for line in lines)
        return [json.dumps(found.to_dict(), ensure_ascii=False).encode() for found in orders]

    def from_json_by_hand() -> object:
        found = (document(order_by_hand(read_json(line).data, DAY), mark) for line in lines)
        return [json.dumps(data, ensure_ascii=False).encode() for data in found]

    return [
        ("cold start of `order` / loading the same YAML files", cold(), 2.5),
        ("warm work order / a function for one profile", ratio(warm, by_hand), 2.5),
        # The floor writes the same document; of what it reads it checks no more than the parser does.
        ("JSON to JSON / the same by hand", ratio(from_json, from_json_by_hand), 1.5),
    ]


def check(found: object, right: object, path: str = "") -> None:
    """Nothing is measured where the two do not write the same document."""
    if isinstance(found, dict) and isinstance(right, dict) and found.keys() == right.keys():
        for key in found:
            check(found[key], right[key], f"{path}/{key}")
    elif found != right:
        raise AssertionError(f"the two do not agree at {path}, {found!r} and {right!r}: no result")


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
