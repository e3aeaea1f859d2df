"""What a schema cannot see in a profile: names that lead nowhere, groups that hold themselves, figures that contradict."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from coatrules.catalogue.message import message
from coatrules.conditions.condition import Condition, fact_fix, mentions
from coatrules.formats.resources import schema
from coatrules.formats.units import other_unit_fix
from coatrules.problems import Path, Problem, nearest_fix
from coatrules.profile.model import Profile
from coatrules.profile.parts import expand
from coatrules.profile.table_references import at_the_table
from coatrules.profile.targets import TARGET_FACTS

RANGED = ("lag_weeks", "mm_per_week", "grows_weeks", "full_mm", "rests_weeks", "spread")
"""Figures of a coat of which a range may be said."""
WITH_REGIONS = (
    "layer_targets",
    "blends",
    "sensitive_zones",
    "clipper_only_zones",
    "routines",
    "stations",
    "methods",
    "rules",
)
"""The sections whose parts say which regions they are about."""
OUTCOME_FACTS = ("outcome", "share", "minutes_planned", "method")
"""What a worked case may expect of a region besides its facts."""
OUTCOMES = ("worked", "deferred", "left-alone", "not-to-be-touched")
"""What can come of a region."""


def faults(profile: Profile) -> Iterator[Problem]:
    """All faults that make a profile unusable. The rest of the engine relies on there being none."""
    names = list(_names(profile))
    checks = [_coats, _methods, at_the_table, _facts, _figures, _sources]
    if not names:  # these follow groups, which must be sound for it
        checks += [_zones, _overlaps]
    found = [*names, *(problem for check in checks for problem in check(profile))]
    yield from dict.fromkeys(found)  # several ways may lead to one fault


def _unknown(profile: Profile, what: str, name: str, known: Iterable[str], path: Path, *, key: bool = False) -> Problem:
    """What to say of a name that leads nowhere; ``what``: the kinds of thing it could be, in the singular, joined by ``-or-``."""
    code, params, fix = "unknown-name", {"what": message(f"kind.{what}"), "name": name}, nearest_fix(name, known)
    for section in [f"{kind}s" for kind in what.split("-or-")]:
        if profile.origin.blank((section, name)):
            file, line, _ = profile.origin.place((section, name), key=True)
            code, params, fix = "removed-name", {"name": name, "section": section, "file": file, "line": line}, None
    return profile.origin.problem_at(path, code, params, fix=fix, key=key)


def _parts(profile: Profile) -> Iterator[tuple[Path, Sequence[str]]]:
    """Every list of regions and groups, with the path to it."""
    for section in WITH_REGIONS:
        for name, part in getattr(profile, section).items():
            if part.regions is not None:
                yield (section, name, "regions"), part.regions


def _names(profile: Profile) -> Iterator[Problem]:
    known = {*profile.regions, *profile.groups}
    for group, members in profile.groups.items():
        if group in profile.regions:
            yield profile.origin.problem_at(("groups", group), "name-twice", {"name": group}, key=True)
        for member in members:
            if member not in known:
                place = profile.origin.entry(("groups", group), member)
                yield _unknown(profile, "region-or-group", member, known, place, key=True)
    for group in profile.groups:
        if group not in profile.regions and _holds_itself(profile, group):
            yield profile.origin.problem_at(("groups", group), "group-loop", {"group": group})
    for path, part in _parts(profile):
        for member in part:
            if member not in known:
                place = profile.origin.entry(path, member)
                yield _unknown(profile, "region-or-group", member, known, place, key=True)
    for name, comparison in profile.comparisons.items():
        for key, named in (("of", comparison.of), ("to", comparison.to)):
            if named not in known:
                yield _unknown(profile, "region-or-group", named, known, ("comparisons", name, key))


def _holds_itself(profile: Profile, group: str) -> bool:
    seen: set[str] = set()
    todo = list(profile.groups[group])
    while todo:
        name = todo.pop()
        if name == group:
            return True
        if name in profile.groups and name not in seen:
            seen.add(name)
            todo.extend(profile.groups[name])
    return False


def _coats(profile: Profile) -> Iterator[Problem]:
    for name, region in profile.regions.items():
        if region.coat not in profile.coats:
            yield _unknown(profile, "coat", region.coat, profile.coats, ("regions", name, "coat"))


def _zones(profile: Profile) -> Iterator[Problem]:
    for section in ("sensitive_zones", "clipper_only_zones"):
        for name, zone in getattr(profile, section).items():
            regions = expand(profile, zone.regions)
            for other in (profile.sensitive_zones, profile.clipper_only_zones):
                if name in other and set(expand(profile, other[name].regions)) != set(regions):
                    yield profile.origin.problem_at((section, name), "zone-twice", {"zone": name}, key=True)
            namesake = expand(profile, [name]) if name in profile.regions or name in profile.groups else regions
            if set(namesake) != set(regions):
                yield profile.origin.problem_at((section, name), "zone-namesake", {"zone": name}, key=True)


def _overlaps(profile: Profile) -> Iterator[Problem]:
    for section in ("layer_targets", "sensitive_zones", "clipper_only_zones"):
        covers = {
            name: expand(profile, part.regions)
            for name, part in getattr(profile, section).items()
            if section != "layer_targets" or not part.when.facts()  # what holds at times goes before what always does
        }
        for region in profile.regions:
            holders = sorted((len(regions), name) for name, regions in covers.items() if region in regions)
            if len(holders) > 1 and holders[0][0] == holders[1][0]:
                one, two = holders[0][1], holders[1][1]
                params = {"region": region, "one": one, "two": two}
                yield profile.origin.problem_at((section, two, "regions"), "overlap", params)


def _methods(profile: Profile) -> Iterator[Problem]:
    for name, method in profile.methods.items():
        chain = [name]
        while (then := profile.methods[chain[-1]].then) is not None:
            path = ("methods", chain[-1], "then")
            if then not in profile.methods:
                yield _unknown(profile, "method", then, profile.methods, path)
                break
            if profile.methods[then].does != method.does:
                params = {"method": then, "does": profile.methods[then].does, "task": method.does}
                yield profile.origin.problem_at(path, "method-task", params)
                break
            if then in chain:
                yield profile.origin.problem_at(path, "method-loop", {"method": then})
                break
            chain.append(then)
    for name, rule in profile.rules.items():
        use = rule.then.use
        if use is not None and use not in profile.methods:
            yield _unknown(profile, "method", use, profile.methods, ("rules", name, "then", "use"))
        if rule.then.whole_dog and rule.then.refer is None:
            yield profile.origin.problem_at(("rules", name, "then", "whole_dog"), "whole-dog", key=True)


def _facts(profile: Profile) -> Iterator[Problem]:
    catalogue: Mapping[str, Any] = schema("facts")["properties"]
    for name, comparison in profile.comparisons.items():
        if name in catalogue:
            yield profile.origin.problem_at(("comparisons", name), "fact-twice", {"fact": name}, key=True)
        numeric = [fact for fact, about in catalogue.items() if about["type"] in ("number", "integer")]
        if comparison.fact not in numeric:
            params = {"fact": comparison.fact}
            fix = nearest_fix(comparison.fact, numeric)
            yield profile.origin.problem_at(("comparisons", name, "fact"), "fact-not-a-number", params, fix=fix)

    known = {*catalogue, *profile.comparisons}

    def check(condition: Condition, path: Path, extra: Sequence[str] = ()) -> Iterator[Problem]:
        for mention in mentions(condition.tree, path):
            fact = str(mention[-1])
            if fact not in known and fact not in extra:
                fix = fact_fix(fact, [*known, *extra])
                yield profile.origin.problem_at(mention, "unknown-fact", {"fact": fact}, fix=fix, key=True)

    for section in ("rules", "methods"):
        for name, part in getattr(profile, section).items():
            yield from check(part.when, (section, name, "if"))
    for name, target in profile.layer_targets.items():
        for mention in mentions(target.when.tree, ("layer_targets", name, "if")):
            if mention[-1] not in TARGET_FACTS:
                fix = nearest_fix(str(mention[-1]), TARGET_FACTS)
                yield profile.origin.problem_at(mention, "target-fact", {"fact": mention[-1]}, fix=fix, key=True)
    for name, case in profile.cases.items():
        path: Path = ("cases", name, "expect")
        for region, expected in case.expect.regions.items():
            if region not in profile.regions:
                yield _unknown(profile, "region", region, profile.regions, (*path, "regions", region), key=True)
            yield from check(expected, (*path, "regions", region), OUTCOME_FACTS)
        for key in ("rules", "not_rules"):
            for index, rule in enumerate(getattr(case.expect, key)):
                if rule not in profile.rules:
                    yield _unknown(profile, "rule", rule, profile.rules, (*path, key, index))
        for index, region in enumerate(case.expect.steps):
            if region not in profile.regions:
                yield _unknown(profile, "region", region, profile.regions, (*path, "steps", index))


def _figures(profile: Profile) -> Iterator[Problem]:
    def problem(code: str, *path: str | int, **params: object) -> Problem:
        return profile.origin.problem_at(path, code, params)

    coats = list(_figures_of_coats(profile))
    yield from coats
    wrong = {one.path[1] for one in coats}
    for name, target in profile.layer_targets.items():
        take = target.take
        if not take.low_spot <= take.usual <= take.at_most:
            shares = {"low_spot": take.low_spot, "usual": take.usual, "at_most": take.at_most}
            yield problem("figures", "layer_targets", name, "take", **shares)
        for key in ("longest_mm", "show_mm"):
            lengths_wanted = getattr(target, key)
            if lengths_wanted is not None and lengths_wanted[0] > lengths_wanted[1]:
                first, second = lengths_wanted
                yield problem("figures-lengths", "layer_targets", name, key, name=key, first=first, second=second)
        if target.show_mm is not None and target.show_mm[0] <= target.show_mm[1]:
            shown = {profile.regions[region].coat for region in expand(profile, target.regions)}
            for kind in sorted(shown & profile.coats.keys() - wrong):  # of a wrong coat the coat is the cause
                full = profile.coats[kind].full_mm
                if full < target.show_mm[0]:
                    wanted = target.show_mm[0]
                    yield problem("figures-show", "layer_targets", name, "show_mm", coat=kind, full=full, wanted=wanted)


def _figures_of_coats(profile: Profile) -> Iterator[Problem]:
    def problem(code: str, *path: str | int, **params: object) -> Problem:
        return profile.origin.problem_at(path, code, params)

    for name, coat in profile.coats.items():
        grown_mm = coat.mm_per_week * coat.grows_weeks
        if abs(coat.full_mm - grown_mm) > 0.01 * grown_mm:
            both = {"weeks": coat.grows_weeks, "grown": round(grown_mm, 1), "full": coat.full_mm}
            yield problem("figures-grown", "coats", name, "full_mm", **both)
        # The first hair to stop has to be long enough to be gripped and to hide the skin.
        shortest = (1 - coat.spread) * grown_mm
        for key in ("ready_mm", "cover_mm"):
            if getattr(coat, key) > shortest:
                lengths = {"key": key, "length": getattr(coat, key), "shortest": round(shortest, 1)}
                yield problem("figures-full", "coats", name, key, **lengths)
        for key, (low, high) in coat.ranges.items():
            if key not in RANGED:
                yield problem("figures-range-of", "coats", name, "ranges", key, figure=key, known=RANGED)
            elif not low <= getattr(coat, key) <= high:
                ends = {"figure": key, "low": low, "value": round(getattr(coat, key), 2), "high": high}
                path: Path = ("coats", name, "ranges", key)
                fix = None
                range_file = profile.origin.place(path)[0]
                if range_file != profile.origin.place(())[0]:  # the range is inherited
                    fix = other_unit_fix(key, getattr(coat, key), low, high) or message(
                        "figures-range.fix-inherited", figure=key, low=low, high=high
                    )
                if range_file != profile.origin.place(("coats", name, key))[0]:
                    path = ("coats", name, key)
                yield profile.origin.problem_at(path, "figures-range", ends, fix=fix)


def _sources(profile: Profile) -> Iterator[Problem]:
    for path, source in source_references(profile):
        if source not in profile.sources:
            yield _unknown(profile, "source", source, profile.sources, path)


def source_references(profile: Profile) -> Iterator[tuple[Path, str]]:
    """Every mention of a source, with the path to it."""
    for path, part in numbered_parts(profile):
        match part.source:
            case None:
                pass
            case str(one):
                yield (*path, "source"), one
            case tuple() as several:
                yield from (((*path, "source", index), one) for index, one in enumerate(several))
            case by_key:
                yield from (((*path, "source", key), one) for key, one in by_key.items())


def numbered_parts(profile: Profile) -> Iterator[tuple[Path, Any]]:
    """Every part of a profile that may name its source, with the path to it."""
    if profile.breed is not None:
        yield ("breed",), profile.breed
    yield ("visit",), profile.visit
    for section in ("coats", "regions", *WITH_REGIONS):
        for name, part in getattr(profile, section).items():
            yield (section, name), part
