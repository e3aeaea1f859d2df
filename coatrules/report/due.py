"""Who of the book is due: as a table for a terminal, as CSV for a spreadsheet, as plain data for JSON."""

from __future__ import annotations

import csv
import io
import unicodedata
from collections.abc import Sequence
from textwrap import wrap
from typing import Any

from coatrules.book.due import Due
from coatrules.catalogue.message import message
from coatrules.catalogue.speaking import say
from coatrules.report.rows import visit_lines
from coatrules.report.safe_text import plain

COLUMNS = ("due", "dog", "name", "profile", "last", "earliest", "best", "open", "latest", "minutes", "put_off", "why")


def due_data(due: Due) -> dict[str, Any]:
    """One dog as plain data. ``due`` is the day it comes, ``best`` the one computed, ``open`` the salon's open one where its days
    are known. ``days`` until the best; 0 while the window is open, below 0 overdue. ``minutes`` of work planned on that day;
    ``put_off`` counts the regions that would not fit in."""
    brief, visit = due.brief, due.visit
    return {
        "dog": {"id": brief.dog_id, "name": brief.dog_name},
        "profile": brief.profile_id,
        "due": due.day.isoformat() if visit.hold is None else None,
        "days": due.days if visit.hold is None else None,
        "hold": visit.hold.text if visit.hold is not None else None,
        "last": due.last.isoformat() if due.last is not None else None,
        "earliest": visit.earliest.isoformat(),
        "best": visit.best.isoformat(),
        "open": visit.open.isoformat() if visit.open is not None else None,
        "latest": visit.latest.isoformat() if visit.latest is not None else None,
        "minutes": brief.minutes_planned,
        "put_off": brief.put_off,
        "why": why(due),
        "refer": list(map(str, brief.refer)),
    }


def why(due: Due) -> list[str]:
    """Why then, in sentences: overdue or not, then what sets each end of the window."""
    if due.last is None:
        return [*map(str, due.brief.refer), say("due.first")]
    days = due.days
    overdue = [say("due.overdue", days=-days)] if days < 0 else []
    since = say("due.since", weeks=(due.day - due.last).days / 7)
    best, *bounds = visit_lines(due.visit, due.brief.labels)
    moved = [best] if due.day != due.visit.best >= due.asked else []  # else the best day stands in a column of its own
    return [*map(str, due.brief.refer), *overdue, since, *moved, *bounds]


def table(dues: Sequence[Due], width: int = 80) -> str:
    """The dogs in the order given, one line each: the day, the dog, minutes, the window and what sets it. Lines are at most
    ``width`` characters: where what sets it does not fit the window is left out, then the work; what is cut even so is said below."""
    if not dues:
        return say("due.none") + "\n"
    for columns in ((0, 1, 2, 3), (0, 1, 2), (0, 1)):
        whole = _lines(dues, columns, width)
        lines = [_cut(line, width) for line in whole]
        if lines == whole:
            break
    else:
        lines += wrap(say("due.cut"), width)
    return "\n".join(lines) + "\n"


def _lines(dues: Sequence[Due], columns: Sequence[int], width: int) -> list[str]:
    """The table with these of its columns before what sets the day."""
    head = [say("due.due"), say("due.dog"), _work_head(dues), say("due.window"), say("due.binds")]
    rows = [head]
    for due in dues:
        facts = _binds(due) if 3 in columns else [*_overdue(due), *_binds(due)]
        rows.append(
            [
                _short_day(due),
                _dog(due, max(width // 4, 8)),
                _work(due),
                _window(due),
                say.amount("clauses", tuple(facts)),
            ]
        )
    shown = [[plain(text).strip() for text in row] for row in rows]
    widths = {column: max(_width(row[column]) for row in shown) for column in columns}
    cells = ["  ".join([*(_pad(row[column], widths[column]) for column in columns), row[-1]]) for row in shown]
    return [line.rstrip() for line in cells]


def reasons(dues: Sequence[Due], width: int = 80) -> str:
    """The dogs in the order given, with why then in sentences. Lines are at most ``width`` characters where names leave room."""
    if not dues:
        return say("due.none") + "\n"
    rows = [(say("due.due"), say("due.dog"), _work_head(dues), say("due.why"))]
    rows += [(_when(due), due.brief.dog_name, _work(due), " ".join(why(due))) for due in dues]
    shown = [tuple(plain(text).strip() for text in row) for row in rows]
    widths = [max(_width(row[column]) for row in shown) for column in range(3)]
    left = sum(widths) + 6
    lines = []
    for row in shown:
        first, *more = wrap(row[3], max(width - left, 30))
        lines.append("  ".join([*map(_pad, row[:3], widths), first]))
        lines += [" " * left + line for line in more]
    return "\n".join(lines) + "\n"


def _work_head(dues: Sequence[Due]) -> str:
    return say("due.work-waits" if any(due.brief.put_off for due in dues) else "due.work")


def _work(due: Due) -> str:
    minutes, deferred = due.brief.minutes_planned, due.brief.put_off
    if deferred:
        return say("due.minutes-deferred", minutes=minutes, deferred=deferred)
    return say.amount("minutes", minutes)


def _short_day(due: Due) -> str:
    return say.amount("short", due.day) if due.visit.hold is None else message("due.vet").text


def _dog(due: Due, width: int) -> str:
    """The dog's name, marked where a veterinary surgeon is to see it."""
    mark = say("due.vet-too", dog="") if due.brief.refer else ""
    name = _cut(plain(due.brief.dog_name).strip(), max(width - _width(mark), 2))
    return say("due.vet-too", dog=name) if mark else name


def _overdue(due: Due) -> list[str]:
    days = due.days if due.last is not None and due.visit.hold is None else 0
    return [say("due.overdue-short", days=-days)] if days < 0 else []


def _window(due: Due) -> str:
    """The window, or since when it is over."""
    visit = due.visit
    if due.last is None or visit.hold is not None:
        return ""
    if overdue := _overdue(due):
        return overdue[0]
    if visit.clash:
        return say("due.no-window")
    if visit.latest is None:
        return say("due.from", first=visit.earliest)
    return say("due.from-to", first=visit.earliest, last=visit.latest)


def _binds(due: Due) -> list[str]:
    """What sets the day, a few words each: the part and why; of an overdue dog what sets the end that is over."""
    visit = due.visit
    if visit.hold is not None:
        return [say("due.vet-why")]
    if due.last is None:
        return [say("due.first-visit")]
    end = visit.latest if due.days < 0 and visit.latest is not None else visit.best
    at_end = [binding for binding in visit.binding if binding.day == end]
    facts = [say(f"due.{binding.why}", region=say.own(due.brief.labels[binding.region])) for binding in at_end]
    return facts or [say("due.strip" if due.brief.strip_whole else "due.usual")]


def _cut(text: str, width: int) -> str:
    """A text in at most ``width`` columns of a terminal, an ellipsis where some is left out."""
    if _width(text) <= width:
        return text
    while text and _width(text) >= width:
        text = text[:-1]
    return text.rstrip() + "…"


def sheet(dues: Sequence[Due]) -> str:
    """The dogs as CSV (RFC 4180), a heading line first."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    for due in dues:
        data = due_data(due)
        data |= {"dog": data["dog"]["id"], "name": data["dog"]["name"], "why": " ".join(data["why"])}
        writer.writerow([cell(data[column]) for column in COLUMNS])
    return out.getvalue()


def cell(value: object) -> object:
    """A value as a spreadsheet's cell. Text that a spreadsheet would run as a formula gets an apostrophe in front.

    Source: OWASP, CSV Injection: the characters = + - @, tab and carriage return at the start of a cell.
    """
    if not isinstance(value, str):
        return value
    text = plain(value).strip()
    first = next((c for c in text if not c.isspace() and unicodedata.category(c) != "Cf"), "")
    return f"'{text}" if first in _FORMULA else text


def _when(due: Due) -> str:
    return due.day.isoformat() if due.visit.hold is None else message("due.vet").text


_FORMULA = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20")  # the last four: the same in full width


def _width(text: str) -> int:
    """Columns that the text takes in a terminal (Unicode Standard Annex 11: wide characters take two)."""
    return sum(map(_columns, text))


def _columns(character: str) -> int:
    if unicodedata.combining(character) or unicodedata.category(character) == "Cf":
        return 0
    return 2 if unicodedata.east_asian_width(character) in "WF" else 1


def _pad(text: str, width: int) -> str:
    return text + " " * (width - _width(text))
