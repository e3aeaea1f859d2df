"""Layer targets against the steady state that the profile's own shares and interval lead to (DEVELOPERS.md, "Steady state")."""

from __future__ import annotations

from collections.abc import Iterator

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
    path = ("layer_targets", name)
    if target.take.usual <= 0:
        message = "nothing is ever taken at an ordinary visit, so no layers come about"
        yield profile.origin.problem("target-unreachable", message, (*path, "take", "usual"))
        return
    reached = steady_state(growth, interval, target.take.usual)
    if reached.layers < target.layers:
        message = (
            f"{target.layers} layers are wanted, but {target.take.usual:g} of the coat every {interval:g} weeks leads to "
            f"{reached.layers} on the coat '{coat}'"
        )
        hint = _reachable_share(target, growth, interval)
        yield profile.origin.problem("target-unreachable", message, (*path, "layers"), hint=hint)
    cover = steady_cover(growth, interval, target.take.usual)
    if target.cover is not None and cover < target.cover.at_least:
        message = (
            f"a cover of {target.cover.at_least:g} is wanted, but {target.take.usual:g} of the coat every "
            f"{interval:g} weeks leaves {cover:.2f} straight after a visit on the coat '{coat}'"
        )
        hint = "A smaller share or a longer interval leaves more cover."
        yield profile.origin.problem("target-unreachable", message, (*path, "cover", "at_least"), hint=hint)
    longest = growth.length(reached.oldest_weeks)
    turn = f"when its turn comes ({reached.oldest_weeks:g} weeks) on the coat '{coat}'"

    def out_of_reach(message: str, key: str, hint: str) -> Problem:
        return profile.origin.problem("target-unreachable", message, (*path, key), hint=hint)

    later, earlier = "A smaller share or a longer interval", "A larger share or a shorter interval"
    if reached.oldest_weeks >= growth.blown_weeks:
        message = f"hair is blown at {growth.blown_weeks:g} weeks, so it is dead and loose {turn}"
        yield out_of_reach(message, "take", f"{earlier} takes it earlier.")
    elif longest < growth.ready_mm:
        message = f"hair can be pulled at {growth.ready_mm:g} mm, but it is {longest:.0f} mm {turn}"
        yield out_of_reach(message, "take", f"{later} lets it grow.")
    if target.longest_mm is not None and longest > target.longest_mm[1]:
        message = f"the outline should stay within {target.longest_mm[1]:g} mm, but the oldest hair is {longest:.0f} mm {turn}"
        yield out_of_reach(message, "longest_mm", f"{earlier} takes it earlier.")
    if target.longest_mm is not None and longest < target.longest_mm[0]:
        message = (
            f"the outline should reach {target.longest_mm[0]:g} mm, but the oldest hair is {longest:.0f} mm {turn}"
        )
        yield out_of_reach(message, "longest_mm", f"{later} lets it grow.")


def _reachable_share(target: LayerTarget, growth: Growth, interval: float) -> str:
    for visits in range(2, 41):
        if steady_state(growth, interval, 1 / visits).layers >= target.layers:
            return f"{1 / visits:.3f} (1 in {visits}) would reach {target.layers}."
    return "No share reaches that many at this interval: ask for fewer, or come less often."


def steady_cover(growth: Growth, interval: float, share: float) -> float:
    """Returns the cover straight after a visit in the steady state: hair 0, 1, 2, ... intervals old, ``share`` of each."""
    remaining, cover, age = 1.0, 0.0, 0
    while remaining > 1e-9:
        pulled = min(share, remaining)
        cover += pulled * min(1.0, growth.length(age * interval) / growth.cover_mm)
        remaining -= pulled
        age += 1
    return cover
