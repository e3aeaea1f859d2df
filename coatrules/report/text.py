"""The work order for a terminal, read at the table: what first, how much, with what, how long, and why."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from coatrules.catalogue.speaking import say
from coatrules.order.work_order import WorkOrder
from coatrules.report.rows import SECTIONS, Row, aside, header, later_head, later_rows, visit_lines, work_rows
from coatrules.report.safe_text import plain

INDENT = "     "
NARROWEST = 30
"""Characters of the narrowest terminal that lines are made for."""


def text(order: WorkOrder, width: int = 88) -> str:
    """The whole order as plain text, lines no longer than ``width`` characters (``NARROWEST`` or more)
    unless a word is."""
    return "\n".join(map(plain, _lines(order, max(width, NARROWEST)))).rstrip() + "\n"


def _lines(order: WorkOrder, width: int) -> Iterator[str]:
    for line in header(order):
        yield from wrapped(line, width, "")
    if order.refer:
        yield from _section(say("report.refer"), width, [("", message.text) for message in order.refer])
    yield ""
    yield say("report.work")
    if not order.steps:
        yield f"  {say('report.no-work')}"
    for row in work_rows(order):
        yield from _row(row, width)
    for name, title in SECTIONS:
        yield from _section(say(title), width, aside(order, name))
    yield from _section(
        say("report.next-visit"), width, [("", line) for line in visit_lines(order.next_visit, order.labels)]
    )
    yield from _later(order, width)
    yield from _section(say("report.findings"), width, [("", problem.message) for problem in order.findings])
    yield from _section(say("report.cautions"), width, [("", message.text) for message in order.cautions])


def _row(row: Row, width: int) -> Iterator[str]:
    minutes = say.amount("minutes", row.minutes)
    what = row.what_and_bout
    title = say("report.task", where=row.where, what=what) if row.where else what
    room = width - len(INDENT) - max(8, len(minutes))
    first, *rest = wrapped(title, room - 1, "")
    yield f"{row.number:>3}  {first:<{room}}{minutes:>8}"
    for line in rest:
        yield INDENT + line
    if row.how:
        yield from wrapped(say("report.with", how=row.how), width, INDENT)
    for why in row.why:
        yield from wrapped(why, width, INDENT + "- ")
    for caution in row.cautions:
        yield from wrapped(caution, width, INDENT + "! ")


def _later(order: WorkOrder, width: int) -> Iterator[str]:
    rows = later_rows(order)
    if not rows:
        return
    yield ""
    yield from wrapped(say("report.later"), width, "")
    table = (later_head(), *rows)
    first_width, *widths = (max(map(len, column)) for column in zip(*table, strict=True))
    first_width, widths = max(first_width, 15), [max(one + 1, 14) for one in widths]
    if width < 2 + first_width + sum(widths):  # the table has no room
        for first, *rest in rows:
            named = tuple(
                say("later.cell", name=name, cell=cell)
                for name, cell in zip(later_head()[1:], rest, strict=True)
                if cell
            )
            yield from wrapped(say("later.line", when=first, cells=named), width, "  - ")
        return
    for first, *rest in table:
        yield f"  {first:<{first_width}}" + "".join(f"{cell:>{one}}" for cell, one in zip(rest, widths, strict=True))


def _section(title: str, width: int, entries: list[tuple[str, str]]) -> Iterator[str]:
    if not entries:
        return
    yield ""
    yield title
    for what, why in entries:
        yield from wrapped(say("report.aside", parts=what, why=why) if what else why, width, "  - ")


def wrapped(text: str, width: int, indent: str, hanging: str | None = None) -> Iterator[str]:
    """A text in lines of a width, the first behind ``indent`` and the others below it, or behind ``hanging``."""
    fits = text.isprintable() and text.strip() and len(indent) + len(text) <= width
    if fits:  # as most do: to wrap it is slow
        yield indent + text.rstrip()
    else:
        further = " " * len(indent) if hanging is None else hanging
        yield from wrap(
            text,
            width,
            initial_indent=indent,
            subsequent_indent=further,
            break_long_words=False,
            break_on_hyphens=False,
        )
