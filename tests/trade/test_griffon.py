"""One breed whole: the rough Griffon Bruxellois, its figures against the trade's and its coat simulated for two years.

Facts of the trade marked "common practice" have no published source; the others name theirs beside the check.
"""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from math import ceil
from typing import Any

import pytest

from coatrules import Profile, WorkOrder, load_profile, work_order
from coatrules.check import findings
from coatrules.profile.references import source_references
from tests.support.rolling import Visit, regions_of, simulated, targets

GRIFFON = load_profile("griffon-bruxellois-rough")
POINTS = load_profile("points-of-the-dog")
START = date(2026, 1, 5)
EVERY = timedelta(weeks=3)  # common practice: once the coat rolls, three weeks is enough
SET_BY_WEEK = 30
TARGETS = targets(GRIFFON)


def griffon(*names: str) -> set[str]:
    return regions_of(GRIFFON, *names)


def order_after(*visits: dict[str, Any], day: date = START, **history: Any) -> WorkOrder:
    return work_order(GRIFFON, {"format": 1, "dog": {"id": "one"}, "visits": list(visits), **history}, date=day)


@pytest.fixture(scope="module")
def two_years() -> list[Visit]:
    return list(simulated(GRIFFON, 36, START))


@pytest.fixture(scope="module")
def rolling(two_years: list[Visit]) -> list[Visit]:
    return [visit for visit in two_years if visit.week >= SET_BY_WEEK]


# ---- the profile itself


@pytest.mark.parametrize("profile", [POINTS, GRIFFON], ids=lambda profile: profile.id)
def test_nothing_is_left_to_mend(profile: Profile) -> None:
    assert [str(problem) for problem in findings(profile)] == []


def test_breed_by_open_identifiers() -> None:
    # FCI nomenclature, breed 80; Vertebrate Breed Ontology, VBO:0200642 "Griffon Bruxellois (Dog)".
    assert GRIFFON.breed is not None
    assert (GRIFFON.breed.fci, GRIFFON.breed.vbo) == (80, "VBO:0200642")


def test_no_source_is_kept_that_nothing_names() -> None:
    inherited = set(POINTS.sources)
    assert set(GRIFFON.sources) - inherited == {source for _, source in source_references(GRIFFON)} - inherited


# Uberon (CC BY 3.0), terms beard, eyebrow, cheek, pinna, axilla, anal region, back, tarsal region.
@pytest.mark.parametrize(
    ("region", "uberon"),
    [
        ("beard", "UBERON:0010167"),
        ("brows", "UBERON:0010163"),
        ("cheeks", "UBERON:0001567"),
        ("ears-outside", "UBERON:0001757"),
        ("armpits", "UBERON:0009472"),
        ("perineum", "UBERON:0001353"),
        ("back", "UBERON:0001137"),
        ("hocks", "UBERON:0004454"),
    ],
)
def test_points_of_the_dog_in_uberon(region: str, uberon: str) -> None:
    assert POINTS.regions[region].uberon == uberon


def test_growth_lies_within_the_published_figures() -> None:
    # Derived from the Airedale book's inch of body coat and the United States Lakeland Terrier Club's 8 to 10 weeks: 0.43 to
    # 0.61 mm a day. Popular pages say 1 to 1.25 cm a month. Softer hair below and brows are slower: common practice.
    for name in ("jacket", "leg", "furnishing", "tail"):
        assert 0.43 <= GRIFFON.coats[name].mm_per_week / 7 <= 0.61, name
    assert 0.32 <= GRIFFON.coats["short"].mm_per_week / 7 <= 0.47
    # A page on the breed: left alone, hair falls out at three to four inches.
    assert 76 <= GRIFFON.coats["jacket"].full_mm <= 102


def test_leg_hair_starts_after_four_weeks_and_takes_six_months_to_length() -> None:
    # Common practice, no source.
    order = order_after({"visit": "2026-01-05", "work": {"legs": {"pull": 1}}}, day=START + timedelta(weeks=26))
    assert order.facts["forearms"]["longest_mm"] == pytest.approx(GRIFFON.coats["leg"].full_mm, abs=1)
    for weeks, layers in ((4, 0), (5, 1)):  # a layer shows when it can be gripped
        order = order_after({"visit": "2026-01-05", "work": {"legs": {"pull": 1}}}, day=START + timedelta(weeks=weeks))
        assert order.facts["forearms"]["layers"] == layers


# ---- the coat being set, and the coat that rolls


def test_legs_give_a_fifth_though_all_of_them_look_due(two_years: list[Visit]) -> None:
    # Common practice, no source.
    legs = griffon("legs", "toes")
    first = two_years[0]
    assert {region: first.order.facts[region]["ready_share"] for region in legs} == dict.fromkeys(legs, 1.0)
    for visit in two_years[:4]:
        assert {region: visit.shares().get(region) for region in legs} == dict.fromkeys(legs, 0.2)
    assert max(share for visit in two_years for region, share in visit.shares().items() if region in legs) == 0.2


def test_two_layers_stand_in_week_seven_and_the_third_comes_a_week_later() -> None:
    # Common practice, no source.
    order = order_after(
        {"visit": "2026-01-31", "work": {"body": {"card": True, "pull": 0.6}}},
        {"visit": "2026-02-28", "work": {"body": {"pull": 0.2}}},
        arrival={"body": {"grown_weeks": 26}},
        day=date(2026, 3, 21),
    )
    assert order.facts["back"]["layers"] == 2
    assert order.facts["back"]["next_layer_weeks"] == pytest.approx(1.0)


def test_the_early_visits_build_three_lengths(two_years: list[Visit]) -> None:
    # A West Highland White Terrier care article: the early sessions build three coat lengths on the dog.
    # On our dog they stand at the fifth visit, twelve weeks after the first.
    assert {region for region in griffon("jacket") if two_years[4].before[region].layers < 3} == set()
    assert two_years[1].before["back"].layers == 1


def test_once_set_no_skin_ever_shows(rolling: list[Visit]) -> None:
    for visit in rolling:
        for region, target in TARGETS.items():
            assert target.cover is not None
            assert visit.order.facts[region]["see_through"] is False, (visit.week, region)
            assert visit.before[region].cover >= target.cover.at_least, (visit.week, region)
            assert visit.after[region].cover >= target.cover.at_least - 1e-6, (visit.week, region)


def test_once_set_the_outline_keeps_its_lengths(rolling: list[Visit]) -> None:
    for visit in rolling:
        for region, target in TARGETS.items():
            assert target.longest_mm is not None
            shortest, longest = target.longest_mm
            for moment in (visit.before[region], visit.after[region]):
                assert shortest <= moment.outline_mm <= longest, (visit.week, region)


def test_once_set_every_region_holds_its_layers(rolling: list[Visit]) -> None:
    for visit in rolling:
        for region, target in TARGETS.items():
            assert visit.before[region].layers >= target.layers, (visit.week, region)
            assert visit.before[region].layers == visit.order.facts[region]["layers"], (visit.week, region)


def test_the_engine_and_the_hair_followed_by_hand_agree(two_years: list[Visit]) -> None:
    for visit in two_years:
        for region in TARGETS:
            facts = visit.order.facts[region]
            assert facts["cover"] == pytest.approx(visit.before[region].cover, abs=1e-4), (visit.week, region)
            assert facts["outline_mm"] == pytest.approx(visit.before[region].outline_mm, abs=0.01), (visit.week, region)


def test_targets_are_what_their_own_share_leads_to() -> None:
    # The closed form: 1 / share + 1 - visits until hair can be gripped; a target holds of the region that shows least.
    for name, target in GRIFFON.layer_targets.items():
        rounds = 1 / target.take.usual
        assert rounds == int(rounds)
        coats = [GRIFFON.coats[GRIFFON.regions[region].coat] for region in TARGETS if TARGETS[region] is target]
        growing = [coat for coat in coats if coat.length(3 * rounds) != coat.full_mm]
        if len(growing) < len(coats):
            continue  # the oldest have all reached their end, and are one length
        grip = max(ceil((coat.lag_weeks + coat.ready_mm / coat.mm_per_week) / 3) for coat in coats)
        assert target.layers == rounds + 1 - grip, name


def test_once_set_a_fifth_of_the_jacket_and_a_little_everywhere_else(rolling: list[Visit]) -> None:
    # Common practice, no source: belly, beard, moustache and cheeks give a little every time, so that they layer too.
    little = griffon("belly", "beard", "moustache", "cheeks")
    for visit in rolling[4:]:
        shares = visit.shares()
        assert set(shares) == set(TARGETS)
        assert {shares[region] for region in griffon("jacket", "legs")} == {0.2}
        assert all(0.03 <= shares[region] < 0.2 for region in little)


def test_tail_is_long_again_three_weeks_after_it_was_short(rolling: list[Visit]) -> None:
    # Common practice, no source.
    for one, two in pairwise(rolling):
        for region in griffon("tail"):
            assert one.after[region].outline_mm < 0.75 * one.before[region].outline_mm
            assert two.before[region].outline_mm == pytest.approx(one.before[region].outline_mm, abs=0.01)


def test_a_visit_takes_one_to_two_hours(two_years: list[Visit]) -> None:
    # Fox Terrier Club of Maryland: one to two hours every three to four weeks keeps a rolling coat on a Wire Fox Terrier.
    for visit in two_years:
        assert 60 <= visit.order.minutes_planned <= 120, visit.week
        assert not visit.order.deferred, visit.week


def test_once_set_three_weeks_is_within_the_window(rolling: list[Visit]) -> None:
    for visit in rolling:
        window = visit.order.next_visit
        assert not window.clash
        assert window.best == visit.order.date + EVERY
