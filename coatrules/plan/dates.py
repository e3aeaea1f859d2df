"""The days of a plan: those that were asked for, or an even row of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date as Date
from datetime import timedelta
from itertools import pairwise

from coatrules.coat.ripening import HORIZON_DAYS
from coatrules.dog.history import History
from coatrules.order.arguments import checked_day
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import CompiledProfile

HALF_YEAR = 26.0


def checked_days(dates: Iterable[Date], history: History, today: Date, show: Date | None) -> tuple[Date, ...]:
    """Returns the days asked for, in order; raises ``InputError`` for each that cannot be planned."""
    days = sorted(map(checked_day, dates))
    worked = {visit.day for visit in history.visits if visit.day <= today}
    problems = []
    if not days:
        problems.append(
            Problem(code="no-dates", message="there is no day to plan for", hint="Name at least one day to come.")
        )
    for day, before in zip(days, [None, *days], strict=False):
        if day < today:
            problems.append(
                _date_problem(day, f"is past: the plan starts on {today}", "Leave it out, or plan from an earlier day.")
            )
        elif day in worked:
            problems.append(_date_problem(day, "has its visit on record already", "Leave it out."))
        elif (day - today).days > HORIZON_DAYS:
            problems.append(_date_problem(day, "is more than three years ahead", "Plan nearer days."))
        if day == before:
            problems.append(_date_problem(day, "is named twice", "Leave one out."))
        if show is not None and day > show:
            problems.append(_date_problem(day, f"is after the show on {show}", "Leave it out."))
    if problems:
        raise InputError(problems)
    return tuple(days)


def row(
    compiled: CompiledProfile,
    history: History,
    today: Date,
    every_weeks: float | None,
    visits: int | None,
    show: Date | None,
) -> tuple[Date, ...]:
    """Days at an interval (the profile's where none is said): from the next due one on, for half a year or to the show."""
    every = compiled.profile.visit.every_weeks if every_weeks is None else every_weeks
    if not 1 / 7 <= every <= 52:
        raise InputError(
            [Problem(code="interval", message=f"{every:g} weeks is no interval", hint="Say 0.15 (a day) to 52 weeks.")]
        )
    if visits is not None and not 1 <= visits <= 400:
        raise InputError(
            [Problem(code="visits", message=f"{visits} visits are no plan", hint="Say a number from 1 to 400.")]
        )
    last = max((visit.day for visit in history.visits if visit.day <= today), default=None)
    first = today if last is None else max(today + timedelta(days=last == today), _after(last, every))
    if show is not None and show < today:
        raise InputError([_date_problem(show, "is past: there is no way back from it", "Name a show to come.")])
    until = first + timedelta(weeks=HALF_YEAR) if show is None else show
    count = max(1, int((until - first).days / 7 / every) + 1) if visits is None else visits
    days = [_after(first, every * number) for number in range(count)]
    if show is not None:
        days = [day for day in days if day <= show] or [show]
    if (days[-1] - today).days > HORIZON_DAYS:
        message = f"{count} visits every {every:g} weeks reach more than three years ahead"
        raise InputError([Problem(code="plan-date", message=message, hint="Ask for fewer, or a shorter interval.")])
    return checked_days(days, history, today, show)


def gaps(days: Sequence[int], every_weeks: float) -> list[float]:
    """Weeks from each visit (ordinals) to the next; after the last, the interval before it, or ``every_weeks`` for a lone one."""
    weeks = [(later - earlier) / 7 for earlier, later in pairwise(days)]
    return [*weeks, weeks[-1] if weeks else every_weeks]


def _after(day: Date, weeks: float) -> Date:
    return day + timedelta(days=round(weeks * 7))


def _date_problem(day: Date, fault: str, hint: str) -> Problem:
    return Problem(code="plan-date", message=f"{day} {fault}", hint=hint)
