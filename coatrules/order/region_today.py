"""A region on the day of the work, as its verdict, its share and its priority are read off it."""

from __future__ import annotations

from collections.abc import Callable

from coatrules.dog.safety import Stage
from coatrules.dog.state import DogState, RegionState
from coatrules.order.facts import RegionFacts
from coatrules.order.pulled_lately import Lately, counts_for, pulled_lately
from coatrules.order.reasons import Reason
from coatrules.profile.compiled import CompiledProfile, CompiledRegion
from coatrules.profile.floor import HANDLED_ONLY
from coatrules.profile.model import Effect


class RegionToday:
    """What the profile asks of a region, what is known of it, and which rules fire.

    ``acting`` are the rules that fire and do more than raise or lower its priority. ``stops`` is how far health stops the work
    (None: not at all), ``beside`` names the unsound places next to it. ``grows_until``: the day (an ordinal) up to which nothing is
    pulled of a clipped coat, but stripped out whole then; None for any other.
    """

    def __init__(
        self,
        compiled: CompiledProfile,
        region: CompiledRegion,
        state: DogState,
        facts: RegionFacts,
        fired: list[tuple[Effect, Reason]],
        stops: str | None,
        stage: Stage,
        grows_until: int | None = None,
    ) -> None:
        self.compiled, self.region, self.facts, self.stops, self.stage = compiled, region, facts, stops, stage
        self.beside = tuple(compiled.regions[name].region.label for name in state.margins.get(region.id, ()))
        self.grows_until = grows_until
        self.day, self.first_visit, self.born = state.day, state.first_visit, state.born
        self.own: RegionState = state.regions[region.id]
        self.lately = (
            Lately() if region.target is None else pulled_lately(compiled, state, region.target, self.own.coat)
        )
        self.pace, self.speed = state.pace.of(region.id), state.speed.of(region.id)
        self.fired = fired
        self.acting = [(effect, reason) for effect, reason in fired if effect.acts]

    @property
    def is_calm(self) -> bool:
        """Whether it is no tender part, and none where a puppy is only handled."""
        return self.facts["sensitivity"] == "none" and self.region.id not in HANDLED_ONLY

    @property
    def held_since(self) -> int | None:
        """The day (an ordinal), less than an interval ago, on which its hair was felt to hold, if no hand has felt it again today."""
        own = self.own
        if own.felt != "holds" or own.felt_day is None or "comes" in self.facts:
            return None
        return own.felt_day if counts_for(self.compiled, self.day - own.felt_day) else None

    def because_of(self, chosen: Callable[[Effect], object]) -> list[Reason]:
        """Returns the reasons of the acting rules whose effect is chosen."""
        return [reason for effect, reason in self.acting if chosen(effect)]
