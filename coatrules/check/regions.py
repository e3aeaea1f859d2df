"""Regions that nothing is asked of, and targets, zones and minutes that hold nowhere."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from typing import Final

from coatrules.check.subject import Subject, in_words
from coatrules.formats.values import Level
from coatrules.problems import Problem
from coatrules.profile.floor import DAY_MINUTES

_LEVELS: Final[tuple[Level, ...]] = ("low", "medium", "high")


def unworked(subject: Subject) -> Iterator[Problem]:
    """Regions in no layer target, no clipper-only zone and no routine: nothing is ever done there."""
    if subject.is_base:
        return
    inherited = []
    hint = "Put each, or a group that holds it, in one of them; a region that is not wanted is taken out with 'null'."
    for name, region in subject.compiled.regions.items():
        added = any(rule.then.add for _, rule in region.rules)
        if region.target is None and region.clipper_only is None and not region.routines and not added:
            if not subject.is_own("regions", name):
                inherited.append(name)
                continue
            message = f"nothing is ever done on '{name}': it is in no layer target, no clipper-only zone and no routine"
            yield subject.problem("region-unworked", message, "regions", name, hint=hint, key=True)
    if inherited:  # one finding, at the place where it can be mended
        where = in_words(inherited, most=30)
        message = (
            f"nothing is ever done on these: they are in no layer target, no clipper-only zone and no routine: {where}"
        )
        yield subject.problem("region-unworked", message, "layer_targets", hint=hint, key=True)


def hidden_parts(subject: Subject) -> Iterator[Problem]:
    """Layer targets and zones that hold for no region, as smaller ones or the clipper have them all."""
    regions = subject.compiled.regions.values()
    region_counts = {
        "layer_targets": Counter(region.target_id for region in regions if region.target is not None),
        "sensitive_zones": Counter(region.zone_id for region in regions if region.zone is not None),
        "clipper_only_zones": Counter(region.clipper_only_id for region in regions if region.clipper_only is not None),
    }
    for section, counts in region_counts.items():
        for name in getattr(subject.profile, section):
            if subject.is_own(section, name) and not counts[name]:
                message = f"'{name}' holds for no region: every one of its regions is in a smaller one"
                hint = "Where a region is in two, the one that covers fewer regions holds. Take it out, or change 'regions'."
                yield subject.problem("part-hidden", message, section, name, hint=hint, key=True)
    for name, target in subject.profile.layer_targets.items():
        for index, region in enumerate(target.regions):
            where = subject.regions((region,))
            if all(member.clipper_only is not None for member in where) and subject.is_own("layer_targets", name):
                message = f"the target '{name}' asks for hand work on '{region}', where only the clipper may go"
                hint = "Take it out of the target, or out of the clipper-only zone."
                yield subject.problem("target-on-clipper", message, "layer_targets", name, "regions", index, hint=hint)


def loosening_zones(subject: Subject) -> Iterator[Problem]:
    """Sensitive zones that make a region less tender than a larger zone around it does: the smaller one holds."""
    zones = subject.profile.sensitive_zones
    covers = {name: {region.id for region in subject.regions(zone.regions)} for name, zone in zones.items()}
    for name, zone in zones.items():
        around = [
            other
            for other in zones
            if covers[name] < covers[other] and _LEVELS.index(zones[other].level) > _LEVELS.index(zone.level)
        ]
        if around and subject.is_own("sensitive_zones", name):
            message = f"'{name}' is {zone.level}, but lies in '{around[0]}', which is {zones[around[0]].level}: the smaller holds"
            hint = "A place within a tender place is as tender: raise its level, or take it out of the larger zone."
            yield subject.problem("zone-loosens", message, "sensitive_zones", name, "level", hint=hint)


def minutes(subject: Subject) -> Iterator[Problem]:
    """Work that has no minutes, and minutes for work that never comes up."""
    if subject.is_base:
        return
    for name, region in subject.compiled.regions.items():
        task = "clip" if region.clipper_only is not None else "pull" if region.target is not None else None
        if task is not None and task not in region.region.minutes:
            message = f"how long it takes to {task} '{name}' is not said, so it counts as half a minute"
            hint = f"Add 'minutes: {{{task}: ...}}': for the whole region, both sides together."
            yield subject.problem("minutes-missing", message, "regions", name, hint=hint, key=True)
        tasks = subject.tasks(region)
        for kind in region.region.minutes:
            if kind not in tasks and subject.is_own("regions", name, "minutes", kind):
                message = f"'{name}' has minutes for '{kind}', which is never done there"
                hint = "Take them out, or give the region a target, zone or routine for it."
                yield subject.problem("minutes-idle", message, "regions", name, "minutes", kind, hint=hint, key=True)


def visit_too_short(subject: Subject) -> Iterator[Problem]:
    """A usual visit that is shorter than the work that one interval makes, on average, rests not counted. One as long as a dog
    stands on the table in a day cannot be longer: what is left of the work goes to another day."""
    visit = subject.profile.visit
    if visit.minutes >= DAY_MINUTES:
        return
    spent: dict[str, float] = defaultdict(float)
    for region in subject.compiled.regions.values():
        times = region.region.minutes
        if region.clipper_only is not None:
            spent["clip"] += times.get("clip", 0) * min(1, visit.every_weeks / region.clipper_only.every_weeks)
        elif region.target is not None:
            spent["pull"] += times.get("pull", 0) * region.target.take.usual
        undercoat = region.growth.undercoat_weeks
        if undercoat is not None:
            spent["card"] += times.get("card", 0) * min(1, visit.every_weeks / undercoat)
        for _, routine in region.routines:
            spent[routine.task] += routine.minutes * min(1, visit.every_weeks / routine.every_weeks)
    needed = sum(spent.values())
    if needed > visit.minutes:
        parts = in_words(
            [f"{minutes:.0f} to {task}" for task, minutes in sorted(spent.items(), key=lambda item: -item[1])]
        )
        message = f"a usual visit has {visit.minutes:g} minutes, but the work of {visit.every_weeks:g} weeks takes {needed:.0f} ({parts})"
        hint = "Allow more minutes, take smaller shares, or look at the regions' minutes."
        yield subject.problem("visit-too-short", message, "visit", "minutes", hint=hint)
