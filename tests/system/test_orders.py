"""Golden work orders: the examples' orders as JSON and as text, byte for byte.

``python -m tests.system.test_orders`` writes them anew; read the difference before it is committed.
"""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path

import pytest

from coatrules import load_history, load_profile, work_order
from coatrules.formats.schema_faults import validator
from coatrules.report.text import text
from tests.support.paths import ROOT

HERE = ROOT / "tests"
DOGS = sorted((HERE.parent / "examples" / "salon").glob("*.yaml"))
DAY = date(2026, 3, 21)


def golden(dog: Path) -> dict[Path, str]:
    """What the order of one example must look like, by file."""
    history = load_history(dog)
    order = work_order(load_profile(history.dog.profile or ""), history, date=DAY, ahead=True)
    data = order.to_dict()
    assert not list(validator("work-order").iter_errors(data))
    folder = HERE / "orders"
    return {
        folder / f"{dog.stem}.json": json.dumps(data, indent=1, ensure_ascii=False) + "\n",
        folder / f"{dog.stem}.txt": text(order),
    }


@pytest.mark.parametrize("dog", DOGS, ids=lambda dog: dog.stem)
def test_the_examples_give_their_golden_orders(dog: Path) -> None:
    for file, wanted in golden(dog).items():
        assert file.read_text(encoding="utf-8") == wanted, f"{file.name} differs: see the module's docstring"


def test_there_is_an_order_for_every_example() -> None:
    assert len(DOGS) >= 4


def test_an_order_shows_itself_in_one_line_and_prints_as_the_groomer_reads_it() -> None:
    dog = HERE.parent / "examples" / "salon" / "pip.yaml"
    order = work_order("griffon-bruxellois-rough", load_history(dog), date=DAY, ahead=True)
    assert str(order) == (HERE / "orders" / "pip.txt").read_text(encoding="utf-8")
    assert repr([order]) == f"[<WorkOrder for pip on 2026-03-21: {len(order.steps)} steps, 115.5 minutes>]"


if __name__ == "__main__":
    for dog in DOGS:
        for file, content in golden(dog).items():
            file.parent.mkdir(exist_ok=True)
            file.write_text(content, encoding="utf-8")
