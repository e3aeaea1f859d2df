"""Layer targets against the steady state that the profile's own shares and interval lead to (DEVELOPERS.md, "Steady state")."""

from __future__ import annotations

from collections.abc import Iterator

from coatrules.catalogue.message import Message, message
from coatrules.check.subject import Subject
from coatrules.coat.growth import Growth
from coatrules.coat.measures import steady_state
from coatrules.problems import Problem
from coatrules.profile.model import LayerTarget, Profile


def unreachable_targets(subject: Subject) -> Iterator[Problem]:
    """Targets that the profile's own shares and interval can never reach, with the figures that would."""
    profile = subject.profile
    interval = profile.visit.every_weeks
    checked: set[tuple[str, str]] = set()
    for region in subject.compiled.regions.values():
        if region.hand is None:
            continue
        name, target = str(region.target_id), region.hand
        if target.full_strip or (name, region.region.coat) in checked:
            continue
        checked.add((name, region.region.coat))
        yield from _layers(profile, name, target, region.region.coat, region.growth, interval)


def _layers(
    profile: Profile, name: str, target: LayerTarget, coat: str, growth: Growth, interval: float
) -> Iterator[Problem]:
    def out_of_reach(why: Message, fix: Message, *path: str) -> Problem:
        params = {"target": name, "why": why}
        return profile.origin.problem_at(("layer_targets", name, *path), "target-unreachable", params, fix=fix)

    if target.take.usual <= 0:
        yield out_of_reach(message("unreachable.nothing-taken"), message("fix.take-something"), "take", "usual")
        return
    usual = {"share": target.take.usual, "every_weeks": interval, "coat": coat}
    reached = steady_state(growth, interval, target.take.usual)
    if reached.layers < target.layers:
        why = message("unreachable.layers", **usual, layers=target.layers, reached=reached.layers)
        yield out_of_reach(why, _more_layers(target.layers, growth, interval), "layers")
    cover = steady_cover(growth, interval, target.take.usual)
    if target.cover is not None and cover < target.cover.at_least:
        why = message("unreachable.cover", **usual, cover=target.cover.at_least, reached=cover)
        yield out_of_reach(why, message("fix.more-cover"), "cover", "at_least")
    longest = growth.length(reached.oldest_weeks)
    turn = {"coat": coat, "oldest_weeks": reached.oldest_weeks}
    earlier, later = message("fix.earlier"), message("fix.later")
    if reached.oldest_weeks >= growth.blown_weeks:
        yield out_of_reach(message("unreachable.blown", **turn, blown_weeks=growth.blown_weeks), earlier, "take")
    elif longest < growth.ready_mm:
        why = message("unreachable.not-ready", **turn, ready_mm=growth.ready_mm, reached_mm=longest)
        yield out_of_reach(why, later, "take")
    if target.longest_mm is not None and longest > target.longest_mm[1]:
        why = message("unreachable.too-long", **turn, longest_mm=target.longest_mm[1], reached_mm=longest)
        yield out_of_reach(why, earlier, "longest_mm")
    if target.longest_mm is not None and longest < target.longest_mm[0]:
        why = message("unreachable.too-short", **turn, longest_mm=target.longest_mm[0], reached_mm=longest)
        yield out_of_reach(why, later, "longest_mm")


def _more_layers(layers: int, growth: Growth, interval: float) -> Message:
    """Returns the share that gives so many layers; where none does, the nearest interval at which one would."""
    if visits := _visits_for(layers, growth, interval):
        return message("fix.share-for-layers", share=round(1 / visits, 3), visits=visits)
    most = max((count for _, count in _rounds(growth, interval)), default=0)
    if not most:
        return message("fix.blown-before-its-turn")
    intervals = sorted((half / 2 for half in range(1, 105)), key=lambda weeks: abs(weeks - interval))
    for weeks in intervals:
        if visits := _visits_for(layers, growth, weeks):
            code = "fix.more-often-for-layers" if weeks < interval else "fix.less-often-for-layers"
            return message(code, layers=most, share=round(1 / visits, 3), visits=visits, every_weeks=weeks)
    return message("fix.fewer-layers", layers=most)


def _visits_for(layers: int, growth: Growth, interval: float) -> int | None:
    """Returns the fewest visits in which the coat may be taken once so that it has so many layers; None if none do."""
    return next((visits for visits, count in _rounds(growth, interval) if count >= layers), None)


def _rounds(growth: Growth, interval: float) -> Iterator[tuple[int, int]]:
    """Yields the layers by the visits in which the whole coat is taken once, as long as no hair is blown before its turn."""
    for visits in range(2, 41):
        reached = steady_state(growth, interval, 1 / visits)
        if reached.oldest_weeks >= growth.blown_weeks:
            return
        yield visits, reached.layers


def steady_cover(growth: Growth, interval: float, share: float) -> float:
    """Returns the cover straight after a visit in the steady state: hair 0, 1, 2, ... intervals old, ``share`` of each."""
    remaining, cover, age = 1.0, 0.0, 0
    while remaining > 1e-9:
        pulled = min(share, remaining)
        cover += pulled * min(1.0, growth.length(age * interval) / growth.cover_mm)
        remaining -= pulled
        age += 1
    return cover
