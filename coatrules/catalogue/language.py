"""What every catalogue does alike: fills sentences in, and shows amounts by its own sentences."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from datetime import date as Date
from functools import cached_property, lru_cache
from typing import Any, Final

from coatrules.catalogue import amounts
from coatrules.catalogue.template import fill

FEW: Final = 4
"""So many items are named before the rest is only counted."""
SEVERAL: Final = 5
"""A number of the form that stands for more than a few in every language's rules of plurals (Unicode CLDR)."""


class Language(ABC):
    """A catalogue of one language. ``locale`` is its tag, as in ``en`` or ``de-AT`` (BCP 47)."""

    locale: str

    @property
    def direction(self) -> str:
        """``ltr``, or ``rtl`` of a language that is written from the right to the left."""
        return "ltr"

    @property
    def most_is_translated(self) -> bool:
        """False in a language that is only begun."""
        return True

    @abstractmethod
    def template(self, code: str, params: Mapping[str, Any]) -> str:
        """The sentence of a code before it is filled in, in the form that ``params`` ask for; ``KeyError`` where there is none."""

    def several(self, code: str) -> str:
        """The sentence of a code before it is filled in; of one that depends on a number, as it is said of several."""
        return self.template(code, defaultdict(lambda: SEVERAL))

    @abstractmethod
    def knows(self, code: str) -> bool:
        """Whether there is a sentence of this code."""

    @abstractmethod
    def own(self, text: str) -> str:
        """A text of a shipped profile in this language, where it is known; any other text as it is."""

    @abstractmethod
    def day(self, day: Date) -> str:
        """A day with its weekday."""

    @abstractmethod
    def date(self, day: Date) -> str:
        """A date without the day of the week."""

    @abstractmethod
    def short(self, day: Date) -> str:
        """A day where there is little room: ``21 Mar``."""

    @abstractmethod
    def decimal(self, number: float) -> str:
        """A number with the decimal mark and the grouping of the language."""

    @abstractmethod
    def fixed(self, number: float) -> str:
        """A number to two places: ``0.50``."""

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

        def by(in_words: Callable[[float], amounts.Said]) -> Callable[[float], str]:
            return lru_cache(maxsize=4096)(
                lambda value: self.sentence(*in_words(value))
            )  # the dogs of a book share them

        share = by(amounts.share_said)
        return {
            "share": share,
            "fraction": by(amounts.fraction_said),
            "round": lambda number: self.decimal(round(number)),
            "fully": lambda part: self.sentence("amount.share.fully", {}) if part >= 1 else share(part),
            "percent": lambda part: self.sentence("amount.share.percent", {"percent": round(part * 100)}),
            "weeks": by(amounts.weeks_said),
            "minutes": by(amounts.minutes_said),
            "halves": amounts.halves,
            "mm": by(amounts.mm_said),
            "day": lru_cache(maxsize=4096)(self.day),
            "date": lru_cache(maxsize=4096)(self.date),
            "short": lru_cache(maxsize=4096)(self.short),
            "number": lambda number: self.decimal(round(number, 2)),
            "fixed": self.fixed,
            "figure": lambda value: f"{value:.10g}" if isinstance(value, int | float) else self.plain(value),
            "list": lambda items: self.row(self._shown(items), "and"),
            "either": lambda items: self.row(self._shown(items), "or"),
            "label": lambda value: self.own(self.plain(value)),
            "labels": lambda items: self._in_series([self._within(self.own(item)) for item in self._shown(items)]),
            "names": lambda items: self._names(self._shown(items)),
            "series": lambda items: self._comma.join(self._shown(items)),
            "clauses": lambda items: self._semicolon.join(self._shown(items)),
            "few": lambda items: self._few(self._shown(items)),
            "value": self._value,
            "written": lambda value: f"{round(value, 2):.10g}" if isinstance(value, float) else self._value(value),
            "quoted": lambda value: self.sentence("amount.quoted", {"text": self.plain(value)}),
            "lower": self._lower,
        }

    def _shown(self, items: Iterable[Any]) -> list[str]:
        return [self.amount("day", item) if isinstance(item, Date) else self.plain(item) for item in items]

    def _names(self, names: Iterable[str]) -> str:
        """Names in a series, each once: the first keeps its capital."""
        first, *rest = dict.fromkeys(map(self.own, names)) or [""]
        return self._in_series([first, *map(self._within, rest)])

    def _in_series(self, names: list[str]) -> str:
        """Semicolons part names that have commas of their own."""
        return (self._semicolon if any("," in name for name in names) else self._comma).join(names)

    def _lower(self, value: Any) -> str:
        """A name within a sentence, or several in a list."""
        if isinstance(value, list | tuple):
            return self.row([self._within(self.own(item)) for item in self._shown(value)], "and")
        return self._within(self.own(self.plain(value)))

    def _within(self, name: str) -> str:
        """A name within a sentence: its capital goes, in a language with capital nouns only where it begins with another word."""
        loses = "*" in self._small or name.split(" ", 1)[0] in self._small
        return name[:1].lower() + name[1:] if loses else name

    @cached_property
    def _small(self) -> frozenset[str]:
        return frozenset(self.sentence("amount.small-within", {}).split("|"))

    @cached_property
    def _comma(self) -> str:
        return self.sentence("amount.series", {"first": "", "rest": ""})

    @cached_property
    def _semicolon(self) -> str:
        return self.sentence("amount.clauses", {"first": "", "rest": ""})

    def _few(self, items: list[str]) -> str:
        more = len(items) - FEW
        if more <= 0:
            return self._comma.join(items)
        return self.sentence("amount.and-more", {"items": self._comma.join(items[:FEW]), "more": more})

    def _value(self, value: Any) -> str:
        """A fact's value."""
        if isinstance(value, bool):
            return self.sentence("amount.yes" if value else "amount.no", {})
        if isinstance(value, float):
            return self.amount("number", value)
        if isinstance(value, list | tuple):
            return self._comma.join(self._shown(value)) or self.sentence("amount.share.none", {})
        return self.plain(value)

    def plain(self, value: Any) -> str:
        """A value of no kind: a message within a message, a number, a text."""
        if isinstance(value, int | float) and not isinstance(value, bool):
            return self.decimal(value)
        return str(value)
