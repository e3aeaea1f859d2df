"""The English catalogue: the core's own, without a translation library."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date as Date
from functools import cached_property
from importlib import import_module
from typing import Any, Final

from coatrules.catalogue.language import Language
from coatrules.catalogue.template import Plural

AREAS: Final = (
    *("amounts", "orders", "cautions", "files", "problems", "profiles", "records", "findings", "reports", "owner"),
    *("pictures", "plans", "mentor", "commands", "complaints", "help", "starting_files", "typed", "editor"),
)
"""The modules of sentences, each a dict ``SENTENCES`` from code to template; no code is in two."""

_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    *("January", "February", "March", "April", "May", "June", "July"),
    *("August", "September", "October", "November", "December"),
)


class English(Language):
    """British English, as the trade writes it, whatever the machine's locale."""

    locale = "en"

    @cached_property
    def sentences(self) -> Mapping[str, str | Plural]:
        """Every sentence by its code."""
        sentences: dict[str, str | Plural] = {}
        for area in AREAS:
            sentences |= import_module(f"{__name__}.{area}").SENTENCES
        return sentences

    def template(self, code: str, params: Mapping[str, Any]) -> str:
        template = self.sentences[code]
        if isinstance(template, Plural):
            return template.one if params[template.by] == 1 else template.other
        return template

    def knows(self, code: str) -> bool:
        return code in self.sentences

    def own(self, text: str) -> str:
        return text

    def day(self, day: Date) -> str:
        return f"{_DAYS[day.weekday()]} {self.date(day)}"

    def date(self, day: Date) -> str:
        return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"

    def short(self, day: Date) -> str:
        return f"{day.day} {_MONTHS[day.month - 1][:3]}"

    def decimal(self, number: float) -> str:
        return f"{number:,}" if isinstance(number, int) else f"{number:,.10g}"

    def fixed(self, number: float) -> str:
        return f"{number:.2f}"

    def row(self, items: list[str], last: str) -> str:
        return "".join(items) if len(items) < 2 else f"{', '.join(items[:-1])} {last} {items[-1]}"


ENGLISH: Final = English()
