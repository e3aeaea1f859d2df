"""A whole strip that goes on: of a visit that was part of one, what the next visits have still to do."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import date

from attrs import evolve

from coatrules.dog.history import History, Visit, Work
from coatrules.dog.state import DogState, state_on
from coatrules.dog.strippable import NEARLY_ALL, strippable_from
from coatrules.profile.compiled import CompiledProfile

GOES_ON_DAYS = 28
"""So long after its last visit a whole strip goes on: later the new coat stands beside the old one, and it is begun again or given
up (common practice, no source)."""
LASTS_DAYS = 56
"""A whole strip lasts so long at most, from its first visit (common practice, no source)."""


def strip_begun(compiled: CompiledProfile, history: History, day: date) -> date | None:
    """Returns the day on which a whole strip began that is not done on ``day``; None where there is none."""
    strip = _last_strip(history, day)
    if not strip or (day - strip[-1].day).days > GOES_ON_DAYS or (day - strip[0].day).days > LASTS_DAYS:
        return None
    whole = stripped_in(compiled, strip)
    left = {name for name, region in compiled.regions.items() if region.hand is not None} - whole
    if strip[-1].put_off:
        left &= compiled.keys_of(strip[-1].put_off).keys()
    elif left:
        left &= _strippable(compiled, state_on(compiled, history, strip[-1].day))
    return strip[0].day if left else None


def _strippable(compiled: CompiledProfile, state: DogState) -> set[str]:
    """The regions that can be stripped out whole on the day of the state: what cannot be waits, and does not keep a strip going."""
    return {
        name
        for name, own in state.regions.items()
        if own.skin != "unsound"
        and name not in state.margins
        and own.stop_day is None
        and strippable_from(own.coat, own.growth, state.pace.of(name), state.day) <= state.day
    }


def goes_on_after(
    compiled: CompiledProfile, history: History, day: date, pulled: Mapping[str, float], put_off: Collection[str]
) -> bool:
    """Whether a whole strip goes on after a visit on ``day`` that pulls these shares of regions and puts these off."""
    work = {name: Work(pull=share) for name, share in pulled.items()}
    today = Visit(day=day, work=work, put_off=tuple(put_off), strip_whole=True)
    return strip_begun(compiled, evolve(history, visits=(*history.visits, today)), day) is not None


def stripped_in(compiled: CompiledProfile, visits: list[Visit]) -> set[str]:
    """Returns the regions that these visits stripped out whole."""
    found = set()
    for visit in visits:
        for name, keys in compiled.parts_of(visit.work).items():
            pulls = [pull for pull in (visit.work[key].pull for key in keys) if pull is not None]
            if pulls and pulls[-1] >= NEARLY_ALL:
                found.add(name)
    return found


def _last_strip(history: History, day: date) -> list[Visit]:
    """Returns the visits of the last whole strip, oldest first; none where other work came after it."""
    strip: list[Visit] = []
    for _, visit in reversed(history.until(day)):
        if visit.work and not visit.strip_whole:
            break
        if visit.work and strip and (strip[-1].day - visit.day).days > GOES_ON_DAYS:
            break
        if visit.work:
            strip.append(visit)
    return strip[::-1]
