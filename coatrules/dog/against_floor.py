"""Work on record that goes against the floor: it is asked back before it is written down, and named where it stands."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date

from coatrules.catalogue.message import Message, message
from coatrules.dog.history import History, Visit, Work
from coatrules.dog.safety import PUPPY_MINUTES, STOP_RESTS_DAYS, in_force, puppy
from coatrules.problems import Problem
from coatrules.profile.compiled import CompiledProfile


def against_floor(
    compiled: CompiledProfile, history: History, until: date, only: int | None = None
) -> Iterator[Problem]:
    """Yields a warning for each entry of work, up to and with a day, that goes against the floor, at its line; of one visit,
    its place in the history, where ``only`` names it. All names in the history must be the profile's."""
    watched = _Watched(compiled)
    for index, visit in history.until(until):
        watched.see(visit)
        if visit.work and only in (None, index):
            for key, what in _faults(compiled, history, visit, watched):
                path = ("visits", index, "work", *(() if key is None else (key,)))
                params = {"day": visit.day, "what": what}
                yield history.origin.problem_at(path, "recorded-against-floor", params, severity="warning", key=True)
        watched.bear(visit)


class _Watched:
    """What is known of each region before some work: since when its skin is not sound, and when the dog said stop there."""

    def __init__(self, compiled: CompiledProfile) -> None:
        self.compiled = compiled
        self.unsound: dict[str, date] = {}
        self.stops: dict[str, date] = {}
        self.health: list[Visit] = []

    def see(self, visit: Visit) -> None:
        """Adds what was seen before the work of a visit."""
        for name, seen in self.compiled.by_region(visit.seen):
            if seen.skin == "unsound":
                self.unsound.setdefault(name, visit.day)
            elif seen.skin is not None:
                self.unsound.pop(name, None)

    def bear(self, visit: Visit) -> None:
        """Adds how the dog bore a visit, and what is to be minded after it: only what is recorded lifts a stop."""
        if visit.health is not None:
            self.health = [visit]
        for name, reaction in self.compiled.by_region(visit.reactions):
            self.stops.pop(name, None)
            if reaction == "stop":
                self.stops[name] = visit.day


def _faults(
    compiled: CompiledProfile, history: History, visit: Visit, watched: _Watched
) -> Iterator[tuple[str | None, Message]]:
    """What goes against the floor, each with the key of its entry; None for the visit as a whole."""
    worked: dict[str, list[str]] = {}
    for name, key in compiled.keys_of(visit.work).items():
        if visit.work[key].pull or visit.work[key].card:
            worked.setdefault(key, []).append(name)
    if worked and (health := _hands_off(visit, watched.health)):
        yield None, message("against.health", health=health)
    for key, names in worked.items():
        # A part that holds more than such places was worked where it may be: nobody names the rest one by one.
        if all(compiled.regions[name].clipper_only is not None for name in names):
            yield key, message("against.only-cut", regions=_labels(compiled, names))
        yield from ((key, what) for what in _since(compiled, visit.day, names, watched))
    age = None if history.dog.born is None else (visit.day - history.dog.born).days / 7
    minutes = _minutes(compiled, visit.work)
    if puppy(age, compiled.profile.visit.first_coat_weeks) and minutes > PUPPY_MINUTES:
        yield None, message("against.puppy", minutes=minutes, most=PUPPY_MINUTES)


def _since(compiled: CompiledProfile, day: date, names: list[str], watched: _Watched) -> Iterator[Message]:
    unsound: dict[date, list[str]] = {}
    stopped: dict[date, list[str]] = {}
    for name in names:
        if name in watched.unsound:
            unsound.setdefault(watched.unsound[name], []).append(name)
        if name in watched.stops and (day - watched.stops[name]).days < STOP_RESTS_DAYS:
            stopped.setdefault(watched.stops[name], []).append(name)
    for seen, where in unsound.items():
        yield message("against.unsound", regions=_labels(compiled, where), day=seen)
    for stopped_on, where in stopped.items():
        until = date.fromordinal(stopped_on.toordinal() + STOP_RESTS_DAYS)
        yield message("against.stop", regions=_labels(compiled, where), until=until)


def _hands_off(visit: Visit, before: list[Visit]) -> tuple[str, ...]:
    """What was known before the visit to forbid hand work, and is not taken back by it."""
    known = in_force(before, visit.day)
    return known if visit.health is None else tuple(name for name in known if name in visit.health)


def _minutes(compiled: CompiledProfile, work: Mapping[str, Work]) -> float:
    """How long some work took: as recorded; where that is not said, half of what the profile has for what was pulled, as hands
    may be twice as fast."""
    minutes = sum(done.minutes or 0.0 for done in work.values())
    for name, key in compiled.keys_of(work).items():
        if work[key].minutes is None:
            minutes += compiled.regions[name].region.minutes.get("pull", 0.0) * (work[key].pull or 0.0) / 2
    return minutes


def _labels(compiled: CompiledProfile, names: list[str]) -> tuple[str, ...]:
    return tuple(compiled.regions[name].region.label for name in names)
