"""Whether this coat can be kept rolling at all, and what has ended a rolled coat, with the way back.

Some dogs carry one coat at a time: a new coat waits until the old one is gone, six to eight weeks (Wire Fox Terrier
Association, Tutorial book 3; most dogs carry two, some three). Such a dog shows one layer however it is worked. A slow dog
shows one layer only until the next has come through. So a count tells of the one and not of the other where even a slow
coat would show two.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from math import ceil
from typing import Literal, NamedTuple

from attrs import frozen

from coatrules.coat.queue import Coat
from coatrules.dog.history import Visit
from coatrules.profile.compiled import CompiledProfile

LONGEST_WAIT = 8.0
"""Weeks until the next coat of a dog that carries one at a time comes (Wire Fox Terrier Association, Tutorial book 3)."""
SURE_AFTER = 3
"""Visits that must show one layer, and none two, before the coat is called so (common practice, no source)."""
SURE_SD = 2.326
BLOWN_AFTER = (6, 8)
"""Weeks after whelping, or a season, in which the coat is blown (vige.vet, on shedding)."""
REGROWN_AFTER = 18
"""Weeks a coat takes to come again, at most of the average (vige.vet, on regrowth)."""


class LayerEvidence(NamedTuple):
    """Layers seen in a region on a day, and the least that a coat worked so would show, however slow or fast; 0 where the
    record cannot say: cut hair, or a coat that nobody knows, stands there."""

    day: int
    visit: int
    region: str
    seen: int
    due: int

    @property
    def one_coat(self) -> bool:
        """Whether only a dog that carries one coat at a time would show so few."""
        return self.seen <= 1 < self.due


@frozen(kw_only=True)
class Rolling:
    """How many coats the dog carries at a time. ``most``: layers seen at once, None if never counted.

    days: the visits (ordinal, place in the history) whose counts speak for one coat at a time.
    """

    rolls: Literal["yes", "no", "unknown"] = "unknown"
    most: int | None = None
    days: tuple[tuple[int, int], ...] = ()


def extremes(pace: float, sd: float, shows_weeks: float) -> tuple[float, float]:
    """The slowest and the fastest pace to reckon with: 98 of 100 dogs with such lengths lie between; and so slow at least
    that hair comes only when the next coat of a dog with one at a time would."""
    return max(min(pace - SURE_SD * sd, shows_weeks / LONGEST_WAIT), 0.05), pace + SURE_SD * sd


def rolling(showings: Iterable[LayerEvidence]) -> Rolling:
    """What the counted layers say: two seen once are enough for yes, one seen at ``SURE_AFTER`` visits for no."""
    evidence = list(showings)
    if not evidence:
        return Rolling()
    most = max(one.seen for one in evidence)
    if most >= 2:
        return Rolling(rolls="yes", most=most)
    days = tuple(sorted({(one.day, one.visit) for one in evidence if one.one_coat}))
    return Rolling(rolls="no" if len(days) >= SURE_AFTER else "unknown", most=most, days=days)


EndingKind = Literal["season", "whelped", "gap", "clip"]


@frozen(kw_only=True)
class RollingEnd:
    """What ended a rolled coat, or is about to: ``day`` (ordinal) it happened, ``visit`` that tells of it, None where no
    visit does. ``regions`` it holds for; empty for the whole dog."""

    kind: EndingKind
    day: int
    visit: int | None = None
    regions: tuple[str, ...] = ()


def endings(
    compiled: CompiledProfile,
    visits: Sequence[tuple[int, Visit]],
    coats: Mapping[str, Coat],
    clipped: Mapping[str, tuple[int, int | None]],
    day: int,
) -> tuple[RollingEnd, ...]:
    """What has ended this dog's rolled coat and is not made good yet on ``day``.

    ``visits`` come with their places in the history, oldest first. ``clipped``: regions with the day they were last
    clipped and the visit that says so.
    """
    hand = {name: region.target for name, region in compiled.regions.items() if region.target is not None}
    rolled = [name for name, target in hand.items() if not target.full_strip]
    found: list[RollingEnd] = []
    happened: dict[EndingKind, tuple[int, int]] = {}
    for index, visit in visits:
        for kind, on in _events(visit):
            if on.toordinal() <= day:
                happened[kind] = max(happened.get(kind, (0, 0)), (on.toordinal(), index))
    for kind, (since, index) in sorted(happened.items()):
        grown = all(coats[name].cohorts[0].day > since for name in rolled)  # no hair from before is left
        if day - since <= (BLOWN_AFTER[1] + REGROWN_AFTER) * 7 and not grown:
            found.append(RollingEnd(kind=kind, day=since, visit=index))
    before = [visit.day.toordinal() for _, visit in visits if visit.day.toordinal() < day]
    if before and rolled and day - max(before) > 2 * compiled.profile.visit.every_weeks * 7:
        found.append(RollingEnd(kind="gap", day=max(before)))
    by_day: dict[tuple[int, int | None], list[str]] = {}
    for name, (cut, clip_visit) in clipped.items():
        if name in hand and coats[name].cohorts[0].day <= cut:
            by_day.setdefault((cut, clip_visit), []).append(name)
    found += [
        RollingEnd(kind="clip", day=cut, visit=visit, regions=tuple(names)) for (cut, visit), names in by_day.items()
    ]
    return tuple(found)


def _events(visit: Visit) -> Iterable[tuple[EndingKind, date]]:
    if visit.events is not None:
        if visit.events.season is not None:
            yield "season", visit.events.season
        if visit.events.whelped is not None:
            yield "whelped", visit.events.whelped


def last_season(visits: Iterable[tuple[int, Visit]], day: date) -> int | None:
    """The day the latest season began that the visits tell of, on ``day`` or before it."""
    begun = [on.toordinal() for _, visit in visits for kind, on in _events(visit) if kind == "season" and on <= day]
    return max(begun, default=None)


def visits_to_layer(compiled: CompiledProfile) -> int:
    """Visits until a coat taken down is layered again: once round the rotation of the slowest hand-worked part."""
    shares = [t.take.usual for t in compiled.profile.layer_targets.values() if not t.full_strip and t.take.usual > 0]
    return ceil(1 / min(shares) - 1e-9) if shares else 0


def blown_window(event_day: int) -> tuple[date, date]:
    """The first and last day on which the coat is likely to blow after whelping or a season."""
    first, last = (date.fromordinal(event_day + weeks * 7) for weeks in BLOWN_AFTER)
    return first, last
