"""The way back of a clipped coat: from when it can be stripped out whole, and how often it has been since the clip."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from statistics import median_low

from coatrules.coat.growth import Growth
from coatrules.coat.measures import days_until_ready
from coatrules.coat.queue import WHOLE, Coat
from coatrules.coat.ripening import HORIZON_DAYS, days_until_ripe
from coatrules.dog.history import History
from coatrules.dog.state import DogState
from coatrules.dog.whole_strip import stripped_in
from coatrules.order.share import RIPE_FROM
from coatrules.problems import Problem
from coatrules.profile.compiled import CompiledProfile

STRIPS = 3
"""Whole strips that bring most clipped coats back: two or three (published for the Border Terrier)."""

GROWS_OUT_DAYS = 56
"""A clipped coat is left to grow so long before it is stripped: clipped dogs come back after two months or three (a groomer's posting
of 2012 on the Airedale Terrier; carried over to every coat)."""


def strippable_from(coat: Coat, growth: Growth, pace: float, day: int) -> int:
    """Returns the first day (an ordinal) on which an order would ask for the whole coat: all of it can be gripped, and enough has
    stopped growing."""
    ready = days_until_ready(coat, growth, pace, day, WHOLE)
    ripe = days_until_ripe(coat.cohorts, growth, pace, day, round(RIPE_FROM * WHOLE))
    return day + max(HORIZON_DAYS if days is None else days for days in (ready, ripe))


def stripped_whole_from(state: DogState, regions: Iterable[str], clipped: int | None = None) -> date:
    """Returns the day from which most of these regions can be stripped out whole; ``clipped``: the day (an ordinal) on which the hair
    that stands there was."""
    days = [
        strippable_from(state.regions[name].coat, state.regions[name].growth, state.pace.of(name), state.day)
        for name in regions
    ]
    return date.fromordinal(max(median_low(days), 0 if clipped is None else clipped + GROWS_OUT_DAYS))


def strips_since_clip(compiled: CompiledProfile, history: History, state: DogState) -> Problem | None:
    """Returns what is to be said of a clipped coat that was stripped out whole once or twice and not worked since."""
    clipped = {
        name: state.regions[name].last["clip"]
        for name, region in compiled.regions.items()
        if region.hand is not None and "clip" in state.regions[name].last
    }
    if not clipped:
        return None
    strips: dict[str, list[int]] = {name: [] for name in clipped}
    for _, visit in history.until(date.fromordinal(state.day)):
        for name in clipped.keys() & stripped_in(compiled, [visit]):
            if visit.day.toordinal() > clipped[name]:
                strips[name].append(visit.day.toordinal())
    bare = [days for name, days in strips.items() if days and days[-1] == state.regions[name].last.get("pull")]
    if 2 * len(bare) <= len(clipped) or (count := median_low(map(len, bare))) >= STRIPS:
        return None
    params = {
        "day": date.fromordinal(max(clipped.values())),
        "strips": count,
        "last": date.fromordinal(max(days[-1] for days in bare)),
        "ready": stripped_whole_from(state, clipped),
    }
    return history.origin.problem_at((), "clip-stripped", params, severity="note")
