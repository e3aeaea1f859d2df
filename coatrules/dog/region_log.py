"""What was done, seen and borne in each region, visit after visit. Regions that were always treated as one share a trail."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import compress
from typing import NamedTuple, get_args

from coatrules.coat.queue import Pull, mass_of
from coatrules.dog.equivalence import once_per_class
from coatrules.dog.history import Seen, Visit, Work
from coatrules.formats.values import Reaction, TaskKind
from coatrules.learning.speed import Timed
from coatrules.profile.compiled import CompiledProfile, CompiledRegion

_REACTIONS: Mapping[Reaction, float] = {"unsettled": 0.75, "stop": 0.5, "calm": 1.1}


WHOLE_VISIT = ""
"""Under which name the work of a visit stands that was timed as a whole: no part is called so."""


def tolerance_after(tolerance: float, reaction: Reaction) -> float:
    """What a reaction leaves of the profile's bouts, where ``tolerance`` was left before it; 1 is all of them."""
    return min(1.0, tolerance * _REACTIONS[reaction])


class Measured(NamedTuple):
    """A figure seen: on which day, at which visit, said of how many regions."""

    day: int
    visit: int
    regions: int
    figure: float


class WorkSummary(NamedTuple):
    """What some work comes to: ``tasks`` in the order of work, ``mass`` pulled (parts per million), ``even`` or the longest,
    ``leaves``: lengths that clippers and scissors left where they are on record (mm), ``clipped``: clippers to such a length.
    """

    tasks: tuple[TaskKind, ...]
    mass: int
    even: bool
    leaves: tuple[float, ...]
    clipped: bool


def summarise(work: Work) -> WorkSummary:
    """What some work comes to."""
    return _summary(work.card, work.pull, work.pick, work.clip, work.scissor, work.comb)


@lru_cache(maxsize=4096, typed=True)  # a scissoring to 1 mm is not the same as one to a length that nobody wrote down
def _summary(
    card: bool, pull: float | None, pick: str, clip: bool | float, scissor: bool | float, comb: bool
) -> WorkSummary:
    done = (card, bool(pull), clip is not False, scissor is not False, comb)
    leaves = [float(left) for left in (clip, scissor) if type(left) is not bool]
    return WorkSummary(
        tuple(compress(get_args(TaskKind), done)),
        mass_of(pull or 0.0),
        pick == "even",
        tuple(leaves),
        type(clip) is not bool,
    )


class RegionLog:
    """All that happened in one region. Days are ordinals, ``visit`` is a visit's place in the history.

    put_off: visits in a row that left it for later. last_reaction and tolerance: the last one, and what all of them leave.
    stop_day: when the dog said stop here, until it is recorded to have borne something else: work alone does not lift a stop.
    skin, skin_day: as last seen, and since when it has been so.
    carded: turns (places in the order of the days) and days. clipped: days and visits of clippings to a length.
    """

    def __init__(self) -> None:
        self.pulls: list[Pull] = []
        self.cuts: list[tuple[int, float]] = []
        self.last: dict[TaskKind, int] = {}
        self.carded: list[tuple[int, int]] = []
        self.clipped: list[tuple[int, int | None]] = []
        self.lengths: list[Measured] = []
        self.layers: list[Measured] = []
        self.skin: str | None = None
        self.skin_day: int | None = None
        self.put_off = 0
        self.last_reaction: Reaction | None = None
        self.stop_day: int | None = None
        self.tolerance = 1.0

    def add_seen(self, day: int, visit: int, regions: int, seen: Seen) -> None:
        """Adds what was seen; ``regions``: of how many at once."""
        if seen.skin is not None:
            if seen.skin != self.skin:
                self.skin_day = day
            self.skin = seen.skin
        if seen.longest_mm is not None:
            self.lengths.append(Measured(day, visit, regions, seen.longest_mm))
        if seen.layers is not None:
            self.layers.append(Measured(day, visit, regions, seen.layers))

    def add_work(self, turn: int, day: int, visit: int, done: WorkSummary) -> None:
        """Adds what was done."""
        tasks, mass, even, leaves, clipped = done
        self.put_off = 0
        for task in tasks:
            self.last[task] = day
        if mass:
            self.pulls.append(Pull(day, mass, even))
        if "card" in tasks:
            self.carded.append((turn, day))
        if leaves:
            self.cuts += [(day, left) for left in leaves]
            if clipped:
                self.clipped.append((day, visit))

    def add_reaction(self, day: int, reaction: Reaction, *, said: bool) -> None:
        """Adds how the dog bore it, ``said`` or taken to be calm because nothing was."""
        self.last_reaction = reaction
        if said:
            self.stop_day = day if reaction == "stop" else None
        if self.tolerance < 1 or reaction != "calm":
            self.tolerance = tolerance_after(self.tolerance, reaction)


def region_logs(compiled: CompiledProfile, told: Sequence[tuple[int, Visit]]) -> dict[str, RegionLog]:
    """The trail of every region; ``told``: visits with their places in the history, oldest first."""
    keys = [
        tuple([compiled.keys_of(said) if said else {} for said in (v.work, v.seen, v.reactions, v.put_off)])
        for _, v in told
    ]
    speaking = [said for visit in keys for said in visit if said]
    ways = {region: tuple([said.get(region) for said in speaking]) for region in compiled.regions}
    days = [
        _Day(i, v.day.toordinal(), {said: summarise(w) for said, w in v.work.items()}, v.seen, v.reactions)
        for i, v in told
    ]
    return once_per_class(ways, lambda region: _log(region, days, keys))


class _Day(NamedTuple):
    """What one visit tells, made ready for all regions."""

    visit: int
    day: int
    deeds: Mapping[str, WorkSummary]
    seen: Mapping[str, Seen]
    reactions: Mapping[str, Reaction]


def _log(region: str, days: Sequence[_Day], keys: Sequence[tuple[Mapping[str, str], ...]]) -> RegionLog:
    """The trail of one region; ``keys``: at each visit, the keys that speak of each region's work, looks, reaction, delay."""
    trail = RegionLog()
    for turn, ((index, day, deeds, sights, borne_by), told) in enumerate(zip(days, keys, strict=True)):
        worked, seen, reactions, put_off = told
        if region in seen:
            trail.add_seen(day, index, Counter(seen.values())[seen[region]], sights[seen[region]])
        if region in worked and (done := deeds[worked[region]]).tasks:
            trail.add_work(turn, day, index, done)
            if region not in reactions:
                trail.add_reaction(day, "calm", said=False)
        if region in reactions:
            trail.add_reaction(day, borne_by[reactions[region]], said=True)
        if region in put_off:
            trail.put_off += 1
    return trail


def timed(
    compiled: CompiledProfile, told: Iterable[tuple[int, Visit]], region_logs: Mapping[str, RegionLog]
) -> Iterator[Timed]:
    """The entries that say how long they took, with the profile's minutes for the same work.

    An entry with work for which the profile has no minutes in one of its regions is passed over: it tells nothing. What the
    whole visit took, less what was timed by itself, is one entry of all the other work; its rests are in it.
    """
    for turn, (index, visit) in enumerate(told):
        if visit.minutes is None and all(work.minutes is None for work in visit.work.values()):
            continue
        entries: dict[str, dict[str, float | None]] = {}
        for name, said in compiled.keys_of(visit.work).items():
            work = visit.work[said]
            if work.minutes is None and visit.minutes is None:
                continue
            usual = _usual_minutes(compiled.regions[name], work, region_logs[name], turn, visit.day.toordinal())
            entries.setdefault(said if work.minutes is not None else WHOLE_VISIT, {})[name] = usual
        timed_alone = sum(work.minutes or 0.0 for work in visit.work.values())
        for said, found in entries.items():
            known = {name: minutes for name, minutes in found.items() if minutes is not None}
            if len(known) == len(found):
                alone = visit.work[said].minutes if said else (visit.minutes or 0.0) - timed_alone
                yield Timed(alone or 0.0, known, index, said)


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
            carded = next((carded for before, carded in reversed(trail.carded) if before < turn), None)
            if carded is not None:
                minutes *= min(1.0, (day - carded) / 7 / region.growth.undercoat_weeks)
        total += minutes
    return total
