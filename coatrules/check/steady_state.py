"""Layer targets against the steady state that the profile's own shares and interval lead to (DEVELOPERS.md, "Steady state")."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from typing import Any, Final, NamedTuple

from coatrules.catalogue.message import Message, message
from coatrules.check.figures import unsupported
from coatrules.check.subject import Subject
from coatrules.coat.growth import Growth
from coatrules.coat.measures import steady_state
from coatrules.coat.queue import mass_of
from coatrules.problems import Problem
from coatrules.profile.model import LayerTarget, Profile

_INTERVALS: Final = tuple(half / 2 for half in range(1, 105))
"""Weeks between visits that are tried: up to a year, by half weeks."""
_VISITS: Final = tuple(range(1, 41))
"""Visits in which the whole coat may go once that are tried."""


def unreachable_targets(subject: Subject) -> Iterator[Problem]:
    """Targets that the profile's own shares and interval can never reach, with the figures that would."""
    profile = subject.profile
    interval = profile.visit.every_weeks
    slips = {problem.path[:2] for problem in unsupported(subject)}  # of a figure that is one nothing need be worked out
    if ("visit", "every_weeks") in slips:
        return
    checked: set[tuple[str, str]] = set()
    for region in subject.compiled.regions.values():
        if region.hand is None:
            continue
        name, target = str(region.target_id), region.hand
        coat = ("coats", region.region.coat)
        if target.full_strip or (name, region.region.coat) in checked or coat in slips:
            continue
        checked.add((name, region.region.coat))
        yield from _layers(profile, name, target, region.region.coat, region.growth, interval)


class _Want(NamedTuple):
    """One thing that a target asks of the steady state, and what to say where its own share and interval do not give it."""

    holds: Callable[[float, float], bool]
    """Whether it comes with a share (above 0) and an interval in weeks."""
    why: Callable[[], Message]
    less: Callable[[], Message]
    """What to do where no share and interval give it."""
    path: tuple[str, ...]


def _layers(
    profile: Profile, name: str, target: LayerTarget, coat: str, growth: Growth, interval: float
) -> Iterator[Problem]:
    def out_of_reach(why: Message, fix: Message, *path: str) -> Problem:
        params = {"target": name, "why": why}
        return profile.origin.problem_at(("layer_targets", name, *path), "target-unreachable", params, fix=fix)

    share = target.take.usual
    if not mass_of(share):
        yield out_of_reach(message("unreachable.nothing-taken"), message("fix.take-something"), "take", "usual")
        return
    wants = list(_wants(target, coat, growth, interval))
    sound = [want for want in wants if want.path == ("take",)]
    missed = [want for want in wants if not want.holds(share, interval)]
    for want in [
        want for want in missed if want in sound
    ] or missed:  # hair that is blown or too short explains the rest
        together = _nearest(wants, share, interval, growth) or _nearest([want, *sound], share, interval, growth)
        yield out_of_reach(want.why(), _advice(want, together, target, growth, interval), *want.path)


def _wants(target: LayerTarget, coat: str, growth: Growth, interval: float) -> Iterator[_Want]:
    """Yields all that a target asks of a coat, what else depends on first."""
    share = target.take.usual
    usual = {"share": share, "every_weeks": interval, "coat": coat}

    def oldest(share: float, weeks: float) -> float:
        return steady_state(growth, weeks, share).oldest_weeks

    def longest(share: float, weeks: float) -> float:
        return growth.length(oldest(share, weeks))

    def turn() -> dict[str, Any]:
        return {"coat": coat, "oldest_weeks": oldest(share, interval)}

    def length(wanted: float) -> dict[str, Any]:
        return {**turn(), "longest_mm": wanted, "reached_mm": longest(share, interval)}

    yield _Want(
        lambda share, weeks: oldest(share, weeks) < growth.blown_weeks,
        lambda: message("unreachable.blown", **turn(), blown_weeks=growth.blown_weeks),
        lambda: message("fix.blown-before-its-turn"),
        ("take",),
    )
    yield _Want(
        lambda share, weeks: longest(share, weeks) >= growth.ready_mm,
        lambda: message(
            "unreachable.not-ready", **turn(), ready_mm=growth.ready_mm, reached_mm=longest(share, interval)
        ),
        lambda: message("fix.blown-before-its-turn"),
        ("take",),
    )
    if target.longest_mm is not None:
        low, high = target.longest_mm
        yield _Want(
            lambda share, weeks: longest(share, weeks) <= high,
            lambda: message("unreachable.too-long", **length(high)),
            lambda: message("fix.greater-length"),
            ("longest_mm",),
        )
        yield _Want(
            lambda share, weeks: longest(share, weeks) >= low,
            lambda: message("unreachable.too-short", **length(low)),
            lambda: message("fix.smaller-length", full_mm=growth.full_mm),
            ("longest_mm",),
        )
    yield _Want(
        lambda share, weeks: steady_state(growth, weeks, share).layers >= target.layers,
        lambda: message(
            "unreachable.layers",
            **usual,
            layers=target.layers,
            reached=steady_state(growth, interval, share).layers,
        ),
        lambda: message("fix.fewer-layers", layers=_most_layers(growth)),
        ("layers",),
    )
    if target.cover is not None:
        least = target.cover.at_least
        yield _Want(
            lambda share, weeks: steady_cover(growth, weeks, share) >= least,
            lambda: message("unreachable.cover", **usual, cover=least, reached=steady_cover(growth, interval, share)),
            lambda: message("fix.less-cover"),
            ("cover", "at_least"),
        )


class _Rhythm(NamedTuple):
    """The whole coat taken once in so many visits, so many weeks apart."""

    visits: int
    weeks: float

    @property
    def share(self) -> float:
        """The share of each visit, as a profile writes it."""
        return round(1 / self.visits, 3)


def _nearest(wants: Sequence[_Want], share: float, interval: float, growth: Growth) -> _Rhythm | None:
    """Returns the rhythm nearest to a share and an interval that gives all that is wanted; the interval is kept if one can be."""
    for weeks in (interval, *sorted(_INTERVALS, key=lambda weeks: abs(weeks - interval))):
        before_blown = (visits for visits in _VISITS if visits * weeks < growth.blown_weeks)
        for visits in sorted(before_blown, key=lambda visits: abs(visits - 1 / share)):
            rhythm = _Rhythm(visits, weeks)
            if all(want.holds(rhythm.share, weeks) for want in wants):
                return rhythm
    return None


def _advice(want: _Want, rhythm: _Rhythm | None, target: LayerTarget, growth: Growth, interval: float) -> Message:
    """Returns how to reach what is wanted: by the share alone, else by the interval too, else by wanting less."""
    if rhythm is None:
        return want.less()
    figures = {"share": rhythm.share, "visits": rhythm.visits}
    if rhythm.weeks == interval:
        return message("fix.share", **figures)
    often = "more" if rhythm.weeks < interval else "less"
    most = _most_layers(growth, interval)
    if want.path == ("layers",) and 0 < most < target.layers:
        return message(
            f"fix.{often}-often-for-layers", **figures, every_weeks=rhythm.weeks, layers=most, wanted=target.layers
        )
    return message(f"fix.{often}-often", **figures, every_weeks=rhythm.weeks)


@lru_cache
def _most_layers(growth: Growth, interval: float | None = None) -> int:
    """Returns the most layers that any share gives (at an interval, or at any) while no hair is blown before its turn."""
    states = (
        steady_state(growth, weeks, 1 / visits)
        for weeks in (_INTERVALS if interval is None else (interval,))
        for visits in _VISITS
    )
    return max((state.layers for state in states if state.oldest_weeks < growth.blown_weeks), default=0)


def steady_cover(growth: Growth, interval: float, share: float) -> float:
    """Returns the cover straight after a visit in the steady state: hair 0, 1, 2, ... intervals old, ``share`` of each."""
    remaining, cover, age = 1.0, 0.0, 0
    while remaining > 1e-9:
        length = growth.length(age * interval)
        if length >= min(growth.cover_mm, growth.full_mm):  # so does all older hair
            return cover + remaining * min(1.0, length / growth.cover_mm)
        pulled = min(share, remaining)
        cover += pulled * length / growth.cover_mm
        remaining -= pulled
        age += 1
    return cover
