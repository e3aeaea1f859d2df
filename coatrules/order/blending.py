"""Neighbouring parts held within a limit of each other, so that no step shows where they meet: of one no more is pulled than of the
others and the limit together, and no outline is left shorter than the others by more than the limit. More is never pulled for it."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from functools import lru_cache
from math import inf
from typing import NamedTuple

from coatrules.coat.growth import Growth
from coatrules.coat.measures import mass_longer, surface
from coatrules.coat.queue import WHOLE, Coat, longest_pulled, mass_of
from coatrules.dog.safety import Stage
from coatrules.dog.state import DogState
from coatrules.order.reasons import Reason
from coatrules.order.verdicts import Verdict
from coatrules.profile.compiled import MOST_READY, CompiledProfile
from coatrules.profile.model import Profile
from coatrules.profile.parts import expand


class Held(NamedTuple):
    """Regions of which no two are pulled by shares further apart than ``within`` (parts per million), and no two left with outlines
    further apart than ``within_mm``."""

    regions: tuple[str, ...]
    within: int
    within_mm: float = inf


class BlendedCoat(NamedTuple):
    """A coat on a day (an ordinal), from which hair is pulled so that it runs into those beside it."""

    coat: Coat
    growth: Growth
    pace: float
    day: int

    def outline_mm(self, mass: int) -> float:
        """Returns the outline that is left where a mass (parts per million) is pulled."""
        left = longest_pulled(self.coat, self.growth, self.pace, self.day, mass)
        return surface(left, self.growth, self.pace, self.day).outline_mm

    def most(self, mass: int, least_mm: float) -> int:
        """Returns the most of a mass that leaves so long an outline; loose hair goes in any case."""
        keeps, breaks = min(mass, mass_longer(self.coat, self.growth, self.pace, self.day, inf)), mass + 1
        while breaks - keeps > 1:
            middle = (keeps + breaks) // 2
            keeps, breaks = (middle, breaks) if self.outline_mm(middle) >= least_mm else (keeps, middle)
        return keeps


@lru_cache(MOST_READY)
def held_together(profile: Profile) -> tuple[Held, ...]:
    """Returns the regions that a profile's blends hold together."""
    return tuple(
        Held(expand(profile, blend.regions), mass_of(blend.within), inf if blend.within_mm is None else blend.within_mm)
        for blend in profile.blends.values()
    )


def blended(
    compiled: CompiledProfile, state: DogState, verdicts: Mapping[str, Verdict], stage: Stage
) -> dict[str, Verdict]:
    """Returns the verdicts with what is pulled held by the profile's blends: it is only ever made less. A coat that comes out whole and
    a place where the dog said stop go their own way."""
    held = held_together(compiled.profile)
    if not held or stage != "grown":
        return dict(verdicts)

    def coat(name: str) -> BlendedCoat | None:
        own, target = state.regions[name], compiled.regions[name].target
        if target is None or target.full_strip or own.last_reaction == "stop":
            return None
        return BlendedCoat(own.coat, own.growth, state.pace.of(name), state.day)

    pulled = dict(_pulled(verdicts))
    masses = held_back(pulled, held, coat)
    return {
        name: _reduced(verdict, masses[name]) if masses.get(name) != pulled.get(name) else verdict
        for name, verdict in verdicts.items()
    }


def held_back(
    pulled: Mapping[str, int], held: Collection[Held], coat_of: Callable[[str], BlendedCoat | None]
) -> dict[str, int]:
    """Returns the largest masses (parts per million), none above what is ``pulled``, that keep all limits. ``coat_of``: the coat of a
    region, pulled or not; None where it goes its own way."""
    coats = {name: coat for one in held for name in one.regions if (coat := coat_of(name)) is not None}
    masses = {name: mass for name, mass in pulled.items() if name in coats}
    before = None
    while before != masses:
        before = dict(masses)
        masses = evened(masses, held)
        for regions, _, within_mm in held:
            if within_mm < inf:
                outlines = {name: coats[name].outline_mm(masses.get(name, 0)) for name in regions if name in coats}
                least_mm = max(outlines.values(), default=0.0) - within_mm
                for name, outline in outlines.items():
                    if outline < least_mm and name in masses:
                        masses[name] = coats[name].most(masses[name], least_mm)
    return {**pulled, **masses}


def _pulled(verdicts: Mapping[str, Verdict]) -> Iterator[tuple[str, int]]:
    for name, verdict in verdicts.items():
        yield from ((name, task.mass) for task in verdict.tasks if task.kind == "pull")


def evened(pulled: Mapping[str, int], held: Collection[Held]) -> dict[str, int]:
    """Returns the largest masses (parts per million), none above what is ``pulled``, that keep all limits of shares."""
    masses = dict(pulled)
    before = None
    while before != masses:
        before = dict(masses)
        for regions, within, _ in held:
            there = [name for name in regions if name in masses]
            least = min((masses[name] for name in there), default=0)
            for name in there:
                masses[name] = min(masses[name], least + within)
    return masses


def _reduced(verdict: Verdict, mass: int) -> Verdict:
    reason = Reason(rule="coat.blended", facts={"share": mass / WHOLE})
    tasks = [
        task._replace(mass=mass, minutes=task.minutes * mass / task.mass, because=(*task.because, reason))
        if task.kind == "pull"
        else task
        for task in verdict.tasks
    ]
    return verdict._replace(tasks=tuple(tasks))


def joined_targets(profile: Profile, target_of: Mapping[str, str]) -> dict[str, frozenset[str]]:
    """Returns for each layer target those that blends join it to, itself among them; ``target_of``: the target of each region. When
    the time is short their shares are reduced by the same part, so that they stay within their limits."""
    joined = {target: frozenset([target]) for target in target_of.values()}
    for regions, *_ in held_together(profile):
        targets = {target_of[name] for name in regions if name in target_of}
        whole = frozenset().union(*(joined[target] for target in targets))
        joined |= dict.fromkeys(whole, whole)
    return joined
