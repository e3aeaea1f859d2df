"""When each dog of a book is due, and what that visit will hold."""

from __future__ import annotations

from datetime import date as Date
from datetime import timedelta
from typing import Any

from attrs import evolve, frozen

from coatrules.dog.history import History
from coatrules.dog.safety import puppy
from coatrules.dog.state import Replayed, replay_visits, state_after
from coatrules.order.arguments import checked_day
from coatrules.order.decide import Verdict
from coatrules.order.engine import order_by
from coatrules.order.next_visit import NextVisit, best_day, next_visit
from coatrules.order.salon import Salon
from coatrules.order.work_order import WorkOrder
from coatrules.profile.compiled import CompiledProfile


@frozen(eq=False)
class Due:
    """When a dog must come, and what that visit will hold. ``visit`` is the window; ``day`` its best day, or with a
    salon's days the open one, never before the day asked about, which means nothing while ``visit.hold`` says what must happen
    before. ``last`` is the last day of work on record. ``order`` is the work as it would be on ``day``.
    """

    last: Date | None
    visit: NextVisit
    day: Date
    order: WorkOrder

    def to_dict(self) -> dict[str, Any]:
        """Returns when the dog is due and the order of that day as plain data by ``schemas/due.schema.json``."""
        from coatrules.order.plain_data import result_data
        from coatrules.order.work_order import next_visit_data

        visit = result_data(next_visit_data(self.visit))
        return {
            "format": 1,
            "last": result_data(self.last),
            "day": result_data(self.day),
            "visit": visit,
            "order": self.order.to_dict(),
        }

    @property
    def rank(self) -> tuple[Date, Date, str]:
        """Soonest first; of one day, the one that can wait least."""
        return self.visit.day, self.visit.latest or Date.max, str(self.order.dog_id)

    def days(self, as_of: Date) -> int:
        """Returns in how many days the dog is due, 0 while its window is open; below 0 it has been overdue for so many."""
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
    last = max((visit.day for _, visit in replayed.told if visit.work), default=None)
    never = NextVisit(
        earliest=day, best=day, latest=None, binding=()
    )  # where no work is on record nothing speaks for waiting
    visit = never if last is None else _window(compiled, replayed, last)
    if salon is not None:
        visit = salon.placed(history.dog.id, visit, day)
    best = max(visit.day, day)
    usual = salon.minutes_for(history.dog.id) if salon is not None else None
    if any(day < visit.day <= best for _, visit in history.counting()):  # on record, and still to come
        replayed = replay_visits(compiled, history, best)
    order = order_by(compiled, history, state_after(compiled, replayed, best), minutes if usual is None else usual)
    return Due(last, evolve(visit, hold=order.next_visit.hold), best, order)


def _window(compiled: CompiledProfile, replayed: Replayed, last: Date) -> NextVisit:
    """The window that the coat leaves after all that is on record, on the last day of which anything was noted.

    Only places with unsound skin set no end: whatever else was noted may be over by then, and the order of that day says so.
    """
    state = state_after(compiled, replayed, replayed.told[-1][1].day)
    unsound = {name for name, region_state in state.regions.items() if region_state.skin == "unsound"}
    if puppy(state.age_weeks, compiled.profile.visit.first_coat_weeks):
        unsound = set(compiled.regions)  # what a puppy practises sets no end either
    verdicts = {name: Verdict("forbid" if name in unsound else "leave") for name in compiled.regions}
    visit = next_visit(compiled, state, verdicts, worked=())
    # The interval counts from the last work, not from the last note.
    planned = last + timedelta(days=round(compiled.profile.visit.every_weeks * 7))
    return evolve(visit, planned=planned, best=best_day(planned, visit.earliest, visit.latest))
