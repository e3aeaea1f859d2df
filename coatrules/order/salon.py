"""When a salon is open, and the day on which a dog comes: the nearest open one to the best. Mirrors ``schemas/salon.schema.json``."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Annotated, Any, Final, Literal, get_args

from attrs import evolve, frozen

from coatrules.formats.documents import Origin, without_file
from coatrules.formats.validation import structured
from coatrules.formats.values import EXTRAS, Range
from coatrules.order.next_visit import NextVisit
from coatrules.order.work_order import WorkOrder
from coatrules.read_only import NOTHING

Weekday = Literal["monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"]
WEEKDAYS: Final[tuple[str, ...]] = get_args(Weekday)
VisitMinutes = Annotated[float, Range(0, 600, above=True)]
SALON = "salon.yaml"
"""The file of a salon's days, beside the histories."""
FAR_DAYS = 60
"""So far from the best day an open one is looked for: longer than any holiday."""


@frozen(kw_only=True)
class OwnDay:
    """What is usual for one dog. minutes: the time there is for it."""

    weekday: Weekday | None = None
    minutes: VisitMinutes | None = None
    extras: Annotated[Mapping[str, Any], EXTRAS] = NOTHING


@frozen(kw_only=True)
class Salon:
    """When a salon is closed, and what is usual there. ``minutes``: the time there is for a dog; ``dogs``: by the dog's id."""

    format: Annotated[int, Range(1, 1)]
    closed_weekdays: tuple[Weekday, ...] = ()
    closed_days: tuple[date, ...] = ()
    minutes: VisitMinutes | None = None
    dogs: Mapping[str, OwnDay] = NOTHING
    extras: Annotated[Mapping[str, Any], EXTRAS] = NOTHING

    def to_dict(self) -> dict[str, Any]:
        """Returns the salon as plain data by ``schemas/salon.schema.json``."""
        from coatrules.formats.unstructure import document_data  # only what is written out needs it

        data: dict[str, Any] = document_data(self)
        return data

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> "Salon":
        """Returns a salon from plain data; raises ``InputError`` with every problem found."""
        return given_salon(data)

    def minutes_for(self, dog: str | int) -> float | None:
        """Returns the time there usually is for a dog; None where nothing is said of it."""
        own = self.dogs.get(str(dog), OwnDay())
        return self.minutes if own.minutes is None else own.minutes

    def is_open(self, day: date) -> bool:
        """Whether anybody works on this day."""
        return day not in self.closed_days and WEEKDAYS[day.weekday()] not in self.closed_weekdays

    def open_day(self, dog: str | int, visit: NextVisit, not_before: date) -> date:
        """Returns the day on which the dog comes: of the open days in the window the one nearest to the best, on the dog's own
        weekday where there is one.

        Where the window holds none, or is over, it is the dog's own weekday within a week of the best, else the open day nearest
        to it; where all is closed for ``FAR_DAYS``, the best itself. Never before ``not_before``.
        """
        best = max(visit.best, not_before)
        near = [best + timedelta(days=days) for days in range(-FAR_DAYS, FAR_DAYS + 1)]
        open_days = [day for day in near if day >= not_before and self.is_open(day)]
        first, last = (visit.earliest, visit.latest) if not visit.clash else (visit.best, visit.best)
        inside = [day for day in open_days if first <= day and (last is None or day <= last)]
        weekday = self.dogs.get(str(dog), OwnDay()).weekday

        def own(days: list[date]) -> list[date]:
            return [day for day in days if WEEKDAYS[day.weekday()] == weekday]

        soon = [day for day in own(open_days) if 0 <= (day - best).days < len(WEEKDAYS)]
        candidates = own(inside) or inside or soon or open_days or [best]
        return min(candidates, key=lambda day: (abs((day - best).days), day))

    def planned_day(self, dog: str | int, wanted: date, first: date, last: date | None = None) -> date:
        """Returns the day of a planned visit, not before ``first`` and not after ``last``: of the days near the one that is wanted the
        one that suits the salon and the dog best; the wanted one where all is closed."""
        near = [wanted + timedelta(days=days) for days in range(-FAR_DAYS, FAR_DAYS + 1)]
        possible = [day for day in near if self.is_open(day) and first <= day and (last is None or day <= last)]
        return min(possible, key=lambda day: self.suits(dog, wanted, day), default=wanted)

    def suits(self, dog: str | int, wanted: date, day: date) -> tuple[bool, bool, int, date]:
        """Returns how well a day suits, the best least: an open one, the dog's own weekday nearest to the one that is wanted, then what
        is nearest to it."""
        off = abs((day - wanted).days)
        own = WEEKDAYS[day.weekday()] == self.dogs.get(str(dog), OwnDay()).weekday and 2 * off <= len(WEEKDAYS)
        return not self.is_open(day), not own, off, day

    def placed(self, dog: str | int, visit: NextVisit, not_before: date) -> NextVisit:
        """Returns the visit with the day on which the dog comes beside the best one."""
        return evolve(visit, open=self.open_day(dog, visit, not_before))

    def with_open_day(self, order: WorkOrder) -> WorkOrder:
        """Returns the order with the open day on which the dog comes next, after the day of the order."""
        visit = self.placed(order.dog_id, order.next_visit, order.date + timedelta(days=1))
        return evolve(order, next_visit=visit)


def given_salon(salon: Salon | Mapping[str, Any]) -> Salon:
    """Returns a salon handed over by another program, loaded or as plain data; raises ``InputError`` with every problem found."""
    if isinstance(salon, Salon):
        return salon
    document = without_file(salon)
    return structured(document.data, Salon, "salon", Origin((((), document),)))
