"""What a dog's records say of its hair, as observations of its pace, its growing time and the age it arrived with."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping, Sequence
from math import inf
from typing import NamedTuple

from coatrules.coat.growth import Growth
from coatrules.coat.queue import Coat, grown, not_before, replay
from coatrules.coat.ripening import OLDEST
from coatrules.dog.forgotten_visits import Forgotten, likely_forgotten, may_be_missing, with_visits
from coatrules.dog.history import Arrival
from coatrules.dog.region_log import Measured, RegionLog
from coatrules.dog.rolling import LayerEvidence, Rolling, extremes, rolling
from coatrules.learning.layer_counts import LEAST, MOST, bounds_of_count, shows_weeks, stretches
from coatrules.learning.observations import Arrival as UnknownArrival
from coatrules.learning.observations import AtLeast, Came, Felt, Layers, Length, Observation, Part
from coatrules.learning.pace import Pace, evidence, pace_from
from coatrules.profile.compiled import CompiledProfile, CompiledRegion


class Start(NamedTuple):
    """The coat a dog came with. guess: nobody wrote down its age. group: of the regions that arrived alike with hair of an
    age that has to be told from what was seen of it since, None where it is known."""

    coat: Coat
    guess: bool
    group: str | None


def start_of(
    region: CompiledRegion,
    arrival_of_part: tuple[str, Arrival] | None,
    first: int,
    growth: Growth,
    pace: Pace | None,
    born: int | None,
) -> Start:
    """Returns the coat a region came with, no hair of it older than the dog.

    ``arrival_of_part``: the part that the history speaks of, and what it says of its arrival. ``pace``: what is known of the
    dog, None where nothing is yet. Where no record tells the age of the hair it counts as grown out.
    """
    arrival = arrival_of_part[1] if arrival_of_part is not None else None
    k = 1.0 if pace is None else pace.of(region.id)
    known = arrival is not None and (arrival.grown_weeks is not None or arrival.clipped_mm is not None)
    group = None if known else f"{region.region.coat}:{arrival_of_part[0] if arrival_of_part is not None else ''}"
    if pace is not None and group is not None and group in pace.arrived:
        age = pace.arrived[group]
        return Start(not_before(grown(first, growth, weeks=age / k), born), arrival is None, group)
    weeks, length = (arrival.grown_weeks, arrival.longest_mm) if arrival is not None else (None, None)
    coat = grown(first, growth, weeks=weeks, longest_mm=length, pace=k)
    if arrival is not None and arrival.clipped_mm is not None:
        coat = coat.clipped(first - round(arrival.clipped_weeks * 7), arrival.clipped_mm)
    return Start(not_before(coat, born), arrival is None, group)


def grow_on(start: Coat, growth: Growth, pace: float, trail: RegionLog, until: int | None = None) -> Coat:
    """Returns the coat after all that was done to it (before the day ``until``)."""
    pulls, cuts = trail.pulls, trail.cuts
    if until is not None:
        pulls = [pull for pull in pulls if pull.day < until]
        cuts = [cut for cut in cuts if cut[0] < until]
    coat = replay(start, growth, pace, pulls) if pulls else start
    for cut in cuts:
        coat = coat.clipped(*cut)
    return coat


def coats_before(start: Coat, growth: Growth, trail: RegionLog) -> dict[int, Coat]:
    """Returns the coat before the work of each day on which a region tells of its hair, at the typical pace; each goes on from
    the one before, so that many visits cost no more than so many times one."""
    coats: dict[int, Coat] = {}
    coat, pulled, pulls = start, 0, trail.pulls
    for day in sorted({entry.day for entries in (trail.lengths, trail.felt, trail.asked) for entry in entries}):
        end = bisect_left(pulls, day, lo=pulled, key=lambda pull: pull.day)
        if end > pulled:
            coat, pulled = replay(coat, growth, 1.0, pulls[pulled:end]), end
        coats[day] = coat
        for cut in trail.cuts:
            if cut[0] < day:
                coats[day] = coats[day].clipped(*cut)
    return coats


class Learned(NamedTuple):
    """What is known of the dog's hair, how many coats it carries at a time, and which visits most likely were not written down."""

    pace: Pace
    rolling: Rolling
    forgotten: tuple[Forgotten, ...] = ()


def learned_from(
    compiled: CompiledProfile,
    region_logs: Mapping[str, RegionLog],
    arrival: Mapping[str, tuple[str, Arrival]],
    first: int,
    born: int | None,
    visits: Sequence[int],
) -> Learned:
    """Returns what a dog's records teach; ``visits``: their days (ordinals), whatever was done there."""
    visit = compiled.profile.visit
    spreads = {"spread": visit.pace_spread, "region_spread": visit.region_spread, "measure_mm": visit.measure_mm}
    starts = {
        name: start_of(compiled.regions[name], arrival.get(name), first, compiled.regions[name].growth, None, born)
        for name, trail in region_logs.items()
        if trail.lengths or trail.felt or trail.asked or trail.layers
    }
    dog_weeks = None if born is None or born > first else (first - born) / 7
    unknown = {
        start.group: UnknownArrival(compiled.regions[name].growth, dog_weeks)
        for name, start in starts.items()
        if start.group is not None
    }

    def groups_of(observations: Sequence[Observation]) -> tuple[tuple[str, UnknownArrival], ...]:
        named = {_arrived(one) for one in observations}
        return tuple(sorted((group, of) for group, of in unknown.items() if group in named))

    def pace_of(observations: list[Observation]) -> Pace:
        return pace_from(tuple(observations), groups_of(observations), **spreads)

    def hair_seen(logs: Mapping[str, RegionLog]) -> list[Observation]:
        return [
            one
            for name, start in starts.items()
            for one in _Teller(compiled.regions[name], logs[name], arrival.get(name), first, start).observations()
        ]

    records = hair_seen(region_logs)
    pace = pace_of(records)
    forgotten: tuple[Forgotten, ...] = ()
    if places := may_be_missing(visits) if records else []:
        # One record that contradicts all others is a slip, not a visit.
        slip = _written(pace.outliers[0].measured) if len(pace.outliers) == 1 else None
        telling = sum(_written(one) != slip for one in records)

        def likely(missing: Sequence[Forgotten]) -> float:
            again = [one for one in hair_seen(with_visits(region_logs, missing)) if _written(one) != slip]
            return evidence(tuple(again), groups_of(again), **spreads) if len(again) == telling else -inf

        forgotten = likely_forgotten(places, likely)
    if forgotten:
        region_logs = with_visits(region_logs, forgotten)
        records = hair_seen(region_logs)
        pace = pace_of(records)
    if not any(region_logs[name].layers for name in starts):
        return Learned(pace, Rolling(), forgotten)
    counts: list[Layers] = []
    showings: list[LayerEvidence] = []
    for name in starts:
        region, trail = compiled.regions[name], region_logs[name]
        for sight in trail.layers:
            count, showing = _counted(region, trail, arrival.get(name), first, born, sight, pace, visit.measure_mm)
            if region.target is not None and not region.target.full_strip:
                showings.append(showing)
            # What no pace explains tells of the kind of coat, not of the pace.
            if count is not None and not showing.one_coat:
                counts.append(count)
    carried = rolling(showings)
    if carried.rolls == "no" or not counts:
        return Learned(pace, carried, forgotten)
    return Learned(pace_of([*records, *counts]), carried, forgotten)


def _written(one: Observation) -> tuple[str, str, int, int]:
    """Where a record was written, whatever its hair is taken for."""
    return type(one).__name__, one.region, one.day, one.visit


def _arrived(one: Observation) -> str | None:
    if isinstance(one, Length | AtLeast):
        return one.arrived
    if isinstance(one, Layers):
        return None
    parts = one.tenth if isinstance(one, Felt) else one.asked
    return next((part.arrived for part in parts if part.arrived is not None), None)


class _Teller:
    """Puts what was seen and pulled in one region into observations."""

    def __init__(
        self,
        region: CompiledRegion,
        trail: RegionLog,
        arrival_of_part: tuple[str, Arrival] | None,
        first: int,
        start: Start,
    ) -> None:
        self.region, self.trail, self.first, self.start = region, trail, first, start
        self.arrived_on = self.start.coat.cohorts[0].day
        self.arrival_mm = arrival_of_part[1].longest_mm if arrival_of_part is not None else None
        self.coats = coats_before(self.start.coat, region.growth, trail)

    def observations(self) -> Iterator[Observation]:
        id_, growth, group = self.region.id, self.region.growth, self.start.group
        of_arrival = False
        for day, visit, regions, mm, kind in self.trail.lengths:
            coat = self.coats[day]
            oldest = coat.cohorts[0].day
            if any(cut.day >= oldest for cut in coat.cuts):
                continue
            arrived = group if oldest == self.arrived_on else None
            weeks = (day - (self.first if arrived is not None else oldest)) / 7
            of_arrival |= arrived is not None
            if kind == "at-least":
                yield AtLeast(id_, growth, weeks, mm, arrived, 1 / regions, day, visit)
            elif kind == "at-end" or (weeks > 0 or arrived is not None):
                yield Length(id_, growth, weeks, mm, kind == "at-end", arrived, 1 / regions, day, visit)
        for felt in self.trail.felt:
            coat = self.coats[felt.day]
            standing = _standing(coat, growth, felt.day)
            parts = self._parts(coat, felt.day, -(-standing // OLDEST))
            if parts:
                of_arrival |= any(part.arrived for part in parts)
                yield Felt(id_, growth, felt.comes, parts, 1 / felt.regions, felt.day, felt.visit)
        for day, visit, regions, mass, came in self.trail.asked:
            parts = self._parts(self.coats[day], day, mass)
            if parts:
                of_arrival |= any(part.arrived for part in parts)
                yield Came(id_, growth, came / mass, parts, 1 / regions, day, visit)
        if of_arrival and self.arrival_mm is not None:
            yield Length(id_, growth, 0.0, self.arrival_mm, False, group, 1.0, self.first)

    def _parts(self, coat: Coat, day: int, mass: int) -> tuple[Part, ...]:
        """The cohorts of so much of the oldest hair that stands; nothing where no age of it can be told: cut hair is no
        longer known by its length, but by its age it is."""
        left, taken = mass, []
        growth = self.region.growth
        for own, pulled, at_pull in coat.cohorts:
            if not left or (day - pulled) / 7 < growth.lag_weeks:
                break
            part = min(own, left)
            left -= part
            taken.append((part, own, pulled, at_pull))
        whole = mass - left
        group = self.start.group
        return tuple(
            [
                Part(
                    (day - (self.first if group is not None and pulled == self.arrived_on else pulled)) / 7,
                    part / whole,
                    own / at_pull,
                    group if pulled == self.arrived_on else None,
                )
                for part, own, pulled, at_pull in taken
            ]
        )


def _standing(coat: Coat, growth: Growth, day: int) -> int:
    return sum([mass for mass, pulled, _ in coat.cohorts if (day - pulled) / 7 >= growth.lag_weeks])


def _counted(
    region: CompiledRegion,
    trail: RegionLog,
    arrival_of_part: tuple[str, Arrival] | None,
    first: int,
    born: int | None,
    sight: Measured,
    pace: Pace,
    measure_mm: float,
) -> tuple[Layers | None, LayerEvidence]:
    """What a count of layers tells of the pace (nothing while cut hair stands, or a coat nobody knows) and what it shows."""
    growth, k, day, seen = pace.typical(region.growth), pace.of(region.id), sight.day, int(sight.figure)
    start = start_of(region, arrival_of_part, first, growth, pace, born)
    coat = grow_on(start.coat, growth, k, trail, until=day)
    if coat.cuts or (start.guess and coat.cohorts[0].day == start.coat.cohorts[0].day):
        return None, LayerEvidence(day, sight.visit, region.id, seen, 0)
    shows = shows_weeks(growth)
    slow, fast = extremes(k, pace.sd_of(region.id), shows)
    found = stretches(coat, growth, day, min(slow, LEAST), max(fast, MOST))
    least, most = bounds_of_count(seen, found)
    due = min(stretch.layers for stretch in found if stretch.most > slow and stretch.least < fast)
    error = measure_mm / (growth.mm_per_week * shows) if shows else 1.0
    count = Layers(region.id, region.growth, seen, least, most, error, 1 / sight.regions, day, sight.visit)
    return count, LayerEvidence(day, sight.visit, region.id, seen, due)
