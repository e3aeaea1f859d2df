"""When to come back: the first and last good day of every region, and the window they leave together."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from datetime import date, timedelta
from math import floor
from typing import Literal, NamedTuple

from attrs import frozen

from coatrules.catalogue.message import Message
from coatrules.coat.growth import days_to_age, ripening_days
from coatrules.coat.measures import (
    covers,
    days_until_blown,
    days_until_longer,
    days_until_pull_possible,
)
from coatrules.coat.queue import WHOLE, Coat, mass_of
from coatrules.coat.ripening import HORIZON_DAYS, days_until_ripe
from coatrules.dog.equivalence import once_per_class
from coatrules.dog.state import DogState, RegionState
from coatrules.formats.values import TaskKind
from coatrules.learning.draws import (
    Dates,
    Due,
    Event,
    Milestone,
    draw_dogs,
    when_long,
    when_loose,
    when_ripe,
    whole_dog,
)
from coatrules.learning.layer_counts import shows_weeks
from coatrules.order.share import RIPE_FROM, waits_for_ripeness
from coatrules.order.verdicts import Verdict
from coatrules.profile.compiled import CompiledProfile, CompiledRegion

_TINY = 1e-9

Bound = Literal["earliest", "latest"]
Why = Literal["ready", "blown", "too-long", "undercoat", "clipping"]


@frozen(kw_only=True)
class Binding:
    """What sets an end of the window: a region and the reason. ``window``: between which days it falls for 80 of 100 dogs
    of a pace as uncertain as this one's (one day where the calendar sets it)."""

    bound: Bound
    region: str
    why: Why
    day: date
    window: tuple[date, date]


@frozen(kw_only=True)
class NextLayer:
    """The day the next layer breaks through, and between which days it does for 80 of 100 such dogs."""

    day: date
    window: tuple[date, date]


@frozen(kw_only=True)
class LaterVisit:
    """What is found and needed if the dog comes ``weeks`` after the best day: of the parts worked by hand the least cover
    (0 to 1), the longest hair (mm) and the mean share that is blown; the minutes of all that is then due."""

    weeks: int
    day: date
    cover: float | None
    longest_mm: float
    blown_share: float
    minutes: float


@frozen(kw_only=True)
class NextVisit:
    """The window for the next visit. ``best`` is the profile's interval, moved into the window.

    binding: what sets each end; empty where nothing does. clash: the window is empty, the two ends disagree; ``best`` is then
    the interval, or the day on which all is ready if that is sooner. planned: the interval before it was moved. late: what
    happens if the dog comes later; empty where nobody asked. hold: what must happen before any day holds; no calendar gets an
    entry meanwhile. open: the day on which the salon is open and the dog comes; None where no salon's days are known.
    """

    earliest: date
    best: date
    latest: date | None
    binding: tuple[Binding, ...]
    clash: bool = False
    planned: date | None = None
    late: tuple[LaterVisit, ...] = ()
    hold: Message | None = None
    open: date | None = None

    @property
    def day(self) -> date:
        """The day to give to the owner: an open one where the salon's days are known, else the best."""
        return self.open or self.best

    def window_80(self, end: Literal["earliest", "best", "latest"]) -> tuple[date, date] | None:
        """Between which days a day falls for 80 of 100 dogs of a pace as uncertain; None where there is no such day."""
        bounds = {binding.bound: binding.window for binding in self.binding}
        first = bounds.get("earliest", (self.earliest, self.earliest))
        last = bounds.get("latest")
        if end != "best":
            return first if end == "earliest" else last
        planned = self.planned or self.best
        if self.clash:
            return min(planned, first[0]), min(planned, first[1])
        low, high = (max(planned, day) for day in first)
        return (low, high) if last is None else (min(low, last[0]), min(high, last[1]))


def next_visit(
    compiled: CompiledProfile, state: DogState, verdicts: Mapping[str, Verdict], worked: Collection[str]
) -> NextVisit:
    """Returns the window for the next visit, if today's work is done as ordered.

    Its ends are those of the typical dog, as far as they lie between the days that hold for 80 of 100 dogs like this one
    (``learning.draws``): each draw is one dog, whose regions are slow or fast together.
    """
    leading = leading_regions(compiled)
    limits: list[_Limit] = []
    looked_at: set[object] = set()
    for name, region in compiled.regions.items():
        if verdicts[name].outcome == "forbid" or name in state.margins:
            continue  # nothing is done there, however the coat grows
        verdict = verdicts[name] if name in worked else None
        treated = (state.class_keys[name], what_is_done(verdict), name in leading)
        if treated in looked_at:
            continue  # a region like one before it moves neither end
        looked_at.add(treated)
        own = state.regions[name]
        coat = after_work(region, state, verdict)
        done = {**own.last, **dict.fromkeys(_done(verdict), state.day)}
        limits += _limits(compiled, region, state, coat, done, name in leading)
    bounds = _bounds(compiled, state, limits)
    today = date.fromordinal(state.day)
    first = bounds["earliest"].day if "earliest" in bounds else today + timedelta(days=1)
    last = bounds["latest"].day if "latest" in bounds else None
    planned = today + timedelta(days=round(compiled.profile.visit.every_weeks * 7))
    clash = last is not None and first > last
    return NextVisit(
        earliest=first,
        best=best_day(planned, first, last),
        latest=last,
        binding=tuple(bounds.values()),
        clash=clash,
        planned=planned,
    )


def leading_regions(compiled: CompiledProfile) -> frozenset[str]:
    """Returns the regions that decide when the dog comes again: of the targets that lead, by default of the one with most
    minutes. Small parts that are not ready wait."""
    hand = {
        name: region
        for name, region in compiled.regions.items()
        if region.target is not None and region.clipper_only is None
    }
    leads = {name for name, region in hand.items() if region.target is not None and region.target.leads}
    if leads:
        return frozenset(leads)
    minutes: dict[str, float] = {}
    for region in hand.values():
        share = region.region.minutes.get("pull", 0.0)
        minutes[region.target_id or ""] = minutes.get(region.target_id or "", 0.0) + share
    if not minutes:
        return frozenset()
    most = max(minutes, key=lambda target: (minutes[target], target))
    return frozenset(name for name, region in hand.items() if region.target_id == most)


def best_day(planned: date, first: date, last: date | None) -> date:
    """The day planned, moved into the window. Where the ends disagree it is never put off, and moved up only to the first
    day on which all is ready: a part that is a little long bears waiting better than a dog bears coming for little."""
    if last is not None and first > last:
        return min(planned, first)
    wanted = max(planned, first)
    return wanted if last is None else min(wanted, last)


def next_layers(compiled: CompiledProfile, state: DogState) -> dict[str, NextLayer]:
    """When the next layer of each region breaks through; those in which no hair is under the skin are left out."""
    layers = once_per_class(state.class_keys, lambda name: _next_layer(compiled.regions[name], state))
    return {name: layer for name, layer in layers.items() if layer is not None}


def _next_layer(region: CompiledRegion, state: DogState) -> NextLayer | None:
    own, pace = state.regions[region.id], state.pace.of(region.id)
    weeks = shows_weeks(own.growth)
    if weeks > own.growth.grown_weeks:
        return None
    wait = days_to_age(max(weeks - _TINY, 0.0), pace)  # as lengths are read
    hidden = next((cohort.day for cohort in own.coat.cohorts if cohort.day + wait > state.day), None)
    if hidden is None:
        return None
    slow, fast = state.pace.within_80(region.id)
    soon, late = (hidden + weeks * 7 / at for at in (fast, slow))
    return NextLayer(day=date.fromordinal(hidden + wait), window=_window(hidden + wait, max(soon, state.day - 1), late))


def _window(day: int, soon: float, late: float) -> tuple[date, date]:
    """The days on which something falls that happens between two moments, eight times in ten.

    A day holds what happens in the 24 hours before it; it is counted in where its middle is, for with both ends in, a window
    of a few days would hold nine in ten.
    """
    return date.fromordinal(min(floor(soon + 0.5) + 1, day)), date.fromordinal(max(floor(late + 0.5), day))


def _done(verdict: Verdict | None) -> list[TaskKind]:
    return [task.kind for task in verdict.tasks] if verdict is not None else []


def what_is_done(verdict: Verdict | None) -> object:
    """Returns a mark of today's work in a region: the same where that changes a coat and its days in the same way."""
    return verdict and tuple([(task.kind, task.mass, task.leave_mm) for task in verdict.tasks])


def after_work(region: CompiledRegion, state: DogState, verdict: Verdict | None) -> Coat:
    """The region's coat once today's work on it is done."""
    coat = state.regions[region.id].coat
    for task in verdict.tasks if verdict is not None else ():
        if task.mass:
            coat = coat.pulled(state.regions[region.id].growth, state.pace.of(region.id), state.day, task.mass / WHOLE)
        if task.leave_mm is not None:
            coat = coat.clipped(state.day, task.leave_mm)
    return coat


class _Limit(NamedTuple):
    """A first or last good day of a region on the typical dog, in days from today; ``event`` tells it for any dog, None where
    the calendar sets it (then it may be past)."""

    bound: Bound
    region: str
    why: Why
    days: int
    event: Event | None


def _bounds(compiled: CompiledProfile, state: DogState, limits: list[_Limit]) -> dict[Bound, Binding]:
    """What sets each end of the window: the typical dog's day, within those that hold for 80 of 100 whole dogs."""
    bounds: dict[Bound, Binding] = {}
    draws = _draws(compiled, state, [limit for limit in limits if limit.event is not None])
    ends: tuple[Bound, ...] = ("earliest", "latest")
    for bound, of_dogs in zip(ends, draws, strict=True):
        own = [limit for limit in limits if limit.bound == bound]
        if not own:
            continue
        if bound == "latest":
            first = bounds["earliest"].day.toordinal() - state.day if "earliest" in bounds else 0
            own = _waiting(own, round(compiled.profile.visit.every_weeks * 7), first)
        outermost = max if bound == "earliest" else min
        limit = outermost(own, key=lambda limit: limit.days)
        typical = state.day + limit.days
        fixed = [state.day + limit.days for limit in own if limit.event is None]
        days = sorted([outermost([day, *fixed]) for day in of_dogs]) or [typical]
        horizon = state.day + HORIZON_DAYS
        low, high = min(max(days[len(days) // 10], state.day + 1), horizon), min(days[-1 - len(days) // 10], horizon)
        high = max(low, high)
        bounds[bound] = Binding(
            bound=bound,
            region=limit.region,
            why=limit.why,
            day=date.fromordinal(max(min(max(typical, low), high), state.day + 1)),
            window=(date.fromordinal(low), date.fromordinal(high)),
        )
    return bounds


def _waiting(limits: list[_Limit], interval: int, first: int) -> list[_Limit]:
    """What the calendar sets (clipping, raking) waits for the next usual visit, however late it is, and for the ``first`` day of the coat
    that leads where that is within another interval, half a visit more: no dog comes in for the inside of its ears. All in days from today."""
    waits = max(interval, first if first <= 2 * interval else 0) + interval // 2
    return [limit if limit.event is not None else limit._replace(days=max(limit.days, waits)) for limit in limits]


def _draws(compiled: CompiledProfile, state: DogState, limits: list[_Limit]) -> Dates:
    """The days of each draw: on which the last region is there, and up to which the first is not too late."""
    if not limits:
        return Dates((), ())
    representative: dict[object, str] = {}
    dues: dict[Due, None] = {}
    groups: dict[str, None] = {}
    for limit in limits:
        growth, event = compiled.regions[limit.region].growth, limit.event
        # Of one pace are regions of which the profile and the records of hair say the same, however their work was written down.
        pace = state.pace.of(limit.region), state.pace.sd_of(limit.region)
        name = representative.setdefault((state.region_classes[limit.region], *pace), limit.region)
        ranges = growth.range_of("lag_weeks"), growth.range_of("rests_weeks")
        wait, end = (event, None) if limit.bound == "earliest" else (None, event)
        dues[Due(name, growth, wait, end, *ranges)] = None
        if event is not None and event.arrived is not None:
            groups[event.arrived] = None
    dogs = draw_dogs(state.pace.posterior, representative.values(), groups)
    return whole_dog(dogs, list(dues))


def _limits(
    compiled: CompiledProfile,
    region: CompiledRegion,
    state: DogState,
    coat: Coat,
    done: Mapping[TaskKind, int],
    leads: bool,
) -> Iterator[_Limit]:
    """The first and last good days of one region; ``done``: the day of each kind of work. Hair that is late already sets no end:
    nothing can meet it, but the hair that will be late next does."""
    own, pace, day = state.regions[region.id], state.pace.of(region.id), state.day
    growth = own.growth

    if region.clipper_only is not None:
        if "clip" in done:
            # Calendar work is done at the visit nearest to its day (decide), so half an interval late is not yet late.
            weeks = region.clipper_only.every_weeks + compiled.profile.visit.every_weeks / 2
            yield _Limit("latest", region.id, "clipping", floor(done["clip"] + weeks * 7 - day), None)
        return
    if not leads:
        return
    yield from _first_day(region, state, coat)
    if region.target is not None:
        blown = days_until_blown(coat, growth, pace, day)
        if blown is not None and not coat.cuts:  # cut hair is stripped whole, not rolled: no day of its blowing binds
            wait = ripening_days(growth, pace).loose
            event = _event(own, day + blown - wait, when_loose(growth, 1.0), pace)
            yield from _last_day(region, "blown", blown - 1, event)
        longest = region.target.longest_mm
        if longest is not None and longest[1] < growth.full_mm:
            days = days_until_longer(coat, growth, pace, day, longest[1])
            if days:
                event = _length_event(own, coat, day + days, longest[1], pace)
                yield from _last_day(region, "too-long", days - 1, event)
    if growth.undercoat_weeks is not None and "card" in region.region.minutes and "card" in done:
        due = floor(done["card"] + growth.undercoat_weeks * 7 - day)
        yield _Limit("latest", region.id, "undercoat", due, None)


def _last_day(region: CompiledRegion, why: Why, days: int, event: Event) -> Iterator[_Limit]:
    if days > 0:
        yield _Limit("latest", region.id, why, days, event)


def _first_day(region: CompiledRegion, state: DogState, coat: Coat) -> Iterator[_Limit]:
    """The first good day of one region; none if it sets none after today."""
    if region.hand is None:
        return
    own, pace, day, target = state.regions[region.id], state.pace.of(region.id), state.day, region.hand
    growth = own.growth
    at_least = target.cover.at_least if target.cover is not None and not target.full_strip else 0.0
    mass = mass_of(target.take.usual)
    if at_least and not covers(coat, growth, pace, day, 0, at_least):
        # A low spot is worked lightly whatever its cover: it does not hold the visit back.
        at_least, mass = 0.0, mass_of(target.take.low_spot)
    if not mass:
        return
    days = days_until_pull_possible(coat, growth, pace, day, mass, at_least)
    if days:
        yield _Limit("earliest", region.id, "ready", days, _ready_event(own, coat, day + days, mass, at_least, pace))
    if waits_for_ripeness(target, mass):
        enough = round(RIPE_FROM * WHOLE)
        days = days_until_ripe(coat.cohorts, growth, pace, day, enough)
        if days != 0:
            days = HORIZON_DAYS if days is None else days
            yield _Limit("earliest", region.id, "ready", days, _ripe_event(own, coat, enough, pace))


def _event(own: RegionState, pulled: int, milestone: Milestone, pace: float) -> Event:
    """When hair pulled on a day reaches an age; hair that came with the dog has the age that its group's hair may have had."""
    if own.group is not None and pulled == own.start:
        since = round(own.arrival_weeks * 7 / pace)
        return Event(milestone, pulled + since, own.group)
    return Event(milestone, pulled)


def _length_event(own: RegionState, coat: Coat, day: int, mm: float, pace: float) -> Event:
    """When hair that is so long on ``day`` is: by its age, or by the cut since which it has grown."""
    growth = own.growth
    for cut in coat.cuts:
        weeks = max(mm - cut.leave_mm, 0.0) / growth.mm_per_week
        if cut.day + days_to_age(weeks, pace) >= day - 1:
            return Event(Milestone(0, 0, 0, weeks), cut.day)
    wait = days_to_age(growth.age_at(min(mm, growth.full_mm)), pace)
    pulled = min((cohort.day for cohort in coat.cohorts), key=lambda own_day: abs(own_day + wait - day))
    return _event(own, pulled, when_long(growth, mm), pace)


def _ripe_event(own: RegionState, coat: Coat, mass: int, pace: float) -> Event:
    """When so much is ripe: the part that is missing of the cohort that makes it up, all older hair being ripe by then."""
    for cohort in coat.cohorts:
        if cohort.mass >= mass:
            break
        mass -= cohort.mass
    return _event(
        own, cohort.day, when_ripe(own.growth, min(mass / cohort.mass, 1.0), cohort.mass / cohort.at_pull), pace
    )


def _ready_event(own: RegionState, coat: Coat, day: int, mass: int, at_least: float, pace: float) -> Event:
    """When a pull is possible that is on ``day``: as soon as the last hair of it is long enough, or the youngest covers."""
    growth = own.growth
    reached = 0
    for cohort in coat.cohorts:
        reached += cohort.mass
        if reached >= mass:
            break
    if not at_least or covers(coat, growth, pace, day - 1, mass, at_least):
        return _length_event(own, Coat((cohort,), coat.cuts), day, growth.ready_mm, pace)
    # What covers is the hair that still grows most: the youngest. On a dog of another pace it is as long at another time.
    youngest = coat.cohorts[-1].day
    weeks = pace * (day - youngest) / 7
    return _event(own, youngest, Milestone(1, 0, 0, max(weeks - growth.lag_weeks, 0.0)), pace)
