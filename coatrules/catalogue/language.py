"""What every catalogue does alike: fills sentences in, and shows amounts by its own sentences."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from functools import cached_property, lru_cache
from typing import Any

from coatrules.catalogue import amounts
from coatrules.catalogue.template import fill


class Language(ABC):
    """A catalogue of one language. ``locale`` is its tag, as in ``en`` or ``de-AT`` (BCP 47)."""

    locale: str

    @abstractmethod
    def template(self, code: str, params: Mapping[str, Any]) -> str:
        """The sentence of a code before it is filled in, in the form that ``params`` ask for; ``KeyError`` where there is none."""

    @abstractmethod
    def knows(self, code: str) -> bool:
        """Whether there is a sentence of this code."""

    @abstractmethod
    def own(self, text: str) -> str:
        """A text of a shipped profile in this language, where it is known; any other text as it is."""

    @abstractmethod
    def day(self, day: date) -> str:
        """A day with its weekday."""

    @abstractmethod
    def date(self, day: date) -> str:
        """A date without the day of the week."""

    @abstractmethod
    def decimal(self, number: float) -> str:
        """A number with the decimal mark and the grouping of the language."""

    @abstractmethod
    def row(self, items: list[str], last: str) -> str:
        """Items in a row; ``last`` is ``and`` or ``or``."""

    def sentence(self, code: str, params: Mapping[str, Any]) -> str:
        """The sentence of a code; raises ``KeyError`` where there is none."""
        return fill(self.template(code, params), params, self.kinds, self.plain)

    def amount(self, kind: str, value: Any) -> str:
        """A value of a kind of ``coatrules.catalogue.template``: ``4½ min``, ``a fifth``."""
        return self.kinds[kind](value)

    @cached_property
    def kinds(self) -> Mapping[str, Callable[[Any], str]]:
        """How values of a kind are shown."""

        def by(said: Callable[[float], amounts.Said]) -> Callable[[float], str]:
            return lru_cache(maxsize=4096)(lambda value: self.sentence(*said(value)))  # the dogs of a book share them

        share = by(amounts.share_said)
        return {
            "share": share,
            "fully": lambda part: self.sentence("share.fully", {}) if part >= 1 else share(part),
            "percent": lambda part: self.sentence("share.percent", {"percent": round(part * 100)}),
            "weeks": by(amounts.weeks_said),
            "minutes": by(amounts.minutes_said),
            "mm": by(amounts.mm_said),
            "day": lru_cache(maxsize=4096)(self.day),
            "date": lru_cache(maxsize=4096)(self.date),
            "number": lambda number: self.decimal(round(number, 2)),
            "list": lambda items: self.row(self._shown(items), "and"),
            "either": lambda items: self.row(self._shown(items), "or"),
            "quoted": lambda value: f"'{self.plain(value)}'",
            "lower": lambda value: self.plain(value)[:1].lower() + self.plain(value)[1:],
        }

    def _shown(self, items: Iterable[Any]) -> list[str]:
        return [self.plain(item) for item in items]

    def plain(self, value: Any) -> str:
        """A value of no kind: a message within a message, a number, a text."""
        if isinstance(value, int | float) and not isinstance(value, bool):
            return self.decimal(value)
        return str(value)
