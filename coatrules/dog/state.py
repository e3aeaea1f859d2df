"""What a dog's history tells of each region on a day: its coat rebuilt, what was done when, what was seen and borne."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from itertools import islice
from typing import NamedTuple

from coatrules.coat.queue import Coat, grown, not_before, replay
from coatrules.dog.equivalence import once_per_class
from coatrules.dog.history import Arrival, History, Seen, Visit
from coatrules.dog.region_log import Measured, RegionLog, region_logs, timed
from coatrules.dog.rolling import LayerEvidence, Rolling, RollingEnd, endings, extremes, rolling
from coatrules.dog.safety import in_force
from coatrules.formats.values import Reaction, TaskKind
from coatrules.learning.pace import (
    CONTRARY,
    LEAST,
    MOST,
    LayerCount,
    Observation,
    Pace,
    bounds_of_count,
    learn,
    stretches,
)
from coatrules.learning.speed import Speed, learn_speed
from coatrules.problems import MAX_PROBLEMS, InputError, Problem, nearest_fix
from coatrules.profile.compiled import CompiledProfile, CompiledRegion
from coatrules.read_only import NOTHING


class RegionState(NamedTuple):
    """What is known of one region. Days are ordinals.

    guessed: mass (parts per million) of hair whose age was never recorded. put_off: visits in a row that left it for later.
    tolerance: what the recorded reactions leave of the profile's bouts, 1 being all. seen: what was seen on the day itself.
    """

    coat: Coat
    last: Mapping[TaskKind, int]
    seen: Seen | None
    skin: str | None
    skin_day: int | None
    last_reaction: Reaction | None
    reaction_day: int | None
    tolerance: float
    put_off: int
    guessed: int


class DogState(NamedTuple):
    """What is known of one dog on a day. ``region_classes``: the profile's (``CompiledProfile.region_classes``)."""

    day: int
    regions: Mapping[str, RegionState]
    region_classes: Mapping[str, int]
    pace: Pace
    health: tuple[str, ...]
    visits: int
    first_visit: int | None
    last_visit: int | None
    show: date | None
    born: int | None
    speed: Speed
    rolling: Rolling
    endings: tuple[RollingEnd, ...]
    margins: Mapping[str, tuple[str, ...]] = NOTHING
    """For each region the regions beside it whose skin is not sound."""
    alike: Mapping[str, object] = NOTHING
    """For each region a mark: where it is the same nothing known or asked differs, so that the same is to be done."""

    @property
    def age_weeks(self) -> float | None:
        """The dog's age; None where nobody knows when it was born, or it is still to be."""
        return None if self.born is None or self.born > self.day else (self.day - self.born) / 7

    def marked(self) -> DogState:
        """The same with the mark of every region made anew."""
        pace, speed = self.pace, self.speed
        marks = {
            name: (
                id(own),
                self.region_classes[name],
                pace.of(name),
                pace.sd_of(name),
                speed.of(name),
                self.margins.get(name),
            )
            for name, own in self.regions.items()
        }
        return self._replace(alike=marks)


class Replayed(NamedTuple):
    """What a history tells up to a day. Until more is told, it is the same for every later day.

    told: the visits with their places in the history, oldest first. clipped: regions with the day they were last clipped and
    the visit that says so, None where the arrival does. show: the show day last spoken of.
    """

    told: list[tuple[int, Visit]]
    regions: Mapping[str, RegionState]
    pace: Pace
    rolling: Rolling
    speed: Speed
    clipped: Mapping[str, tuple[int, int | None]]
    show: date | None
    born: int | None


def state_on(compiled: CompiledProfile, history: History, day: date) -> DogState:
    """The state of a dog on a day, from all visits up to and with it; raises ``InputError`` for names the profile lacks."""
    return state_after(compiled, replay_visits(compiled, history, day), day)


def replay_visits(compiled: CompiledProfile, history: History, day: date) -> Replayed:
    """What all visits up to and with a day tell; raises ``InputError`` for names the profile lacks."""
    if problems := list(islice(unknown_names(compiled, history), MAX_PROBLEMS)):
        raise InputError(problems)
    told = history.until(day)
    first = (told[0][1].day if told else day).toordinal()
    born = history.dog.born.toordinal() if history.dog.born is not None else None
    if born is not None and told and born > first:
        params = {"born": history.dog.born, "visit": told[0][1].day}
        raise InputError([history.origin.problem_at(("dog", "born"), "born-after-visit", params)])
    arrival = dict(compiled.by_region(history.arrival))
    logs = region_logs(compiled, told)
    pace, carried = _pace(compiled, logs, arrival, first, born)
    treated = {
        name: (logs[name], arrival.get(name), region.region.coat, pace.of(name))
        for name, region in compiled.regions.items()
    }

    def region_state(name: str) -> RegionState:
        region, trail = compiled.regions[name], logs[name]
        start, guess = _start(region, arrival.get(name), first, pace.of(name), born)
        coat = _grow(region, start, trail, pace.of(name))
        old = start.cohorts[0].day
        return RegionState(
            coat=coat,
            last=trail.last,
            seen=None,
            skin=trail.skin,
            skin_day=trail.skin_day,
            last_reaction=trail.last_reaction,
            reaction_day=trail.reaction_day,
            tolerance=trail.tolerance,
            put_off=trail.put_off,
            guessed=sum(mass for mass, pulled in coat.cohorts if guess and pulled == old),
        )

    clipped = {name: trail.clipped[-1] for name, trail in logs.items() if trail.clipped}
    for name, said in arrival.items():
        if said.clipped_mm is not None:
            clipped.setdefault(name, (first - round(said.clipped_weeks * 7), None))
    shows = [history.dog.show, *(visit.show for _, visit in told)]
    return Replayed(
        told,
        regions=once_per_class(treated, region_state),
        pace=pace,
        rolling=carried,
        speed=learn_speed(timed(compiled, told, logs)),
        clipped=clipped,
        show=next((show for show in reversed(shows) if show is not None), None),
        born=born,
    )


def state_after(compiled: CompiledProfile, past: Replayed, day: date) -> DogState:
    """The state on a day, the last that the past tells of or a later one."""
    before = [visit for _, visit in past.told if visit.day < day]
    seen: dict[str, Seen] = {}
    for _, visit in past.told[len(before) :]:
        seen.update(compiled.by_region(visit.seen))
    regions = past.regions
    if seen:
        looked = {name: (id(own), seen.get(name)) for name, own in regions.items()}
        regions = once_per_class(looked, lambda name: past.regions[name]._replace(seen=seen.get(name)))
    unsound = frozenset(name for name, region_state in regions.items() if region_state.skin == "unsound")
    margins = {
        name: tuple(sorted(region.next_to & unsound))
        for name, region in (compiled.regions.items() if unsound else ())
        if region.next_to & unsound
    }
    return DogState(
        day=day.toordinal(),
        regions=regions,
        region_classes=compiled.region_classes,
        pace=past.pace,
        health=in_force([visit for _, visit in past.told], day),
        visits=len(before),
        first_visit=before[0].day.toordinal() if before else None,
        last_visit=before[-1].day.toordinal() if before else None,
        show=past.show if past.show is not None and past.show >= day else None,
        born=past.born,
        speed=past.speed,
        rolling=past.rolling,
        endings=endings(
            compiled, past.told, {n: own.coat for n, own in regions.items()}, past.clipped, day.toordinal()
        ),
        margins=margins,
    ).marked()


def _start(
    region: CompiledRegion, arrival: Arrival | None, first: int, pace: float, born: int | None
) -> tuple[Coat, bool]:
    """The coat the dog came with, no hair of it older than the dog, and whether its age is only a guess."""
    if arrival is None:
        return not_before(grown(first, region.growth, pace=pace), born), True
    coat = grown(first, region.growth, weeks=arrival.grown_weeks, longest_mm=arrival.longest_mm, pace=pace)
    if arrival.clipped_mm is not None:
        coat = coat.clipped(first - round(arrival.clipped_weeks * 7), arrival.clipped_mm)
    return not_before(coat, born), False


def _grow(region: CompiledRegion, start: Coat, trail: RegionLog, pace: float, until: int | None = None) -> Coat:
    """The coat after all that was done to it (before the day ``until``)."""
    pulls, cuts = trail.pulls, trail.cuts
    if until is not None:
        pulls = [pull for pull in pulls if pull.day < until]
        cuts = [cut for cut in cuts if cut[0] < until]
    coat = replay(start, region.growth, pace, pulls) if pulls else start
    for cut in cuts:
        coat = coat.clipped(*cut)
    return coat


def _pace(
    compiled: CompiledProfile,
    region_logs: Mapping[str, RegionLog],
    arrival: Mapping[str, Arrival],
    first: int,
    born: int | None,
) -> tuple[Pace, Rolling]:
    """The dog's pace, from measured lengths of hair whose age is known and that was never cut, and from counted layers;
    and how many coats it carries at a time."""
    visit = compiled.profile.visit

    def learned(lengths: list[Observation], counts: list[LayerCount]) -> Pace:
        return learn(
            lengths,
            counts,
            spread=visit.pace_spread,
            region_spread=visit.region_spread,
            measure_mm=visit.measure_mm,
            contrary_sd=CONTRARY,
        )

    lengths = [
        one
        for name, trail in region_logs.items()
        for one in _lengths(compiled.regions[name], trail, arrival.get(name), first, born)
    ]
    pace = learned(lengths, [])
    if not any(trail.layers for trail in region_logs.values()):
        return pace, Rolling()
    counts: list[LayerCount] = []
    showings: list[LayerEvidence] = []
    for name, trail in region_logs.items():
        region = compiled.regions[name]
        for sight in trail.layers:
            count, showing = _counted(region, trail, arrival.get(name), first, born, sight, pace)
            if region.target is not None and not region.target.full_strip:
                showings.append(showing)
            # What no pace explains tells of the kind of coat, not of the pace.
            if count is not None and not showing.one_coat:
                counts.append(count)
    carried = rolling(showings)
    if carried.rolls == "no" or not counts:
        return pace, carried
    return learned(lengths, counts), carried


def _lengths(
    region: CompiledRegion, trail: RegionLog, said: Arrival | None, first: int, born: int | None
) -> Iterator[Observation]:
    if not trail.lengths:
        return
    start, guess = _start(region, said, first, 1.0, born)
    known_start = not guess and said is not None and said.grown_weeks is not None and said.clipped_mm is None
    for day, visit, regions, length in trail.lengths:
        coat = _grow(region, start, trail, 1.0, until=day)
        oldest = coat.cohorts[0].day
        if (oldest != start.cohorts[0].day or known_start) and not any(cut.day >= oldest for cut in coat.cuts):
            yield Observation(region.id, (day - oldest) / 7, length, region.growth, day, visit, 1 / regions)


def _counted(
    region: CompiledRegion,
    trail: RegionLog,
    said: Arrival | None,
    first: int,
    born: int | None,
    sight: Measured,
    pace: Pace,
) -> tuple[LayerCount | None, LayerEvidence]:
    """What a count of layers tells of the pace (nothing while cut hair stands, or a coat nobody knows) and what it shows."""
    growth, day, seen = region.growth, sight.day, int(sight.figure)
    start, guess = _start(region, said, first, pace.of(region.id), born)
    coat = _grow(region, start, trail, pace.of(region.id), until=day)
    if coat.cuts or (guess and coat.cohorts[0].day == start.cohorts[0].day):
        return None, LayerEvidence(day, sight.visit, region.id, seen, 0)
    slow, fast = extremes(pace.of(region.id), pace.sd_of(region.id), growth.breakthrough_weeks)
    found = stretches(coat, growth, day, min(slow, LEAST), max(fast, MOST))
    least, most = bounds_of_count(seen, found)
    due = min(stretch.layers for stretch in found if stretch.most > slow and stretch.least < fast)
    count = LayerCount(region.id, seen, least, most, growth, day, sight.visit, 1 / sight.regions)
    return count, LayerEvidence(day, sight.visit, region.id, seen, due)


def unknown_names(compiled: CompiledProfile, history: History) -> Iterator[Problem]:
    """Names in a history that its profile does not have."""
    told = [
        said for _, visit in history.counting() for said in (visit.work, visit.seen, visit.reactions, visit.put_off)
    ]
    if compiled.names.keys() >= set(history.arrival).union(*told):
        return  # as nearly always

    def check(said: Iterator[tuple[tuple[str | int, ...], str]]) -> Iterator[Problem]:
        for path, name in said:
            if name not in compiled.names:
                params = {"profile": compiled.profile.id, "name": name}
                fix, key = nearest_fix(name, compiled.names), path[-2:-1] != ("put_off",)
                yield history.origin.problem_at(path, "unknown-part", params, fix=fix, key=key)

    yield from check((("arrival", name), name) for name in history.arrival)
    for index, visit in history.counting():
        for section, said in (("work", visit.work), ("seen", visit.seen), ("reactions", visit.reactions)):
            yield from check((("visits", index, section, name), name) for name in said)
        yield from check((("visits", index, "put_off", place), name) for place, name in enumerate(visit.put_off))
