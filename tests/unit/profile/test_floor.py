"""The floor under every profile: what is never pulled and what is tender, whatever a profile says.

Which places these are is held to the sources that the base profile names beside each zone; the Uberon terms are checked
against their labels in the Uberon ontology (uberon.org), from memory.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable
from datetime import date
from pathlib import Path
from typing import Any, cast

import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import InputError, Problem, load_profile, work_order
from coatrules.check import examine, examine_text, findings
from coatrules.formats.resources import folder
from coatrules.formats.values import Level
from coatrules.profile.compiled import assigned, compile_profile
from coatrules.profile.floor import LEVELS, NEXT_TO, PLACES, TERMS, loosened, place_of
from coatrules.profile.model import Profile, Region, SensitiveZone
from coatrules.profile.shelves import library
from coatrules.read_only import ReadOnly
from tests.support import daring, small

BASE = "points-of-the-dog"
HEAD: dict[str, Any] = {"format": 1, "id": "own", "label": "Own", "extends": "griffon-bruxellois-rough"}
BARE = ["perineum", "genitals"]


def codes(profile: dict[str, Any]) -> list[str]:
    with pytest.raises(InputError) as refused:
        load_profile(profile)
    return [problem.code for problem in refused.value.problems]


def test_two_lines_cannot_take_what_is_never_pulled_off_the_floor() -> None:
    zones = {"round-the-anus": None, "round-the-genitals": None}
    target = {"bare": {"regions": BARE, "layers": 1, "take": {"usual": 0.5}}}
    assert codes({**HEAD, "clipper_only_zones": zones, "layer_targets": target}) == ["floor-only-cut"] * 2


@pytest.mark.parametrize(
    ("overlay", "code"),
    [
        ({"sensitive_zones": None}, "floor-tender"),
        ({"clipper_only_zones": None}, "floor-only-cut"),
        ({"sensitive_zones": {"toes": None}}, "floor-tender"),
        ({"sensitive_zones": {"toes": {"level": "low"}}}, "floor-tender"),
        ({"sensitive_zones": {"toes": {"bout_minutes": 30}}}, "floor-tender"),
        ({"sensitive_zones": {"toes": {"rest_minutes": 0}}}, "floor-tender"),
        ({"clipper_only_zones": {"eyes-and-lips": None}}, "floor-only-cut"),
    ],
)
def test_whatever_loosens_the_floor_is_an_error_that_names_it(overlay: dict[str, Any], code: str) -> None:
    assert set(codes({**HEAD, **overlay})) == {code}


def test_the_error_is_at_the_line_that_loosens_it(tmp_path: Path) -> None:
    file = tmp_path / "own.yaml"
    file.write_text(
        "format: 1\nid: own\nlabel: Own\nextends: griffon-bruxellois-rough\n"
        "clipper_only_zones:\n  round-the-anus: null\nsensitive_zones:\n  toes: {rest_minutes: 1}\n"
    )
    with pytest.raises(InputError) as refused:
        load_profile(file)
    assert [(p.line, p.code) for p in refused.value.problems] == [(6, "floor-only-cut"), (8, "floor-tender")]
    assert all("floor holds for every dog" in problem.hint for problem in refused.value.problems)


LOOSENED = "clipper_only_zones: {round-the-anus: null}\n"
BEGIN = "format: 2\nid: own\nlabel: Own\nextends: griffon-bruxellois-rough\n"


@pytest.mark.parametrize(
    "lines",
    [
        LOOSENED,
        "regimes:\n  wild:\n    " + LOOSENED,
        LOOSENED + "accept: {floor-only-cut: 'We pull there.'}\n",
        LOOSENED + "cases:\n  one:\n    history: {format: 1, dog: {id: one}}\n    date: 2026-03-02\n"
        "    expect: {regions: {perineum: {outcome: left}}}\n",
    ],
    ids=["plain", "regime", "accepted", "case"],
)
def test_what_loosens_the_floor_is_found_wherever_it_is_asked(lines: str, tmp_path: Path) -> None:
    """In an editor, by ``check``, and when an order is asked for, whatever regimes, cases and accepted findings say."""
    file = tmp_path / "own.yaml"
    file.write_text(BEGIN + lines)
    line = next(n for n, text in enumerate(file.read_text().splitlines(), 1) if "round-the-anus" in text)

    def is_told(problems: Iterable[Problem]) -> bool:
        return any((one.code, one.line, one.severity) == ("floor-only-cut", line, "error") for one in problems)

    assert is_told(examine_text(file.read_text(), str(file)))
    assert is_told(examine(file))
    with pytest.raises(InputError) as refused:
        work_order(load_profile(file), {"format": 1, "dog": {"id": "tip"}}, date=date(2026, 3, 21))
    assert is_told(refused.value.problems)


def test_house_rules_cannot_loosen_the_floor(tmp_path: Path) -> None:
    (tmp_path / "house-rules.yaml").write_text(
        "format: 2\nid: house-rules\nlabel: Ours\nextends: griffon-bruxellois-rough\nover: ['griffon-*']\n" + LOOSENED
    )
    with pytest.raises(InputError) as refused:
        load_profile("griffon-bruxellois-rough", shelves=[tmp_path])
    assert [problem.code for problem in refused.value.problems] == ["floor-only-cut"]


def test_a_profile_without_zones_is_refused() -> None:
    whole = load_profile(BASE)
    regions = {
        name: {
            "label": one.label,
            "coat": "all",
            "minutes": {str(task): minutes for task, minutes in one.minutes.items()},
        }
        for name, one in whole.regions.items()
    }
    coat = {
        "lag_weeks": 4,
        "mm_per_week": 2,
        "full_mm": 40,
        "rests_weeks": 4,
        "ready_mm": 6,
        "cover_mm": 6,
        "layer_gap_mm": 2,
    }
    bare = {
        "format": 1,
        "id": "bare",
        "label": "Bare",
        "visit": {"every_weeks": 4, "minutes": 60, "pace_spread": 0.15},
        "coats": {"all": coat},
        "regions": regions,
    }
    assert set(codes(bare)) == {"floor-only-cut", "floor-tender"}


@pytest.mark.parametrize(
    ("place", "term"),
    [
        ("anus", "0001245"),
        ("anal region", "0001353"),
        ("vulva", "0000997"),
        ("prepuce", "0001332"),
        ("penis", "0000989"),
        ("scrotum", "0001300"),
        ("groin", "0008337"),
        ("axilla", "0009472"),
        ("eyelid", "0001711"),
        ("lip", "0001833"),
        ("pinna", "0001757"),
        ("buttock", "0013691"),
        ("abdomen", "0000916"),
        ("digit", "0002544"),
        ("eyebrow", "0010163"),
        ("cheek", "0001567"),
        ("snout", "0006333"),
        ("beard", "0010167"),
    ],
)
def test_no_renaming_takes_a_place_off_the_floor(place: str, term: str) -> None:
    region = {"label": place, "coat": "jacket", "minutes": {"pull": 5}, "uberon": f"UBERON:{term}"}
    profile = evolve(load_profile(BASE), regions=ReadOnly({"mane": load_region(region)}))
    found = {code for code, _ in told_of(profile)}
    only_cut = place in (
        "anus",
        "anal region",
        "vulva",
        "prepuce",
        "penis",
        "scrotum",
        "groin",
        "axilla",
        "eyelid",
        "lip",
    )
    assert found == {"floor-tender", "floor-only-cut"} if only_cut else {"floor-tender"}
    assert place_of("mane", load_region({**region, "uberon": None, "anatomy": f"UBERON:{term}"})) == place_of(
        "mane", load_region(region)
    )
    assert place_of("back", load_region(region)) == place_of("mane", load_region(region)), "the strictest of both"


def told_of(profile: Profile) -> set[tuple[str, str]]:
    """The errors that name the floor, each with its region."""
    zones = assigned(profile, profile.sensitive_zones)
    found = loosened(profile, zones, assigned(profile, profile.clipper_only_zones))
    return {(problem.code, str(problem.params.get("region"))) for problem in found}


@pytest.mark.parametrize("places", daring.TENDER)
def test_nothing_is_less_tender_than_it_is(places: str) -> None:
    """Each figure of each place, one step looser, against a table of its own."""
    level, bout, rest = daring.TENDER[places]
    own = SensitiveZone(regions=tuple(places.split()), level=cast(Level, level), bout_minutes=bout, rest_minutes=rest)
    base = load_profile(BASE)

    def with_zone(**looser: Any) -> Profile:
        kept = {name: zone for name, zone in base.sensitive_zones.items() if name not in assigned_to}
        return evolve(base, sensitive_zones=ReadOnly({**kept, "own": evolve(own, **looser)}))

    assigned_to = {zone for zone, _ in (assigned(base, base.sensitive_zones)[name] for name in places.split())}
    assert told_of(with_zone()) == set()
    lower = {"high": "medium", "medium": "low"}[level]
    for looser in ({"level": lower}, {"bout_minutes": bout + 0.5}, {"rest_minutes": rest - 0.5}):
        ((code, name),) = told_of(with_zone(**looser))
        assert code == "floor-tender"
        assert name in places.split()
        compiled = compile_profile(with_zone(**looser))
        for name in places.split():
            zone = compiled.regions[name].zone
            assert zone is not None
            assert (zone.level, zone.bout_minutes, zone.rest_minutes) == (level, bout, rest)
    gone = evolve(
        base, sensitive_zones=ReadOnly({n: z for n, z in base.sensitive_zones.items() if n not in assigned_to})
    )
    assert {name for _, name in told_of(gone)} <= set(places.split())
    for name in places.split():
        zone = compile_profile(gone).regions[name].zone
        assert zone is not None
        assert (zone.level, zone.bout_minutes, zone.rest_minutes) == (level, bout, rest)


def test_every_place_that_is_only_cut_is_so_without_a_zone_too() -> None:
    bare = evolve(load_profile(BASE), clipper_only_zones=ReadOnly({}))
    regions = compile_profile(bare).regions
    assert {name for name, region in regions.items() if region.clipper_only is not None} == daring.ONLY_CUT
    assert all(regions[name].hand is None for name in daring.ONLY_CUT)
    zones = {region.clipper_only_id for region in regions.values() if region.clipper_only is not None}
    assert len([one for one in told_of(bare) if one[0] == "floor-only-cut"]) == len(zones)


def test_points_that_lie_beside_each_other_are_each_others_margin() -> None:
    assert all(daring.beside(name) <= NEXT_TO[name] for name in PLACES)


def test_a_known_place_stays_on_the_floor_whatever_anatomy_is_claimed() -> None:
    claimed = {"perineum": {"anatomy": "none"}}
    assert codes({**HEAD, "regions": claimed, "clipper_only_zones": {"round-the-anus": None}}) == ["floor-only-cut"]


def test_in_a_place_that_nobody_knows_nothing_is_pulled() -> None:
    region = {"label": "Mane", "coat": "jacket", "minutes": {"pull": 5}}
    own = {
        **HEAD,
        "regions": {"mane": region},
        "layer_targets": {"mane": {"regions": ["mane"], "layers": 1, "take": {"usual": 1}}},
    }
    assert compile_profile(load_profile(own)).regions["mane"].hand is None
    assert "anatomy-missing" in {problem.code for problem in findings(load_profile(own))}
    own["regions"]["mane"]["anatomy"] = "UBERON:9999999"  # invented: nobody can tell where that is either
    assert compile_profile(load_profile(own)).regions["mane"].hand is None
    assert "anatomy-missing" in {problem.code for problem in findings(load_profile(own))}
    own["regions"]["mane"]["anatomy"] = "none"
    assert compile_profile(load_profile(own)).regions["mane"].hand is not None
    assert "anatomy-missing" not in {problem.code for problem in findings(load_profile(own))}


@pytest.mark.parametrize("name", sorted(library())[::3])
def test_every_shipped_profile_keeps_the_floor_by_its_own_lines(name: str) -> None:
    """So that a mentor sees in the file what holds, and need not know this module."""
    profile = compile_profile(load_profile(name))
    for region_id, region in profile.regions.items():
        place = PLACES[region_id]
        assert region.place is not None
        assert (region.clipper_only is not None) >= (place.cut is not None), region_id
        if place.tender is not None:
            assert region.zone is not None
            assert LEVELS.index(region.zone.level) >= LEVELS.index(place.tender.level)
            assert region.zone.bout_minutes <= place.tender.bout_minutes
            assert region.zone.rest_minutes >= place.tender.rest_minutes


def test_the_floor_knows_every_point_of_the_dog() -> None:
    assert set(PLACES) == set(load_profile(BASE).regions)


def test_a_part_of_the_dog_is_as_tender_as_the_most_tender_place_known_by_its_term() -> None:
    points = load_profile(BASE).regions
    terms = {region.uberon for region in points.values() if region.uberon is not None}
    assert terms <= TERMS.keys()
    for term, held in TERMS.items():
        assert {name for name, region in points.items() if region.uberon == term} <= set(held)
        places = [PLACES[name] for name in held]
        levels = [LEVELS.index(place.tender.level) for place in places if place.tender is not None]
        found = place_of("mane", Region(label="Mane", coat="jacket", anatomy=term))
        assert found is not None
        assert (-1 if found.tender is None else LEVELS.index(found.tender.level)) == max(levels, default=-1), term
        assert (found.cut is not None) == all(place.cut is not None for place in places), term


def test_beside_is_beside_from_either_side() -> None:
    assert all(name in NEXT_TO[other] for name, others in NEXT_TO.items() for other in others)
    assert all(NEXT_TO.values())


TEXT = (folder("profiles") / f"{BASE}.yaml").read_text(encoding="utf-8")
ZONES = [
    (section, zone)
    for section in ("sensitive_zones", "clipper_only_zones")
    for zone in getattr(load_profile(BASE), section)
]


@settings(max_examples=30, deadline=None)
@given(st.sets(st.sampled_from(ZONES), min_size=1), st.data())
def test_no_overlay_pulls_where_the_floor_forbids_it(removed: set[tuple[str, str]], data: st.DataObject) -> None:
    """Whatever zones an overlay takes out or rewrites: it is refused, or the floor's places are as the floor has them."""
    overlay: dict[str, Any] = copy.deepcopy(HEAD)
    for section, zone in removed:
        weaker: dict[str, Any] = (
            {"bout_minutes": data.draw(st.floats(1, 60))} if section == "sensitive_zones" else {"every_weeks": 9}
        )
        overlay.setdefault(section, {})[zone] = data.draw(st.sampled_from([None, weaker]))
    refused: InputError | None = None
    try:
        compiled = compile_profile(load_profile(overlay))
    except InputError as error:
        refused = error
    if refused is not None:
        assert {problem.code for problem in refused.problems} <= {"floor-only-cut", "floor-tender"}
        return
    for name, place in PLACES.items():
        region = compiled.regions[name]
        assert place.cut is None or region.hand is None
        if place.tender is not None:
            assert region.zone is not None
            assert region.zone.bout_minutes <= place.tender.bout_minutes


def load_region(data: dict[str, Any]) -> Region:
    return Region(**{**data, "minutes": ReadOnly(data["minutes"])})


@pytest.mark.parametrize(
    ("visit", "code"), [({"minutes": 180.5}, "floor-day"), ({"first_coat_weeks": 12.9}, "floor-first-coat")]
)
def test_no_profile_lengthens_the_day_or_pulls_a_puppy_before_its_age(visit: dict[str, Any], code: str) -> None:
    """452 minutes on the table were planned for one visit."""
    assert codes({**HEAD, "visit": visit}) == [code]
    base = load_profile(BASE)
    assert told_of(evolve(base, visit=evolve(base.visit, minutes=180.0, first_coat_weeks=13.0))) == set()


def test_a_point_under_another_name_keeps_its_margin() -> None:
    """A loin called saddle lay beside those before and after it on the walk alone, and rakes went over the croup and flanks."""
    loin = {"label": "Saddle", "coat": "jacket", "minutes": {"pull": 9}, "anatomy": "UBERON:0005462"}
    own = compile_profile(load_profile({**HEAD, "regions": {"loin": None, "saddle": loin}}))
    assert own.regions["saddle"].next_to >= {"croup", "flanks", "ribs", "back"}
    assert all("saddle" in own.regions[name].next_to for name in ("croup", "flanks", "ribs", "back"))
    croup = {**loin, "label": "Rump", "anatomy": "UBERON:0005473"}
    both = {"loin": None, "croup": None, "saddle": loin, "beard": None, "rump": croup}
    assert "rump" in compile_profile(load_profile({**HEAD, "regions": both})).regions["saddle"].next_to
    every = compile_profile(load_profile(BASE)).regions
    assert {name: region.next_to for name, region in every.items()} == dict(NEXT_TO)


def test_a_tender_place_that_is_cut_in_two_rests_as_one() -> None:
    """Six zones in the place of one over the face were worked one after the other, without the rest between them."""
    own = {"level": "medium", "bout_minutes": 3, "rest_minutes": 5}
    face = ("stop", "brows", "muzzle", "cheeks", "moustache", "beard")
    zones = {"face": None, **{f"the-{name}": {**own, "regions": [name]} for name in face}}
    compiled = compile_profile(load_profile({**HEAD, "sensitive_zones": zones}))
    assert len({compiled.regions[name].bouts_with for name in face}) == 1
    wider = {"upper": {**own, "regions": ["throat", "stop"]}, "lower": {**own, "regions": ["brows"]}}
    wider["upper"] |= {"level": "high", "bout_minutes": 2}
    compiled = compile_profile(load_profile({**HEAD, "sensitive_zones": wider}))
    assert {compiled.regions[name].zone_id for name in face} == {"upper", "lower", "face"}
    assert len({compiled.regions[name].bouts_with for name in face}) == 1
    assert compiled.regions["belly"].bouts_with != compiled.regions["throat"].bouts_with


def test_in_tender_places_a_tool_that_pulls_harder_than_fingers_is_named_for_the_place() -> None:
    """Without its line of regions the coarse knife went to the brows, and without its own method a clipper to the eyelids."""
    methods: dict[str, Any] = {"knife": {"label": "knife", "does": "pull", "rank": 90, "pass": 2}, "blunt-tips": None}
    compiled = compile_profile(load_profile({**HEAD, "methods": methods}))
    used = {name: [method for method, _ in region.methods.get("pull", ())] for name, region in compiled.regions.items()}
    assert used["back"][0] == "knife"
    assert all("knife" not in used[name] for name, place in PLACES.items() if place.tender is not None)
    assert not compiled.regions["eyelid-rims"].methods.get("clip")
    assert compiled.regions["perineum"].methods["clip"]
    methods["knife"]["regions"] = ["throat", "back"]
    named = compile_profile(load_profile({**HEAD, "methods": methods}))
    assert named.regions["throat"].methods["pull"][0][0] == "knife"


def test_no_puppy_coat_is_pulled_before_any_comes_out_whatever_a_program_hands_over() -> None:
    profile = load_profile({**HEAD, "visit": {"first_coat_weeks": 16}})
    early = evolve(profile, visit=evolve(profile.visit, first_coat_weeks=8.0))
    assert compile_profile(early).first_coat_weeks == 13
    assert compile_profile(profile).first_coat_weeks == 16


def test_the_margin_reaches_across_a_point_that_a_profile_leaves_out() -> None:
    def beside(*names: str) -> frozenset[str]:
        regions = {name: {"label": name, "coat": "jacket", "minutes": {"pull": 9}} for name in names}
        target = {"regions": list(names), "layers": 4, "take": {"usual": 0.2}}
        profile = small.profile(regions=regions, layer_targets={"all": target})
        return compile_profile(load_profile(profile)).regions["back"].next_to

    assert beside("back", "loin", "croup") == {"loin"}
    assert beside("back", "croup", "hocks") == {"croup"}, "nobody named the loin between them"
