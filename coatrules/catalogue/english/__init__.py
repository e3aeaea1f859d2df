"""The English catalogue: the core's own, without a translation library."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property
from importlib import import_module
from typing import Any, Final

from coatrules.catalogue.template import Plural, fill, joined

AREAS: Final = (
    "orders",
    "cautions",
    "problems",
    "findings",
    "reports",
    "plans",
    "mentor",
    "commands",
    "help",
    "editor",
)
"""The modules of sentences, each a dict ``SENTENCES`` from code to template; no code is in two."""


class English:
    """British English, as the trade writes it."""

    locale = "en"

    @cached_property
    def sentences(self) -> Mapping[str, str | Plural]:
        """Every sentence by its code."""
        found: dict[str, str | Plural] = {}
        for area in AREAS:
            found |= import_module(f"{__name__}.{area}").SENTENCES
        return found

    @cached_property
    def kinds(self) -> Mapping[str, Any]:
        """How values of a kind are shown."""
        from coatrules.catalogue.english import amounts

        return {
            "share": amounts.share_words,
            "fully": lambda share: "fully" if share >= 1 else amounts.share_words(share),
            "percent": lambda share: f"{share:.0%}",
            "weeks": amounts.weeks_words,
            "minutes": amounts.minutes_words,
            "mm": amounts.mm_words,
            "day": amounts.day_words,
            "date": amounts.date_words,
            "number": amounts.number_words,
            "list": lambda items: joined(self._shown(items), "and"),
            "either": lambda items: joined(self._shown(items), "or"),
            "quoted": lambda value: f"'{self.plain(value)}'",
            "lower": lambda value: self.plain(value)[:1].lower() + self.plain(value)[1:],
        }

    def _shown(self, items: Iterable[Any]) -> list[str]:
        return [self.plain(item) for item in items]

    def amount(self, kind: str, value: Any) -> str:
        """A value of a kind of ``coatrules.catalogue.template``."""
        shown: str = self.kinds[kind](value)
        return shown

    def plain(self, value: Any) -> str:
        """A value of no kind: a message within a message, a number, a text."""
        if isinstance(value, float):
            return f"{value:g}"
        return f"{value:,}" if isinstance(value, int) and not isinstance(value, bool) else str(value)

    def sentence(self, code: str, params: Mapping[str, Any]) -> str:
        """The sentence of a code; raises ``KeyError`` where there is none."""
        template = self.sentences[code]
        if isinstance(template, Plural):
            template = template.one if params[template.by] == 1 else template.other
        return fill(template, params, self.kinds, self.plain)

    def knows(self, code: str) -> bool:
        """Whether there is a sentence of this code."""
        return code in self.sentences

    def own(self, text: str) -> str:
        """A text as its author wrote it."""
        return text


ENGLISH: Final = English()
