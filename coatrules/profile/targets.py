"""Layer targets that hold for some dogs only, or at some time of the year: which of them hold, by their ``if``."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Final

from attrs import evolve

from coatrules.profile.model import ALWAYS, LayerTarget, Profile
from coatrules.profile.parts import expand
from coatrules.read_only import ReadOnly

TARGET_FACTS: Final = ("age_weeks", "coat_type", "colour", "month", "neutered", "sex", "size", "time_of_year")
"""The facts that a target may ask for: they are known before the coat is looked at."""
MOST_CHOSEN: Final = 256


def conditional(profile: Profile) -> tuple[str, ...]:
    """Returns the targets that do not always hold."""
    return tuple(name for name, target in profile.layer_targets.items() if target.when.facts())


def with_targets(profile: Profile, facts: Mapping[str, object]) -> Profile:
    """Returns the profile with the targets alone that hold on these facts; the same one where all of them always do."""
    names = conditional(profile)
    if not names:
        return profile
    return chosen(profile, frozenset(name for name in names if profile.layer_targets[name].when.holds(facts)))


@lru_cache(MOST_CHOSEN)
def chosen(profile: Profile, holding: frozenset[str]) -> Profile:
    """Returns the profile with those of its conditional targets that are named; they go before others of as many regions."""
    covers = {name: expand(profile, target.regions) for name, target in profile.layer_targets.items()}
    targets: dict[str, LayerTarget] = {}
    for name, target in profile.layer_targets.items():
        if name in holding:
            targets[name] = evolve(target, when=ALWAYS)
        elif not target.when.facts():
            rivals = (covers[other] for other in holding if len(covers[other]) == len(covers[name]))
            left = _without(covers[name], rivals)
            if left:
                targets[name] = target if left == covers[name] else evolve(target, regions=left)
    return evolve(profile, layer_targets=ReadOnly(targets), whole=profile.edition)


def _without(regions: tuple[str, ...], rivals: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    taken = {region for rival in rivals for region in rival}
    return tuple(region for region in regions if region not in taken)
