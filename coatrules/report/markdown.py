"""The work order as Markdown, for notes and messages."""

from __future__ import annotations

import re
from collections.abc import Iterator

from coatrules.catalogue.english.amounts import minutes_words
from coatrules.order.work_order import WorkOrder
from coatrules.report.rows import LATER, SECTIONS, aside, header, later_rows, visit_lines, work_rows
from coatrules.report.safe_text import plain


def markdown(order: WorkOrder) -> str:
    """The whole order as CommonMark with a table of steps (the tables of GitHub Flavored Markdown)."""
    return "\n".join(_lines(order)).rstrip() + "\n"


def _lines(order: WorkOrder) -> Iterator[str]:
    who, time = header(order)
    yield f"# {escaped(who)}"
    yield ""
    yield escaped(time)
    yield from _list("Stop: a veterinary surgeon first", [("", message.text) for message in order.refer])
    yield ""
    yield "## The work"
    yield ""
    if order.steps:
        yield "| | Where | What | Time | With | Why |"
        yield "|--:|---|---|--:|---|---|"
    else:
        yield "Nothing is to be done today."
    for row in work_rows(order):
        task = f"{row.what}, {row.bout}" if row.bout else row.what
        why = " ".join([*map(escaped, row.why), *(f"**{escaped(caution)}**" for caution in row.cautions)])
        cells = (str(row.number), escaped(row.where), escaped(task), minutes_words(row.minutes), escaped(row.how), why)
        yield f"| {' | '.join(cells)} |"
    for name, title in SECTIONS:
        yield from _list(title, aside(order, name))
    yield from _list("Next visit", [("", line) for line in visit_lines(order)])
    if rows := later_rows(order):
        yield ""
        yield "## If the dog comes later"
        yield ""
        yield f"| {' | '.join(LATER)} |"
        yield f"|---|{'--:|' * (len(LATER) - 1)}"
        yield from (f"| {' | '.join(row)} |" for row in rows)
    yield from _list("Worth knowing", [("", problem.message) for problem in order.findings])
    yield from _list("Cautions", [("", message.text) for message in order.cautions])


def _list(title: str, entries: list[tuple[str, str]]) -> Iterator[str]:
    if not entries:
        return
    yield ""
    yield f"## {title}"
    yield ""
    for what, why in entries:
        yield f"- **{escaped(what)}**: {escaped(why)}" if what else f"- {escaped(why)}"


def escaped(text: str) -> str:
    """An author's text that cannot become markup."""
    return re.sub(r"([\\`*_\[\]<>|#&])", r"\\\1", plain(text))
