"""What a dog's history tells of each region on a day: its coat rebuilt, what was done when, what was seen and borne."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from itertools import islice
from typing import NamedTuple

from attrs import field, frozen

from coatrules.carry import Carries, Ending, Showing, carries, endings, extremes
from coatrules.coat import Coat, Pull, grown, mass_of, replay
from coatrules.compiled import CompiledProfile, RegionPlan
from coatrules.guards import in_force
from coatrules.history import Arrival, History, Seen, Visit, Work
from coatrules.pace import CONTRARY, LEAST, MOST, LayerCount, Observation, Pace, bounds_of_count, learn, stretches
from coatrules.problems import MAX_PROBLEMS, InputError, Problem, nearest
from coatrules.speed import Speed, Timed, learn_speed
from coatrules.values import Reaction, TaskKind


@frozen(eq=False, repr=False)
class RegionRecord:
    """What is known of one region. Days are ordinals.

    guessed: mass (parts per million) of hair whose age was never recorded. put_off: visits in a row that left it for later.
    reactions: all recorded, oldest first; bearing: what they leave of the profile's bouts, 1 being all. seen: what was seen
    on the day itself.
    """

    coat: Coat
    last: Mapping[TaskKind, int]
    seen: Seen | None
    skin: str | None
    reactions: tuple[Reaction, ...]
    put_off: int
    guessed: int
    bearing: float = field(init=False)

    @bearing.default
    def _borne(self) -> float:
        return bout_factor(self.reactions)


_REACTIONS: Mapping[str, float] = {"unsettled": 0.75, "stop": 0.5, "calm": 1.1}


def bout_factor(reactions: Iterable[Reaction]) -> float:
    """What is left of the profile's bout after the recorded reactions, oldest first: 1 is all of it."""
    factor = 1.0
    for reaction in reactions:
        factor = min(1.0, factor * _REACTIONS[reaction])
    return factor


@frozen(eq=False, repr=False)
class Record:
    """What is known of one dog on a day."""

    day: int
    regions: Mapping[str, RegionRecord]
    pace: Pace
    health: tuple[str, ...]
    visits: int
    first_visit: int | None
    last_visit: int | None
    show: date | None
    speed: Speed
    carries: Carries
    endings: tuple[Ending, ...]


class _Sight(NamedTuple):
    """A figure seen: on which day, at which visit, said of how many regions."""

    day: int
    visit: int
    regions: int
    figure: float


@frozen(eq=False, repr=False)
class _Trail:
    """One region's events, gathered visit by visit."""

    pulls: list[Pull] = field(factory=list)
    cuts: list[tuple[int, float]] = field(factory=list)
    last: dict[TaskKind, int] = field(factory=dict)
    lengths: list[_Sight] = field(factory=list)
    layers: list[_Sight] = field(factory=list)
    clipped: list[tuple[int, int | None]] = field(factory=list)
    reactions: list[Reaction] = field(factory=list)


def recorded(plan: CompiledProfile, history: History, day: date) -> Record:
    """The record of a dog on a day, from all visits up to and with it; raises ``InputError`` for names the profile lacks."""
    if problems := list(islice(unknown_names(plan, history), MAX_PROBLEMS)):
        raise InputError(problems)
    told = history.until(day)
    visits = [visit for _, visit in told]
    today = day.toordinal()
    first = visits[0].day.toordinal() if visits else today
    arrival = dict(plan.by_region(history.arrival))

    trails = {region: _Trail() for region in plan.regions}
    skin: dict[str, str] = {}
    put_off: dict[str, int] = {}
    seen_today: dict[str, Seen] = {}
    show = history.dog.show
    timed: list[Timed] = []
    for index, visit in told:
        timed += _timed(plan, index, visit, trails)
        _follow(plan, index, visit, trails, skin, put_off)
        if visit.day == day:
            seen_today.update(plan.by_region(visit.seen))
        show = visit.show or show

    pace, carried = _pace(plan, trails, arrival, first)
    before = [visit for visit in visits if visit.day < day]
    regions = {}
    for name, region in plan.regions.items():
        trail = trails[name]
        start, guess = _start(region, arrival.get(name), first, pace.of(name))
        coat = _grow(region, start, trail, pace.of(name))
        regions[name] = RegionRecord(
            coat=coat,
            last=trail.last,
            seen=seen_today.get(name),
            skin=skin.get(name),
            reactions=tuple(trail.reactions),
            put_off=put_off.get(name, 0),
            guessed=sum(mass for mass, pulled in coat.cohorts if guess and pulled == start.cohorts[0].day),
        )
    clipped = {name: trail.clipped[-1] for name, trail in trails.items() if trail.clipped}
    for name, said in arrival.items():
        if said.clipped_mm is not None:
            clipped.setdefault(name, (first - round(said.clipped_weeks * 7), None))
    return Record(
        day=today,
        regions=regions,
        pace=pace,
        health=in_force(visits, day),
        visits=len(before),
        first_visit=before[0].day.toordinal() if before else None,
        last_visit=before[-1].day.toordinal() if before else None,
        show=show if show is not None and show >= day else None,
        speed=learn_speed(timed),
        carries=carried,
        endings=endings(plan, told, {name: own.coat for name, own in regions.items()}, clipped, today),
    )


def _timed(plan: CompiledProfile, index: int, visit: Visit, trails: Mapping[str, _Trail]) -> Iterator[Timed]:
    """The entries of a visit that say how long they took, with the profile's minutes for the same work.

    An entry with work for which the profile has no minutes in one of its regions is passed over: it tells nothing.
    """
    if all(work.minutes is None for work in visit.work.values()):
        return
    entries: dict[str, dict[str, float | None]] = {}
    for name, said in plan.said(visit.work).items():
        work = visit.work[said]
        if work.minutes is not None:
            minutes = _usual_minutes(plan.regions[name], work, trails[name], visit.day.toordinal())
            entries.setdefault(said, {})[name] = minutes
    for said, usual in entries.items():
        known = {name: minutes for name, minutes in usual.items() if minutes is not None}
        if len(known) == len(usual):
            yield Timed(visit.work[said].minutes or 0.0, known, index, said)


def _usual_minutes(region: RegionPlan, work: Work, trail: _Trail, day: int) -> float | None:
    """The profile's minutes for some work in a region; None where it has none."""
    total = 0.0
    for task in _tasks(work):
        minutes = region.region.minutes.get(task)
        if minutes is None:
            minutes = next((routine.minutes for _, routine in region.routines if routine.task == task), None)
        if minutes is None:
            return None
        if task == "pull":
            minutes *= work.pull or 0.0
        elif task == "card" and region.growth.undercoat_weeks is not None and "card" in trail.last:
            minutes *= min(1.0, (day - trail.last["card"]) / 7 / region.growth.undercoat_weeks)
        total += minutes
    return total


def _follow(
    plan: CompiledProfile,
    index: int,
    visit: Visit,
    trails: Mapping[str, _Trail],
    skin: dict[str, str],
    put_off: dict[str, int],
) -> None:
    """Adds one visit to what is known."""
    day = visit.day.toordinal()
    keys = plan.said(visit.seen)
    regions_of = Counter(keys.values()) if keys else {}
    for region, key in keys.items():
        seen = visit.seen[key]
        if seen.skin is not None:
            skin[region] = seen.skin
        if seen.longest_mm is not None:
            trails[region].lengths.append(_Sight(day, index, regions_of[key], seen.longest_mm))
        if seen.layers is not None:
            trails[region].layers.append(_Sight(day, index, regions_of[key], seen.layers))
    reactions = dict(plan.by_region(visit.reactions))
    entries = {key: _Entry.of(work, day) for key, work in visit.work.items()}
    for region, key in plan.said(visit.work).items():
        trail, entry = trails[region], entries[key]
        trail.last.update(entry.done)
        if entry.pull is not None:
            trail.pulls.append(entry.pull)
        if entry.cuts:
            trail.cuts.extend(entry.cuts)
        if "clip" in entry.done and visit.work[key].clip is not True:
            trail.clipped.append((day, index))
        if entry.done:
            put_off.pop(region, None)
            reactions.setdefault(region, "calm")
    for region, reaction in reactions.items():
        trails[region].reactions.append(reaction)
    for region in plan.said(visit.put_off):
        put_off[region] = put_off.get(region, 0) + 1


class _Entry(NamedTuple):
    """What an entry says of each of its regions: the day of each task, what was pulled, and the cuts with their lengths."""

    done: dict[TaskKind, int]
    pull: Pull | None
    cuts: list[tuple[int, float]]

    @classmethod
    def of(cls, work: Work, day: int) -> _Entry:
        """What was done on a day."""
        pull = Pull(day, mass_of(work.pull), work.pick == "even") if work.pull else None
        cuts = [(day, float(left)) for left in (work.clip, work.scissor) if type(left) is not bool]
        return cls(dict.fromkeys(_tasks(work), day), pull, cuts)


def _tasks(work: Work) -> list[TaskKind]:
    done: list[TaskKind] = []
    if work.card:
        done.append("card")
    if work.pull:
        done.append("pull")
    if work.clip is not False:
        done.append("clip")
    if work.scissor is not False:
        done.append("scissor")
    if work.comb:
        done.append("comb")
    return done


def _start(region: RegionPlan, arrival: Arrival | None, first: int, pace: float) -> tuple[Coat, bool]:
    """The coat the dog came with, and whether its age is only a guess."""
    if arrival is None:
        return grown(first, region.growth, pace=pace), True
    coat = grown(first, region.growth, weeks=arrival.grown_weeks, longest_mm=arrival.longest_mm, pace=pace)
    if arrival.clipped_mm is not None:
        coat = coat.clipped(first - round(arrival.clipped_weeks * 7), arrival.clipped_mm)
    return coat, False


def _grow(region: RegionPlan, start: Coat, trail: _Trail, pace: float, until: int | None = None) -> Coat:
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
    plan: CompiledProfile, trails: Mapping[str, _Trail], arrival: Mapping[str, Arrival], first: int
) -> tuple[Pace, Carries]:
    """The dog's pace, from measured lengths of hair whose age is known and that was never cut, and from counted layers;
    and how many coats it carries at a time."""
    visit = plan.profile.visit

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
        one for name, trail in trails.items() for one in _lengths(plan.regions[name], trail, arrival.get(name), first)
    ]
    pace = learned(lengths, [])
    if not any(trail.layers for trail in trails.values()):
        return pace, Carries()
    counts: list[LayerCount] = []
    showings: list[Showing] = []
    for name, trail in trails.items():
        region = plan.regions[name]
        for sight in trail.layers:
            count, showing = _counted(region, trail, arrival.get(name), first, sight, pace)
            if region.target is not None and not region.target[1].full_strip:
                showings.append(showing)
            # What no pace explains tells of the kind of coat, not of the pace.
            if count is not None and not showing.one_coat:
                counts.append(count)
    carried = carries(showings)
    if carried.rolls == "no" or not counts:
        return pace, carried
    return learned(lengths, counts), carried


def _lengths(region: RegionPlan, trail: _Trail, said: Arrival | None, first: int) -> Iterator[Observation]:
    if not trail.lengths:
        return
    start, guess = _start(region, said, first, 1.0)
    known_start = not guess and said is not None and said.grown_weeks is not None and said.clipped_mm is None
    for day, visit, regions, length in trail.lengths:
        coat = _grow(region, start, trail, 1.0, until=day)
        oldest = coat.cohorts[0].day
        if (oldest != start.cohorts[0].day or known_start) and not any(cut.day >= oldest for cut in coat.cuts):
            yield Observation(region.id, (day - oldest) / 7, length, region.growth, day, visit, 1 / regions)


def _counted(
    region: RegionPlan, trail: _Trail, said: Arrival | None, first: int, sight: _Sight, pace: Pace
) -> tuple[LayerCount | None, Showing]:
    """What a count of layers tells of the pace (nothing while cut hair stands, or a coat nobody knows) and what it shows."""
    growth, day, seen = region.growth, sight.day, int(sight.figure)
    start, guess = _start(region, said, first, pace.of(region.id))
    coat = _grow(region, start, trail, pace.of(region.id), until=day)
    if coat.cuts or (guess and coat.cohorts[0].day == start.cohorts[0].day):
        return None, Showing(day, sight.visit, region.id, seen, 0)
    slow, fast = extremes(pace.of(region.id), pace.sd_of(region.id), growth.breakthrough_weeks)
    found = stretches(coat, growth, day, min(slow, LEAST), max(fast, MOST))
    least, most = bounds_of_count(seen, found)
    due = min(stretch.layers for stretch in found if stretch.most > slow and stretch.least < fast)
    count = LayerCount(region.id, seen, least, most, growth, day, sight.visit, 1 / sight.regions)
    return count, Showing(day, sight.visit, region.id, seen, due)


def unknown_names(plan: CompiledProfile, history: History) -> Iterator[Problem]:
    """Names in a history that its profile does not have."""

    def check(said: Iterator[tuple[tuple[str | int, ...], str]]) -> Iterator[Problem]:
        for path, name in said:
            if name not in plan.names:
                message = f"the profile '{plan.profile.id}' has no region, group or zone '{name}'"
                hint = nearest(name, plan.names)
                yield history.origin.problem("unknown-name", message, path, hint=hint, key=path[-2:-1] != ("put_off",))

    yield from check((("arrival", name), name) for name in history.arrival)
    for index, visit in enumerate(history.visits):
        for section, said in (("work", visit.work), ("seen", visit.seen), ("reactions", visit.reactions)):
            if not said.keys() <= plan.names.keys():
                yield from check((("visits", index, section, name), name) for name in said)
        yield from check((("visits", index, "put_off", place), name) for place, name in enumerate(visit.put_off))
