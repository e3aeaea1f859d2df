"""When to come back: the first and last good day of every region, and the window they leave together."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import date
from math import ceil, floor
from statistics import median_low
from typing import Literal, NamedTuple

from attrs import frozen

from coatrules.catalogue.message import Message
from coatrules.coat.growth import days_to_age
from coatrules.coat.measures import covers
from coatrules.coat.queue import WHOLE, Coat, mass_of
from coatrules.coat.ripening import HORIZON_DAYS
from coatrules.dog.equivalence import once_per_class
from coatrules.dog.state import DogState, RegionState
from coatrules.formats.values import TaskKind
from coatrules.learning.layer_counts import shows_weeks
from coatrules.order.drawn_dogs import dates_of
from coatrules.order.good_days import Ask, Bound, Limit, Why, first_days, last_days
from coatrules.order.pulled_lately import pulled_lately
from coatrules.order.share import LEAST_SHARE, waits_for_ripeness
from coatrules.order.verdicts import Verdict
from coatrules.profile.compiled import CompiledProfile, CompiledRegion
from coatrules.profile.model import LayerTarget

_TINY = 1e-9


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
    (0 to 1), the longest hair (mm) and the mean share that is blown; the minutes of all that is then due.

    overgrown: the share of 200 dogs like this one on which hair is overgrown by then that is not so today; None where nobody
    worked it out.
    """

    weeks: int
    day: date
    cover: float | None
    longest_mm: float
    blown_share: float
    minutes: float
    overgrown: float | None = None


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
    days = _visit_days(compiled, state, verdicts, worked)
    bounds = _bounds(compiled, state, _limits(compiled, state, verdicts, worked), days)
    first = bounds["earliest"].day if "earliest" in bounds else date.fromordinal(days.again)
    last = bounds["latest"].day if "latest" in bounds else None
    planned = date.fromordinal(days.usual)
    clash = last is not None and first > last
    return NextVisit(
        earliest=first,
        best=best_day(planned, first, last),
        latest=last,
        binding=tuple(bounds.values()),
        clash=clash,
        planned=planned,
    )


class _VisitDays(NamedTuple):
    """Of the days (ordinals) after today that of the next usual visit, and the first on which hair is asked for again."""

    usual: int
    again: int


def _visit_days(
    compiled: CompiledProfile, state: DogState, verdicts: Mapping[str, Verdict], worked: Collection[str]
) -> _VisitDays:
    """Returns when the next visit is by the calendar. The interval counts from the day on which most of the coat that leads had been
    pulled lately, today's work being done; hair is asked for again when half of its regions have something to give."""
    leads = leading_regions(compiled)
    leading = [
        (region.target, after_work(region, state, verdicts[name] if name in worked else None))
        for name, region in compiled.regions.items()
        if region.target is not None and name in leads and verdicts[name].outcome != "forbid"
    ]
    days = sorted(
        [lately.day for target, coat in leading if (lately := pulled_lately(compiled, state, target, coat)).mass]
    )
    most = 2 * len(days) > len(leading)
    since = median_low(days) if most else state.day
    interval, again = 7 * compiled.profile.visit.every_weeks, state.day + 1
    if not leading:  # what goes by the calendar is done again after half an interval at the soonest (decide)
        again = state.day + ceil(interval / 2)
    elif most:
        again = median_low([_asked_again(compiled, state, target, coat) for target, coat in leading])
    return _VisitDays(max(since + round(interval), state.day + 1), again)


def _asked_again(compiled: CompiledProfile, state: DogState, target: LayerTarget, coat: Coat) -> int:
    """Returns the first day after today on which some of the usual share is asked for, by what was pulled of a ``coat`` lately."""
    usual, least, tomorrow = mass_of(target.take.usual), mass_of(LEAST_SHARE), state.day + 1

    def asks(days: int) -> bool:
        return usual - pulled_lately(compiled, state, target, coat, tomorrow + days).mass >= least

    interval = ceil(7 * compiled.profile.visit.every_weeks)
    return tomorrow + (bisect_left(range(interval), True, key=asks) if usual >= least else 0)


def overgrown_shares(
    compiled: CompiledProfile,
    state: DogState,
    verdicts: Mapping[str, Verdict],
    worked: Collection[str],
    days: Iterable[date],
) -> list[float]:
    """Returns for each day on which share of the dogs (0 to 1) hair is overgrown by then that is not so today, if today's work is
    done as ordered."""
    lasts = dates_of(compiled, state, _limits(compiled, state, verdicts, worked)).lasts
    return [sum(last < day.toordinal() for last in lasts) / len(lasts) if lasts else 0.0 for day in days]


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


def _bounds(
    compiled: CompiledProfile, state: DogState, limits: list[Limit], calendar: _VisitDays
) -> dict[Bound, Binding]:
    """What sets each end of the window: the typical dog's day, within those that hold for 80 of 100 whole dogs. Nothing calls a dog in
    before hair is asked for ``again``."""
    bounds: dict[Bound, Binding] = {}
    draws = dates_of(compiled, state, limits)
    ends: tuple[Bound, ...] = ("earliest", "latest")
    for bound, of_dogs in zip(ends, draws, strict=True):
        own = [limit for limit in limits if limit.bound == bound]
        if not own:
            continue
        if bound == "latest":
            first = bounds["earliest"].day.toordinal() - state.day if "earliest" in bounds else 0
            interval = round(compiled.profile.visit.every_weeks * 7)
            own = _waiting(own, interval, calendar.usual - state.day, first)
        outermost = max if bound == "earliest" else min
        limit = outermost(own, key=lambda limit: limit.days)
        typical = max(state.day + limit.days, calendar.again)
        fixed = [state.day + limit.days for limit in own if limit.event is None]
        days = sorted([max(outermost([day, *fixed]), calendar.again) for day in of_dogs]) or [typical]
        horizon = state.day + HORIZON_DAYS
        low, high = min(max(days[len(days) // 10], state.day + 1), horizon), min(days[-1 - len(days) // 10], horizon)
        high = max(low, high)
        if bound == "earliest" and state.day + 1 < high == calendar.again:
            continue  # the calendar sets it, on nearly all dogs
        bounds[bound] = Binding(
            bound=bound,
            region=limit.region,
            why=limit.why,
            day=date.fromordinal(max(min(max(typical, low), high), state.day + 1)),
            window=(date.fromordinal(low), date.fromordinal(high)),
        )
    return bounds


def _waiting(limits: list[Limit], interval: int, usual: int, first: int) -> list[Limit]:
    """What the calendar sets (clipping, raking) waits for the next ``usual`` visit, however late it is, and for the ``first`` day of the
    coat that leads where that is within another interval, half a visit more: no dog comes in for the inside of its ears. All in days
    from today."""
    waits = max(usual, first if first <= usual + interval else 0) + interval // 2
    return [limit if limit.event is not None else limit._replace(days=max(limit.days, waits)) for limit in limits]


def _limits(
    compiled: CompiledProfile, state: DogState, verdicts: Mapping[str, Verdict], worked: Collection[str]
) -> list[Limit]:
    """Returns the first and last good days after today that the regions set, and the calendar's, which may be past, if today's work is
    done as ordered."""
    leading = leading_regions(compiled)
    limits: list[Limit] = []
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
        here = _region_limits(compiled, region, state, coat, done, name in leading)
        # Hair that is late already sets no end: nothing can meet it.
        limits += [limit for limit in here if limit.days > 0 or limit.event is None]
    return limits


def _region_limits(
    compiled: CompiledProfile,
    region: CompiledRegion,
    state: DogState,
    coat: Coat,
    done: Mapping[TaskKind, int],
    leads: bool,
) -> Iterator[Limit]:
    """Yields the first and last good days of one region; ``done``: the day of each kind of work."""
    own, pace, day = state.regions[region.id], state.pace.of(region.id), state.day

    def by_the_calendar(why: Why, ordinal: float) -> Iterator[Limit]:
        yield Limit("latest", region.id, why, floor(ordinal - day), None)

    if region.clipper_only is not None:
        if "clip" in done:
            # Calendar work is done at the visit nearest to its day (decide), so half an interval late is not yet late.
            weeks = region.clipper_only.every_weeks + compiled.profile.visit.every_weeks / 2
            yield from by_the_calendar("clipping", done["clip"] + weeks * 7)
        return
    if not leads:
        return
    if region.hand is not None and (ask := _asked(region.hand, own, coat, pace, day)):
        yield from first_days(region, own, pace, day, coat, ask)
    yield from last_days(region, own, pace, day, coat)
    undercoat_weeks = own.growth.undercoat_weeks
    if undercoat_weeks is not None and "card" in region.region.minutes and "card" in done:
        yield from by_the_calendar("undercoat", done["card"] + undercoat_weeks * 7)


def _asked(target: LayerTarget, own: RegionState, coat: Coat, pace: float, day: int) -> Ask | None:
    """Returns what the next visit will ask of a region; None where it is nothing."""
    at_least = target.cover.at_least if target.cover is not None and not target.full_strip else 0.0
    mass = mass_of(target.take.usual)
    if at_least and not covers(coat, own.growth, pace, day, 0, at_least):
        # A low spot is worked lightly whatever its cover: it does not hold the visit back.
        at_least, mass = 0.0, mass_of(target.take.low_spot)
    return Ask(mass, at_least, waits_for_ripeness(target, mass)) if mass else None
