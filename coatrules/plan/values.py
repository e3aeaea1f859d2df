"""What planning answers, as frozen values and as plain data by ``schemas/plan.schema.json``."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date as Date
from typing import Any, Literal

from attrs import frozen

from coatrules.guards import CAUTIONS

State = Literal["clipped", "grown-out", "one-layer", "rolling"]
Loosened = Literal["minutes", "cover", "at_most"]


@frozen
class RegionVisit:
    """One region at one planned visit.

    share: of the whole coat, pulled. minutes: for the pulling. layers, longest_mm, late_share (blown or longer than
    wanted): when the dog comes. cover, outline_mm: straight after the work.
    """

    share: float
    minutes: float
    layers: int
    longest_mm: float
    late_share: float
    cover: float
    outline_mm: float


@frozen
class PlannedVisit:
    """One visit. minutes: all work, ``calendar_minutes`` of it carding, clipping and routines that are due by then."""

    day: Date
    minutes: float
    calendar_minutes: float
    available: float
    regions: Mapping[str, RegionVisit]


@frozen
class Clash:
    """Visits at which a region's coat is late: the share that is blown or longer than wanted at its worst."""

    region: str
    first: Date
    last: Date
    late_share: float


@frozen
class Loosening:
    """What would let the dates and the targets agree on ``day``: minutes more, or a region's cover or most share as ``to``."""

    kind: Loosened
    day: Date
    region: str | None
    by: float
    to: float


@frozen
class RegionOutlook:
    """What becomes of one region. target: the id of its layer target. state: today's coat.

    set_on: from this visit on every target is kept; None if never. renewed: the visits by which the whole coat has been
    pulled once, twice, three times. show_share: of the hair, within the wanted lengths on the show day; None without one.
    """

    label: str
    target: str
    state: State
    set_on: Date | None
    renewed: tuple[Date, ...]
    show_share: float | None = None


@frozen(eq=False)
class Plan:
    """The visits ahead. set_on: the visit from which every region keeps its target; None if not within the plan."""

    dog_id: str
    dog_name: str
    profile_id: str
    profile_label: str
    date: Date
    visits: tuple[PlannedVisit, ...]
    regions: Mapping[str, RegionOutlook]
    set_on: Date | None
    clashes: tuple[Clash, ...]
    loosenings: tuple[Loosening, ...]
    notes: tuple[str, ...]
    show: Date | None = None

    def to_dict(self) -> dict[str, Any]:
        """The plan as plain data, ready for JSON."""
        return _head(self, "visits") | {
            "set_on": _day(self.set_on),
            "show": _day(self.show),
            "visits": [_visit(visit) for visit in self.visits],
            "regions": {name: _outlook(outlook) for name, outlook in self.regions.items()},
            "clashes": [
                {"region": c.region, "first": _day(c.first), "last": _day(c.last), "late_share": _short(c.late_share)}
                for c in self.clashes
            ],
            "loosenings": [
                {
                    "kind": loose.kind,
                    "day": _day(loose.day),
                    "region": loose.region,
                    "by": _short(loose.by),
                    "to": _short(loose.to),
                }
                for loose in self.loosenings
            ],
            "notes": list(self.notes),
            "cautions": list(CAUTIONS),
        }


@frozen
class Stage:
    """One section taken down at once. first, last: the days between which it may be. length_mm: wanted on the show day,
    and what the hair will have.
    """

    section: str
    labels: tuple[str, ...]
    day: Date
    first: Date
    last: Date
    weeks_before: float
    minutes: float
    wanted_mm: tuple[float, float]
    length_mm: float


@frozen(eq=False)
class StagedStrip:
    """Which section is taken down when, so that all have their length on the show day."""

    dog_id: str
    dog_name: str
    profile_id: str
    profile_label: str
    date: Date
    show: Date
    stages: tuple[Stage, ...]
    notes: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """The stages as plain data, ready for JSON."""
        return _head(self, "stages") | {
            "show": _day(self.show),
            "stages": [
                {
                    "section": stage.section,
                    "labels": list(stage.labels),
                    "day": _day(stage.day),
                    "first": _day(stage.first),
                    "last": _day(stage.last),
                    "weeks_before": _short(stage.weeks_before),
                    "minutes": _short(stage.minutes),
                    "wanted_mm": list(stage.wanted_mm),
                    "length_mm": _short(stage.length_mm),
                }
                for stage in self.stages
            ],
            "notes": list(self.notes),
            "cautions": list(CAUTIONS),
        }


@frozen
class Interval:
    """One interval tried. Figures are of the coat once it has settled: the last time round of its slowest region.

    cover: the worst straight after a visit. layers: the fewest before one. minutes: a visit's mean. set_on: from when all
    targets are kept. missed: what is not, by target: any of layers, late and minutes.
    """

    every_weeks: float
    cover: float
    layers: int
    minutes: float
    hours_a_year: float
    set_on: Date | None
    missed: Mapping[str, tuple[str, ...]]


@frozen(eq=False)
class Intervals:
    """Intervals side by side, the shortest first. longest: the longest that keeps every target; None where none does."""

    dog_id: str
    dog_name: str
    profile_id: str
    profile_label: str
    date: Date
    intervals: tuple[Interval, ...]
    longest: float | None

    def to_dict(self) -> dict[str, Any]:
        """The comparison as plain data, ready for JSON."""
        return _head(self, "intervals") | {
            "longest": self.longest,
            "intervals": [
                {
                    "every_weeks": tried.every_weeks,
                    "cover": _short(tried.cover),
                    "layers": tried.layers,
                    "minutes": _short(tried.minutes),
                    "hours_a_year": _short(tried.hours_a_year),
                    "set_on": _day(tried.set_on),
                    "missed": {target: list(what) for target, what in tried.missed.items()},
                }
                for tried in self.intervals
            ],
        }


def _head(plan: Plan | StagedStrip | Intervals, kind: str) -> dict[str, Any]:
    return {
        "format": 1,
        "kind": kind,
        "dog": {"id": plan.dog_id, "name": plan.dog_name},
        "profile": {"id": plan.profile_id, "label": plan.profile_label},
        "date": plan.date.isoformat(),
    }


def _visit(visit: PlannedVisit) -> dict[str, Any]:
    return {
        "day": visit.day.isoformat(),
        "minutes": _short(visit.minutes),
        "calendar_minutes": _short(visit.calendar_minutes),
        "available": _short(visit.available),
        "regions": {
            name: {
                "share": region.share,
                "minutes": _short(region.minutes),
                "layers": region.layers,
                "longest_mm": _short(region.longest_mm),
                "late_share": _short(region.late_share),
                "cover": _short(region.cover),
                "outline_mm": _short(region.outline_mm),
            }
            for name, region in visit.regions.items()
        },
    }


def _outlook(outlook: RegionOutlook) -> dict[str, Any]:
    return {
        "label": outlook.label,
        "target": outlook.target,
        "state": outlook.state,
        "set_on": _day(outlook.set_on),
        "renewed": [day.isoformat() for day in outlook.renewed],
        "show_share": None if outlook.show_share is None else _short(outlook.show_share),
    }


def _day(day: Date | None) -> str | None:
    return None if day is None else day.isoformat()


def _short(value: float) -> float:
    return round(value, 4)
