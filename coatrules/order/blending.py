"""Neighbouring parts held within a limit of each other: no more is pulled of one than of the others and the limit together, so
that no step shows where they meet."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from functools import lru_cache
from typing import NamedTuple

from coatrules.coat.queue import WHOLE, mass_of
from coatrules.dog.safety import Stage
from coatrules.dog.state import DogState
from coatrules.order.reasons import Reason
from coatrules.order.verdicts import Verdict
from coatrules.profile.compiled import MOST_READY, CompiledProfile
from coatrules.profile.model import Profile
from coatrules.profile.parts import expand


class Held(NamedTuple):
    """Regions of which no two are pulled by shares further apart than ``within`` (parts per million)."""

    regions: tuple[str, ...]
    within: int


@lru_cache(MOST_READY)
def held_together(profile: Profile) -> tuple[Held, ...]:
    """Returns the regions that a profile's blends hold together."""
    return tuple(Held(expand(profile, blend.regions), mass_of(blend.within)) for blend in profile.blends.values())


def blended(
    compiled: CompiledProfile, state: DogState, verdicts: Mapping[str, Verdict], stage: Stage
) -> dict[str, Verdict]:
    """Returns the verdicts with what is pulled held by the profile's blends: it is only ever made less. A coat that comes out whole and
    a place where the dog said stop go their own way."""
    held = held_together(compiled.profile)
    if not held or stage != "grown":
        return dict(verdicts)
    pulled = dict(_pulled(compiled, state, verdicts))
    shares = evened(pulled, held)
    return {
        name: _reduced(verdict, shares[name]) if shares.get(name) != pulled.get(name) else verdict
        for name, verdict in verdicts.items()
    }


def _pulled(compiled: CompiledProfile, state: DogState, verdicts: Mapping[str, Verdict]) -> Iterator[tuple[str, int]]:
    for name, verdict in verdicts.items():
        target = compiled.regions[name].target
        if target is None or target.full_strip or state.regions[name].last_reaction == "stop":
            continue
        yield from ((name, task.mass) for task in verdict.tasks if task.kind == "pull")


def evened(pulled: Mapping[str, int], held: Collection[Held]) -> dict[str, int]:
    """Returns the largest masses (parts per million), none above what is ``pulled``, that keep all limits."""
    masses = dict(pulled)
    before = None
    while before != masses:
        before = dict(masses)
        for regions, within in held:
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
    for regions, _ in held_together(profile):
        targets = {target_of[name] for name in regions if name in target_of}
        whole = frozenset().union(*(joined[target] for target in targets))
        joined |= dict.fromkeys(whole, whole)
    return joined
