"""What a dog's history tells of each region on a day: its coat rebuilt, what was done when, what was seen and borne."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date

from attrs import field, frozen

from coatrules.coat import Coat, Pull, grown, mass_of, replay
from coatrules.compiled import CompiledProfile, RegionPlan
from coatrules.guards import in_force
from coatrules.history import Arrival, History, Seen, Visit, Work
from coatrules.pace import Observation, Pace, learn
from coatrules.problems import InputError, Problem, nearest
from coatrules.values import Reaction, TaskKind


@frozen(eq=False)
class RegionRecord:
    """What is known of one region. Days are ordinals.

    guessed: mass (parts per million) of hair whose age was never recorded. put_off: visits in a row that left it for later.
    reactions: all recorded, oldest first. seen: what was seen on the day itself.
    """

    coat: Coat
    last: Mapping[TaskKind, int]
    seen: Seen | None
    skin: str | None
    reactions: tuple[Reaction, ...]
    put_off: int
    guessed: int


@frozen(eq=False)
class Record:
    """What is known of one dog on a day."""

    day: int
    regions: Mapping[str, RegionRecord]
    pace: Pace
    health: tuple[str, ...]
    visits: int
    last_visit: int | None
    show: date | None


@frozen(eq=False)
class _Trail:
    """One region's events, gathered visit by visit."""

    pulls: list[Pull] = field(factory=list)
    cuts: list[tuple[int, float]] = field(factory=list)
    last: dict[TaskKind, int] = field(factory=dict)
    lengths: list[tuple[int, float]] = field(factory=list)
    reactions: list[Reaction] = field(factory=list)


def recorded(plan: CompiledProfile, history: History, day: date) -> Record:
    """The record of a dog on a day, from all visits up to and with it; raises ``InputError`` for names the profile lacks."""
    if problems := list(unknown_names(plan, history)):
        raise InputError(problems)
    visits = [visit for _, visit in history.until(day)]
    today = day.toordinal()
    first = visits[0].day.toordinal() if visits else today
    arrival = dict(plan.by_region(history.arrival))

    trails = {region: _Trail() for region in plan.regions}
    skin: dict[str, str] = {}
    put_off: dict[str, int] = {}
    seen_today: dict[str, Seen] = {}
    show = history.dog.show
    for visit in visits:
        _follow(plan, visit, trails, skin, put_off)
        if visit.day == day:
            seen_today.update(plan.by_region(visit.seen))
        show = visit.show or show

    pace = _pace(plan, trails, arrival, first)
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
    return Record(
        day=today,
        regions=regions,
        pace=pace,
        health=in_force(visits, day),
        visits=len(before),
        last_visit=before[-1].day.toordinal() if before else None,
        show=show if show is not None and show >= day else None,
    )


def _follow(
    plan: CompiledProfile,
    visit: Visit,
    trails: Mapping[str, _Trail],
    skin: dict[str, str],
    put_off: dict[str, int],
) -> None:
    """Adds one visit to what is known."""
    day = visit.day.toordinal()
    for region, seen in plan.by_region(visit.seen):
        if seen.skin is not None:
            skin[region] = seen.skin
        if seen.longest_mm is not None:
            trails[region].lengths.append((day, seen.longest_mm))
    reactions = dict(plan.by_region(visit.reactions))
    for region, work in plan.by_region(visit.work):
        trail = trails[region]
        done = _tasks(work)
        for task in done:
            trail.last[task] = day
        if work.pull:
            trail.pulls.append(Pull(day, mass_of(work.pull), work.pick == "even"))
        if work.clip is not None:
            trail.cuts.append((day, work.clip))
        if type(work.scissor) is float:
            trail.cuts.append((day, work.scissor))
        if done:
            put_off.pop(region, None)
            reactions.setdefault(region, "calm")
    for region, reaction in reactions.items():
        trails[region].reactions.append(reaction)
    for region, _ in plan.by_region(dict.fromkeys(visit.put_off)):
        put_off[region] = put_off.get(region, 0) + 1


def _tasks(work: Work) -> list[TaskKind]:
    done: list[TaskKind] = []
    if work.card:
        done.append("card")
    if work.pull:
        done.append("pull")
    if work.clip is not None:
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


def _pace(plan: CompiledProfile, trails: Mapping[str, _Trail], arrival: Mapping[str, Arrival], first: int) -> Pace:
    """The dog's pace, from the measured lengths of hair whose age is known and that was never cut."""
    observations = []
    for name, trail in trails.items():
        if not trail.lengths:
            continue
        region = plan.regions[name]
        said = arrival.get(name)
        start, guess = _start(region, said, first, 1.0)
        known_start = not guess and said is not None and said.grown_weeks is not None and said.clipped_mm is None
        for day, length in trail.lengths:
            coat = _grow(region, start, trail, 1.0, until=day)
            oldest = coat.cohorts[0].day
            if (oldest != start.cohorts[0].day or known_start) and not any(cut.day >= oldest for cut in coat.cuts):
                observations.append(Observation(name, (day - oldest) / 7, length, region.growth))
    visit = plan.profile.visit
    return learn(observations, spread=visit.pace_spread, region_spread=visit.region_spread, measure_mm=visit.measure_mm)


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
        for section in ("work", "seen", "reactions"):
            yield from check((("visits", index, section, name), name) for name in getattr(visit, section))
        yield from check((("visits", index, "put_off", place), name) for place, name in enumerate(visit.put_off))
