"""When each dog of a book is due, and what that visit will hold."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date as Date
from functools import cache, partial
from typing import Any

from attrs import evolve, field, frozen

from coatrules.dog.history import History, Visit
from coatrules.dog.state import Replayed, replay_visits, state_after
from coatrules.order.arguments import checked_day, checked_minutes
from coatrules.order.coming_back import coming_back
from coatrules.order.decide import decide
from coatrules.order.engine import InBrief, in_brief, order_by
from coatrules.order.facts import all_facts
from coatrules.order.next_visit import NextVisit
from coatrules.order.salon import Salon
from coatrules.order.table import half_minutes
from coatrules.order.table_time import table_time
from coatrules.order.work_order import WorkOrder
from coatrules.order.worked_today import without_done
from coatrules.profile.compiled import CompiledProfile
from coatrules.profile.floor import DAY_MINUTES

NEARLY_A_DAY = 30.0
"""Minutes by which what a visit took may fall short of a whole day on the table and be one: the last of them hold no more work."""


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
    last = max((visit.day for _, visit in replayed.visits if _was_on_the_table(visit)), default=None)
    never = NextVisit(
        earliest=day, best=day, latest=None, binding=()
    )  # where no work is on record nothing speaks for waiting
    if salon is not None and (usual := salon.minutes_for(history.dog.id)) is not None:
        minutes = usual
    visit = never if last is None else _window(compiled, history, replayed, last, minutes)
    if salon is not None:
        visit = salon.placed(history.dog.id, visit, day)
    best = max(visit.day, day)
    if any(day < visit.day <= best for _, visit in history.counting()):  # on record, and still to come
        replayed = replay_visits(compiled, history, best)
    state = state_after(compiled, replayed, best)
    brief = in_brief(compiled, history, state, minutes)
    order = cache(partial(order_by, compiled, history, state, minutes))
    return Due(day, last, evolve(visit, hold=brief.hold), best, brief, order)


def _was_on_the_table(visit: Visit) -> bool:
    """Whether a dog was worked, or practised standing on the table: not where it only was looked at, or all was put off."""
    return bool(visit.work) or (bool(visit.reactions or visit.minutes) and not visit.put_off)


def _with_order(asked: Date, last: Date | None, visit: NextVisit, day: Date, order: WorkOrder) -> Due:
    return Due(asked, last, visit, day, InBrief.of(order), lambda: order)


def _window(
    compiled: CompiledProfile, history: History, replayed: Replayed, last: Date, minutes: float | None
) -> NextVisit:
    """The window that the coat leaves after the last day of work: what the order of that day says once all on record is done.

    What is read off the coat is read on that day, whatever was noted since; what was noted tells of the hair all the same.
    ``minutes``: there usually are for the dog.
    """
    state = state_after(compiled, replayed, last)
    visits = [visit for _, visit in replayed.visits if visit.day == last]
    took = sum(visit.minutes or 0.0 for visit in visits)
    available = min(took or checked_minutes(compiled, minutes), DAY_MINUTES)
    stage = table_time(compiled, state, available).stage
    facts, _ = all_facts(compiled, history.dog, state, available)
    verdicts = without_done(state, decide(compiled, state, facts, stage)[0])
    put_off = {name for visit in visits for part in visit.put_off for name in compiled.names[part]}
    left = sum(half_minutes(task.minutes) / 2 for name in put_off for task in verdicts[name].tasks)
    whole_day = available >= DAY_MINUTES - (NEARLY_A_DAY if took else 0.0)
    return coming_back(compiled, state, verdicts, {}, stage, left if whole_day else 0.0)
