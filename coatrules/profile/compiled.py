"""A profile made ready to answer for any dog: every name resolved, every region with all that holds for it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cache, lru_cache
from typing import NamedTuple, Protocol, TypeVar

from attrs import evolve

from coatrules.coat.growth import Growth
from coatrules.conditions.compiling import compile_all
from coatrules.conditions.evaluation import Facts
from coatrules.formats.digest import Edition
from coatrules.formats.resources import schema
from coatrules.profile.floor import (
    FIRST_COAT_WEEKS,
    HANDLED_ONLY,
    UNKNOWN,
    Place,
    at_least_so_tender,
    margins,
    may_use,
    only_cut,
    place_of,
    shared_bouts,
)
from coatrules.profile.model import ClipperOnlyZone, LayerTarget, Method, Profile, Region, Routine, Rule, SensitiveZone
from coatrules.profile.parts import expand
from coatrules.profile.targets import with_targets

MOST_READY = 256
"""Profiles kept ready: more than any salon, few enough to hold."""

V = TypeVar("V")


class _Part(Protocol):
    @property
    def regions(self) -> tuple[str, ...]: ...


P = TypeVar("P", bound=_Part)


class Means(NamedTuple):
    """A hand or tool (a method's id) in words, with those that follow it: with how they are used, and by name alone."""

    method: str
    how: str
    tools: str


class CompiledRegion(NamedTuple):
    """All that a profile says of one region. ``walk_order`` is its position on the dog; a part that holds for it has its id beside it."""

    id: str
    walk_order: int
    region: Region
    growth: Growth
    groups: tuple[str, ...]
    target_id: str | None
    target: LayerTarget | None
    zone_id: str | None
    zone: SensitiveZone | None
    bouts_with: str | None
    """The zone with which its bouts and rests count: its own, or one that holds another part of the same tender place."""
    clipper_only_id: str | None
    clipper_only: ClipperOnlyZone | None
    soiled: int
    """How far clipping here soils the clipper, 0 to 2."""
    hand: LayerTarget | None
    """What hand work the region is for: its target, where it is not only ever clipped and the floor knows where it lies."""
    place: Place | None
    """What the floor holds of it; None where nobody can tell where on the dog it lies."""
    next_to: frozenset[str]
    """The regions beside it, the margin round skin that is not sound."""
    routines: tuple[tuple[str, Routine], ...]
    rules: tuple[tuple[str, Rule], ...]
    firing_rules: Callable[[Facts], list[int]]
    methods: Mapping[str, tuple[tuple[str, Method], ...]]


class CompiledProfile(NamedTuple):
    """A profile with its regions resolved. Holds no state of any dog: one may serve any number of threads."""

    profile: Profile
    edition: Edition
    regions: Mapping[str, CompiledRegion]
    names: Mapping[str, tuple[str, ...]]
    """What a history may call a part of the dog: regions, groups and zones, each with its regions."""
    means: Mapping[str, Means]
    """Every method by its id."""
    hands: Mapping[str, tuple[Means, ...]]
    """For every method what is taken up for it, one after the other, each by itself."""
    region_classes: Mapping[str, int]
    """For each region a number: the same where the profile says the same, so that only their history tells regions apart."""
    chosen: dict[tuple[str, ...], dict[str, str]]
    """What ``keys_of`` has found before."""
    parts: dict[tuple[str, ...], Mapping[str, tuple[str, ...]]]
    """What ``parts_of`` has found before."""

    @property
    def first_coat_weeks(self) -> float | None:
        """The age at which the puppy coat comes out, never before any does; None where the profile does not say."""
        weeks = self.profile.visit.first_coat_weeks
        return None if weeks is None else max(weeks, FIRST_COAT_WEEKS)

    def by_region(self, entries: Mapping[str, V]) -> Iterator[tuple[str, V]]:
        """What a record says, region by region; what is said of the smallest part that holds a region wins."""
        return ((region, entries[key]) for region, key in self.keys_of(entries).items())

    def parts_of(self, keys: Iterable[str]) -> Mapping[str, tuple[str, ...]]:
        """Returns for each region that a record speaks of all the keys that speak of it, from the largest part to the smallest."""
        keys = tuple(keys)
        found = self.parts.get(keys)
        if found is None:
            speaking: dict[str, tuple[str, ...]] = {}
            for key in by_size(keys, self.names):
                for region in self.names[key]:
                    speaking[region] = (*speaking.get(region, ()), key)
            found = speaking
            if len(self.parts) < 4096:
                self.parts[keys] = found
        return found

    def keys_of(self, keys: Iterable[str]) -> Mapping[str, str]:
        """For each region that a record speaks of, the key that it goes by: the smallest part that holds it."""
        keys = tuple(keys)
        chosen = self.chosen.get(keys)
        if chosen is None:
            chosen = most_specific(keys, self.names)
            if len(self.chosen) < 4096:  # a book names few combinations; a hostile one may not fill the memory
                self.chosen[keys] = chosen
        return chosen


def all_names(profile: Profile) -> dict[str, tuple[str, ...]]:
    """Every part of the dog that has a name (regions, groups, zones) with its regions."""
    names: dict[str, tuple[str, ...]] = {region: (region,) for region in profile.regions}
    names |= {group: expand(profile, members) for group, members in profile.groups.items()}
    for zones in (profile.sensitive_zones, profile.clipper_only_zones):
        for zone, part in zones.items():
            names.setdefault(zone, expand(profile, part.regions))
    return names


def most_specific(keys: Sequence[str], names: Mapping[str, tuple[str, ...]]) -> dict[str, str]:
    """For each region the key of the smallest part that holds it; of parts of one size, the first in the alphabet."""
    return {region: key for key in by_size(keys, names) for region in names[key]}


def by_size(keys: Iterable[str], names: Mapping[str, tuple[str, ...]]) -> list[str]:
    """Returns the keys from the largest part to the smallest, so that the smaller one has the last word."""
    return sorted(keys, key=lambda key: (len(names[key]), key), reverse=True)


def assigned(profile: Profile, parts: Mapping[str, P]) -> dict[str, tuple[str, P]]:
    """For each region the part (a target, a zone) that holds for it: the one that covers the fewest regions."""
    names = {name: expand(profile, part.regions) for name, part in parts.items()}
    return {region: (name, parts[name]) for region, name in most_specific(tuple(parts), names).items()}


_SOILED = {"round-the-genitals": 1, "round-the-anus": 2}
"""Places of the floor that soil the clipper, where a profile says nothing (common practice, no source)."""


def _soiled(clipped: ClipperOnlyZone | None, place: Place | None) -> int:
    if clipped is not None and clipped.soiled is not None:
        return clipped.soiled
    return _SOILED.get(place.cut.zone, 0) if place is not None and place.cut is not None else 0


@cache
def always_of_a_kind() -> frozenset[str]:
    """The facts that are always numbers, or always lists, where they are known at all."""
    catalogue = schema("facts")["properties"]
    return frozenset(name for name, fact in catalogue.items() if fact.get("type") in ("number", "integer", "array"))


def _kinds(profile: Profile, plans: Mapping[str, CompiledRegion]) -> dict[str, int]:
    conditional = [(name, one.when.facts()) for part in (profile.rules, profile.methods) for name, one in part.items()]
    by_name, by_groups = ({name for name, asked in conditional if fact in asked} for fact in ("region", "groups"))
    numbers: dict[object, int] = {}
    region_classes = {}
    for name, region in plans.items():
        rules = [rule_id for rule_id, _ in region.rules]
        methods = [method_id for found in region.methods.values() for method_id, _ in found]
        class_key = (
            region.region.coat,
            tuple(sorted(region.region.minutes.items())),
            profile.show_mm.get(name),
            *(region.target_id, region.zone_id, region.clipper_only_id, region.place, name in HANDLED_ONLY),
            region.zone and (region.zone.level, region.zone.bout_minutes, region.zone.rest_minutes),
            *(tuple(names) for names in ([routine_id for routine_id, _ in region.routines], rules, methods)),
            # What a region is called counts only where a condition asks for it.
            None if by_name.isdisjoint([*rules, *methods]) else name,
            None if by_groups.isdisjoint([*rules, *methods]) else region.groups,
        )
        region_classes[name] = numbers.setdefault(class_key, len(numbers))
    return region_classes


def hands_of(methods: Mapping[str, Method], name: str) -> tuple[Means, ...]:
    """Returns a method and those that follow it, each by itself."""
    names = [name]
    while (then := methods[names[-1]].then) is not None:
        names.append(then)
    return tuple([Means(one, _used(methods[one]), methods[one].label) for one in names])


def means_of(hands: Sequence[Means]) -> Means:
    """Returns methods that follow each other as one."""
    how, tools = (", then ".join(texts) for texts in ([one.how for one in hands], [one.tools for one in hands]))
    return Means(hands[0].method, how, tools)


def _used(method: Method) -> str:
    """A hand or tool, how it is used, and until when."""
    extra = "; ".join(part for part in (method.how, f"until {method.until}" if method.until else None) if part)
    return method.label + (f" ({extra})" if extra else "")


@lru_cache(MOST_READY)
def compile_profile(profile: Profile) -> CompiledProfile:
    """Returns the profile made ready; made once for all that say the same."""
    profile = with_targets(profile, {})
    targets = assigned(profile, profile.layer_targets)
    zones = assigned(profile, profile.sensitive_zones)
    clipper_only = assigned(profile, profile.clipper_only_zones)
    groups = {name: set(expand(profile, members)) for name, members in profile.groups.items()}

    def holds_for(regions: Sequence[str] | None) -> set[str]:
        return set(profile.regions if regions is None else expand(profile, regions))

    rules = [(name, rule, holds_for(rule.regions)) for name, rule in sorted(profile.rules.items())]
    methods = [
        (name, method, holds_for(method.regions))
        for name, method in sorted(profile.methods.items(), key=lambda item: (-item[1].rank, item[0]))
    ]
    routines = [(name, routine, holds_for(routine.regions)) for name, routine in profile.routines.items()]
    tests: dict[tuple[str, ...], Callable[[Facts], list[int]]] = {}
    regions = {}
    beside = margins(profile.regions)
    places = {name: place_of(name, region) for name, region in profile.regions.items()}
    bouts = shared_bouts(
        (place.tender.zone, zones[name][0] if name in zones else place.tender.zone)
        for name, place in places.items()
        if place is not None and place.tender is not None
    )
    for walk_order, (name, region) in enumerate(profile.regions.items()):
        own = tuple((rule_id, rule) for rule_id, rule, where in rules if name in where)
        key = tuple(rule_id for rule_id, _ in own)
        if key not in tests:
            tests[key] = compile_all([rule.when for _, rule in own], always_of_a_kind() | profile.comparisons.keys())
        place = places[name]
        by_task: dict[str, list[tuple[str, Method]]] = {}
        for method_id, method, where in methods:
            if name in where and may_use(method, place, named=method.regions is not None):
                by_task.setdefault(method.does, []).append((method_id, method))
        target_id, target = targets.get(name, (None, None))
        if target is not None and name in profile.show_mm:
            target = evolve(target, show_mm=profile.show_mm[name])
        zone_id, zone = zones.get(name, (None, None))
        clipped_id, clipped = clipper_only.get(name, (None, None))
        tender, cut = (UNKNOWN, None) if place is None else place
        zone, clipped = at_least_so_tender(zone, tender, name), only_cut(clipped, cut, name)
        zone_id = zone_id or (tender and tender.zone)
        clipped_id = clipped_id or (cut and cut.zone)
        regions[name] = CompiledRegion(
            id=name,
            walk_order=walk_order,
            region=region,
            growth=profile.coats[region.coat],
            groups=tuple(sorted(group for group, members in groups.items() if name in members)),
            target_id=target_id,
            target=target,
            zone_id=zone_id,
            zone=zone,
            bouts_with=None if zone_id is None else bouts.get(zone_id, zone_id),
            clipper_only_id=clipped_id,
            clipper_only=clipped,
            soiled=_soiled(clipped, place),
            hand=target if clipped is None and place is not None else None,
            place=place,
            next_to=beside[name],
            routines=tuple((routine_id, routine) for routine_id, routine, where in routines if name in where),
            rules=own,
            firing_rules=tests[key],
            methods={task: tuple(found) for task, found in by_task.items()},
        )
    hands = {name: hands_of(profile.methods, name) for name in profile.methods}
    means = {name: means_of(used) for name, used in hands.items()}
    return CompiledProfile(
        profile, profile.edition, regions, all_names(profile), means, hands, _kinds(profile, regions), {}, {}
    )
