"""The floor: what holds on every dog, whatever a profile says. A profile may be stricter and never looser.

Places are known by a region's id, where it is one of the points of the dog, and by its Uberon term (https://uberon.org), so
that no renaming takes a place off the floor. Which places are never pulled and which are tender follows the sources that
``profiles/points-of-the-dog.yaml`` names for each; lengths of bouts and rests are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Final, NamedTuple

from coatrules.formats.values import Level
from coatrules.problems import Problem
from coatrules.profile.model import ClipperOnlyZone, Method, Profile, Region, SensitiveZone
from coatrules.read_only import ReadOnly

LEVELS: Final[tuple[Level, ...]] = ("low", "medium", "high")
DAY_MINUTES: Final = 180.0
"""The longest that a dog stands on the table in one day (common practice, no source; local codes may say less)."""
FIRST_COAT_WEEKS: Final = 13.0
"""No puppy coat comes out by hand before this age: the earliest that is published (a breeder's rolling guide for the Miniature
Schnauzer; Hollandse Smoushonden Club)."""
FINGERS_PASS: Final = 4.0
"""The pass of the fingers: what comes before them pulls harder (knives, stones)."""


class Tender(NamedTuple):
    """The least tenderness of a place: its zone, level, longest bout and shortest rest in minutes."""

    zone: str
    level: Level
    bout_minutes: float
    rest_minutes: float


class Cut(NamedTuple):
    """A place that is only ever cut: its zone, the length left in mm, and weeks from one time to the next. ``by_name``: only with
    what the profile names for this very place."""

    zone: str
    leave_mm: float
    every_weeks: float
    by_name: bool = False


class Place(NamedTuple):
    """What the floor holds of a place."""

    tender: Tender | None = None
    cut: Cut | None = None


_THROAT = Tender("throat", "high", 2, 5)
_EARS = Tender("ear-leathers", "medium", 3, 5)
_FACE = Tender("face", "medium", 3, 5)
_CHEST = Tender("forechest", "medium", 3, 4)
_REAR = Tender("rear", "high", 2, 5)
_BELLY = Tender("belly-and-flanks", "high", 2, 5)
_TOES = Tender("toes", "high", 2, 5)
_PADS = Tender("pads", "medium", 3, 3)
_CREASES = Tender("creases", "high", 2, 3)
_SANITARY = Tender("sanitary", "high", 2, 3)
_RIMS = Tender("rims", "high", 2, 3)

UNKNOWN: Final = Tender("unknown", "high", 2, 5)
"""How a place is worked of which nobody can tell where on the dog it lies: as the most tender ones."""

_ANUS = Place(_SANITARY, Cut("round-the-anus", 3, 4))
_GENITALS = Place(_SANITARY, Cut("round-the-genitals", 13, 4))
_SKIN_CREASE = Place(_CREASES, Cut("skin-creases", 6, 8))
_PAD = Place(_PADS, Cut("between-the-pads", 1, 4))
_RIM = Place(_RIMS, Cut("eyes-and-lips", 5, 4, by_name=True))

PLACES: Final[Mapping[str, Place]] = ReadOnly(
    {
        **dict.fromkeys(("neck-top", "neck-sides", "withers", "back", "loin", "croup", "shoulders", "ribs"), Place()),
        **dict.fromkeys(("upper-arms", "thighs", "tail-top", "brisket", "forearms", "front-pasterns"), Place()),
        **dict.fromkeys(("forefeet", "lower-thighs", "hocks", "hindfeet", "skull"), Place()),
        **dict.fromkeys(("buttocks", "tail-under"), Place(_REAR)),
        **dict.fromkeys(("belly", "flanks"), Place(_BELLY)),
        **dict.fromkeys(("front-toes", "hind-toes"), Place(_TOES)),
        **dict.fromkeys(("stop", "muzzle", "brows", "cheeks", "moustache", "beard"), Place(_FACE)),
        "throat": Place(_THROAT),
        "forechest": Place(_CHEST),
        "ears-outside": Place(_EARS),
        "ears-inside": Place(_EARS, Cut("inside-the-ears", 3, 8)),
        "perineum": _ANUS,
        "genitals": _GENITALS,
        **dict.fromkeys(("armpits", "groin"), _SKIN_CREASE),
        **dict.fromkeys(("front-pads", "hind-pads"), _PAD),
        **dict.fromkeys(("eyelid-rims", "lip-edges"), _RIM),
    }
)
"""By the id of a region: every point of the dog, with what the floor holds of it, if anything."""

_TERMS: Final[Mapping[str, str]] = {
    "UBERON:0001245": "perineum",  # anus
    "UBERON:0001353": "perineum",  # anal region
    "UBERON:0000997": "genitals",  # mammalian vulva
    "UBERON:0001332": "genitals",  # prepuce of penis
    "UBERON:0000989": "genitals",  # penis
    "UBERON:0001300": "genitals",  # scrotum
    "UBERON:0008337": "groin",  # inguinal part of abdomen
    "UBERON:0009472": "armpits",  # axilla
    "UBERON:0001711": "eyelid-rims",  # eyelid
    "UBERON:0001833": "lip-edges",  # lip
    "UBERON:0001757": "ears-outside",  # pinna
    "UBERON:0001691": "ears-outside ears-inside",
    "UBERON:0013691": "buttocks",  # buttock
    "UBERON:0000916": "belly flanks",  # abdomen
    "UBERON:0002544": "front-toes hind-toes",  # digit
    "UBERON:0010163": "brows",  # eyebrow
    "UBERON:0001567": "cheeks",  # cheek
    "UBERON:0006333": "muzzle moustache",  # snout
    "UBERON:0010167": "beard",  # beard
    "UBERON:0008200": "stop",
    "UBERON:0000033": "skull stop brows cheeks muzzle moustache beard",  # head
    "UBERON:0000974": "neck-top neck-sides throat",  # neck
    "UBERON:0008231": "withers",
    "UBERON:0001137": "back",
    "UBERON:0005462": "loin",
    "UBERON:0005473": "croup",
    "UBERON:0001443": "forechest ribs brisket",  # chest
    "UBERON:0001467": "shoulders",
    "UBERON:0003822": "upper-arms",
    "UBERON:0002386": "forearms",
    "UBERON:0004453": "front-pasterns",
    "UBERON:0002398": "forefeet front-toes front-pads",
    "UBERON:0000376": "thighs",
    "UBERON:0003823": "lower-thighs",
    "UBERON:0004454": "hocks",
    "UBERON:0002387": "hindfeet hind-toes hind-pads",
    "UBERON:0002415": "tail-top tail-under",  # tail
}
TERMS: Final[Mapping[str, tuple[str, ...]]] = ReadOnly({term: tuple(names.split()) for term, names in _TERMS.items()})
"""By Uberon term the points of the dog that it holds: terms that name nothing else, and those by which the base knows its points. Of
any other term nobody can say whether it is on the dog at all."""

_NEIGHBOURS = (
    "neck-top neck-sides throat withers",
    "neck-sides throat shoulders",
    "withers back shoulders",
    "back loin ribs shoulders",
    "loin croup flanks ribs",
    "croup thighs tail-top buttocks flanks",
    "shoulders ribs upper-arms forechest",
    "ribs flanks brisket upper-arms armpits",
    "flanks belly thighs",
    "upper-arms forearms armpits forechest",
    "thighs lower-thighs buttocks groin",
    "buttocks tail-under perineum",
    "tail-top tail-under",
    "tail-under perineum",
    "perineum genitals",
    "genitals groin",
    "throat forechest beard cheeks",
    "forechest brisket",
    "brisket belly armpits",
    "belly groin genitals",
    "forearms front-pasterns",
    "front-pasterns forefeet front-toes",
    "forefeet front-toes front-pads",
    "front-toes front-pads",
    "lower-thighs hocks groin",
    "hocks hindfeet hind-toes",
    "hindfeet hind-toes hind-pads",
    "hind-toes hind-pads",
    "skull ears-outside stop brows neck-top",
    "ears-outside ears-inside cheeks neck-sides",
    "stop brows muzzle",
    "brows eyelid-rims cheeks",
    "cheeks moustache beard",
    "muzzle moustache eyelid-rims",
    "moustache beard lip-edges",
    "beard lip-edges",
)


def _next_to() -> dict[str, frozenset[str]]:
    pairs = {(first, other) for first, *others in map(str.split, _NEIGHBOURS) for other in others}
    return {name: frozenset(b if a == name else a for a, b in pairs if name in (a, b)) for name in PLACES}


HANDLED_ONLY: Final = frozenset(("skull", "forefeet", "hindfeet"))
"""Calm points of the head and feet: a puppy has them handled, not worked (common practice, no source)."""

NEXT_TO: Final[Mapping[str, frozenset[str]]] = ReadOnly(_next_to())
"""The points of the dog that lie beside each: the margin round skin that is not sound."""


def place_of(name: str, region: Region) -> Place | None:
    """Returns what the floor holds of a region, the strictest of all that it is known by; None where nobody can tell where on the
    dog it lies."""
    known = [PLACES[name]] if name in PLACES else []
    # A term that holds the point itself says nothing new of it.
    known += [_strictest([PLACES[point] for point in points]) for points in _held_by(region) if name not in points]
    if known:
        return Place(_strictest(known).tender, next((place.cut for place in known if place.cut is not None), None))
    return Place() if region.anatomy == "none" else None


def points_of(name: str, region: Region) -> frozenset[str]:
    """Returns the points of the dog that a region is, or whose place it takes under another name."""
    return frozenset((name,) if name in PLACES else (point for points in _held_by(region) for point in points))


def margins(regions: Mapping[str, Region]) -> dict[str, frozenset[str]]:
    """Returns for each region those beside it: by the points of the dog, across a point that is left out too; where a region is none
    of them, those before and after it on the walk."""
    stand_for = {name: points_of(name, region) for name, region in regions.items()}
    at: dict[str, set[str]] = {}
    for name, points in stand_for.items():
        for point in points:
            at.setdefault(point, set()).add(name)
    found: dict[str, set[str]] = {name: set() for name in regions}
    for name, points in stand_for.items():
        near = points.union(*(NEXT_TO[point] for point in points))
        near = near.union(*(NEXT_TO[point] for point in near if point not in at))
        found[name].update(*(at[point] for point in near if point in at))
    for one, other in pairwise(regions):
        if {one, other} - PLACES.keys():
            found[one].add(other)
            found[other].add(one)
    return {name: frozenset(others - {name}) for name, others in found.items()}


def _held_by(region: Region) -> Iterator[tuple[str, ...]]:
    """The points of each term that a region is known by."""
    terms = (region.uberon, region.anatomy)
    yield from (TERMS[term] for term in terms if term is not None and term in TERMS)


def _strictest(places: Sequence[Place]) -> Place:
    """As tender as the most tender of some places, and only cut where all of them are."""
    tender = [place.tender for place in places if place.tender is not None]
    cuts = [place.cut for place in places]
    return Place(
        max(tender, key=lambda one: LEVELS.index(one.level), default=None), cuts[0] if None not in cuts else None
    )


def at_least_so_tender(zone: SensitiveZone | None, tender: Tender | None, name: str) -> SensitiveZone | None:
    """Returns a region's zone, made as strict as the floor has it."""
    if tender is None:
        return zone
    if zone is None:
        return SensitiveZone(
            regions=(name,), level=tender.level, bout_minutes=tender.bout_minutes, rest_minutes=tender.rest_minutes
        )
    if not _looser(zone, tender):
        return zone
    return SensitiveZone(
        regions=zone.regions,
        level=max(zone.level, tender.level, key=LEVELS.index),
        bout_minutes=min(zone.bout_minutes, tender.bout_minutes),
        rest_minutes=max(zone.rest_minutes, tender.rest_minutes),
        because=zone.because,
        source=zone.source,
    )


def may_use(method: Method, place: Place | None, *, named: bool) -> bool:
    """Whether a tool may be taken up in a place. ``named``: the profile names the place for it; nothing else pulls harder than
    fingers in a tender place, or cuts at the eyes and lips."""
    if named:
        return True
    if method.does == "pull":
        return (place is not None and place.tender is None) or method.turn is None or method.turn >= FINGERS_PASS
    return method.does != "clip" or place is None or place.cut is None or not place.cut.by_name


def shared_bouts(zones: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Returns for each zone of a profile the one with which its bouts and rests count: zones that part a tender place of the floor
    among them share, so that nobody gets round a rest by cutting a place in two. ``zones``: of each region in such a place the
    floor's zone and the profile's."""
    shared: dict[str, str] = {}
    of_place: dict[str, str] = {}
    for place, zone in zones:
        own = shared.setdefault(zone, zone)
        first = shared[of_place.setdefault(place, zone)]
        shared |= {name: first for name, with_ in shared.items() if with_ == own}
    return shared


def only_cut(zone: ClipperOnlyZone | None, cut: Cut | None, name: str) -> ClipperOnlyZone | None:
    """Returns a region's clipper-only zone, the floor's where the profile has none for a place that is never pulled."""
    if zone is not None or cut is None:
        return zone
    return ClipperOnlyZone(regions=(name,), leave_mm=cut.leave_mm, every_weeks=cut.every_weeks)


def _looser(zone: SensitiveZone, tender: Tender) -> bool:
    return (
        LEVELS.index(zone.level) < LEVELS.index(tender.level)
        or zone.bout_minutes > tender.bout_minutes
        or zone.rest_minutes < tender.rest_minutes
    )


def loosened(
    profile: Profile, zones: Mapping[str, tuple[str, SensitiveZone]], cuts: Mapping[str, tuple[str, ClipperOnlyZone]]
) -> Iterator[Problem]:
    """Yields an error for each place where a profile is looser than the floor, at the line that made it so. ``zones`` and ``cuts``
    are what the profile says of each region."""
    visit = profile.visit
    if visit.minutes > DAY_MINUTES:
        day: dict[str, object] = {"minutes": visit.minutes, "most": DAY_MINUTES}
        yield profile.origin.problem_at(("visit", "minutes"), "floor-day", day)
    if visit.first_coat_weeks is not None and visit.first_coat_weeks < FIRST_COAT_WEEKS:
        age: dict[str, object] = {"weeks": visit.first_coat_weeks, "least": FIRST_COAT_WEEKS}
        yield profile.origin.problem_at(("visit", "first_coat_weeks"), "floor-first-coat", age)
    reported: set[tuple[str, str]] = set()
    for name, region in profile.regions.items():
        place = place_of(name, region) or Place()
        if place.cut is not None and name not in cuts and ("cut", place.cut.zone) not in reported:
            reported.add(("cut", place.cut.zone))
            path = _removed(profile, "clipper_only_zones", place.cut.zone) or ("regions", name)
            params: dict[str, object] = {"region": name, "zone": place.cut.zone}
            yield profile.origin.problem_at(path, "floor-only-cut", params, key=True)
        if place.tender is None or ("tender", place.tender.zone) in reported:
            continue
        zone_id, zone = zones.get(name, (place.tender.zone, None))
        if zone is None or _looser(zone, place.tender):
            reported.add(("tender", place.tender.zone))
            removed = _removed(profile, "sensitive_zones", zone_id)
            path = removed or (("regions", name) if zone is None else ("sensitive_zones", zone_id))
            params = {
                "region": name,
                "level": place.tender.level,
                "bout": place.tender.bout_minutes,
                "rest": place.tender.rest_minutes,
            }
            yield profile.origin.problem_at(path, "floor-tender", params, key=True)


def _removed(profile: Profile, section: str, zone: str) -> tuple[str, ...] | None:
    """The path of the line that takes a zone, or all of them, out of what is inherited."""
    for path in ((section, zone), (section,)):
        if profile.origin.blank(path):
            return path
    return None
