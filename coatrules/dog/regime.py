"""Which regime a dog is worked in: the one that its history names, or that a caller asks for instead."""

from __future__ import annotations

from attrs import evolve

from coatrules.dog.history import History
from coatrules.problems import InputError
from coatrules.profile.model import Profile
from coatrules.profile.regimes import unknown_regime


def in_regime(history: History, regime: str | None) -> History:
    """Returns the history as if it named this regime; itself where none is asked for."""
    return history if regime is None else evolve(history, dog=evolve(history.dog, regime=regime))


def worked_by(profile: Profile, history: History) -> Profile:
    """Returns the profile in the regime that the history names; raises ``InputError`` where it has no such regime."""
    regime = history.dog.regime
    if regime is None or regime == profile.regime:
        return profile
    if regime not in profile.regimes:
        known = tuple(profile.regimes) or tuple(filter(None, [profile.regime]))
        raise InputError([unknown_regime(regime, known, history.origin, ("dog", "regime"))])
    return profile.regimes[regime]
