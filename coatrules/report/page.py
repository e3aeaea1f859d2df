"""The work order as a page to print: one HTML file with all that it needs, for the table and for the folder."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
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
from coatrules.report.box import decided
from coatrules.report.one_sheet import SIZES, Words, lines_left, row_lines
from coatrules.report.passes import Detail, PassLine, details, pass_lines, where
from coatrules.report.rows import SECTIONS, Row, aside, later_head, later_rows, time_words, visit_lines, work_rows
from coatrules.report.safe_text import plain
from coatrules.report.sheet import next_visit, put_off

if TYPE_CHECKING:
    from jinja2 import Environment


@frozen
class PassRow:
    """One pass in the table: what is in the hand, how much, where, and how long, give or take."""

    number: int
    tool: str
    amount: str
    where: str
    time: str


@frozen
class Line:
    """One row of the table of steps: ``time`` in minutes, ``why`` the letters of its reasons."""

    number: int
    where: str
    what: str
    time: str
    tools: str
    why: str


@frozen
class Steps:
    """The second part: every step with its reasons, what is not worked, and the later visits."""

    lines: list[Line]
    reasons: list[tuple[str, str]]
    tools: list[str]
    asides: list[tuple[str, list[tuple[str, str]]]]
    next_visit: list[str]
    later_head: tuple[str, ...]
    later: list[tuple[str, ...]]


def page(order: WorkOrder, *, steps: bool = False) -> str:
    """The order as one self-contained HTML page: one sheet of A4, and with ``steps`` every step and its reasons on further ones.

    Raises ``InputError`` without the extra 'report'.
    """
    require_extra("report", "jinja2", "matplotlib")
    passes = pass_lines(order)
    picture = left_side(order, chart_numbers(passes))
    missing = undrawn(order)
    words = Words(
        name=plain(order.dog_name),
        profile_day=say("page.profile-day", profile=say.own(order.profile_label), day=order.date),
        time=time_words(order, "sheet.time"),
        box=decided(order),
        urgent=len(order.refer),
        put_off=put_off(order) if order.deferred else "",
        next_visit=next_visit(order),
        undrawn=say("page.undrawn", parts=missing) if missing else "",
        key=[entry.words for entry in picture.key],
        picture_mm=picture.least_mm,
        cautions=[caution.text for caution in order.cautions],
        line_cautions=_line_cautions(order, passes),
    )
    points, rows = _pass_rows(order, passes, words)
    return filled(
        "order.html.jinja",
        order=order,
        words=words,
        points=points,
        passes=rows,
        picture=picture,
        steps=_steps(order) if steps else None,
    )


def _pass_rows(order: WorkOrder, passes: Sequence[PassLine], words: Words) -> tuple[float, list[PassRow]]:
    """The size of the type, and the passes told as fully as there is room: as large as they can be with all their parts named."""

    def fitted(points: float) -> list[Detail]:
        def lines(one: PassLine, detail: Detail) -> int:
            return row_lines(f"{one.tool} {one.amount}", where(order, one, detail), points)

        return details(passes, lines, lines_left(words, len(passes), points))

    chosen = {points: fitted(points) for points in SIZES}
    points = max(SIZES, key=lambda size: min([Detail.NAMED, *chosen[size]]))
    return points, [
        PassRow(
            number=one.number,
            tool=one.tool,
            amount=one.amount,
            where=where(order, one, detail),
            time=one.time,
        )
        for one, detail in zip(passes, chosen[points], strict=True)
    ]


def _line_cautions(order: WorkOrder, passes: Sequence[PassLine]) -> list[str]:
    """Cautions of single steps that do not hold for all, each with the first line that it belongs to."""
    general = {caution.text for caution in order.cautions}
    first: dict[str, int] = {}
    for one in passes:
        for step in one.steps:
            for caution in step.cautions:
                if caution.text not in general:
                    first.setdefault(caution.text, one.number)
    return [say("page.from-line", line=line, caution=caution) for caution, line in first.items()]


def _steps(order: WorkOrder) -> Steps:
    rows = work_rows(order)
    letters = {reason: _letter(index) for index, reason in enumerate(_unique(why for row in rows for why in row.why))}
    return Steps(
        lines=[_line(row, letters) for row in rows],
        reasons=[(letter, reason) for reason, letter in letters.items()],
        tools=_unique(row.how for row in rows if row.how != row.tools),
        asides=[(say(title), entries) for name, title in SECTIONS if (entries := aside(order, name))],
        next_visit=visit_lines(order.next_visit, order.labels),
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


def chart_numbers(passes: Iterable[PassLine]) -> dict[str, str]:
    """The number that each region bears in the chart: of the pass in which it is pulled, or else of its first."""
    numbers: dict[str, str] = {}
    pulled: dict[str, str] = {}
    for one in passes:
        for step in one.steps:
            if step.region is not None:
                numbers.setdefault(step.region, str(one.number))
                if step.task == "pull":
                    pulled.setdefault(step.region, str(one.number))
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
    environment.globals |= {"say": say, "drawn": drawn}
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
