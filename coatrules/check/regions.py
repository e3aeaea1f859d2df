"""Regions that nothing is asked of, and targets, zones and minutes that hold nowhere."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from math import ceil
from typing import Final

from coatrules.catalogue.message import message
from coatrules.check.subject import Subject
from coatrules.formats.values import Level
from coatrules.problems import Problem
from coatrules.profile.floor import DAY_MINUTES

_LEVELS: Final[tuple[Level, ...]] = ("low", "medium", "high")


def unworked(subject: Subject) -> Iterator[Problem]:
    """Regions in no layer target, no clipper-only zone and no routine: nothing is ever done there."""
    if subject.is_base:
        return
    inherited = []
    for name, region in subject.compiled.regions.items():
        added = any(rule.then.add for _, rule in region.rules)
        if region.target is None and region.clipper_only is None and not region.routines and not added:
            if not subject.is_own("regions", name):
                inherited.append(name)
                continue
            yield subject.problem("region-unworked", {"regions": (name,), "count": 1}, "regions", name, key=True)
    if inherited:  # one finding, at the place where it can be fixed
        params = {"regions": tuple(inherited), "count": len(inherited)}
        yield subject.problem("region-unworked", params, "layer_targets", key=True)


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
            holds_at_times = section == "layer_targets" and subject.profile.layer_targets[name].when.facts()
            if subject.is_own(section, name) and not counts[name] and not holds_at_times:
                yield subject.problem("part-hidden", {"part": name}, section, name, key=True)
    for name, target in subject.profile.layer_targets.items():
        for region in target.regions:
            where = subject.regions((region,))
            if all(member.clipper_only is not None for member in where) and subject.is_own("layer_targets", name):
                path = subject.profile.origin.entry(("layer_targets", name, "regions"), region)
                yield subject.problem("target-on-clipper", {"target": name, "region": region}, *path)


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
            larger = {"around": around[0], "around_level": zones[around[0]].level}
            params = {"zone": name, "level": zone.level, **larger}
            yield subject.problem("zone-loosens", params, "sensitive_zones", name, "level")


def minutes(subject: Subject) -> Iterator[Problem]:
    """Work that has no minutes, and minutes for work that never comes up."""
    if subject.is_base:
        return
    for name, region in subject.compiled.regions.items():
        task = "clip" if region.clipper_only is not None else "pull" if region.target is not None else None
        if task is not None and task not in region.region.minutes:
            yield subject.problem("minutes-missing", {"task": task, "region": name}, "regions", name, key=True)
        tasks = subject.tasks(region)
        for kind in region.region.minutes:
            if kind not in tasks and subject.is_own("regions", name, "minutes", kind):
                params = {"region": name, "task": kind}
                yield subject.problem("minutes-idle", params, "regions", name, "minutes", kind, key=True)


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
        by_task = sorted(spent.items(), key=lambda item: -item[1])
        params = {
            "minutes": visit.minutes,
            "every_weeks": visit.every_weeks,
            "needed": ceil(needed),
            "tasks": tuple(message("visit.minutes-of-task", minutes=round(took), task=task) for task, took in by_task),
        }
        yield subject.problem("visit-too-short", params, "visit", "minutes")
