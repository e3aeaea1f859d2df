"""The work order as Markdown, for notes and messages."""

from __future__ import annotations

import re
from collections.abc import Iterator

from coatrules.catalogue.speaking import say
from coatrules.order.work_order import WorkOrder
from coatrules.report.rows import SECTIONS, aside, header, later_head, later_rows, visit_lines, work_rows
from coatrules.report.safe_text import plain


def markdown(order: WorkOrder) -> str:
    """The whole order as CommonMark with a table of steps (the tables of GitHub Flavored Markdown)."""
    return "\n".join(_lines(order)).rstrip() + "\n"


def _lines(order: WorkOrder) -> Iterator[str]:
    who, time = header(order)
    yield f"# {escaped(who)}"
    yield ""
    yield escaped(time)
    yield from _list(say("report.refer"), [("", message.text) for message in order.refer])
    yield ""
    yield f"## {say('report.work')}"
    yield ""
    if order.steps:
        columns = (say(f"page.{column}") for column in ("where", "what", "time-head", "with", "why"))
        yield f"| | {' | '.join(columns)} |"
        yield "|--:|---|---|--:|---|---|"
    else:
        yield say("report.no-work")
    for row in work_rows(order):
        why = " ".join([*map(escaped, row.why), *(f"**{escaped(caution)}**" for caution in row.cautions)])
        minutes = say.amount("minutes", row.minutes)
        cells = (str(row.number), escaped(row.where), escaped(row.what_and_bout), minutes, escaped(row.how), why)
        yield f"| {' | '.join(cells)} |"
    for name, title in SECTIONS:
        yield from _list(say(title), aside(order, name))
    yield from _list(say("report.next-visit"), [("", line) for line in visit_lines(order.next_visit, order.labels)])
    if rows := later_rows(order):
        yield ""
        yield f"## {say('report.later')}"
        yield ""
        head = later_head()
        yield f"| {' | '.join(head)} |"
        yield f"|---|{'--:|' * (len(head) - 1)}"
        yield from (f"| {' | '.join(row)} |" for row in rows)
    yield from _list(say("report.findings"), [("", problem.message) for problem in order.findings])
    yield from _list(say("report.cautions"), [("", message.text) for message in order.cautions])


def _list(title: str, entries: list[tuple[str, str]]) -> Iterator[str]:
    if not entries:
        return
    yield ""
    yield f"## {title}"
    yield ""
    for what, why in entries:
        yield (
            f"- {say('report.aside', parts=f'**{escaped(what)}**', why=escaped(why))}" if what else f"- {escaped(why)}"
        )


def escaped(text: str) -> str:
    """An author's text that cannot become markup."""
    return re.sub(r"([\\`*_\[\]<>|#&])", r"\\\1", plain(text))
