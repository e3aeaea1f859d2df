"""A catalogue of another language: gettext's files for the sentences, Babel for dates, numbers and lists.

One file a language, ``languages/TAG.po`` (context: the code; message: the English sentence). An installation has it compiled
beside it; where it is not, or older, it is compiled each time. A sentence that a file does not have is said in English. Needs
the extra ``languages``.
"""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from datetime import date as Date
from functools import cached_property
from gettext import GNUTranslations
from pathlib import Path
from typing import Any, Final

from coatrules.catalogue.compiling import compiled
from coatrules.catalogue.english import ENGLISH
from coatrules.catalogue.language import SEVERAL, Language
from coatrules.catalogue.template import Plural

LANGUAGES: Final = Path(__file__).parent / "languages"
OWN: Final = "own"
"""The context of texts of shipped profiles."""


def languages(folder: Path = LANGUAGES) -> tuple[str, ...]:
    """Returns the tags of the languages there are, English first."""
    return ("en", *sorted({file.stem for file in folder.glob("*.[mp]o")}))


_TWO_STOPS: Final = re.compile(r"(?<!\.)\.\.(?=\s|$)")
"""That of a shortened word and that of the sentence behind it (``11. Apr.``): one stands for both."""
_FIRST_OF_MONTH: Final = re.compile(r"(?<!\d)1(?!\d)")


class Translated(Language):
    """The catalogue of one language. ``FileNotFoundError`` where there is none of this tag, ``ModuleNotFoundError`` without Babel."""

    def __init__(self, tag: str, folder: Path = LANGUAGES) -> None:
        from babel import Locale

        self.locale = tag
        self._locale = Locale.parse(tag, sep="-")
        self._texts = GNUTranslations(_compiled(folder, tag))

    @property
    def direction(self) -> str:
        return str(self._locale.text_direction)

    def sentence(self, code: str, params: Mapping[str, Any]) -> str:
        text = super().sentence(code, params)
        return _TWO_STOPS.sub(".", text) if ".." in text else text

    def template(self, code: str, params: Mapping[str, Any]) -> str:
        english = ENGLISH.sentences[code]
        if not isinstance(english, Plural):
            return self._texts.pgettext(code, english)
        number = params[english.by]
        # gettext knows whole numbers only: one that stands for the form of a part, which is one in French and many in German.
        count = number if isinstance(number, int) else 1 if self._locale.plural_form(number) == "one" else SEVERAL
        return self._texts.npgettext(code, english.one, english.other, count)

    @cached_property
    def most_is_translated(self) -> bool:
        """Whether more than half of the sentences are there: a language that is only begun is spoken where it is asked for."""
        plain = {code: english for code, english in ENGLISH.sentences.items() if not isinstance(english, Plural)}
        there = sum(self._texts.pgettext(code, english) != english for code, english in plain.items())
        return 2 * there > len(plain)

    def knows(self, code: str) -> bool:
        return ENGLISH.knows(code)

    def own(self, text: str) -> str:
        return self._texts.pgettext(OWN, text)

    def day(self, day: Date) -> str:
        from babel.dates import format_date

        return self._first(day, format_date(day, "full", locale=self._locale))

    def date(self, day: Date) -> str:
        from babel.dates import format_date

        return self._first(day, format_date(day, "long", locale=self._locale))

    def short(self, day: Date) -> str:
        from babel.dates import format_skeleton

        return self._first(day, format_skeleton("MMMd", day, locale=self._locale))

    def _first(self, day: Date, shown: str) -> str:
        """A date with its first of a month as the language says it, which the Unicode CLDR leaves out."""
        if day.day != 1:
            return shown
        return _FIRST_OF_MONTH.sub(self.sentence("amount.first-of-month", {}), shown, count=1)

    def decimal(self, number: float) -> str:
        from babel.numbers import format_decimal

        return format_decimal(number, locale=self._locale)

    def fixed(self, number: float) -> str:
        from babel.numbers import format_decimal

        return format_decimal(number, format="0.00", locale=self._locale)

    def row(self, items: list[str], last: str) -> str:
        from babel.lists import format_list

        return format_list(items, "standard" if last == "and" else "or", locale=self._locale)


def _compiled(folder: Path, tag: str) -> io.BytesIO:
    source, made = folder / f"{tag}.po", folder / f"{tag}.mo"
    fresh = made.exists() and not (source.exists() and source.stat().st_mtime > made.stat().st_mtime)
    return io.BytesIO(made.read_bytes() if fresh else compiled(source.read_bytes(), tag))
