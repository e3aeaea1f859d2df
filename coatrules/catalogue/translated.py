"""A catalogue of another language: gettext's files for the sentences, Babel for dates, numbers and lists.

One file a language, ``languages/TAG.po`` (context: the code; message: the English sentence). An installation has it compiled
beside it; where it is not, or older, it is compiled each time. A sentence that a file does not have is said in English. Needs
the extra ``languages``.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from datetime import date as Date
from functools import cached_property
from gettext import GNUTranslations
from pathlib import Path
from typing import Any, Final

from coatrules.catalogue.compiling import compiled
from coatrules.catalogue.english import ENGLISH
from coatrules.catalogue.language import Language
from coatrules.catalogue.template import Plural

LANGUAGES: Final = Path(__file__).parent / "languages"
OWN: Final = "own"
"""The context of texts of shipped profiles."""


def languages(folder: Path = LANGUAGES) -> tuple[str, ...]:
    """Returns the tags of the languages there are, English first."""
    return ("en", *sorted({file.stem for file in folder.glob("*.[mp]o")}))


class Translated(Language):
    """The catalogue of one language. ``FileNotFoundError`` where there is none of this tag, ``ModuleNotFoundError`` without Babel."""

    def __init__(self, tag: str, folder: Path = LANGUAGES) -> None:
        from babel import Locale

        self.locale = tag
        self._locale = Locale.parse(tag, sep="-")
        self._texts = GNUTranslations(_compiled(folder, tag))

    def template(self, code: str, params: Mapping[str, Any]) -> str:
        english = ENGLISH.sentences[code]
        if not isinstance(english, Plural):
            return self._texts.pgettext(code, english)
        number = params[english.by]
        # gettext knows whole numbers only: one that stands for the form of a part, which is one in French and many in German.
        count = number if isinstance(number, int) else 1 if self._locale.plural_form(number) == "one" else 5
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

        return format_date(day, "full", locale=self._locale)

    def date(self, day: Date) -> str:
        from babel.dates import format_date

        return format_date(day, "long", locale=self._locale)

    def short(self, day: Date) -> str:
        from babel.dates import format_skeleton

        return format_skeleton("MMMd", day, locale=self._locale)

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
