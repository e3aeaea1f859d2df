"""What an engine says: any result in words, as plain data, as a page, a picture, a sheet or a calendar."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from contextlib import AbstractContextManager
from datetime import date as Date
from typing import TYPE_CHECKING, Any, Literal, TypeAlias, TypeVar, get_args

from coatrules.catalogue.speaking import Catalogue, speaking
from coatrules.extras import require_extra
from coatrules.formats.plain import checked_text
from coatrules.order.arguments import checked_day
from coatrules.problems import InputError, Problem

if TYPE_CHECKING:
    from coatrules.book.due import Due
    from coatrules.order.work_order import WorkOrder
    from coatrules.plan.results import Plan, StagedStrip

Audience: TypeAlias = Literal["table", "owner"]
"""Whom an order is for: the one at the table, or the dog's owner."""
Form: TypeAlias = Literal["svg", "png"]
"""The kind of a picture."""
Review: TypeAlias = Literal["text", "json", "github", "sarif"]
"""How the findings of a check are written."""
T = TypeVar("T")


class Speaking:
    """Puts results into words in one language, ``locale``."""

    __slots__ = ("_catalogue", "locale")

    def __init__(self, locale: str) -> None:
        self.locale = locale
        self._catalogue = catalogue_of(locale)

    def speaking(self) -> AbstractContextManager[None]:
        """Within it everything that is put into words (``str`` of an order, of a problem) is put into this engine's language."""
        return speaking(self._catalogue)

    def text(
        self,
        result: Any,
        width: int = 88,
        *,
        audience: Audience = "table",
        steps: bool = False,
        reasons: bool = False,
    ) -> str:
        """Returns any result in words, as for a terminal of ``width`` characters: an order, what is due (one dog, or a list as a table), an
        explanation, a plan, a comparison, a rehearsal, a history, a visit, problems and findings.

        Of an order: for whom (``audience``), or with every step and its reasons (``steps``). Of a list of dogs that are due: why, in
        sentences (``reasons``). Raises ``TypeError`` for what is no result.
        """
        from coatrules.report.shown import text

        owner = one_of(audience, Audience) == "owner"
        with self.speaking():
            return text(result, width, owner=owner, steps=steps, reasons=reasons)

    def reasons(self, order: WorkOrder, line: str | int | Collection[str]) -> list[str]:
        """Returns why one line of an order stands there, in sentences. ``line``: its number on the sheet, a region, a group, or several
        regions. Raises ``InputError``."""
        from coatrules.report.sheet import reasons_of

        with self.speaking():
            return list(map(str, reasons_of(order, str(line) if isinstance(line, int) else line)))

    def data(self, result: Any) -> Any:
        """Returns any result as plain data, ready for JSON, its sentences in this engine's language."""
        from coatrules.report.shown import data

        with self.speaking():
            return data(result)

    def markdown(self, order: WorkOrder, *, audience: Audience = "table") -> str:
        """Returns an order in Markdown (CommonMark), for the table or for the owner."""
        from coatrules.report.markdown import markdown
        from coatrules.report.owner import owner_markdown

        owner = one_of(audience, Audience) == "owner"
        with self.speaking():
            return owner_markdown(order) if owner else markdown(order)

    def page(self, order: WorkOrder, *, audience: Audience = "table", steps: bool = False) -> str:
        """Returns an order as a printable HTML page: one sheet for the table (with ``steps`` every step and its reasons on further
        sheets), or half a page for the owner. Needs the extra ``report``."""
        from coatrules.report.owner import owner_page
        from coatrules.report.page import page

        owner = one_of(audience, Audience) == "owner"
        with self.speaking():
            return owner_page(order) if owner else page(order, steps=steps)

    def picture(self, order: WorkOrder, *, form: Form = "svg", fact: str | None = None) -> bytes:
        """Returns the dog's body with the day's work on it, or with a fact of each region. Needs the extra ``report``."""
        from coatrules.report.body import body_chart

        with self.speaking():
            return body_chart(order, one_of(form, Form), None if fact is None else checked_text(fact))

    def book_picture(self, dues: Sequence[Due], *, date: Date, form: Form = "svg") -> bytes:
        """Returns the next visits of many dogs, in the order given, as seen on ``date``. Needs the extra ``report``."""
        from coatrules.report.bookchart import book_chart

        with self.speaking():
            return book_chart(dues, checked_day(date), one_of(form, Form))

    def calendar(self, results: Iterable[WorkOrder | Due | Plan | StagedStrip], *, date: Date) -> str:
        """Returns the visits ahead as an iCalendar file (RFC 5545), asked on ``date``: none for a dog that must be seen by a vet
        before. Needs the extra ``calendar``."""
        from coatrules.report.shown import calendar

        with self.speaking():
            return calendar(results, checked_day(date))

    def due_rows(self, dues: Iterable[Due]) -> list[dict[str, Any]]:
        """Returns the dogs of a list as rows of a table: plain data, the reasons in words, without the orders."""
        from coatrules.report.due import due_data

        with self.speaking():
            return list(map(due_data, dues))

    def due_sheet(self, dues: Sequence[Due]) -> str:
        """Returns the same rows as CSV (RFC 4180), a heading line first; nothing in it runs as a formula."""
        from coatrules.report.due import sheet

        with self.speaking():
            return sheet(dues)

    def findings(self, problems: Iterable[Problem], *, form: Review = "text") -> str:
        """Returns the findings of a check, in words with their codes, or for the places where code is reviewed: one JSON object,
        GitHub's workflow commands, or SARIF 2.1.0."""
        from coatrules.report.findings import FORMATS

        with self.speaking():
            return FORMATS[one_of(form, Review)](problems)


def one_of(wanted: T, kinds: Any) -> T:
    """The word asked for; raises ``InputError`` for one that there is not."""
    known = get_args(kinds)
    if wanted not in known:
        raise InputError([Problem(code="argument.one-of", params={"text": str(wanted), "names": known})])
    return wanted


def catalogue_of(locale: str) -> Catalogue:
    """Returns the catalogue of a language; raises ``InputError`` where there is none."""
    from coatrules.catalogue.languages import catalogue

    if checked_text(locale).split("-")[0].lower() != "en":
        require_extra("languages", "babel")
    try:
        return catalogue(locale)
    except KeyError as error:
        known = tuple(error.args[1])
        raise InputError([Problem(code="no-language", params={"locale": locale, "known": known})]) from error
