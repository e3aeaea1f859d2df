"""What a schema cannot see in a profile: names that lead nowhere, groups that hold themselves, figures that contradict."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any

from coatrules.conditions.condition import Condition
from coatrules.formats.resources import schema
from coatrules.problems import Path, Problem, nearest
from coatrules.profile.compiled import expand
from coatrules.profile.model import Profile

OUTCOME_FACTS = ("outcome", "share", "minutes_planned", "method")
"""What a worked case may expect of a region besides its facts."""


def faults(profile: Profile) -> Iterator[Problem]:
    """All faults that make a profile unusable. The rest of the engine relies on there being none."""
    names = list(_names(profile))
    checks = [_coats, _methods, _facts, _figures, _sources]
    if not names:  # these follow groups, which must be sound for it
        checks += [_zones, _overlaps]
    found = [*names, *(problem for check in checks for problem in check(profile))]
    yield from dict.fromkeys(found)  # several ways may lead to one fault


def _unknown(profile: Profile, what: str, name: str, known: Iterable[str], path: Path, *, key: bool = False) -> Problem:
    hint = nearest(name, known) or f"This profile has no {what} yet: write one, or take this name out."
    for section in [f"{kind}s" for kind in what.split(" or ")]:
        if profile.origin.blank((section, name)):
            file, line, _ = profile.origin.place((section, name), key=True)
            hint = f"'{name}' is taken away under '{section}' in {file}, line {line}: keep it, or name another here."
    return profile.origin.problem("unknown-name", f"there is no {what} '{name}'", path, hint=hint, key=key)


def _parts(profile: Profile) -> Iterator[tuple[Path, Sequence[str]]]:
    """Every list of regions and groups, with the path to it."""
    for section in ("layer_targets", "sensitive_zones", "clipper_only_zones", "routines", "methods", "rules"):
        for name, part in getattr(profile, section).items():
            if part.regions is not None:
                yield (section, name, "regions"), part.regions


def _names(profile: Profile) -> Iterator[Problem]:
    known = {*profile.regions, *profile.groups}
    for group, members in profile.groups.items():
        if group in profile.regions:
            message = f"'{group}' is the name of a region and of a group"
            hint = "Give one of them another name."
            yield profile.origin.problem("name-twice", message, ("groups", group), hint=hint, key=True)
        for index, member in enumerate(members):
            if member not in known:
                yield _unknown(profile, "region or group", member, known, ("groups", group, index))
    for group in profile.groups:
        if group not in profile.regions and _holds_itself(profile, group):
            hint = "Take out the name that leads back to it."
            message = f"the group '{group}' holds itself"
            yield profile.origin.problem("group-loop", message, ("groups", group), hint=hint)
    for path, part in _parts(profile):
        for index, member in enumerate(part):
            if member not in known:
                yield _unknown(profile, "region or group", member, known, (*path, index))
    for name, comparison in profile.comparisons.items():
        for key, named in (("of", comparison.of), ("to", comparison.to)):
            if named not in known:
                yield _unknown(profile, "region or group", named, known, ("comparisons", name, key))


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
                    message = f"the two zones called '{name}' cover different regions"
                    hint = "Give one of them another name, or let both cover the same."
                    yield profile.origin.problem("name-twice", message, (section, name), hint=hint, key=True)
            namesake = expand(profile, [name]) if name in profile.regions or name in profile.groups else regions
            if set(namesake) != set(regions):
                message = f"the zone '{name}' has the name of a region or group but covers other regions"
                hint = "Give the zone a name of its own, or let it cover just that part."
                yield profile.origin.problem("name-twice", message, (section, name), hint=hint, key=True)


def _overlaps(profile: Profile) -> Iterator[Problem]:
    for section in ("layer_targets", "sensitive_zones", "clipper_only_zones"):
        covers = {name: expand(profile, part.regions) for name, part in getattr(profile, section).items()}
        for region in profile.regions:
            holders = sorted((len(regions), name) for name, regions in covers.items() if region in regions)
            if len(holders) > 1 and holders[0][0] == holders[1][0]:
                one, two = holders[0][1], holders[1][1]
                message = (
                    f"'{region}' is in '{one}' and in '{two}', and both cover as many regions: which holds is not clear"
                )
                hint = f"Take '{region}' out of one of them; where one part is smaller, the smaller one holds."
                yield profile.origin.problem("overlap", message, (section, two, "regions"), hint=hint)


def _methods(profile: Profile) -> Iterator[Problem]:
    for name, method in profile.methods.items():
        chain = [name]
        while (then := profile.methods[chain[-1]].then) is not None:
            path = ("methods", chain[-1], "then")
            if then not in profile.methods:
                yield _unknown(profile, "method", then, profile.methods, path)
                break
            if profile.methods[then].does != method.does:
                message = f"'{then}' is for another task ({profile.methods[then].does}), so it cannot follow here"
                hint = f"Name a method that does {method.does}, or take 'then' out."
                yield profile.origin.problem("method-task", message, path, hint=hint)
                break
            if then in chain:
                hint = "Take 'then' out of the last of them."
                yield profile.origin.problem("method-loop", f"the method '{then}' follows itself", path, hint=hint)
                break
            chain.append(then)
    for name, rule in profile.rules.items():
        use = rule.then.use
        if use is not None and use not in profile.methods:
            yield _unknown(profile, "method", use, profile.methods, ("rules", name, "then", "use"))
        if rule.then.whole_dog and rule.then.refer is None:
            message = "'whole_dog' says how far 'refer' reaches, and there is no 'refer' here"
            hint = "Add 'refer:' with what to say, or take 'whole_dog' out."
            yield profile.origin.problem(
                "whole-dog", message, ("rules", name, "then", "whole_dog"), hint=hint, key=True
            )


def _facts(profile: Profile) -> Iterator[Problem]:
    catalogue: Mapping[str, Any] = schema("facts")["properties"]
    for name, comparison in profile.comparisons.items():
        if name in catalogue:
            message = f"'{name}' is the name of a fact already"
            hint = "Give the comparison another name."
            yield profile.origin.problem("name-twice", message, ("comparisons", name), hint=hint, key=True)
        numeric = [fact for fact, about in catalogue.items() if about["type"] in ("number", "integer")]
        if comparison.fact not in numeric:
            hint = nearest(comparison.fact, numeric)
            message = f"'{comparison.fact}' is not a fact that can be compared: it must be a number"
            yield profile.origin.problem("unknown-fact", message, ("comparisons", name, "fact"), hint=hint)

    known = {*catalogue, *profile.comparisons}

    def check(condition: Condition, path: Path, extra: Sequence[str] = ()) -> Iterator[Problem]:
        for mention in _mentions(condition.tree, path):
            fact = str(mention[-1])
            if fact not in known and fact not in extra:
                message = f"there is no fact or comparison '{fact}'"
                hint = nearest(fact, [*known, *extra])
                yield profile.origin.problem("unknown-fact", message, mention, hint=hint, key=True)

    for section in ("rules", "methods"):
        for name, part in getattr(profile, section).items():
            yield from check(part.when, (section, name, "if"))
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


def _mentions(condition: Mapping[str, Any], path: Path) -> Iterator[Path]:
    """Every fact that a condition names, with the path to it."""
    for name, part in condition.items():
        if name in ("anyOf", "allOf"):
            for index, one in enumerate(part):
                yield from _mentions(one, (*path, name, index))
        elif name == "not":
            yield from _mentions(part, (*path, name))
        else:
            yield (*path, name)


def _figures(profile: Profile) -> Iterator[Problem]:
    def problem(message: str, *path: str | int, hint: str = "") -> Problem:
        return profile.origin.problem("figures", message, path, hint=hint)

    for name, coat in profile.coats.items():
        if coat.blown_weeks <= coat.breakthrough_weeks:
            hint = f"Write more than breakthrough_weeks, which is {coat.breakthrough_weeks:g}."
            yield problem("hair cannot be blown before it has broken through", "coats", name, "blown_weeks", hint=hint)
        if coat.ready_mm > coat.full_mm:
            message = f"hair that stops growing at {coat.full_mm:g} mm (full_mm) never gets to {coat.ready_mm:g} mm"
            yield problem(message, "coats", name, "ready_mm", hint="Write less here, or a longer full_mm.")
        if coat.cover_mm > coat.full_mm:
            message = f"hair that stops growing at {coat.full_mm:g} mm (full_mm) never gets to {coat.cover_mm:g} mm"
            yield problem(message, "coats", name, "cover_mm", hint="Write less here, or a longer full_mm.")
    for name, target in profile.layer_targets.items():
        take = target.take
        if not take.low_spot <= take.usual <= take.at_most:
            message = f"low_spot {take.low_spot:g}, usual {take.usual:g} and at_most {take.at_most:g} do not rise"
            hint = "low_spot is the least, then usual, then at_most."
            yield problem(message, "layer_targets", name, "take", hint=hint)
        if target.longest_mm is not None and target.longest_mm[0] > target.longest_mm[1]:
            message = "the first of the two lengths is longer than the second"
            hint = "Write the shortest silhouette first, then the longest."
            yield problem(message, "layer_targets", name, "longest_mm", hint=hint)
        if target.show_mm is not None and target.show_mm[0] > target.show_mm[1]:
            message = "the first of the two lengths is longer than the second"
            hint = "Write the shortest hair wanted at a show first, then the longest."
            yield problem(message, "layer_targets", name, "show_mm", hint=hint)
        elif target.show_mm is not None:
            shown = {profile.regions[region].coat for region in expand(profile, target.regions)}
            for kind in sorted(shown & profile.coats.keys()):
                full = profile.coats[kind].full_mm
                if full < target.show_mm[0]:
                    message = f"the coat '{kind}' stops growing at {full:g} mm and never gets so long"
                    hint = "Ask for a shorter coat at the show, or set full_mm of the coat higher."
                    yield problem(message, "layer_targets", name, "show_mm", hint=hint)


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
    sections = (
        "coats",
        "regions",
        "layer_targets",
        "sensitive_zones",
        "clipper_only_zones",
        "routines",
        "methods",
        "rules",
    )
    for section in sections:
        for name, part in getattr(profile, section).items():
            yield (section, name), part
