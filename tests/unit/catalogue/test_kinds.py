"""How values of the kinds of ``coatrules.catalogue.template`` are shown in English."""

from __future__ import annotations

from datetime import date
from string import ascii_lowercase
from typing import Any

import pytest

from coatrules.catalogue.english import AREAS, ENGLISH
from coatrules.catalogue.message import message
from coatrules.catalogue.speaking import say
from coatrules.catalogue.template import Plural, pieces


@pytest.mark.parametrize(
    ("kind", "value", "shown"),
    [
        ("series", ("a", "b", "c"), "a, b, c"),
        ("series", (), ""),
        ("clauses", ("a", "b"), "a; b"),
        ("few", tuple(ascii_lowercase[:4]), "a, b, c, d"),
        ("few", tuple(ascii_lowercase[:7]), "a, b, c, d and 3 more"),
        ("names", ("Back", "Loin", "Back"), "Back, loin"),
        ("names", ("Tail, top", "Loin"), "Tail, top; loin"),
        ("value", True, "yes"),
        ("value", 0.25, "0.25"),
        ("value", 2, "2"),
        ("value", (), "none"),
        ("value", ["legs", "body"], "legs, body"),
        ("fixed", 0.5, "0.50"),
        ("short", date(2026, 3, 21), "21 Mar"),
    ],
)
def test_a_value_of_a_kind(kind: str, value: Any, shown: str) -> None:
    assert say.amount(kind, value) == shown


def test_messages_in_a_row_are_put_into_words() -> None:
    assert say.amount("series", (message("plan.missed-layers"), "x")) == f"{say('plan.missed-layers')}, x"


def test_every_place_of_every_sentence_is_of_a_kind_that_there_is() -> None:
    forms = [form for s in ENGLISH.sentences.values() for form in ((s.one, s.other) if isinstance(s, Plural) else (s,))]
    assert len(AREAS) <= len(forms)
    assert {piece.kind for form in forms for piece in pieces(form) if piece.name} <= {"", *ENGLISH.kinds}
