"""What the numbers of profiles rest on."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from coatrules import load_profile
from coatrules.catalogue.speaking import say
from coatrules.check.provenance import KINDS, Sourced, kind_of, shares, sourced_numbers
from coatrules.profile.model import Source
from coatrules.profile.shelves import library
from tests.trade.asked import profile_of

SMALL = """
format: 2
id: small
label: Small
extends: rough-terrier
sources:
  book: {title: A standard, publisher: a club}
  head: {title: A standard, from_memory: true}
coats:
  jacket: {full_mm: 55, source: {full_mm: book}}
layer_targets:
  jacket: {longest_mm: [20, 55], take: {usual: 0.2}, source: {longest_mm: head, take: practice}}
"""


def test_numbers_are_counted_by_what_they_rest_on(tmp_path: Path) -> None:
    (tmp_path / "small.yaml").write_text(SMALL, encoding="utf-8")
    numbers = list(sourced_numbers(load_profile(tmp_path / "small.yaml")))
    own = {number.path: (number.kind, number.wanted) for number in numbers if number.own}
    assert own == {
        ("coats", "jacket", "full_mm"): ("published", True),
        ("layer_targets", "jacket", "longest_mm"): ("memory", True),
        ("layer_targets", "jacket", "take"): ("practice", False),
    }
    assert ("layer_targets", "legs", "longest_mm") in {number.path for number in numbers if not number.own}


def test_of_several_sources_the_best_counts() -> None:
    kinds = {
        "published": Source(title="A book"),
        "derived": Source(derived=True),
        "practice": Source(common_practice=True),
    }
    assert kind_of([]) == "none"
    assert kind_of([kinds["practice"], kinds["derived"]]) == "derived"
    assert kind_of(kinds.values()) == "published"
    assert kind_of([Source(title="A book", from_memory=True), kinds["practice"]]) == "memory"


def test_shares_are_of_the_numbers_given() -> None:
    numbers = [Sourced(("x",), kind, own=True, wanted=False) for kind in ("practice", "practice", "published", "none")]
    assert shares(numbers) == {"published": 0.25, "practice": 0.5, "none": 0.25}
    assert shares([]) == {}


BREEDS = [name for name in sorted(library()) if "\nbreed:" in library()[name].read_text(encoding="utf-8")]


def test_a_breeds_own_lengths_rest_on_more_than_practice() -> None:
    counted: Counter[str] = Counter()
    for name in BREEDS:
        lengths = [number for number in sourced_numbers(profile_of(name)) if number.own and number.wanted]
        counted.update(number.kind for number in lengths)
        assert shares(lengths).get("practice", 0) < 1 / 3, name
    assert counted["none"] == 0
    assert counted["practice"] / counted.total() <= 0.09
    assert counted["published"] / counted.total() >= 0.24


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_a_word(kind: str) -> None:
    assert say(f"provenance.{kind}") != f"provenance.{kind}"
