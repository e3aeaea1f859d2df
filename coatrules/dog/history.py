"""A dog's history: what a groomer keeps, as frozen values. Every class mirrors one object of ``schemas/history.schema.json``."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Annotated, Any, Literal

from attrs import field, frozen

from coatrules.coat.queue import Pick
from coatrules.formats.documents import NOWHERE, Origin
from coatrules.formats.values import (
    EXTRAS,
    SHARED,
    UNWRITTEN,
    Id,
    Key,
    Length,
    Millimetres,
    NotBoth,
    OpaqueId,
    Range,
    Reaction,
    Share,
    Words,
)
from coatrules.learning.observations import Verdict
from coatrules.read_only import NOTHING

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


@frozen(kw_only=True)
class Dog:
    """A dog as its history says: who it is, and the profile it is worked by, in one of its regimes.

    ``neutered``: spayed or castrated. ``size``, ``coat_type``, ``colour``: in the words of the
    profile's rules. ``hemisphere``: where it lives. ``show``: the next show day. ``show_mm``: shortest and longest
    hair (mm) wanted on it, by layer target or part, where the profile says none or the dog needs others."""

    id: OpaqueId
    name: Words | None = None
    profile: Id | None = None
    regime: Id | None = None
    born: date | None = None
    sex: Literal["female", "male"] | None = None
    neutered: bool | date | None = None
    size: Id | None = None
    coat_type: Id | None = None
    colour: Id | None = None
    hemisphere: Literal["northern", "southern"] = "northern"
    show: date | None = None
    show_mm: Mapping[Id, Annotated[tuple[Millimetres, ...], Length(2, 2)]] = NOTHING
    note: Words | None = None
    extras: Annotated[Mapping[str, Any], EXTRAS] = NOTHING

    @property
    def called(self) -> str:
        """The name the dog goes by."""
        return self.name or str(self.id)


@frozen(kw_only=True)
class Arrival:
    """How a part of the coat was when the dog first came: weeks since it was stripped, or lengths in mm and weeks since it was clipped."""

    grown_weeks: Annotated[float, Range(0, 260)] | None = None
    longest_mm: Millimetres | None = None
    clipped_mm: Millimetres | None = None
    clipped_weeks: Annotated[float, Range(0, 260)] = 0.0
    extras: Annotated[Mapping[str, Any], EXTRAS] = NOTHING


@frozen(kw_only=True)
class Work:
    """What was done to a part of the dog. ``pull``: share of its whole coat. ``asked``: the share that an order asked for. ``clip``,
    ``scissor``: length left in mm, or True for an outline. ``minutes``: how long all of it took. None: nothing is said of it here,
    and what a larger part says holds."""

    card: bool | None = None
    pull: Share | None = None
    pick: Pick | None = None
    asked: Share | None = None
    clip: bool | Millimetres | None = None
    scissor: bool | Millimetres | None = None
    comb: bool | None = None
    minutes: Annotated[float, Range(0, 600)] | None = None
    extras: Annotated[Mapping[str, Any], EXTRAS] = field(default=NOTHING, eq=False)  # regions are alike all the same


@frozen(kw_only=True)
class AtLeastLong:
    """Hair of ``minimum`` mm or more: the measure ended there, or its tips were trimmed."""

    minimum: Millimetres


@frozen(kw_only=True)
class Seen:
    """What was seen of a part before the work. ``longest_mm``: length of the longest hair; ``comes``: the hand's verdict on the hair that
    was taken hold of first; ``layers``: how many could be told apart."""

    longest_mm: Millimetres | AtLeastLong | None = None
    at_end: bool | None = None
    comes: Verdict | None = None
    texture: Literal["soft", "woolly"] | None = None
    layers: Annotated[int, Range(0, 20)] | None = None
    see_through: bool | None = None
    undercoat: Literal["none", "some", "full"] | None = None
    skin: Literal["sound", "unsound"] | None = None
    extras: Annotated[Mapping[str, Any], EXTRAS] = field(default=NOTHING, eq=False)


@frozen(kw_only=True)
class Events:
    """What can blow a bitch's coat, each with the day it was."""

    season: date | None = None
    whelped: date | None = None
    extras: Annotated[Mapping[str, Any], EXTRAS] = NOTHING


@frozen(kw_only=True)
class Visit:
    """One visit. ``minutes``: what all of it took, never the time there was. ``strip_whole``: the work was part of a whole strip.
    ``corrects``: it replaces all that was written before of its day. ``withdrawn``: no visit of its day counts that was written
    before, nor anything but the note in this one."""

    day: Annotated[date, Key("visit")]
    minutes: Annotated[float, Range(0, 600)] | None = None
    work: Mapping[Id, Annotated[Work, SHARED]] = NOTHING
    seen: Mapping[Id, Annotated[Seen, SHARED]] = NOTHING
    reactions: Mapping[Id, Reaction] = NOTHING
    health: tuple[Health, ...] | None = None
    put_off: tuple[Id, ...] = ()
    events: Annotated[Events, Length(1)] | None = None
    show: date | None = None
    strip_whole: bool = False
    note: Words | None = None
    extras: Annotated[Mapping[str, Any], EXTRAS] = NOTHING
    corrects: bool = False
    withdrawn: bool = False

    def to_dict(self) -> dict[str, Any]:
        """Returns the visit as plain data by ``schemas/history.schema.json``, without what is as nothing said."""
        return _plain(self)

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "Visit":
        """Returns a visit from plain data; raises ``InputError`` with every problem found."""
        from coatrules.dog.loading import given_visit

        return given_visit(data)


@frozen(kw_only=True)
class History:
    """One dog's whole history, its visits in the order written: corrections after what they correct. Made by ``load_history``."""

    format: Annotated[int, Range(1, 1)]
    dog: Dog
    arrival: Mapping[Id, Annotated[Arrival, Length(1), NotBoth("grown_weeks", "longest_mm")]] = NOTHING
    visits: tuple[Visit, ...] = ()
    extras: Annotated[Mapping[str, Any], EXTRAS] = NOTHING
    origin: Annotated[Origin, UNWRITTEN] = field(default=NOWHERE, eq=False, repr=False)

    def to_dict(self) -> dict[str, Any]:
        """Returns the history as plain data by ``schemas/history.schema.json``, without what is as nothing said."""
        return _plain(self)

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "History":
        """Returns a history from plain data; raises ``InputError`` with every problem found."""
        from coatrules.dog.loading import given_history

        return given_history(data)

    def until(self, day: date) -> list[tuple[int, Visit]]:
        """Returns the visits that count up to and with ``day``, oldest first, each with its place in the file."""
        past = [pair for pair in self.counting() if pair[1].day <= day]
        return sorted(past, key=lambda pair: pair[1].day)

    def show_after(self, day: date) -> date | None:
        """The show last spoken of up to a day; None where that is over by then, and where there is none."""
        return still_ahead(last_show(self.dog, [visit for _, visit in self.until(day)]), day)

    def counting(self) -> list[tuple[int, Visit]]:
        """Returns the visits that count, in the order written, each with its place in the file: the last word on every day."""
        visits = list(enumerate(self.visits))
        last = {visit.day: index for index, visit in visits if visit.corrects or visit.withdrawn}
        if not last:
            return visits
        return [pair for pair in visits if pair[0] >= last.get(pair[1].day, 0) and not pair[1].withdrawn]


def last_show(dog: Dog, visits: Sequence[Visit]) -> date | None:
    """Returns the show day last spoken of; None where none ever was."""
    shows = [dog.show, *(visit.show for visit in visits)]
    return next((show for show in reversed(shows) if show is not None), None)


def still_ahead(show: date | None, day: date) -> date | None:
    """Returns a show that is not over before a day; None where it is, or there is none."""
    return show if show is not None and show >= day else None


def _plain(value: object) -> dict[str, Any]:
    from coatrules.formats.unstructure import document_data  # only what is written out needs it

    data: dict[str, Any] = document_data(value)
    return data
