"""How a dog is worked by its profile: in the regime that its history names or a caller asks for, and by the targets that hold for it."""

from __future__ import annotations

from datetime import date

from attrs import evolve

from coatrules.dog.described import described
from coatrules.dog.history import History
from coatrules.dog.show_lengths import with_show_lengths
from coatrules.dog.whole_strip import strip_begun
from coatrules.formats.plain import checked_text
from coatrules.problems import InputError
from coatrules.profile.compiled import compile_profile
from coatrules.profile.model import Profile
from coatrules.profile.regimes import unknown_regime
from coatrules.profile.targets import with_targets
from coatrules.profile.whole_strip import whole_strip


def in_regime(history: History, regime: str | None) -> History:
    """Returns the history as if it named this regime; itself where none is asked for. Raises ``InputError`` for what is no name."""
    return history if regime is None else evolve(history, dog=evolve(history.dog, regime=checked_text(regime)))


def worked_by(profile: Profile, history: History, day: date | None) -> Profile:
    """Returns the profile in the regime that the history names, with the dog's own show lengths, and with the targets alone that hold
    for the dog on a day (those that always hold where there is none); stripped out whole where a strip is not done. Raises
    ``InputError`` where it has no such regime or layer target."""
    whole = with_show_lengths(_in_its_regime(profile, history), history.dog.show_mm)
    worked = with_targets(whole, {} if day is None else described(history.dog, day.toordinal()))
    if day is None or not any(visit.strip_whole for visit in history.visits):
        return worked
    begun = strip_begun(compile_profile(worked), history, day)
    return worked if begun is None else whole_strip(worked)


def _in_its_regime(profile: Profile, history: History) -> Profile:
    regime = history.dog.regime
    if regime is None or regime == profile.regime:
        return profile
    if regime not in profile.regimes:
        known = tuple(profile.regimes) or tuple(filter(None, [profile.regime]))
        raise InputError([unknown_regime(regime, known, history.origin, ("dog", "regime"))])
    return profile.regimes[regime]
