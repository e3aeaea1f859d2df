"""When a dog comes back after a day on which nothing is done: by the last day on which something was."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date as Date
from datetime import timedelta

from attrs import evolve

from coatrules.catalogue.message import Message
from coatrules.dog.history import History, Visit
from coatrules.dog.state import Replayed, state_after
from coatrules.order.arguments import checked_minutes
from coatrules.order.coming_back import coming_back
from coatrules.order.decide import decide
from coatrules.order.facts import all_facts
from coatrules.order.next_visit import NextVisit
from coatrules.order.table import half_minutes
from coatrules.order.table_time import table_time
from coatrules.order.worked_today import without_done
from coatrules.profile.compiled import CompiledProfile
from coatrules.profile.floor import DAY_MINUTES

NEARLY_A_DAY = 30.0
"""Minutes by which what a visit took may fall short of a whole day on the table and be one: the last of them hold no more work."""


def last_day_of_work(visits: Iterable[Visit]) -> Date | None:
    """Returns the last day on which a dog was worked, or practised standing on the table: not where it only was looked at, or all was
    put off; None where there is none."""
    return max((visit.day for visit in visits if _was_on_the_table(visit)), default=None)


def _was_on_the_table(visit: Visit) -> bool:
    return bool(visit.work) or (bool(visit.reactions or visit.minutes) and not visit.put_off)


def after_last_work(
    compiled: CompiledProfile, history: History, replayed: Replayed, last: Date, minutes: float | None = None
) -> NextVisit:
    """Returns the window that the coat leaves after the last day of work: what the order of that day says once all on record is done.

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


def from_tomorrow(visit: NextVisit, today: Date, hold: Message | None) -> NextVisit:
    """Returns a window of an earlier day as it is told ``today``: what of it is over is tomorrow, and nothing sets it any more."""
    tomorrow = today + timedelta(days=1)
    return evolve(
        visit,
        earliest=max(visit.earliest, tomorrow),
        best=max(visit.best, tomorrow),
        latest=None if visit.latest is None else max(visit.latest, tomorrow),
        binding=tuple([binding for binding in visit.binding if binding.day >= tomorrow]),
        planned=None if visit.planned is None else max(visit.planned, tomorrow),
        hold=hold,
    )
