"""What can hurt a dog or a person, and that the groomer is told of it, when it applies, in words of the trade.

What a text may not do is name a disease: that is for a veterinary surgeon. Common practice, no source, unless said.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from coatrules import WorkOrder, work_order
from coatrules.formats.resources import folder
from coatrules.profile.floor import DAY_MINUTES
from coatrules.report.text import text
from tests.trade.asked import profile_of

DAY = date(2026, 1, 19)
ROOT = Path(__file__).resolve().parents[2]
LANGUAGES = ROOT / "coatrules" / "catalogue" / "languages"


def order_of(name: str, minutes: float = 180, **history: Any) -> WorkOrder:
    return work_order(profile_of(name), {"format": 1, "dog": {"id": "one"}, **history}, date=DAY, minutes=minutes)


def ago(weeks: float) -> str:
    return str(DAY - timedelta(days=round(7 * weeks)))


def told(order: WorkOrder) -> str:
    """The order as it is printed, on one line."""
    return " ".join(text(order).split())


# On every order, whatever the dog: some are about what nobody writes into a history.
ALWAYS = {
    "a bath and a strip apart (Cain and Mauldin, JAVMA 246:522, 2015)": ("bath and strip days apart", "after a bath"),
    "flat noses and heat": ("Flat-nosed", "short of breath"),
    "dryers and breathing": ("no closed drying box", "pants"),
    "matted, frail, fainted, had a fit, sedated, in season": ("matted", "frail", "sedated", "fainted", "fit", "season"),
    "your hands, dust and blades": ("hands", "dust", "blade"),
    "local codes": ("Local animal welfare codes",),
}


@cache
def usual() -> str:
    return told(order_of("griffon-bruxellois-rough"))


@pytest.mark.parametrize("about", ALWAYS)
def test_the_usual_cautions_are_on_every_order(about: str) -> None:
    said = usual()
    assert [words for words in ALWAYS[about] if words.lower() not in said.lower()] == []
    assert "veterinary surgeon" in said


CLIPPED = {"visits": [{"visit": ago(6), "work": {"body": {"clip": 6}}}]}
BARE = {"visits": [{"visit": ago(2.3), "work": {"jacket": {"pull": 1}}}]}
IN_WHELP = {"visits": [{"visit": ago(0), "work": {}, "health": ["in-whelp"]}]}
WHEN: Mapping[str, tuple[Mapping[str, Any], str]] = {
    "hair after a clip, six months to two years": (CLIPPED, "six months to two years"),
    "sun and cold on thin cover": (BARE, "shade in the sun"),
    "hair hard to pull after neutering": ({"dog": {"id": "one", "neutered": True}}, "does not come easily"),
    "a bitch in whelp": (IN_WHELP, "in whelp"),
    "water and a walk after an hour": ({}, "water"),
}


@pytest.mark.parametrize("about", WHEN)
def test_a_caution_is_said_when_it_applies_and_not_else(about: str) -> None:
    history, words = WHEN[about]
    assert words in told(order_of("cairn-terrier", **history))
    settled: dict[str, Any] = {
        "dog": {"id": "one", "neutered": False},
        "visits": [{"visit": ago(4), "work": {"body": {"pull": 0.2}}}],
    }
    assert words == "water" or words not in told(order_of("cairn-terrier", **settled))


def test_no_dog_stands_longer_than_three_hours() -> None:
    # 452 minutes were once planned for the largest.
    for name in ("giant-schnauzer", "dutch-shepherd-rough"):
        assert order_of(name, minutes=600).minutes_planned <= DAY_MINUTES == 180


# ---- no disease is named

DISEASES = (
    *(
        "dermatit",
        "furuncul",
        "furunk",
        "furoncul",
        "pyoderm",
        "eczem",
        "ekzem",
        "hot spot",
        "folliculit",
        "follikulit",
    ),
    *(
        " mange ",
        "räude",
        " gale ",
        "scabies",
        "krätze",
        "ringworm",
        "teigne",
        "hautpilz",
        "demode",
        "malasse",
        "otitis",
    ),
    *("alopeci", "alopezi", "alopéci", "epilep", "épilep", "cardiomyo", "kardiomyo", "arthrit", "arthros", "hypothyr"),
    *(
        "schilddrüse",
        "thyroïd",
        "cushing",
        "diabet",
        " infekt",
        " infect",
        "hämatom",
        "hématom",
        "conjunctiv",
        "konjunktiv",
    ),
)


def named(text: str) -> list[str]:
    """The diseases that a text names; lines of comment are not read to anybody."""
    lines = (line for line in text.splitlines() if not line.lstrip().startswith("#"))
    said = " ".join(lines).lower()
    return [disease for disease in DISEASES if disease in said]


TEXTS = [
    *LANGUAGES.glob("*.po"),
    *folder("profiles").glob("*.yaml"),
    *(ROOT / "coatrules/catalogue/english").glob("*.py"),
]


def test_no_disease_is_named_to_anybody() -> None:
    # In English, German, French and Dutch, in what profiles say and in the titles of what they cite.
    found = {file.name: named(file.read_text(encoding="utf-8")) for file in TEXTS}
    assert {name: diseases for name, diseases in found.items() if diseases} == {}
    assert {file.stem for file in TEXTS} >= {"de", "fr", "cautions", "cairn-terrier"}


def test_the_list_of_diseases_finds_one() -> None:
    for said in (
        "Furunkulose nach dem Bad",
        "c'est une dermatite",
        "a Hot spot",
        "a kind of mange is it",
        "la gale du chien",
    ):
        assert named(said), said
