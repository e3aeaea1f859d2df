"""The way back of a clipped coat: let grow, stripped out whole as soon as it can be, and again, before it is rolled."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from statistics import median_low
from typing import Any

from coatrules.coat.queue import WHOLE, Coat
from coatrules.dog.history import History
from coatrules.dog.since_clip import SinceClip
from coatrules.dog.state import DogState, RegionState, state_on
from coatrules.dog.strippable import strippable_from
from coatrules.order.next_visit import after_work, leading_regions
from coatrules.order.verdicts import Verdict
from coatrules.profile.compiled import CompiledProfile, compile_profile
from coatrules.profile.model import Profile
from coatrules.profile.whole_strip import whole_strip
from coatrules.read_only import NOTHING

STRIPS = 3
"""Whole strips that bring most clipped coats back: two or three (published for the Border Terrier)."""

GROWS_OUT_DAYS = 56
"""A clipped coat is left to grow so long before it is stripped: clipped dogs come back after two months or three (a groomer's posting
of 2012 on the Airedale Terrier; carried over to every coat)."""


def _strip_day(own: RegionState, since: SinceClip, coat: Coat, pace: float) -> int:
    """The first day (an ordinal) on which the hair that is to be stripped out can be: what came in its place since is left out of
    account, so that no thinning puts the day off. Where none is left of it the day is past."""
    old = tuple([cohort for cohort in coat.cohorts if cohort.day <= since.old_hair])
    if not old:
        return since.old_hair
    first = strippable_from(Coat(old, coat.cuts), own.growth, pace, since.old_hair)
    return first if since.strips else max(first, since.day + GROWS_OUT_DAYS)


def stripped_whole_from(state: DogState, regions: Iterable[str]) -> date:
    """Returns the day from which most of these clipped regions can be stripped out whole."""
    days = []
    for name in regions:
        own = state.regions[name]
        assert own.since_clip is not None
        days.append(_strip_day(own, own.since_clip, own.coat, state.pace.of(name)))
    return most_from(days)


def let_grow(
    compiled: CompiledProfile, state: DogState, worked: Mapping[str, Verdict] = NOTHING, *, of_strip: bool = False
) -> dict[str, int]:
    """Returns the clipped regions of which nothing is pulled before they can be stripped out whole, with the first day (an ordinal) on
    which that is so; none where most of the coat that leads is not clipped: a few clipped parts are rolled with it. What a profile
    strips whole anyway is let grow before the first time alone.

    ``worked``: done today, ``of_strip`` as part of a whole strip.
    """
    if compiled.profile.strip_whole:
        return {}
    found = {}
    for name, region in compiled.regions.items():
        own = state.regions[name]
        if own.since_clip is None or region.hand is None:
            continue
        verdict = worked.get(name)
        since = own.since_clip.after(state.day, verdict.pulled if verdict else 0, of_strip=of_strip)
        if since.grows:
            day = _strip_day(own, since, after_work(region, state, verdict), state.pace.of(name))
            if not region.hand.full_strip or (not since.strips and day > state.day):
                found[name] = day
    if not found:
        return {}
    leading = leading_regions(compiled)
    return found if 2 * len(leading & found.keys()) > len(leading) else {}


def strip_asked(profile: Profile, history: History, day: date) -> Profile:
    """Returns the profile by which a coat is worked that somebody asks to strip out whole on a day; unchanged where it was clipped and
    must be let grow first."""
    compiled = compile_profile(profile)
    return profile if strip_waits(compiled, state_on(compiled, history, day)) else whole_strip(profile)


def strip_waits(compiled: CompiledProfile, state: DogState) -> bool:
    """Whether a clipped coat, by the profile that rolls it, cannot be stripped out whole yet, and no hand has felt today that most of
    what leads comes easily."""
    growing = let_grow(compiled, state)
    leading = leading_regions(compiled) & growing.keys()
    felt = [name for name in leading if (seen := state.regions[name].seen) is not None and seen.comes == "easily"]
    return bool(growing) and 2 * len(felt) <= len(leading) and state.day < most_from(growing.values()).toordinal()


def most_from(days: Iterable[int]) -> date:
    """Returns the day from which most of some regions can be stripped out whole; ``days``: the first day (an ordinal) of each."""
    return date.fromordinal(median_low(days))


def strips_since_clip(compiled: CompiledProfile, state: DogState) -> Iterator[tuple[str, dict[str, Any]]]:
    """Yields the code and the parameters of what is to be said of a clipped coat whose clipped hair is out: stripped whole once or
    twice, and not rolled since; or pulled a share at a time and never stripped, while it may still come soft. Of a strip that goes on
    nothing is said before its end."""
    if compiled.profile.strip_whole:
        return
    clipped = {
        name: own.since_clip
        for name, own in state.regions.items()
        if own.since_clip is not None and compiled.regions[name].hand is not None
    }
    stripped = {name: since for name, since in clipped.items() if since.strips and not since.rolled}
    thinned = {
        name: since
        for name, since in clipped.items()
        if not since.strips and state.regions[name].coat.cohorts[0].day > since.day and since.pulled < STRIPS * WHOLE
    }
    most = max((stripped, thinned), key=len)
    if 2 * len(most) <= len(clipped):
        return
    count = median_low(len(since.strips) for since in most.values())
    if count >= STRIPS:
        return
    params = {"day": date.fromordinal(max(since.day for since in most.values()))}
    if not count:
        yield "clip-thinned", params
        return
    last = date.fromordinal(max(since.strips[-1] for since in most.values()))
    yield "clip-stripped", {**params, "strips": count, "last": last, "ready": stripped_whole_from(state, most)}
