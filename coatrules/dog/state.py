"""What a dog's history tells of each region on a day: its coat rebuilt, what was done when, what was seen and borne."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from itertools import islice
from typing import NamedTuple

from coatrules.coat.growth import Growth
from coatrules.coat.queue import WHOLE, Coat
from coatrules.coat.ripening import loose_masses, ripe_masses
from coatrules.dog.equivalence import once_per_class
from coatrules.dog.forgotten_visits import Forgotten
from coatrules.dog.hair_records import grow_on, learned_from, start_of
from coatrules.dog.history import Arrival, History, Seen, Visit, last_show, still_ahead
from coatrules.dog.region_log import merged, region_logs, timed
from coatrules.dog.rolling import Rolling, RollingEnd, endings, last_season
from coatrules.dog.safety import in_force, raked_share
from coatrules.dog.since_clip import SinceClip, since_clip
from coatrules.dog.table_time import minutes_on_table
from coatrules.formats.values import Reaction, TaskKind
from coatrules.learning.pace import Pace
from coatrules.learning.speed import Speed, learn_speed
from coatrules.problems import MAX_PROBLEMS, InputError, Problem, nearest_fix
from coatrules.profile.compiled import CompiledProfile
from coatrules.read_only import NOTHING


class RegionState(NamedTuple):
    """What is known of one region. Days are ordinals.

    growth: how its hair grows on this dog. group: of the regions that arrived alike with hair of an age nobody knows, where
    what was seen since tells of it; ``start``: the day by which that hair is reckoned, ``arrival_weeks``: its age then, at
    pace 1. clips: that have not been stripped out; ``since_clip``: what came of the hair since the last of all, None where there was
    none. felt, felt_day: the last verdict of a hand.
    guessed: mass (parts per million) of hair whose age was never recorded. put_off: visits in a row that left it for later.
    stop_day: when it said stop here, if nothing else is recorded since. tolerance: what the recorded reactions leave of the
    profile's bouts, 1 being all. seen: what was seen on the day itself.
    """

    coat: Coat
    growth: Growth
    last: Mapping[TaskKind, int]
    seen: Seen | None
    skin: str | None
    skin_day: int | None
    last_reaction: Reaction | None
    stop_day: int | None
    tolerance: float
    put_off: int
    guessed: int
    group: str | None = None
    start: int = 0
    arrival_weeks: float = 0.0
    clips: int = 0
    felt: str | None = None
    felt_day: int | None = None
    since_clip: SinceClip | None = None

    def ripe(self, pace: float, day: int) -> tuple[float, ...]:
        """Returns the ripe share (0 to 1) of the whole coat that each cohort holds."""
        return tuple([mass / WHOLE for mass in ripe_masses(self.coat.cohorts, self.growth, pace, day)])

    def loose(self, pace: float, day: int) -> tuple[float, ...]:
        """Returns the loose share (0 to 1) of the whole coat that each cohort holds."""
        return tuple([mass / WHOLE for mass in loose_masses(self.coat.cohorts, self.growth, pace, day)])


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
    last_season: int | None
    """The day the latest season began that is on record."""
    show: date | None
    born: int | None
    speed: Speed
    rolling: Rolling
    endings: tuple[RollingEnd, ...]
    forgotten: tuple[Forgotten, ...] = ()
    """Visits that most likely were never written down; only what is learned counts with them."""
    margins: Mapping[str, tuple[str, ...]] = NOTHING
    """For each region the regions beside it whose skin is not sound."""
    spent_minutes: float = 0.0
    """On the table on the day itself, as far as its record tells."""
    class_keys: Mapping[str, object] = NOTHING
    """For each region a mark: where it is the same nothing known or asked differs, so that the same is to be done."""

    @property
    def age_weeks(self) -> float | None:
        """The dog's age; None where nobody knows when it was born."""
        return None if self.born is None else (self.day - self.born) / 7

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
        return self._replace(class_keys=marks)


class Replayed(NamedTuple):
    """What a history tells up to a day. Until more is told, it is the same for every later day.

    visits: with their places in the history, oldest first. clipped: regions with the day they were last clipped and
    the visit that says so, None where the arrival does. show: the show day last spoken of.
    """

    visits: list[tuple[int, Visit]]
    regions: Mapping[str, RegionState]
    pace: Pace
    rolling: Rolling
    speed: Speed
    clipped: Mapping[str, tuple[int, int | None]]
    show: date | None
    born: int | None
    forgotten: tuple[Forgotten, ...]


def state_on(compiled: CompiledProfile, history: History, day: date) -> DogState:
    """The state of a dog on a day, from all visits up to and with it; raises ``InputError`` for names the profile lacks."""
    return state_after(compiled, replay_visits(compiled, history, day), day)


def replay_visits(compiled: CompiledProfile, history: History, day: date) -> Replayed:
    """What all visits up to and with a day tell; raises ``InputError`` for names the profile lacks and a dog that is not born yet."""
    if problems := list(islice(unknown_names(compiled, history), MAX_PROBLEMS)):
        raise InputError(problems)
    visits = history.until(day)
    first = (visits[0][1].day if visits else day).toordinal()
    born = history.dog.born.toordinal() if history.dog.born is not None else None
    written = min((visit.day for _, visit in history.counting()), default=None)  # a visit after the day is one too
    if born is not None and written is not None and born > written.toordinal():
        params = {"born": history.dog.born, "visit": written}
        raise InputError([history.origin.problem_at(("dog", "born"), "born-after-visit", params)])
    if born is not None and born > day.toordinal():
        params = {"born": history.dog.born, "day": day}
        raise InputError([history.origin.problem_at(("dog", "born"), "born-after-day", params)])
    arrival = {name: (key, history.arrival[key]) for name, key in compiled.keys_of(history.arrival).items()}
    logs = region_logs(compiled, visits)
    days = [visit.day.toordinal() for _, visit in visits]
    pace, carried, forgotten = learned_from(compiled, logs, arrival, first, born, days)
    treated = {
        name: (logs[name], arrival.get(name), region.region.coat, pace.of(name))
        for name, region in compiled.regions.items()
    }
    growths = {coat: pace.typical(growth) for coat, growth in compiled.profile.coats.items()}

    def region_state(name: str) -> RegionState:
        region, trail = compiled.regions[name], logs[name]
        growth = growths[region.region.coat]
        start = start_of(region, arrival.get(name), first, growth, pace, born)
        coat = grow_on(start.coat, growth, pace.of(name), trail)
        old = start.coat.cohorts[0].day
        came = arrival[name][1] if name in arrival else None
        clips = (
            trail.clipped
            if came is None or came.clipped_mm is None
            else [(_clip_day(came, first), None), *trail.clipped]
        )
        cut = trail.clipped[-1][0] if trail.clipped else 0
        pulls_since = [pull for pull in trail.pulls if pull.day > cut]
        return RegionState(
            coat=coat,
            growth=growth,
            # What a dog came with is no work of its first day.
            last=trail.last if not clips else {"clip": min(clips[-1][0], first - 1), **trail.last},
            seen=None,
            skin=trail.skin,
            skin_day=trail.skin_day,
            last_reaction=trail.last_reaction,
            stop_day=trail.stop_day,
            tolerance=trail.tolerance,
            put_off=trail.put_off,
            guessed=sum(mass for mass, pulled, _ in coat.cohorts if start.guess and pulled == old),
            group=start.group if start.group in pace.posterior.arrivals and coat.cohorts[0].day == old else None,
            start=old,
            arrival_weeks=pace.of(name) * (first - old) / 7,
            clips=sum(day >= coat.cohorts[0].day for day, _ in clips),
            felt=trail.felt[-1].comes if trail.felt else None,
            felt_day=trail.felt[-1].day if trail.felt else None,
            since_clip=since_clip(clips[-1][0], pulls_since, trail.strip_days) if clips else None,
        )

    clipped = {name: trail.clipped[-1] for name, trail in logs.items() if trail.clipped}
    for name, (_, came) in arrival.items():
        if came.clipped_mm is not None:
            clipped.setdefault(name, (_clip_day(came, first), None))
    return Replayed(
        visits,
        regions=once_per_class(treated, region_state),
        pace=pace,
        rolling=carried,
        speed=learn_speed(timed(compiled, visits, logs)),
        clipped=clipped,
        show=last_show(history.dog, [visit for _, visit in visits]),
        born=born,
        forgotten=forgotten,
    )


def state_after(compiled: CompiledProfile, past: Replayed, day: date) -> DogState:
    """The state on a day, the last that the past tells of or a later one."""
    before = [visit for _, visit in past.visits if visit.day < day]
    seen: dict[str, Seen] = {}
    for _, visit in past.visits[len(before) :]:
        seen |= {
            name: merged([visit.seen[key] for key in keys]) for name, keys in compiled.parts_of(visit.seen).items()
        }
        for name in compiled.keys_of(visit.work):  # what was seen before the work is over with it
            seen.pop(name, None)
    regions = past.regions
    if seen:
        looked = {name: (id(own), seen.get(name)) for name, own in regions.items()}
        regions = once_per_class(looked, lambda name: past.regions[name]._replace(seen=seen.get(name)))
    age_weeks = None if past.born is None else (day.toordinal() - past.born) / 7
    raked = raked_share(age_weeks, compiled.first_coat_weeks)
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
        health=in_force([visit for _, visit in past.visits], day),
        visits=len(before),
        first_visit=before[0].day.toordinal() if before else None,
        last_visit=before[-1].day.toordinal() if before else None,
        last_season=last_season(past.visits, day),
        show=still_ahead(past.show, day),
        born=past.born,
        speed=past.speed,
        rolling=past.rolling,
        endings=endings(
            compiled, past.visits, {n: own.coat for n, own in regions.items()}, past.clipped, day.toordinal()
        ),
        forgotten=past.forgotten,
        margins=margins,
        spent_minutes=sum(
            minutes_on_table(compiled, visit, past.speed.of, raked=raked) for _, visit in past.visits[len(before) :]
        ),
    ).marked()


def _clip_day(arrival: Arrival, first: int) -> int:
    return first - round(arrival.clipped_weeks * 7)


def unknown_names(compiled: CompiledProfile, history: History) -> Iterator[Problem]:
    """Names in a history that its profile does not have."""
    named = [
        names for _, visit in history.counting() for names in (visit.work, visit.seen, visit.reactions, visit.put_off)
    ]
    if compiled.names.keys() >= set(history.arrival).union(*named):
        return  # as nearly always

    def check(named: Iterator[tuple[tuple[str | int, ...], str]]) -> Iterator[Problem]:
        for path, name in named:
            if name not in compiled.names:
                params = {"profile": compiled.profile.id, "name": name}
                fix, key = nearest_fix(name, compiled.names), path[-2:-1] != ("put_off",)
                yield history.origin.problem_at(path, "unknown-part", params, fix=fix, key=key)

    yield from check((("arrival", name), name) for name in history.arrival)
    for index, visit in history.counting():
        for section, entries in (("work", visit.work), ("seen", visit.seen), ("reactions", visit.reactions)):
            yield from check((("visits", index, section, name), name) for name in entries)
        yield from check((("visits", index, "put_off", place), name) for place, name in enumerate(visit.put_off))
