"""What planning answers, as frozen values and as plain data by ``schemas/plan.schema.json``."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date as Date
from typing import Any, Literal, TypeVar

from attrs import frozen

from coatrules.catalogue.message import Message
from coatrules.dog.safety import CAUTIONS

CoatKind = Literal["clipped", "grown-out", "one-layer", "rolling"]
RelaxationKind = Literal["minutes", "cover", "at_most"]


@frozen
class RegionVisit:
    """One region at one planned visit.

    share: of the whole coat, pulled; comes_easily: the ripe part of it, None where nothing is. minutes: for the pulling.
    layers, longest_mm, late_share (blown or longer than wanted): when the dog comes. cover, outline_mm: straight after the work.
    """

    share: float
    minutes: float
    layers: int
    longest_mm: float
    late_share: float
    cover: float
    outline_mm: float
    comes_easily: float | None = None


@frozen
class PlannedVisit:
    """One visit. minutes: all work, ``calendar_minutes`` of it carding, clipping and routines that are due by then.

    early, late: on which share (0 to 1) of 200 dogs that fit what is known of this one something that is to be pulled is not
    ready by then, and on which something is overgrown that is not so on the typical dog. None where nobody worked it out.
    """

    day: Date
    minutes: float
    calendar_minutes: float
    available: float
    regions: Mapping[str, RegionVisit]
    early: float | None = None
    late: float | None = None


@frozen
class Conflict:
    """Visits at which a region's coat is overgrown: the share that is blown or longer than wanted at its worst."""

    region: str
    first: Date
    last: Date
    late_share: float


@frozen
class Relaxation:
    """What would let the dates and the targets agree on ``day``: minutes more, or a region's cover or most share as ``to``."""

    kind: RelaxationKind
    day: Date
    region: str | None
    by: float
    to: float


@frozen
class RegionOutlook:
    """What becomes of one region. target: the id of its layer target. state: today's coat.

    set_on: from this visit on every target is kept; None if never. renewed: the visits by which the whole coat has been
    pulled once, twice, three times. show_share: of the hair, within the wanted lengths on the show day; None without one.
    show_right: of 200 dogs like this one the share on which the region is right on the show day; None where no length is wanted.
    """

    label: str
    target: str
    state: CoatKind
    set_on: Date | None
    renewed: tuple[Date, ...]
    show_share: float | None = None
    show_right: float | None = None


@frozen(eq=False)
class Plan:
    """The visits ahead. set_on: the visit from which every region keeps its target; None if not within the plan. show_right: the
    share of 200 dogs like this one on which all regions are right on the show day; None without one."""

    dog_id: str | int
    dog_name: str
    profile_id: str
    profile_label: str
    date: Date
    visits: tuple[PlannedVisit, ...]
    regions: Mapping[str, RegionOutlook]
    set_on: Date | None
    clashes: tuple[Conflict, ...]
    loosenings: tuple[Relaxation, ...]
    notes: tuple[Message, ...]
    show: Date | None = None
    show_right: float | None = None

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Plan:
        """Returns a plan from what ``to_dict`` gave; raises ``InputError``. Numbers have four places."""
        return _read(cls, data)

    def to_dict(self) -> dict[str, Any]:
        """The plan as plain data, ready for JSON."""
        return _data(self, "visits")


@frozen
class Stage:
    """One section taken down at once. first, last: the days between which it may be. length_mm: wanted on the show day,
    and what the hair will have. early, right: the shares (0 to 1) of 200 dogs like this one on which its coat is not ready on the
    day, and on which a part of it is right on the show day, the mean over its parts.
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
    early: float | None = None
    right: float | None = None


@frozen(eq=False)
class StagedStrip:
    """Which section is taken down when, so that all have their length on the show day."""

    dog_id: str | int
    dog_name: str
    profile_id: str
    profile_label: str
    date: Date
    show: Date
    stages: tuple[Stage, ...]
    notes: tuple[Message, ...]

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> StagedStrip:
        """Returns the stages from what ``to_dict`` gave; raises ``InputError``. Numbers have four places."""
        return _read(cls, data)

    def to_dict(self) -> dict[str, Any]:
        """The stages as plain data, ready for JSON."""
        return _data(self, "stages")


@frozen
class Interval:
    """One interval tried. Figures are of the coat once it has settled: the last time round of its slowest region.

    cover: the worst straight after a visit. layers: the fewest before one. minutes: a visit's mean. comes_easily: the ripe part
    of all that is pulled, None where nothing is. set_on: from when all targets are kept. missed: what is not, by target: any of
    layers, late and minutes.
    """

    every_weeks: float
    cover: float
    layers: int
    minutes: float
    hours_a_year: float
    set_on: Date | None
    missed: Mapping[str, tuple[str, ...]]
    comes_easily: float | None = None


@frozen(eq=False)
class Intervals:
    """Intervals side by side, the shortest first. longest: the longest that keeps every target; None where none does."""

    dog_id: str | int
    dog_name: str
    profile_id: str
    profile_label: str
    date: Date
    intervals: tuple[Interval, ...]
    longest: float | None

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Intervals:
        """Returns the comparison from what ``to_dict`` gave; raises ``InputError``. Numbers have four places."""
        return _read(cls, data)

    def to_dict(self) -> dict[str, Any]:
        """The comparison as plain data, ready for JSON."""
        return _data(self, "intervals")


T = TypeVar("T", Plan, StagedStrip, Intervals)


def _read(kind: type[T], data: Mapping[str, Any]) -> T:
    from coatrules.order.stored_results import stored_part, stored_result

    return stored_result(kind, data, "plan", stored_part("dog", "id", "name"), stored_part("profile", "id", "label"))


def _data(plan: Plan | StagedStrip | Intervals, kind: str) -> dict[str, Any]:
    from coatrules.order.plain_data import result_data

    data: dict[str, Any] = result_data(plan)
    dog = {"id": data.pop("dog_id"), "name": data.pop("dog_name")}
    profile = {"id": data.pop("profile_id"), "label": data.pop("profile_label")}
    cautions = {} if kind == "intervals" else {"cautions": result_data(CAUTIONS)}
    return {"format": 1, "kind": kind, "dog": dog, "profile": profile} | data | cautions
