"""What was done, seen and borne in each region, visit after visit. Regions that were always treated as one share a trail."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from copy import copy
from functools import lru_cache, partial
from itertools import compress
from operator import attrgetter, itemgetter
from typing import Any, Literal, NamedTuple, TypeVar, get_args

from attrs import evolve

from coatrules.coat.queue import Pick, Pull, mass_of
from coatrules.dog.equivalence import once_per_class
from coatrules.dog.history import AtLeastLong, Seen, Visit, Work
from coatrules.dog.safety import STOP_RESTS_DAYS
from coatrules.formats.structure import written
from coatrules.formats.values import Reaction, TaskKind
from coatrules.learning.observations import Verdict
from coatrules.learning.speed import Timed
from coatrules.profile.compiled import CompiledProfile, CompiledRegion

_REACTIONS: Mapping[Reaction, float] = {"unsettled": 0.75, "stop": 0.5, "calm": 1.1}


WHOLE_VISIT = ""
"""Under which name the work of a visit stands that was timed as a whole: no part is called so."""


def tolerance_after(tolerance: float, reaction: Reaction) -> float:
    """What a reaction leaves of the profile's bouts, where ``tolerance`` was left before it; 1 is all of them."""
    return min(1.0, tolerance * _REACTIONS[reaction])


BY_HAND: frozenset[TaskKind] = frozenset(("card", "pull"))


class Measured(NamedTuple):
    """A figure seen: on which day, at which visit, said of how many regions. kind: of a length."""

    day: int
    visit: int
    regions: int
    figure: float
    kind: Literal["longest", "at-end", "at-least"] = "longest"


class Felt(NamedTuple):
    """The hand's verdict: on which day, at which visit, said of how many regions."""

    day: int
    visit: int
    regions: int
    comes: Verdict


class Asked(NamedTuple):
    """Mass (parts per million) that was asked for and that came: on which day, at which visit, said of how many regions."""

    day: int
    visit: int
    regions: int
    mass: int
    came: int


class WorkSummary(NamedTuple):
    """What some work comes to: ``tasks`` in the order of work, ``mass`` pulled (parts per million) and how it was picked,
    ``asked``: the mass asked for where it is on record, ``leaves``: lengths that clippers and scissors left where they are on
    record (mm), ``clipped``: clippers to such a length.
    """

    tasks: tuple[TaskKind, ...]
    mass: int
    pick: Pick
    asked: int | None
    leaves: tuple[float, ...]
    clipped: bool


def summarise(work: Work) -> WorkSummary:
    """Returns what some work comes to."""
    return _summary(work.card, work.pull, work.pick, work.asked, work.clip, work.scissor, work.comb)


@lru_cache(maxsize=4096, typed=True)  # a scissoring to 1 mm is not the same as one to a length that nobody wrote down
def _summary(
    card: bool | None,
    pull: float | None,
    pick: Pick | None,
    asked: float | None,
    clip: bool | float | None,
    scissor: bool | float | None,
    comb: bool | None,
) -> WorkSummary:
    cuts = [cut for cut in (clip, scissor) if cut is not None]
    done = (card, bool(pull), *(cut is not None and cut is not False for cut in (clip, scissor)), comb)
    return WorkSummary(
        tuple(compress(get_args(TaskKind), done)),
        mass_of(pull or 0.0),
        pick or "longest",
        None if asked is None else mass_of(asked),
        tuple([float(left) for left in cuts if type(left) is not bool]),
        clip is not None and type(clip) is not bool,
    )


R = TypeVar("R", Work, Seen)
_TOGETHER: Mapping[str, str] = {"pick": "pull", "asked": "pull", "at_end": "longest_mm"}
"""Keys that say more of another one: they go with it."""


def merged(entries: Sequence[R]) -> R:
    """Returns what several parts say of one region, from the largest part to the smallest: key by key the smaller wins.

    An entry of work without a key says that nothing was done. ``minutes`` are a part's as a whole.
    """
    return _merged(tuple(entries)) if len(entries) > 1 else entries[0]


@lru_cache(maxsize=4096)
def _merged(entries: tuple[Any, ...]) -> Any:
    found, *smaller = entries
    for entry in smaller:
        keys = keys_given(entry)
        if not keys and isinstance(entry, Work):
            found = entry
            continue
        changes = {key: getattr(entry, key) for key in keys}
        changes |= {key: getattr(entry, key) for key, of in _TOGETHER.items() if of in changes}
        found = evolve(found, **changes)
    return found


_KEYS: Mapping[type, tuple[str, ...]] = {kind: tuple(written(kind)) for kind in (Work, Seen)}


def keys_given(entry: Work | Seen) -> tuple[str, ...]:
    """Returns the keys that an entry gives."""
    return tuple([key for key in _KEYS[type(entry)] if getattr(entry, key) is not None])


def speaker(entries: Mapping[str, Work] | Mapping[str, Seen], keys: Sequence[str], key: str) -> str | None:
    """Returns which of the parts ``keys``, from the largest to the smallest, has the last word on a key; None for none."""
    last = None
    for name in keys:
        given = keys_given(entries[name])
        if key in given:
            last = name
        elif not given and isinstance(entries[name], Work):
            last = None
    return last


class RegionLog:
    """All that happened in one region. Days are ordinals, ``visit`` is a visit's place in the history.

    put_off: visits in a row that left it for later. last_reaction and tolerance: the last one, and what all of them leave.
    stop_day: when the dog said stop here, until it is recorded to have borne something else, or hand work after its rest.
    skin, skin_day: as last seen, and since when it has been so.
    carded: turns (places in the order of the days) and days. clipped: days and visits of clippings to a length. strip_days: of work
    that was part of a whole strip.
    """

    def __init__(self) -> None:
        self.pulls: list[Pull] = []
        self.cuts: list[tuple[int, float]] = []
        self.last: dict[TaskKind, int] = {}
        self.carded: list[tuple[int, int]] = []
        self.clipped: list[tuple[int, int | None]] = []
        self.strip_days: set[int] = set()
        self.lengths: list[Measured] = []
        self.layers: list[Measured] = []
        self.felt: list[Felt] = []
        self.asked: list[Asked] = []
        self.texture: str | None = None
        self.skin: str | None = None
        self.skin_day: int | None = None
        self.put_off = 0
        self.last_reaction: Reaction | None = None
        self.stop_day: int | None = None
        self.tolerance = 1.0

    def add_seen(self, day: int, visit: int, of: Callable[[str], int], seen: Seen) -> None:
        """Adds what was seen; ``of``: of how many regions at once a key was said."""
        if seen.skin is not None:
            if seen.skin != self.skin:
                self.skin_day = day
            self.skin = seen.skin
        if seen.texture is not None:
            self.texture = seen.texture
        if seen.longest_mm is not None:
            regions = of("longest_mm")
            if isinstance(seen.longest_mm, AtLeastLong):
                self.lengths.append(Measured(day, visit, regions, seen.longest_mm.minimum, "at-least"))
            else:
                kind: Literal["longest", "at-end"] = "at-end" if seen.at_end else "longest"
                self.lengths.append(Measured(day, visit, regions, seen.longest_mm, kind))
        if seen.layers is not None:
            self.layers.append(Measured(day, visit, of("layers"), seen.layers))
        if seen.comes is not None:
            self.felt.append(Felt(day, visit, of("comes"), seen.comes))

    def add_work(self, turn: int, day: int, visit: int, of: Callable[[str], int], done: WorkSummary) -> None:
        """Adds what was done; ``of``: of how many regions at once a key was said."""
        tasks, mass, pick, asked, leaves, clipped = done
        self.put_off = 0
        for task in tasks:
            self.last[task] = day
        if asked:
            self.asked.append(Asked(day, visit, of("asked"), asked, min(mass, asked)))
        if mass:
            self.pulls.append(Pull(day, mass, pick))
        if "card" in tasks:
            self.carded.append((turn, day))
        if leaves:
            self.cuts += [(day, left) for left in leaves]
            if clipped:
                self.clipped.append((day, visit))

    def with_pulls(self, more: Iterable[Pull]) -> RegionLog:
        """Returns the same log with more pulls."""
        other = copy(self)
        other.pulls = sorted([*self.pulls, *more], key=attrgetter("day"))
        return other

    def taken_as_calm(self, day: int, tasks: Collection[TaskKind]) -> bool:
        """Whether work of which no reaction is recorded counts as borne: after a stop only work by hand, once the place has rested."""
        return self.stop_day is None or (day >= self.stop_day + STOP_RESTS_DAYS and not BY_HAND.isdisjoint(tasks))

    def add_reaction(self, day: int, reaction: Reaction) -> None:
        """Adds how the dog bore it, as recorded or as taken for granted."""
        self.last_reaction = reaction
        self.stop_day = day if reaction == "stop" else None
        if self.tolerance < 1 or reaction != "calm":
            self.tolerance = tolerance_after(self.tolerance, reaction)


def region_logs(compiled: CompiledProfile, visits: Sequence[tuple[int, Visit]]) -> dict[str, RegionLog]:
    """Returns the log of every region; ``visits``: with their places in the history, oldest first."""
    days = [_day(compiled, i, visit) for i, visit in visits]
    speaking = [part for day in days for part in (day.worked, day.looked, day.borne, day.put_off) if part]
    ways = {region: tuple([part.get(region) for part in speaking]) for region in compiled.regions}
    return once_per_class(ways, lambda region: _log(region, days))


class _Day(NamedTuple):
    """What one visit tells, made ready for all regions: of each region the keys that speak of its work and looks from the
    largest part to the smallest, and the one key that speaks of its reaction and delay."""

    place: int
    visit: Visit
    worked: Mapping[str, tuple[str, ...]]
    looked: Mapping[str, tuple[str, ...]]
    borne: Mapping[str, str]
    put_off: Mapping[str, str]

    def regions(self, of_work: bool, region: str, key: str) -> int:
        """Of how many regions at once a key was said."""
        entries, speaking = (self.visit.work, self.worked) if of_work else (self.visit.seen, self.looked)
        if len(entries) == 1:
            return len(speaking)
        own = speaker(entries, speaking[region], key)
        return sum(speaker(entries, keys, key) == own for keys in speaking.values())


def _day(compiled: CompiledProfile, index: int, visit: Visit) -> _Day:
    worked = compiled.parts_of(visit.work) if visit.work else {}
    put_off = compiled.keys_of(visit.put_off) if visit.put_off else {}
    return _Day(index, visit, worked, looked(compiled, visit), borne(compiled, visit), put_off)


def looked(compiled: CompiledProfile, visit: Visit) -> Mapping[str, tuple[str, ...]]:
    """Returns for each region that was looked at the keys that speak of it, from the largest part to the smallest; of parts of one
    size the one that says that the skin is not sound has the last word."""
    speaking = compiled.parts_of(visit.seen) if visit.seen else {}
    unsound = {key for key, seen in visit.seen.items() if seen.skin == "unsound"}
    if not unsound or len(visit.seen) == 1:
        return speaking
    names = compiled.names
    return {
        name: tuple(sorted(keys, key=lambda key: (-len(names[key]), key in unsound))) for name, keys in speaking.items()
    }


def borne(compiled: CompiledProfile, visit: Visit) -> Mapping[str, str]:
    """Returns for each region of which a reaction is recorded the key that speaks of it: the smallest part that holds it, of parts of
    one size the one that the dog bore worst."""
    if len(visit.reactions) < 2:
        return compiled.keys_of(visit.reactions) if visit.reactions else {}
    names = compiled.names
    return {
        name: min(keys, key=lambda key: (len(names[key]), _REACTIONS[visit.reactions[key]]))
        for name, keys in compiled.parts_of(visit.reactions).items()
    }


def _log(region: str, days: Sequence[_Day]) -> RegionLog:
    """The log of one region."""
    trail = RegionLog()
    for turn, day in enumerate(days):
        index, visit, worked, looked, borne, put_off = day
        on = visit.day.toordinal()
        if region in looked:
            seen = merged([visit.seen[key] for key in looked[region]])
            trail.add_seen(on, index, partial(day.regions, False, region), seen)
        if region in worked:
            done = summarise(merged([visit.work[key] for key in worked[region]]))
            if done.tasks or done.asked:
                trail.add_work(turn, on, index, partial(day.regions, True, region), done)
                if visit.strip_whole:
                    trail.strip_days.add(on)
                if region not in borne and trail.taken_as_calm(on, done.tasks):
                    trail.add_reaction(on, "calm")
        if region in borne:
            trail.add_reaction(on, visit.reactions[borne[region]])
        if region in put_off:
            trail.put_off += 1
    return trail


def timed(
    compiled: CompiledProfile, visits: Iterable[tuple[int, Visit]], region_logs: Mapping[str, RegionLog]
) -> Iterator[Timed]:
    """Yields the entries that say how long they took, with the profile's minutes for the same work.

    An entry with work for which the profile has no minutes in one of its regions is passed over: it tells nothing. What the
    whole visit took, less what was timed by itself, is one entry of all the other work; its rests are in it. What a
    smaller part says otherwise is no work of the larger one.
    """
    for turn, (index, visit) in enumerate(visits):
        if visit.minutes is None and all(work.minutes is None for work in visit.work.values()):
            continue
        entries: dict[str, dict[str, float | None]] = {}
        for name, keys in compiled.parts_of(visit.work).items():
            for part in keys:
                work = visit.work[part]
                if work.minutes is None and visit.minutes is None:
                    continue
                # The only part that is told of a region has the last word on all of it.
                other = [key for key in keys_given(work) if speaker(visit.work, keys, key) != part] if keys[1:] else []
                nothing: dict[str, Any] = dict.fromkeys(other)
                own = evolve(work, **nothing) if other else work
                usual = _usual_minutes(compiled.regions[name], own, region_logs[name], turn, visit.day.toordinal())
                if usual is None or usual or not other:
                    entry = entries.setdefault(part if work.minutes is not None else WHOLE_VISIT, {})
                    before = entry.get(name, 0.0)
                    entry[name] = None if usual is None or before is None else before + usual
        timed_alone = sum(work.minutes or 0.0 for work in visit.work.values())
        for part, found in entries.items():
            known = {name: minutes for name, minutes in found.items() if minutes is not None}
            if len(known) == len(found):
                alone = visit.work[part].minutes if part else (visit.minutes or 0.0) - timed_alone
                yield Timed(alone or 0.0, known, index, part)


def _usual_minutes(region: CompiledRegion, work: Work, trail: RegionLog, turn: int, day: int) -> float | None:
    """The profile's minutes for some work in a region, at this turn of its trail on this day; None where it has none."""
    total = 0.0
    for task in summarise(work).tasks:
        minutes = region.region.minutes.get(task)
        if minutes is None:
            minutes = next((routine.minutes for _, routine in region.routines if routine.task == task), None)
        if minutes is None:
            return None
        if task == "pull":
            minutes *= work.pull or 0.0
        elif task == "card" and region.growth.undercoat_weeks is not None:
            before = bisect_left(trail.carded, turn, key=itemgetter(0))
            if before:
                minutes *= min(1.0, (day - trail.carded[before - 1][1]) / 7 / region.growth.undercoat_weeks)
        total += minutes
    return total
