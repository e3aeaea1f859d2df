"""Work on record that goes against the floor: it is asked back before it is written down, and named where it stands."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import NamedTuple

from coatrules.catalogue.message import Message, message
from coatrules.dog.equivalence import once_per_class
from coatrules.dog.history import History, Visit, Work
from coatrules.dog.region_log import BY_HAND, borne, looked, merged, speaker, summarise
from coatrules.dog.safety import PUPPY_MINUTES, STOP_RESTS_DAYS, STOP_SHARE, in_force, puppy, raked_share, strictest
from coatrules.dog.table_time import minutes_on_table
from coatrules.formats.values import TaskKind
from coatrules.learning.speed import DOUBTFUL
from coatrules.problems import Problem
from coatrules.profile.compiled import CompiledProfile
from coatrules.profile.floor import DAY_MINUTES, HANDLED_ONLY


def against_floor(
    compiled: CompiledProfile, history: History, until: date, only: int | None = None
) -> Iterator[Problem]:
    """Yields a warning for each entry of work, up to and with a day, that goes against the floor, at its line; of one visit,
    its place in the history, where ``only`` names it. All names in the history must be the profile's."""
    watched = _Watched(compiled, history.dog.born)
    for index, visit in history.until(until):
        watched.see(visit)
        worked = _worked(compiled, visit.work)
        if worked and only in (None, index):
            for key, what in _faults(compiled, visit, watched, worked):
                path = ("visits", index, "work", *(() if key is None else (key,)))
                params = {"day": visit.day, "what": what}
                yield history.origin.problem_at(path, "recorded-against-floor", params, severity="warning", key=True)
        watched.bear(visit, worked)


class _Done(NamedTuple):
    """What was done in a region: which tasks, the share pulled, and under which key that stands."""

    tasks: tuple[TaskKind, ...]
    share: float
    key: str

    @property
    def by_hand(self) -> bool:
        return not BY_HAND.isdisjoint(self.tasks)


class _Watched:
    """What is known before some work: of each region since when its skin is not sound and when the dog said stop there; of the dog
    what holds of its health, and for how long it has stood on the table that day."""

    def __init__(self, compiled: CompiledProfile, born: date | None) -> None:
        self.compiled = compiled
        self.born = born
        self.unsound: dict[str, date] = {}
        self.stops: dict[str, date] = {}
        self.health: list[Visit] = []
        self.day: date | None = None
        self.minutes = 0.0

    def see(self, visit: Visit) -> None:
        """Adds what was seen before the work of a visit."""
        for name, keys in looked(self.compiled, visit).items():
            skin = merged([visit.seen[key] for key in keys]).skin
            if skin == "unsound":
                self.unsound.setdefault(name, visit.day)
            elif skin is not None:
                self.unsound.pop(name, None)
        if visit.day != self.day:
            self.day, self.minutes = visit.day, 0.0
        # Where nobody measured, at the fastest that is believed, a puppy raked as lightly as practice asks for: what is named
        # here was surely too long.
        raked = raked_share(self.age_weeks(visit), self.compiled.first_coat_weeks)
        self.minutes += minutes_on_table(self.compiled, visit, lambda _: DOUBTFUL, raked=raked)

    def age_weeks(self, visit: Visit) -> float | None:
        return None if self.born is None else (visit.day - self.born).days / 7

    def is_puppy(self, visit: Visit) -> bool:
        return puppy(self.age_weeks(visit), self.compiled.first_coat_weeks)

    def bear(self, visit: Visit, worked: Mapping[str, _Done]) -> None:
        """Adds how the dog bore a visit and its work, and what is to be minded after it."""
        if visit.health is not None:
            self.health = [visit]
        reactions = borne(self.compiled, visit)
        for name, key in reactions.items():
            self.stops.pop(name, None)
            if visit.reactions[key] == "stop":
                self.stops[name] = visit.day
        borne_in_silence = {name for name, done in worked.items() if name not in reactions and done.by_hand}
        for name in self.stops.keys() & borne_in_silence:
            if _rested(self.stops[name], visit.day):
                del self.stops[name]

    def beside_unsound(self, name: str) -> list[str]:
        """The regions beside one whose skin is not sound."""
        return sorted(self.compiled.regions[name].next_to & self.unsound.keys())


def _rested(stop: date, day: date) -> bool:
    return (day - stop).days >= STOP_RESTS_DAYS


def _worked(compiled: CompiledProfile, work: Mapping[str, Work]) -> dict[str, _Done]:
    """What was done in each region, of a group and a part of it key by key."""
    speaking = compiled.parts_of(work)

    def done_in(name: str) -> _Done | None:
        keys = speaking[name]
        done = summarise(together := merged([work[key] for key in keys]))
        says = (speaker(work, keys, what) for what in ("pull", "card", "clip", "scissor", "comb"))
        return _Done(done.tasks, together.pull or 0.0, next(filter(None, says))) if done.tasks else None

    return {name: done for name, done in once_per_class(speaking, done_in).items() if done is not None}


def _faults(
    compiled: CompiledProfile, visit: Visit, watched: _Watched, worked: Mapping[str, _Done]
) -> Iterator[tuple[str | None, Message]]:
    """What goes against the floor, each with the key of its entry; None for the visit as a whole."""
    health = _hands_off(visit, watched.health)
    if health and (strictest(health) == "all" or any(done.by_hand for done in worked.values())):
        yield None, message("against.health", health=health)
    by_key: dict[str, list[str]] = {}
    for name, done in worked.items():
        by_key.setdefault(done.key, []).append(name)
    for key, names in by_key.items():
        by_hand = [name for name in names if worked[name].by_hand]
        # A part that holds more than such places was worked where it may be: nobody names the rest one by one.
        if by_hand and all(compiled.regions[name].clipper_only is not None for name in by_hand):
            yield key, message("against.only-cut", regions=_labels(compiled, by_hand))
        yield from ((key, what) for what in _of_skin(compiled, worked, names, watched))
        yield from ((key, what) for what in _of_stops(compiled, visit.day, worked, names, watched))
        if watched.is_puppy(visit):
            age = watched.age_weeks(visit) or 0.0
            yield from ((key, what) for what in _of_a_puppy(compiled, age, worked, by_hand))
    most = PUPPY_MINUTES if watched.is_puppy(visit) else DAY_MINUTES
    if watched.minutes > most:
        code = "against.puppy" if most == PUPPY_MINUTES else "against.day"
        yield None, message(code, minutes=watched.minutes, most=most)


def _of_skin(
    compiled: CompiledProfile, worked: Mapping[str, _Done], names: list[str], watched: _Watched
) -> Iterator[Message]:
    if not watched.unsound:
        return
    unsound: dict[date, list[str]] = {}
    for name in names:
        if name in watched.unsound and worked[name].tasks != ("comb",):
            unsound.setdefault(watched.unsound[name], []).append(name)
    for seen, where in unsound.items():
        yield message("against.unsound", regions=_labels(compiled, where), day=seen)
    beside = [name for name in names if worked[name].by_hand and watched.beside_unsound(name)]
    if beside and not unsound:  # of a part that holds both the worse is told
        of = sorted({other for name in beside for other in watched.beside_unsound(name)})
        yield message("against.beside", regions=_labels(compiled, beside), unsound=_labels(compiled, of))


def _of_stops(
    compiled: CompiledProfile, day: date, worked: Mapping[str, _Done], names: list[str], watched: _Watched
) -> Iterator[Message]:
    early: dict[date, list[str]] = {}
    for name in names:
        stop = watched.stops.get(name)
        if stop is not None and not _rested(stop, day) and worked[name].tasks != ("comb",):
            early.setdefault(stop, []).append(name)
    for stopped_on, where in early.items():
        until = date.fromordinal(stopped_on.toordinal() + STOP_RESTS_DAYS)
        yield message("against.stop", regions=_labels(compiled, where), until=until)
    much = [
        name
        for name in names
        if name in watched.stops and _rested(watched.stops[name], day) and worked[name].share > STOP_SHARE
    ]
    if much:
        yield message("against.stop-share", regions=_labels(compiled, much), most=STOP_SHARE)


def _of_a_puppy(
    compiled: CompiledProfile, age_weeks: float, worked: Mapping[str, _Done], by_hand: list[str]
) -> Iterator[Message]:
    tender = [name for name in by_hand if compiled.regions[name].zone is not None or name in HANDLED_ONLY]
    if tender and len(tender) == len(by_hand):  # of a larger part nobody names the rest one by one
        yield message("against.puppy-tender", regions=_labels(compiled, tender))
    first = compiled.first_coat_weeks
    pulled = [name for name in by_hand if worked[name].share]
    if pulled and (first is None or age_weeks < first):
        yield message("against.puppy-pulled", regions=_labels(compiled, pulled))


def _hands_off(visit: Visit, before: list[Visit]) -> tuple[str, ...]:
    """What was known before the visit to forbid work, and is not taken back by it."""
    known = in_force(before, visit.day)
    return known if visit.health is None else tuple(name for name in known if name in visit.health)


def _labels(compiled: CompiledProfile, names: list[str]) -> tuple[str, ...]:
    return tuple(compiled.regions[name].region.label for name in names)
