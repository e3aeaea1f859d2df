"""The days of a plan: those that were asked for, or an even row of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date as Date
from datetime import timedelta
from itertools import pairwise

from coatrules.catalogue.message import Message, message
from coatrules.coat.ripening import HORIZON_DAYS
from coatrules.dog.history import History
from coatrules.dog.safety import PUPPY_MINUTES, grown_on
from coatrules.formats.plain import number_or_none
from coatrules.order.arguments import checked_day
from coatrules.order.salon import Salon
from coatrules.order.show_ahead import WORK_SHOWS_DAYS
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import CompiledProfile

HALF_YEAR = 26.0


def checked_days(
    dates: Iterable[Date], history: History, today: Date, show: Date | None, on_record: Date | None = None
) -> tuple[Date, ...]:
    """Returns the days asked for, in order; raises ``InputError`` for each that cannot be planned. None comes after a ``show``, and work
    of none shows at it or at one ``on_record``."""
    days = sorted(map(checked_day, dates))
    worked = {visit.day for visit in history.visits if visit.day <= today}
    problems = []
    if not days:
        problems.append(Problem(code="no-dates"))
    for day, before in zip(days, [None, *days], strict=False):
        if day < today:
            problems.append(Problem(code="plan-date", params={"day": day, "today": today}))
        elif day in worked:
            problems.append(Problem(code="plan-date-recorded", params={"day": day}))
        elif (day - today).days > HORIZON_DAYS:
            problems.append(Problem(code="plan-date-far", params={"day": day}))
        if day == before:
            problems.append(Problem(code="plan-date-twice", params={"day": day}))
        if show is not None and day > show:
            problems.append(Problem(code="plan-date-after-show", params={"day": day, "show": show}))
        elif (shown := next((one for one in (show, on_record) if one and _work_shows(day, one)), None)) is not None:
            params = {"day": day, "show": shown, "last": last_before(shown)}
            problems.append(Problem(code="plan-date-shows", params=params))
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
    salon: Salon | None = None,
    on_record: Date | None = None,
) -> tuple[Date, ...]:
    """Days at an interval (the profile's where none is said): from the next due one on, a puppy's from when it is grown on, for half a
    year or to the show; each moved to the open day of a salon that suits best. What would show at a show ``on_record`` is moved before
    it, or to a day after it."""
    every = compiled.profile.visit.every_weeks if every_weeks is None else usable_weeks(every_weeks)
    visits = None if visits is None else checked_count(visits)
    last = max((visit.day for visit in history.visits if visit.day <= today), default=None)
    soonest = max(today + timedelta(days=last == today), _grown_on(compiled, history) or today)
    first = soonest if last is None else max(soonest, _after(last, every))
    if show is not None and show < today:
        raise InputError([Problem(code="show-past", params={"show": show})])
    if show is not None:
        no_puppy(compiled, history, (last_before(show),))
    if show is not None and last_before(show) < soonest:
        near = {"show": show, "first": last_before(show) + timedelta(days=1)}
        raise InputError([Problem(code="show-near", params=near)])
    until = first + timedelta(weeks=HALF_YEAR) if show is None else show
    count = max(1, int((until - first).days / 7 / every) + 1) if visits is None else visits
    days = [_after(first, every * number) for number in range(count)]
    last_day = None if show is None else last_before(show)
    if last_day is not None:
        days = [day for day in days if day <= last_day] or [last_day]
    if on_record is not None:
        days = [day for day in _clear_of(on_record, days, soonest) if last_day is None or day <= last_day] or days
    if (days[-1] - today).days > HORIZON_DAYS:
        raise InputError([Problem(code="plan-too-long", params={"visits": count, "every_weeks": every})])
    if salon is not None:  # of visits that fall on one open day there is one
        spans = [_span(day, soonest, last_day, on_record) for day in days]
        days = list(
            dict.fromkeys(salon.planned_day(history.dog.id, day, *span) for day, span in zip(days, spans, strict=True))
        )
    return checked_days(days, history, today, show, on_record)


def _work_shows(day: Date, show: Date) -> bool:
    """Whether work of a day shows at a show."""
    return last_before(show) < day <= show


def last_before(show: Date) -> Date:
    """The last day on which work does not show at a show."""
    return show - timedelta(days=WORK_SHOWS_DAYS + 1)


def _clear_of(show: Date, days: Sequence[Date], first: Date) -> list[Date]:
    """The days; in place of those of which work would show at the show one, not before the ``first``: the last of which it does not,
    or the day after the show, whichever leaves more time to the other visits."""
    clear = [day for day in days if not _work_shows(day, show)]
    if len(clear) == len(days):
        return clear
    possible = [day for day in (last_before(show), show + timedelta(days=1)) if day >= first]

    def time_left(day: Date) -> int:
        return min((abs((day - other).days) for other in clear), default=0)

    return sorted({*clear, max(possible, key=time_left)})


def _span(day: Date, first: Date, last: Date | None, on_record: Date | None) -> tuple[Date, Date | None]:
    """The first and the last day to which a day may be moved: it stays on its side of a show on record."""
    if on_record is None:
        return first, last
    if day > on_record:
        return max(first, on_record + timedelta(days=1)), last
    before = last_before(on_record)
    return first, before if last is None else min(last, before)


def closed_days(salon: Salon | None, days: Iterable[Date]) -> Iterator[Message]:
    """Yields a note of days on which a salon is closed: they were asked for, or none near them is open."""
    if salon is not None and (closed := tuple(day for day in days if not salon.is_open(day))):
        yield message("plan.closed", days=closed)


def usable_weeks(value: object) -> float:
    """An interval in weeks; raises ``InputError`` for what is no number, and below a day and above a year."""
    weeks = number_or_none(value)
    if weeks is None:
        raise InputError([Problem(code="plan-interval-not-a-number", params={"value": repr(value)})])
    if not 1 / 7 <= weeks <= 52:
        raise InputError([Problem(code="plan-interval", params={"every_weeks": weeks})])
    return weeks


def checked_count(value: object) -> int:
    """A number of visits; raises ``InputError`` for what is no whole number, and for none and more than a plan has."""
    count = number_or_none(value)
    if count is None or not count.is_integer():
        raise InputError([Problem(code="plan-visits-not-whole", params={"value": repr(value)})])
    if not 1 <= count <= 400:
        raise InputError([Problem(code="plan-visits", params={"visits": int(count)})])
    return int(count)


def no_puppy(compiled: CompiledProfile, history: History, days: Iterable[Date]) -> None:
    """Raises ``InputError`` where a dog is still a puppy on one of the days: nothing but table practice is to be planned."""
    grown = _grown_on(compiled, history)
    if grown is None or not any(day < grown for day in days):
        return
    params = {"until": grown, "minutes": PUPPY_MINUTES}
    raise InputError([history.origin.problem_at(("dog", "born"), "plan-puppy", params)])


def _grown_on(compiled: CompiledProfile, history: History) -> Date | None:
    """The day from which a dog is no puppy; None where nobody knows when it was born."""
    born = history.dog.born
    return None if born is None else grown_on(born, compiled.first_coat_weeks)


def gaps(days: Sequence[int], every_weeks: float) -> list[float]:
    """Weeks from each visit (ordinals) to the next; after the last, the interval before it, or ``every_weeks`` for a lone one."""
    weeks = [(later - earlier) / 7 for earlier, later in pairwise(days)]
    return [*weeks, weeks[-1] if weeks else every_weeks]


def _after(day: Date, weeks: float) -> Date:
    return day + timedelta(days=round(weeks * 7))
