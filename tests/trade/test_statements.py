"""What standards and clubs say of each breed, put to its profiles (``profiles/evidence/statements.csv``)."""

from __future__ import annotations

from functools import cache
from typing import Any

import pytest

from coatrules import Engine, Profile, load_profile
from coatrules.check.breed import contradicted
from coatrules.check.subject import Subject
from coatrules.problems import Problem
from tests.trade.asked import Kept, against, kept, kept_by_orders, profile_of, profiles_of, put_to, settled_mm

NAMES = sorted(name for names in profiles_of().values() for name in names)

# Rows on a way of keeping of which there is no profile.
TWICE_A_WEEK = "how the coat is finished for the ring"
NO_PROFILE = {
    ("lakeland-terrier", "ST058"): TWICE_A_WEEK,
    ("lakeland-terrier-staged", "ST058"): TWICE_A_WEEK,
}


@cache
def accepted(name: str) -> frozenset[str]:
    """The rows that a profile cannot be true to; why is said in its ``accept``."""
    reasons = profile_of(name).accept.get("breed-contradicted", {})
    assert not isinstance(reasons, str), "each row has a reason of its own"
    return frozenset(row.upper() for row in reasons)


def listed(name: str) -> frozenset[str]:
    return accepted(name) | {row for profile, row in NO_PROFILE if profile == name}


def untrue(name: str, dog: Kept) -> dict[str, str]:
    return {
        row["id"]: f"{row['text']} Not so: {found}"
        for row in put_to(name)
        if not row["yields_to"] and row["force"] != "may" and (found := against(row, dog))
    }


@pytest.mark.parametrize("name", NAMES)
def test_a_profile_is_true_to_what_is_said_of_its_breed(name: str) -> None:
    found = untrue(name, kept(name))
    assert {row: words for row, words in found.items() if row not in listed(name)} == {}
    assert listed(name) <= found.keys(), "what has come true is taken off the list"
    # The check comes to the same by the library's own queue of hair, rather than by plain portions of it.
    assert {str(one.params["statement"]).upper() for one in contradicted(Subject(profile_of(name)))} == accepted(name)


# Of each kind one that comes seldom: stripped whole, tidied, untrimmed, plucked twice a year.
FEW = ("dutch-smoushond", "spinone-italiano", "otterhound", "basset-fauve-de-bretagne")


@pytest.mark.parametrize(
    "name", [name if name in FEW else pytest.param(name, marks=pytest.mark.slow) for name in NAMES]
)
def test_two_years_of_orders_are_true_to_it_too(name: str) -> None:
    assert untrue(name, kept_by_orders(name)).keys() <= listed(name)


def test_nearly_all_that_is_said_is_true() -> None:
    asked = [(name, row["id"]) for name in NAMES for row in put_to(name)]
    assert len(asked) >= 500
    assert sum(len(listed(name)) for name in NAMES) <= 0.03 * len(asked)


def test_a_profile_that_is_not_true_is_told_so() -> None:
    # The table of one breed put to the profile of another, that of a long coat to one of a short: what must not hold does not.
    dog, other = kept("hungarian-wire-haired-vizsla"), kept("istrian-wire-haired-hound")
    wrong = {row["id"] for row in put_to("istrian-wire-haired-hound") if against(row, dog)}
    assert "ST774" in wrong  # 5 to 8 cm
    assert {row["asked_as"] for row in put_to("pumi") if against(row, other)} >= {"pulled", "rhythm"}
    assert [row["id"] for row in put_to("bouvier-des-ardennes") if row["id"] == "ST799" and against(row, kept("pumi"))]


# ---- what check says to an author who writes against the standard

OFTEN = {"usual": 0.5, "at_most": 0.5}
# By way of asking: the profile built on, what is changed, the row that no longer holds (title as a reader may look it up), and what
# the finding says comes out. The rows' own words are read in the table; figures are by plain portions of hair.
PLANTED: dict[str, tuple[str, dict[str, Any], str, str, str]] = {
    "length": (
        "norfolk-terrier",  # an inch and a half to two inches
        {"layer_targets": {"jacket": {"take": OFTEN}}},
        "ST118",
        "AKC",
        "'back' comes to {back} mm",
    ),
    "relation": (
        "west-highland-white-terrier",  # ears short and velvety
        {"layer_targets": {"short-hair": None}, "regions": {"ears-outside": {"coat": "furnishing"}}},
        "ST158",
        "FCI-Standard No 85",
        "'ears-outside' comes to {ears-outside} mm and 'back' to {back} mm",
    ),
    "pulled": (
        "airedale-terrier",
        {"layer_targets": {"legs": None}},
        "ST015",
        "North of England Airedale Terrier Club",
        "'forearms' never has pull",
    ),
    "cut": (
        "airedale-terrier",
        {"routines": None},
        "ST610",
        "North of England Airedale Terrier Club",
        "'forefeet' never has scissor",
    ),
    "untouched": (
        "jack-russell-terrier-rough",
        {
            "layer_targets": {
                "jacket": {"regions": ["jacket"], "layers": 2, "take": {"usual": 0.25}, "source": "practice"},
            }
        },
        "ST656",
        "FCI",
        "'back' has 'pull'",
    ),
    "rhythm": ("standard-schnauzer", {"visit": {"every_weeks": 8}}, "ST703", "Grooming", "every 8 weeks"),
    "puppy": (
        "wirehaired-pointing-griffon",
        {"visit": {"first_coat_weeks": 60}},
        "ST755",
        "Coats of Wirehaired Pointing Griffons",
        "at 60 weeks",
    ),
}


def club(base: str, **own: Any) -> dict[str, Any]:
    return {"format": 2, "id": "our-own", "label": "Our own", "extends": base, **own}


def said_of_the_breed(source: dict[str, Any]) -> dict[str, Problem]:
    found = Engine().check(source)
    return {str(one.params["statement"]).upper(): one for one in found if one.code == "breed-contradicted"}


def settled(profile: Profile, region: str) -> float:
    target = next((one for one in profile.layer_targets.values() if region in held(profile, *one.regions)), None)
    growth = profile.coats[profile.regions[region].coat]
    return growth.full_mm if target is None else settled_mm(growth, profile.visit.every_weeks, target.take.usual)


def held(profile: Profile, *names: str) -> set[str]:
    return {
        one for name in names for one in (held(profile, *profile.groups[name]) if name in profile.groups else [name])
    }


@pytest.mark.parametrize("asked_as", PLANTED)
def test_check_names_the_row_that_a_change_contradicts(asked_as: str) -> None:
    base, own, row, by, words = PLANTED[asked_as]
    assert next(one for one in put_to(base) if one["id"] == row)["asked_as"] == asked_as
    source = club(base, **own)
    assert row not in said_of_the_breed(club(base))
    problem = said_of_the_breed(source)[row]
    profile = load_profile(source)
    lengths = {region: f"{settled(profile, region):.0f}" for region in ("back", "ears-outside")}
    assert words.format(**lengths) in problem.message
    assert by in problem.message
    # It stands at what the author changed.
    assert problem.path[0] in own
