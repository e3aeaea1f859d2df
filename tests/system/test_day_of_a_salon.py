"""A day of a salon in each language: the same dogs, the same day, texts kept whole. Run this module to write them again:
``python -m tests.system.test_day_of_a_salon``.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import cache
from pathlib import Path

import pytest

from coatrules import WorkOrder, load_history, load_profile, work_order
from coatrules.book.due import due
from coatrules.catalogue.languages import catalogue
from coatrules.catalogue.speaking import speaking
from coatrules.catalogue.translated import languages
from coatrules.profile.compiled import compile_profile
from coatrules.report.due import table
from coatrules.report.owner import owner_text
from coatrules.report.sheet import sheet
from tests.support.paths import EXAMPLES, GOLDEN

DAY = date(2026, 3, 21)
SPOKEN = tuple(tag for tag in languages() if catalogue(tag).most_is_translated)
DOGS = ("bramble", "moss", "nettle", "pip")


@cache
def orders() -> Mapping[str, WorkOrder]:
    found = {}
    for dog in DOGS:
        history = load_history(EXAMPLES / "salon" / f"{dog}.yaml")
        found[dog] = work_order(load_profile(str(history.dog.profile)), history, date=DAY)
    return found


@cache
def day_in(tag: str) -> str:
    """Who is due, the short sheets, and what the owner of one is given."""
    dues = [
        due(compile_profile(load_profile(str(history.dog.profile))), history, DAY)
        for history in (load_history(EXAMPLES / "salon" / f"{dog}.yaml") for dog in DOGS)
    ]
    with speaking(catalogue(tag)):
        parts = [table(sorted(dues, key=lambda one: one.rank)), *map(sheet, orders().values())]
        return "\n".join([*parts, owner_text(orders()["pip"])])


def kept(tag: str) -> Path:
    return GOLDEN / f"day-{tag}.txt"


@pytest.mark.parametrize("tag", SPOKEN)
def test_a_day_reads_as_it_did(tag: str) -> None:
    assert day_in(tag) == kept(tag).read_text(encoding="utf-8"), "run: python -m tests.system.test_day_of_a_salon"


@pytest.mark.parametrize("tag", SPOKEN)
def test_a_sheet_in_any_language_is_as_wide_as_a_terminal(tag: str) -> None:
    with speaking(catalogue(tag)):
        for order in orders().values():
            assert [line for line in sheet(order).splitlines() if len(line) > 80] == []


@pytest.mark.parametrize("tag", SPOKEN)
def test_an_owners_note_in_any_language_fills_half_a_page(tag: str) -> None:
    """A4 at 12 points holds about 60 lines of 88 characters, a printer's rule of thumb: common practice, no source."""
    with speaking(catalogue(tag)):
        for order in orders().values():
            assert len(owner_text(order).splitlines()) <= 45


if __name__ == "__main__":
    for one in SPOKEN:
        kept(one).write_text(day_in(one), encoding="utf-8")
