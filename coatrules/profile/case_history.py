"""The history of a worked case, as a profile writes it and as a history is: a case's needs no format, and its visits that are alike may
be written once, as a series."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from itertools import islice
from typing import Annotated, Any

from attrs import frozen

from coatrules.formats.structure import structure
from coatrules.formats.validation import MOST
from coatrules.formats.values import MAPPINGS, Range, iso_date
from coatrules.read_only import frozen_plain


@frozen(kw_only=True)
class Series:
    """Visits that are alike: how many, the first included, and the weeks from one to the next."""

    visits: Annotated[int, Range(2, 100)]
    every_weeks: Annotated[float, Range(0, 52, above=True)]

    def days(self, first: date) -> list[date]:
        """Returns the days of all visits, each the nearest whole day."""
        return [first + timedelta(days=round(index * self.every_weeks * 7)) for index in range(self.visits)]


def written_out(history: Any) -> Any:
    """Returns the history of a case, plain data, as a history is: with its format, each visit by itself. What cannot be read as one
    stays as it is written."""
    if not isinstance(history, MAPPINGS):
        return history
    whole = {"format": 1, **history}
    visits = history.get("visits")
    if isinstance(visits, list | tuple):
        each = (visit for entry in visits for visit in _each(entry))
        whole["visits"] = list(
            islice(each, MOST["visits"] + 1)
        )  # one more than a history may have is told where it is read
    return frozen_plain(whole)


def entries(history: Any) -> tuple[int, ...]:
    """Returns for each visit of a history that is written out the index of the entry that tells of it."""
    visits = history.get("visits") if isinstance(history, MAPPINGS) else None
    listed = visits if isinstance(visits, list | tuple) else ()
    return tuple(index for index, entry in enumerate(listed) for _ in _each(entry))


def _each(entry: Any) -> list[Any]:
    if not isinstance(entry, MAPPINGS) or "series" not in entry:
        return [entry]
    try:
        days = structure(entry["series"], Series).days(iso_date(entry["visit"]))
    except (KeyError, TypeError, ValueError):
        return [entry]
    each = {key: value for key, value in entry.items() if key != "series"}
    return [{**each, "visit": day.isoformat()} for day in days]


def in_series(history: Mapping[str, Any]) -> dict[str, Any]:
    """Returns a history, plain data that is right, as a case writes it: without its format, visits that are alike once."""
    data = {key: value for key, value in history.items() if key != "format"}
    if "visits" in data:
        data["visits"] = [_entry(data["visits"][start:end]) for start, end in runs(data["visits"])]
    return data


def _entry(visits: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    first = dict(visits[0])
    if len(visits) == 1:
        return first
    series = {"visits": len(visits), "every_weeks": _days_between(visits, 0) // 7}
    return {"visit": first.pop("visit"), "series": series, **first}


def runs(visits: Sequence[Mapping[str, Any]]) -> Iterator[tuple[int, int]]:
    """Yields where each series begins and ends: visits that are the same but for the day, and as many whole weeks apart."""
    start = 0
    while start < len(visits):
        end = start + 1
        while end < len(visits) and _goes_on(visits, start, end):
            end += 1
        yield start, end
        start = end


def _goes_on(visits: Sequence[Mapping[str, Any]], start: int, end: int) -> bool:
    one, other = ({key: value for key, value in visits[at].items() if key != "visit"} for at in (start, end))
    days = _days_between(visits, end - 1)
    return one == other and "series" not in one and days > 0 and days % 7 == 0 and days == _days_between(visits, start)


def _days_between(visits: Sequence[Mapping[str, Any]], index: int) -> int:
    """From a visit to the next."""
    one, other = (iso_date(visit["visit"]) for visit in visits[index : index + 2])
    return (other - one).days
