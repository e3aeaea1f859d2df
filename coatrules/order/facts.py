"""The facts of every region on a day: what conditions ask about. Each is defined in ``schemas/facts.schema.json``."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from coatrules.coat.measures import standing
from coatrules.coat.queue import mass_of
from coatrules.coat.ripening import comes_easily
from coatrules.dog.described import described
from coatrules.dog.equivalence import once_per_class
from coatrules.dog.history import AtLeastLong, Dog, Seen
from coatrules.dog.state import DogState, RegionState
from coatrules.learning.observations import EASILY_FROM, HOLDS_UP_TO
from coatrules.profile.compiled import CompiledProfile, CompiledRegion

RegionFacts = dict[str, object]

FELT: Mapping[str, Callable[[float], float]] = {
    "easily": lambda share: max(share, EASILY_FROM),
    "mixed": lambda share: min(max(share, HOLDS_UP_TO), EASILY_FROM),
    "holds": lambda share: min(share, HOLDS_UP_TO),
}
"""What the hand's verdict today makes of a computed ripe share: it outranks it in both directions."""
_UNDERCOAT = {"none": 0.0, "some": 0.5, "full": 1.0}


def all_facts(
    compiled: CompiledProfile, dog: Dog, state: DogState, minutes: float
) -> tuple[dict[str, RegionFacts], list[Differs]]:
    """The facts of every region by its id, and where what was seen today differs from what was computed."""
    common = _dog_facts(dog, state, minutes)

    def read(name: str) -> tuple[RegionFacts, list[tuple[str, object, object]]]:
        own = state.regions[name]
        found = _region_facts(compiled.regions[name], own, state.pace.of(name), state.day) | common
        return found, _seen(own.seen, found) if own.seen is not None else []

    known = once_per_class(state.class_keys, read)
    facts = {
        name: {**found, "region": name, "groups": compiled.regions[name].groups} for name, (found, _) in known.items()
    }
    differing = [(name, *differs) for name, (_, differs_in) in known.items() for differs in differs_in]
    for name, comparison in compiled.profile.comparisons.items():
        above, below = (_mean(facts, compiled.names[part], comparison.fact) for part in (comparison.of, comparison.to))
        if above is not None and below:
            for found in facts.values():
                found[name] = above / below
    return facts, differing


Differs = tuple[str, str, object, object]
"""A region, a fact, what was computed, what was seen."""


def _dog_facts(dog: Dog, state: DogState, minutes: float) -> RegionFacts:
    facts: RegionFacts = {"visits": state.visits, "minutes": minutes, "health": state.health}
    facts |= described(dog, state.day)
    if state.show is not None:
        facts["weeks_to_show"] = (state.show.toordinal() - state.day) / 7
    if state.last_visit is not None:
        facts["weeks_since_visit"] = (state.day - state.last_visit) / 7
    if state.last_season is not None:
        facts["weeks_since_season"] = (state.day - state.last_season) / 7
    return facts


def _region_facts(region: CompiledRegion, own: RegionState, pace: float, day: int) -> RegionFacts:
    growth = own.growth
    coat = standing(own.coat, growth, pace, day)
    facts: RegionFacts = {
        "region": region.id,
        "groups": region.groups,
        "coat": region.region.coat,
        "sensitivity": sensitivity(region, own),
        "cover": coat.cover,
        "through_share": coat.through_share,
        "ready_share": coat.ready_share,
        "ripe_share": coat.ripe_share,
        "ripe_of_oldest": coat.ripe_of_oldest,
        "blown_share": coat.blown_share,
        "longest_mm": coat.longest_mm,
        "oldest_weeks": coat.oldest_weeks,
        "outline_mm": coat.outline_mm,
        "layers": coat.layers,
    }
    if coat.next_layer_weeks is not None:
        facts["next_layer_weeks"] = coat.next_layer_weeks
    if region.target is not None:
        usual = mass_of(region.target.take.usual)
        facts["comes_easily"] = comes_easily(own.coat.cohorts, growth, pace, day, usual) if coat.ripe_share else 0.0
        if region.target.cover is not None:
            facts["see_through"] = coat.cover < region.target.cover.at_least
    last = own.last
    if "pull" in last:
        facts["weeks_since_pull"] = (day - last["pull"]) / 7
    cut = max(last.get("clip", 0), last.get("scissor", 0))
    if cut:
        facts["weeks_since_cut"] = (day - cut) / 7
    if growth.undercoat_weeks is not None:
        facts["undercoat"] = 1.0
        if "card" in last:
            since = (day - last["card"]) / 7
            facts["weeks_since_card"] = since
            facts["undercoat"] = min(1.0, since / growth.undercoat_weeks)
    if own.skin is not None:
        facts["skin"] = own.skin
    if own.felt is not None:
        facts["last_comes"] = own.felt
    if own.last_reaction is not None:
        facts["last_reaction"] = own.last_reaction
    return facts


def _seen(seen: Seen, facts: RegionFacts) -> list[tuple[str, object, object]]:
    """Puts what was seen today in the place of what was computed; returns where the two differ."""
    saw: dict[str, Any] = {}
    if isinstance(seen.longest_mm, AtLeastLong):
        saw["longest_mm"] = max(seen.longest_mm.minimum, number(facts["longest_mm"]))
    elif seen.longest_mm is not None:
        saw["longest_mm"] = seen.longest_mm
    if seen.layers is not None:
        saw["layers"] = seen.layers
    if seen.see_through is not None:
        saw["see_through"] = seen.see_through
    if seen.undercoat is not None:
        saw["undercoat"] = _UNDERCOAT[seen.undercoat]
    if seen.comes is not None:
        facts["comes"] = seen.comes
        facts["ripe_of_oldest"] = FELT[seen.comes](number(facts["ripe_of_oldest"]))
        if "comes_easily" in facts:
            facts["comes_easily"] = FELT[seen.comes](number(facts["comes_easily"]))
    if seen.texture is not None:
        facts["texture"] = seen.texture
    differing = [(fact, facts[fact], value) for fact, value in saw.items() if fact in facts and facts[fact] != value]
    facts.update(saw)
    return differing


def sensitivity(region: CompiledRegion, own: RegionState) -> str:
    """How tender a region is: by its zone, or medium where this dog has shown it to be."""
    if region.zone is not None:
        return region.zone.level
    return "medium" if own.tolerance < 1 else "none"


def number(fact: object) -> float:
    """A fact that is always a number."""
    assert isinstance(fact, int | float)
    return fact


def _mean(facts: Mapping[str, RegionFacts], regions: tuple[str, ...], fact: str) -> float | None:
    values = [value for region in regions if isinstance(value := facts[region].get(fact), int | float)]
    return sum(values) / len(values) if values else None
