"""When each dog of a book is due, and what that visit will hold."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date as Date
from functools import cache, partial
from typing import Any

from attrs import evolve, field, frozen

from coatrules.dog.history import History
from coatrules.dog.state import replay_visits, state_after
from coatrules.order.arguments import checked_day
from coatrules.order.engine import InBrief, in_brief, order_by
from coatrules.order.last_work import after_last_work, last_day_of_work
from coatrules.order.next_visit import NextVisit
from coatrules.order.salon import Salon
from coatrules.order.work_order import WorkOrder
from coatrules.profile.compiled import CompiledProfile


@frozen(eq=False)
class Due:
    """When a dog must come, and what that visit will hold. ``visit`` is the window; ``day`` its best day, or with a
    salon's days the open one, never before the day asked about, which means nothing while ``visit.hold`` says what must happen
    before. ``asked`` is the day asked about, ``last`` the last day of work on record. ``order`` is the work as it would be on ``day``,
    worked out when it is first asked for; ``brief``: what it comes to.
    """

    asked: Date
    last: Date | None
    visit: NextVisit
    day: Date
    brief: InBrief
    _order: Callable[[], WorkOrder] = field(repr=False)

    @property
    def order(self) -> WorkOrder:
        """The work as it would be on ``day``."""
        return self._order()

    def __reduce__(self) -> tuple[Callable[..., Due], tuple[Any, ...]]:
        """Pickled and copied with its order."""
        return _with_order, (self.asked, self.last, self.visit, self.day, self.order)

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Due:
        """Returns what is due from what ``to_dict`` gave; raises ``InputError``. Its order is as ``WorkOrder.from_dict`` says."""
        from coatrules.catalogue.plain_data import day_of
        from coatrules.order.stored import day_or_none, next_visit_of, order_of, read_back

        def read(plain: Mapping[str, Any]) -> Due:
            visit, order = next_visit_of(plain["visit"]), order_of(plain["order"])
            day = day_of(plain["day"])
            asked = day_of(plain["asked"]) if "asked" in plain else day
            return _with_order(asked, day_or_none(plain["last"]), visit, day, order)

        return read_back(read, data, "due")

    def to_dict(self) -> dict[str, Any]:
        """Returns when the dog is due and the order of that day as plain data by ``schemas/due.schema.json``."""
        from coatrules.order.plain_data import result_data
        from coatrules.order.work_order import next_visit_data

        visit = result_data(next_visit_data(self.visit))
        return {
            "format": 1,
            "asked": result_data(self.asked),
            "last": result_data(self.last),
            "day": result_data(self.day),
            "visit": visit,
            "order": self.order.to_dict(),
        }

    @property
    def rank(self) -> tuple[Date, Date, str]:
        """Soonest first; of one day, the one that can wait least."""
        return self.visit.day, self.visit.latest or Date.max, str(self.brief.dog_id)

    @property
    def days(self) -> int:
        """In how many days the dog is due, 0 while its window is open; below 0 it has been overdue for so many."""
        as_of = self.asked
        best, last = self.visit.best, self.visit.best if self.visit.clash else self.visit.latest
        if as_of <= best:
            return (best - as_of).days
        return 0 if last is None else min((last - as_of).days, 0)


def due(
    compiled: CompiledProfile, history: History, day: Date, salon: Salon | None = None, minutes: float | None = None
) -> Due:
    """When a dog must come back, asked on ``day``, on which open day of a salon, and in how much time (``minutes``, where the
    salon does not say); raises ``InputError`` where the history and the profile do not fit."""
    day = checked_day(day)
    replayed = replay_visits(compiled, history, day)
    last = last_day_of_work(visit for _, visit in replayed.visits)
    never = NextVisit(
        earliest=day, best=day, latest=None, binding=()
    )  # where no work is on record nothing speaks for waiting
    if salon is not None and (usual := salon.minutes_for(history.dog.id)) is not None:
        minutes = usual
    visit = never if last is None else after_last_work(compiled, history, replayed, last, minutes)
    if salon is not None:
        visit = salon.placed(history.dog.id, visit, day)
    best = max(visit.day, day)
    if any(day < visit.day <= best for _, visit in history.counting()):  # on record, and still to come
        replayed = replay_visits(compiled, history, best)
    state = state_after(compiled, replayed, best)
    brief = in_brief(compiled, history, state, minutes)
    order = cache(partial(order_by, compiled, history, state, minutes))
    return Due(day, last, evolve(visit, hold=brief.hold), best, brief, order)


def _with_order(asked: Date, last: Date | None, visit: NextVisit, day: Date, order: WorkOrder) -> Due:
    return Due(asked, last, visit, day, InBrief.of(order), lambda: order)
