"""The work order as a page to print: one HTML file with all that it needs, for the table and for the folder."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from string import ascii_lowercase
from typing import TYPE_CHECKING

from attrs import frozen

from coatrules.catalogue.message import Message
from coatrules.catalogue.speaking import say
from coatrules.extras import require_extra
from coatrules.order.work_order import WorkOrder
from coatrules.problems import InputError
from coatrules.report.body import left_side, undrawn
from coatrules.report.rows import SECTIONS, Row, aside, later_head, later_rows, visit_lines, work_rows
from coatrules.report.safe_text import plain

if TYPE_CHECKING:
    from jinja2 import Environment


@frozen
class Line:
    """One row of the table: ``time`` in minutes, ``why`` the letters of its reasons."""

    number: int
    where: str
    what: str
    time: str
    tools: str
    why: str


def page(order: WorkOrder) -> str:
    """The order as one self-contained HTML page that prints on A4; raises ``InputError`` without the extra 'report'."""
    rows = work_rows(order)
    letters = {reason: _letter(index) for index, reason in enumerate(_unique(why for row in rows for why in row.why))}
    how = _unique(row.how for row in rows if row.how != row.tools)
    return filled(
        "order.html.jinja",
        order=order,
        profile_label=say.own(order.profile_label),
        cautions=[(caution, row.number) for row in rows for caution in row.cautions],
        lines=[_line(row, letters) for row in rows],
        reasons=[(letter, reason) for reason, letter in letters.items()],
        tools=how,
        asides=[(say(title), entries) for name, title in SECTIONS if (entries := aside(order, name))],
        undrawn=undrawn(order),
        chart=drawn(left_side(order, chart_numbers(rows))),
        next_visit=visit_lines(order),
        later_head=later_head(),
        later=later_rows(order),
    )


def notebook(order: WorkOrder) -> str:
    """The page in a frame of its own, for notebooks; plain text where the extra 'report' is missing."""
    try:
        inside = page(order)
    except InputError:
        from coatrules.report.text import text

        return f"<pre>{escape(text(order))}</pre>"
    title = escape(plain(say("page.frame", dog=order.dog_name)))
    return f'<iframe title="{title}" sandbox srcdoc="{escape(inside)}" style="width:100%;height:40em"></iframe>'


def chart_numbers(rows: Iterable[Row]) -> dict[str, str]:
    """The number that each region bears in the chart: of the row in which it is pulled, or else of its first."""
    numbers: dict[str, str] = {}
    pulled: dict[str, str] = {}
    for row in rows:
        for region in row.regions:
            numbers.setdefault(region, str(row.number))
            if row.task == "pull":
                pulled.setdefault(region, str(row.number))
    return numbers | pulled


def filled(template: str, **values: object) -> str:
    """A packaged template filled in; every text is escaped and stripped of what could steer the reader's program."""
    require_extra("report", "jinja2")
    return _environment().get_template(template).render(values)


def drawn(svg: str) -> str:
    """A picture of our own making, to stand in a page as it is."""
    from markupsafe import Markup

    return Markup(svg[svg.index("<svg") :])  # made by matplotlib, which escapes all text in it


def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("coatrules.report"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_clean,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["say"] = say
    return environment


def _clean(value: object) -> object:
    from markupsafe import Markup

    return plain(str(value)) if isinstance(value, str | Message) and not isinstance(value, Markup) else value


def _line(row: Row, letters: dict[str, str]) -> Line:
    return Line(
        number=row.number,
        where=row.where,
        what=row.what_and_bout,
        time=say.amount("halves", row.minutes),
        tools=row.tools,
        why=" ".join(letters[reason] for reason in row.why),
    )


def _letter(index: int) -> str:
    """a, b, ... z, aa, ab, ..."""
    before, last = divmod(index, 26)
    return (_letter(before - 1) if before else "") + ascii_lowercase[last]


def _unique(texts: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(texts))
