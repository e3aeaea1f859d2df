"""What profiles once had against the very pages they cite, breed by breed; each with who says how it is.

Of the same kind in test_breeds: Lakelands in stages and after a strip, puppies, the weeks that a stripped coat takes.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

import pytest

from coatrules import WorkOrder, work_order
from coatrules.profile.compiled import compile_profile
from tests.trade.asked import kept, profile_of

WINTER = date(2026, 1, 19)
SUMMER = date(2026, 7, 20)


def order_of(name: str, day: date = WINTER, minutes: float = 180, **history: Any) -> WorkOrder:
    return work_order(profile_of(name), {"format": 1, "dog": {"id": "one"}, **history}, date=day, minutes=minutes)


def weeks_before(day: date, weeks: float) -> str:
    return str(day - timedelta(days=round(7 * weeks)))


# Lengths before a visit in mm, of an average dog kept for a year: the second way to compute them in asked.py.
LENGTHS = [
    (
        "west-highland-white-terrier",
        "ears-outside",
        0,
        20,
        "AKC: ears short, velvety, without fringe; by how much is ours",
    ),
    ("irish-terrier", "beard", 0, 38, "FCI 139: a slight beard; no longer than the body"),
    ("irish-terrier", "skull", 0, 13.5, "a page: about a quarter inch; pulled hair that rolls stands at 13 mm"),
    ("norfolk-terrier", "back", 38, 51, "an AKC breeder's page: one and a half to two inches"),
    ("norfolk-terrier", "beard", 0, 64, "AKC: slight whiskers, no longer than the neck"),
    ("norfolk-terrier", "skull", 0, 20, "AKC: short and smooth; by how much is ours"),
    ("wire-fox-terrier-pet", "shoulders", 18, 22, "FCI 169: 2 cm on the shoulder"),
    ("wire-fox-terrier-pet", "back", 36, 44, "FCI 169: 4 cm on withers, back, ribs and quarters"),
    ("wire-fox-terrier-show", "shoulders", 18, 22, "the same"),
    ("wire-fox-terrier-show", "thighs", 36, 44, "the same"),
    ("australian-terrier", "hind-toes", 0, 35, "FCI 8: feet and lower legs free from long hair; the figure is ours"),
    ("australian-terrier", "muzzle", 0, 20, "FCI 8: muzzle short; the figure is ours"),
    ("scottish-terrier", "skull", 0, 19.5, "a club: three quarters of an inch or less"),
    ("airedale-terrier", "brisket", 0, 15, "North of England club: front and brisket very closely; the figure is ours"),
    ("airedale-terrier", "belly", 40, 60, "the same: of the belly only what is snarled or shaggy"),
    ("standard-schnauzer", "back", 19, 51, "AKC: three quarters to two inches"),
    ("lakeland-terrier", "back", 13, 25, "common practice, no source: about 13 to 25 mm"),
    ("dutch-smoushond", "back", 40, 70, "FCI 308: 4 to 7 cm"),
    ("border-terrier", "beard", 0, 25, "AKC, from memory: a few short whiskers; the figure is ours"),
]


@pytest.mark.parametrize(("name", "region", "least", "most", "source"), LENGTHS)
def test_a_length_is_what_is_said(name: str, region: str, least: float, most: float, source: str) -> None:
    assert least <= kept(name).mm[region] <= most, source


SHORTER = [  # of the first no region is as long as any of the second
    ("dutch-smoushond", "skull", "back", "FCI 308: a topknot is a fault"),
    ("west-highland-white-terrier", "neck-top neck-sides shoulders", "back ribs", "AKC: neck and shoulders shorter"),
    ("hungarian-wire-haired-vizsla", "belly brisket", "back ribs", "ANKC: chest and belly shorter than the body"),
    ("hungarian-wire-haired-vizsla", "front-pasterns hocks", "back ribs", "FCI 239: lower parts of the legs shorter"),
    ("german-wirehaired-pointer", "front-pasterns hocks", "back ribs", "FCI 98: lower parts of the legs shorter"),
    ("spinone-italiano", "front-pasterns hocks front-toes", "back ribs", "FCI 165: shorter on front of legs and feet"),
    ("irish-terrier", "forearms hocks", "back", "FCI 139: legs free of feather, and not so long"),
    ("affenpinscher", "thighs buttocks croup tail-top", "back", "AKC: may be shorter on rear and tail"),
    ("dutch-shepherd-rough", "cheeks", "beard moustache", "FCI 223: less developed on the cheeks"),
    ("airedale-terrier", "brisket flanks forechest", "back", "North of England club"),
]


@pytest.mark.parametrize(("name", "here", "than", "source"), SHORTER)
def test_a_place_is_shorter_than_another(name: str, here: str, than: str, source: str) -> None:
    mm = kept(name).mm
    assert max(mm[region] for region in here.split()) < min(mm[region] for region in than.split()), source


def test_a_smoushond_is_plucked_whole_twice_a_year_and_not_brushed() -> None:
    # Hollandse Smoushonden Club: plucked whole twice a year, back at its length in about three months, no regular brushing.
    profile = profile_of("dutch-smoushond")
    back = compile_profile(profile).regions["back"]
    assert back.target is not None
    assert (back.target.full_strip, back.target.take.usual, profile.visit.every_weeks) == (True, 1, 26)
    assert 40 <= back.growth.length(13) <= 70
    assert not {"card", "comb"} & kept("dutch-smoushond").tasks["back"]
    assert kept("dutch-smoushond").mm["skull"] < kept("dutch-smoushond").mm["back"]


def blown(season: bool) -> WorkOrder:
    visits: list[dict[str, Any]] = [
        {"visit": weeks_before(WINTER, weeks), "work": {"pads": {"clip": 1}}} for weeks in (8, 4)
    ]
    if season:
        visits[0]["events"] = {"season": weeks_before(WINTER, 8)}
    return order_of("cairn-terrier", dog={"id": "one", "sex": "female", "neutered": False}, visits=visits)


def test_only_a_recorded_season_has_blown_the_coat() -> None:
    # A trade page on the Lakeland: a season can blow a rolled coat; of a loss without a reason the caution sends to a vet.
    assert "season-blew-the-coat" in blown(season=True).fired["back"]
    assert "veterinary surgeon" in " ".join(map(str, blown(season=True).cautions))
    assert "season-blew-the-coat" not in blown(season=False).fired["back"]


@pytest.mark.parametrize(("day", "warned"), [(WINTER, True), (SUMMER, False), (date(2026, 11, 20), True)])
def test_a_dachshund_is_warned_of_winter_in_the_cold_months_only(day: date, warned: bool) -> None:
    # Wirehaired Dachshund Club: stripped at the start of winter it may not come back before March.
    strip = {"visit": weeks_before(day, 2.5), "work": {"jacket": {"pull": 1}}}
    assert ("bare-in-winter" in order_of("dachshund-wire-haired", day, visits=[strip]).fired["back"]) is warned


def test_what_a_strip_leaves_is_not_what_a_visit_finds() -> None:
    # dailypuppy.com: half to three quarters of an inch are left after stripping; before a visit it is longer.
    assert kept("dachshund-wire-haired").mm["back"] > 19.1


def test_hygiene_comes_every_six_to_eight_weeks_on_a_dutch_shepherd() -> None:
    # Common practice, no source.
    for plan in compile_profile(profile_of("dutch-shepherd-rough")).regions.values():
        assert plan.clipper_only is None or plan.clipper_only.every_weeks <= 8


def test_a_setters_coat_after_spaying_is_a_fifth_and_not_often() -> None:
    # Reichler and others, 2008: of spayed bitches a fifth.
    source = profile_of("irish-red-setter").sources["reichler-2008"]
    assert source.note is not None
    assert "a fifth" in source.note
    assert source.year == 2008


@pytest.mark.parametrize("name", ["jack-russell-terrier-broken", "jack-russell-terrier-rough"])
def test_a_jack_russell_is_not_stripped(name: str) -> None:
    # FCI 345: coats should not be stripped out to appear smooth or broken.
    assert not [step for step in order_of(name).steps if step.task == "pull"]


def test_the_pet_schnauzers_third_is_not_the_guides_eighth() -> None:
    # Miniature Schnauzer rolling guide (2000): an eighth; a third every four weeks is common practice, no source.
    profile = profile_of("miniature-schnauzer-pet")
    for target in profile.layer_targets.values():
        if target.take.usual != 1 / 8 and isinstance(target.source, Mapping):
            assert profile.sources[target.source.get("take", "practice")].common_practice


# Shown as they grow: before a show nothing of the coat is pulled beyond what the standard lets be tidied.
NATURAL = {
    "otterhound": "FCI 294: not trimmed for exhibition",
    "petit-basset-griffon-vendeen": "a breed magazine: never trimmed",
    "grand-basset-griffon-vendeen": "common practice, no source",
    "grand-griffon-vendeen": "common practice, no source",
    "briquet-griffon-vendeen": "common practice, no source",
    "griffon-nivernais": "common practice, no source",
    "griffon-bleu-de-gascogne": "common practice, no source",
    "ibizan-podenco-rough": "AKC: untrimmed, no scissors, no plucking",
    "bouvier-des-ardennes": "FCI 171: any trimming disqualifies",
    "deerhound": "breed pages: the ears may be tidied",
    "berger-picard": "Berger Picard Club of America: the ears' fringe",
    "wirehaired-pointing-griffon-show": "Showsight: only ears, top of the head, cheeks and feet",
}


@pytest.mark.parametrize("name", NATURAL)
def test_what_is_shown_as_it_grows_is_not_stripped_for_a_show(name: str) -> None:
    show = str(WINTER + timedelta(weeks=9))
    order = order_of(name, dog={"id": "one", "sex": "male", "neutered": False, "show": show})
    body = {
        region.id
        for region in compile_profile(profile_of(name)).regions.values()
        if {"body", "neck"} & set(region.groups)
    }
    assert not [step.region for step in order.steps if step.task == "pull" and step.region in body]
