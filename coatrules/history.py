"""A dog's history: what a groomer keeps, as frozen values. Every class mirrors one object of ``schemas/history.schema.json``."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Annotated, Any, ClassVar, Literal

from attrs import field, frozen

from coatrules.by_fields import ByFields
from coatrules.coat import mass_of
from coatrules.documents import Origin
from coatrules.values import Id, Millimetres, Range, Reaction, Share, TaskKind, Words

Health = Literal[
    "bruises-easily",
    "in-whelp",
    "long-medication",
    "nursing",
    "parasites",
    "recent-surgery",
    "spot-on-treatment",
    "unwell",
]


NOTHING: Mapping[str, Any] = {}
"""One for all that says nothing: a book has many. ``SHARED`` values are one for all that say the same."""


@frozen(eq=False, repr=False)
class Dog(ByFields):
    id: Id
    name: Words | None = None
    profile: Id | None = None
    born: date | None = None
    sex: Literal["female", "male"] | None = None
    neutered: bool | None = None
    show: date | None = None
    note: Words | None = None

    @property
    def called(self) -> str:
        """The name the dog goes by."""
        return self.name or self.id


@frozen(eq=False, repr=False)
class Arrival(ByFields):
    LEAST_KEYS: ClassVar[int] = 1
    grown_weeks: Annotated[float, Range(0, 260)] | None = None
    longest_mm: Millimetres | None = None
    clipped_mm: Millimetres | None = None
    clipped_weeks: Annotated[float, Range(0, 260)] = 0.0

    def __attrs_post_init__(self) -> None:
        if self.grown_weeks is not None and self.longest_mm is not None:
            raise ValueError("an arriving coat is given by its age or by its length, not by both")


@frozen(eq=False, repr=False)
class Work(ByFields):
    SHARED: ClassVar[bool] = True
    card: bool = False
    pull: Share | None = None
    pick: Literal["longest", "even"] = "longest"
    clip: bool | Millimetres = False
    scissor: bool | Millimetres = False
    comb: bool = False
    minutes: Annotated[float, Range(0, 600)] | None = None
    tasks: tuple[TaskKind, ...] = field(init=False, eq=False, repr=False)
    """What was done, in the order of work."""
    mass: int = field(init=False, eq=False, repr=False)
    """What was pulled, in parts per million."""
    leaves: tuple[float, ...] = field(init=False, eq=False, repr=False)
    """The lengths that clippers and scissors left, in mm, where they are on record."""

    @tasks.default
    def _tasks(self) -> tuple[TaskKind, ...]:
        done: dict[TaskKind, bool] = {
            "card": self.card,
            "pull": bool(self.pull),
            "clip": self.clip is not False,
            "scissor": self.scissor is not False,
            "comb": self.comb,
        }
        return tuple(task for task, was in done.items() if was)

    @mass.default
    def _mass(self) -> int:
        return mass_of(self.pull or 0.0)

    @leaves.default
    def _leaves(self) -> tuple[float, ...]:
        return tuple(float(left) for left in (self.clip, self.scissor) if type(left) is not bool)


@frozen(eq=False, repr=False)
class Seen(ByFields):
    SHARED: ClassVar[bool] = True
    longest_mm: Millimetres | None = None
    layers: Annotated[int, Range(0, 20)] | None = None
    see_through: bool | None = None
    undercoat: Literal["none", "some", "full"] | None = None
    skin: Literal["sound", "unsound"] | None = None


@frozen(eq=False, repr=False)
class Events(ByFields):
    """What can blow a bitch's coat, each with the day it was."""

    LEAST_KEYS: ClassVar[int] = 1
    season: date | None = None
    whelped: date | None = None


@frozen(eq=False, repr=False)
class Visit(ByFields):
    day: date = field(metadata={"key": "visit"})
    work: Mapping[Id, Work] = NOTHING
    seen: Mapping[Id, Seen] = NOTHING
    reactions: Mapping[Id, Reaction] = NOTHING
    health: tuple[Health, ...] | None = None
    put_off: tuple[Id, ...] = ()
    events: Events | None = None
    show: date | None = None
    note: Words | None = None


@frozen(eq=False)
class History:
    """One dog's whole history, its visits in the order written. Made by ``load_history``; hashable by identity."""

    format: Annotated[int, Range(1, 1)]
    dog: Dog
    arrival: Mapping[Id, Arrival] = NOTHING
    visits: tuple[Visit, ...] = ()
    origin: Origin = field(default=Origin(), repr=False, metadata={"hidden": True})

    def until(self, day: date) -> list[tuple[int, Visit]]:
        """The visits up to and with ``day``, oldest first, each with its place in the file."""
        past = [(index, visit) for index, visit in enumerate(self.visits) if visit.day <= day]
        return sorted(past, key=lambda pair: pair[1].day)
