"""When to come back: the first and last good day of every region, and the window they leave together."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from datetime import date, timedelta
from math import floor
from typing import Literal, NamedTuple

from attrs import frozen

from coatrules.catalogue.message import Message
from coatrules.coat.growth import days_to_age
from coatrules.coat.measures import HORIZON_DAYS, covers, days_until_blown, days_until_longer, days_until_pull_possible
from coatrules.coat.queue import WHOLE, Coat, mass_of
from coatrules.dog.equivalence import once_per_class
from coatrules.dog.state import DogState
from coatrules.formats.values import TaskKind
from coatrules.order.decide import Verdict
from coatrules.profile.compiled import CompiledProfile, CompiledRegion

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
    """The window for the next visit, if today's work is done as ordered."""
    today = date.fromordinal(state.day)
    earliest: _Limit | None = None
    latest: _Limit | None = None
    looked_at = set()
    for name, region in compiled.regions.items():
        if verdicts[name].outcome == "forbid" or name in state.margins:
            continue  # nothing is done there, however the coat grows
        verdict = verdicts[name] if name in worked else None
        treated = (state.alike[name], verdict is None)
        if treated in looked_at:
            continue  # a region like one before it moves neither end
        looked_at.add(treated)
        coat = after_work(region, state, verdict)
        done = {**state.regions[name].last, **dict.fromkeys(_done(verdict), state.day)}
        earliest = _first_day(region, state, coat, 0 if earliest is None else earliest.days) or earliest
        for limit in _last_days(compiled, region, state, coat, done):
            latest = limit if latest is None or limit.days < latest.days else latest
    first = today + timedelta(days=earliest.days if earliest is not None else 1)
    last = today + timedelta(days=latest.days) if latest is not None else None
    planned = today + timedelta(days=round(compiled.profile.visit.every_weeks * 7))
    binding = tuple(_binding(limit, state) for limit in (earliest, latest) if limit is not None)
    clash = last is not None and first > last
    return NextVisit(
        earliest=first, best=best_day(planned, first, last), latest=last, binding=binding, clash=clash, planned=planned
    )


def best_day(planned: date, first: date, last: date | None) -> date:
    """The day planned, moved into the window. Where the ends disagree it is never put off, and moved up only to the first
    day on which all is ready: a part that is a little long bears waiting better than a dog bears coming for little."""
    if last is not None and first > last:
        return min(planned, first)
    wanted = max(planned, first)
    return wanted if last is None else min(wanted, last)


def next_layers(compiled: CompiledProfile, state: DogState) -> dict[str, NextLayer]:
    """When the next layer of each region breaks through; those in which no hair is under the skin are left out."""
    layers = once_per_class(state.alike, lambda name: _next_layer(compiled.regions[name], state))
    return {name: layer for name, layer in layers.items() if layer is not None}


def _next_layer(region: CompiledRegion, state: DogState) -> NextLayer | None:
    weeks, pace = region.growth.breakthrough_weeks, state.pace.of(region.id)
    wait = days_to_age(weeks, pace)
    hidden = next((day for _, day in state.regions[region.id].coat.cohorts if day + wait > state.day), None)
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


def after_work(region: CompiledRegion, state: DogState, verdict: Verdict | None) -> Coat:
    """The region's coat once today's work on it is done."""
    coat = state.regions[region.id].coat
    for task in verdict.tasks if verdict is not None else ():
        if task.mass:
            coat = coat.pulled(region.growth, state.pace.of(region.id), state.day, task.mass / WHOLE)
        if task.leave_mm is not None:
            coat = coat.clipped(state.day, task.leave_mm)
    return coat


class _Limit(NamedTuple):
    """A first or last good day of a region, in days from today; ``at`` tells it for another pace, None for never."""

    bound: Bound
    region: str
    why: Why
    days: int
    at: Callable[[float], float | None]


def _binding(limit: _Limit, state: DogState) -> Binding:
    slow, fast = state.pace.within_80(limit.region)
    soon, late = limit.at(fast), limit.at(slow)
    day = state.day + limit.days
    first = day if soon is None else state.day + max(floor(soon), 0)
    last = state.day + (HORIZON_DAYS if late is None else floor(late))
    return Binding(
        bound=limit.bound,
        region=limit.region,
        why=limit.why,
        day=date.fromordinal(day),
        window=_window(day, first, last),
    )


def _first_day(region: CompiledRegion, state: DogState, coat: Coat, after: int) -> _Limit | None:
    """The first good day of one region; None if it sets none later than ``after`` days from today."""
    if region.hand is None:
        return None
    growth, pace, day, target = region.growth, state.pace.of(region.id), state.day, region.hand
    at_least = target.cover.at_least if target.cover is not None and not target.full_strip else 0.0
    mass = mass_of(target.take.usual)
    if at_least and not covers(coat, growth, pace, day, 0, at_least):
        # A low spot is worked lightly whatever its cover: it does not hold the visit back.
        at_least, mass = 0.0, mass_of(target.take.low_spot)
    if not mass:
        return None
    days = days_until_pull_possible(coat, growth, pace, day, mass, at_least, after)
    if days is None or days <= after:
        return None
    return _Limit(
        "earliest",
        region.id,
        "ready",
        days,
        lambda at: days_until_pull_possible(coat, growth, at, day, mass, at_least),
    )


def _last_days(
    compiled: CompiledProfile, region: CompiledRegion, state: DogState, coat: Coat, done: Mapping[TaskKind, int]
) -> Iterator[_Limit]:
    """The last good days of one region; ``done``: the day of each kind of work. A day that is past already sets no end:
    nothing can meet it."""
    growth, pace, day = region.growth, state.pace.of(region.id), state.day

    def limit(why: Why, at: Callable[[float], float | None]) -> Iterator[_Limit]:
        days = at(pace)
        if days is not None and days > 0:
            yield _Limit("latest", region.id, why, floor(days), at)

    if region.clipper_only is not None:
        if "clip" in done:
            # Calendar work is done at the visit nearest to its day (decide), so half an interval late is not yet late.
            weeks = region.clipper_only.every_weeks + compiled.profile.visit.every_weeks / 2
            days = done["clip"] + weeks * 7 - day
            yield from limit("clipping", lambda _: days)
        return
    if region.target is not None:
        yield from limit("blown", lambda at: days_until_blown(coat, growth, at, day))
        longest = region.target.longest_mm
        if longest is not None:
            yield from limit("too-long", lambda at: days_until_longer(coat, growth, at, day, longest[1]))
    if growth.undercoat_weeks is not None and "card" in region.region.minutes and "card" in done:
        due = done["card"] + growth.undercoat_weeks * 7 - day
        yield from limit("undercoat", lambda _: due)
