"""Amounts as people type them: numbers, shares and times, in figures, signs and words of the language in force."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Final

from coatrules.catalogue.amounts import FRACTIONS, TELLABLE, fraction_said
from coatrules.catalogue.speaking import say
from coatrules.catalogue.spellings import either, however_written, spellings

PRECISION = 6
"""Decimals of a share: parts per million, exactly what an order counts in."""
NUMBER = r"\d{1,6}(?:[.,]\d{1,6})?"
"""A number with a decimal point or comma, as a pattern."""
HARDLY = 0.01
"""What is next to nothing."""
_SIGNS: Mapping[str, float] = {
    "½": 1 / 2,
    "⅓": 1 / 3,
    "⅔": 2 / 3,
    "¼": 1 / 4,
    "¾": 3 / 4,
    "⅕": 1 / 5,
    "⅖": 2 / 5,
    "⅛": 1 / 8,
}
LENGTHS: Final = (("typed.mm", 1), ("typed.cm", 10), ("typed.inches", 25.4))
"""The units of a length, and the millimetres of each."""
TENS = 20
"""From here on a number word may be followed by another that is added: twenty five."""


def number(text: str) -> float | None:
    """Returns a number with a decimal point or comma, or a number in words; None for anything else."""
    text = _in_figures(text)
    if not re.fullmatch(NUMBER, text, re.ASCII):
        return None
    return _whole(float(text.replace(",", ".")))


def duration(text: str) -> float | None:
    """Returns the minutes of a time, typed as ``80``, ``80 min``, ``1 h 20``, ``1h20m``, ``1:20``, ``1½ hours``, ``half an hour`` or
    ``an hour and a half``; None for anything else."""
    text = _plain(text)
    hour, minute = either("typed.hours"), either("typed.minutes")
    text = re.sub(rf"(?<![^\W\d_])({hour}|{minute})\.(?=[\s\d]|$)", r"\1", text)  # shortened: 1 h. 20 min.
    if matched := re.fullmatch(rf"(\d{{1,2}}):([0-5]?\d)(?: ?(?:{hour}|{minute}))?", text, re.ASCII):
        return 60 * int(matched[1]) + int(matched[2])
    more = rf"(?:,? ?(?:{either('typed.and')})? ?(\S.*))?"
    if matched := re.fullmatch(rf"(?:(.+?) ?)??(?:{hour})(?![^\W\d_]){more}", text):
        amount, behind = matched[1] or "", matched[2]
        hours = 1.0 if (amount or behind) and not _bare(amount) else _amount(amount)
        rest = 0.0 if behind is None else _part_of_hour(behind)
        return None if hours is None or rest is None else _whole(round(60 * hours + rest, PRECISION))
    return number(re.sub(rf" ?(?:{minute})$", "", text))


def _part_of_hour(text: str) -> float | None:
    """Returns the minutes behind the hours: fewer than an hour's, or a fraction of one."""
    unit = f"{either('typed.minutes')}|{either('typed.minutes-behind-hours')}"
    minutes = number(re.sub(rf" ?(?:{unit})$", "", text))
    if minutes is not None:
        return minutes if minutes < 60 else None
    part = _fraction(text)
    return None if part is None else 60 * part


def times_whole(line: str) -> str:
    """Returns a line in which nothing parts the hours and the minutes of one time: "1 h. 20 min.", "1 hour, 20 minutes"."""
    hour, minute = either("typed.hours"), either("typed.minutes")
    full_stop = rf"\.,?(?=\s*\d{{1,2}}(?:\s?(?:{minute}))?\s*(?:[;,.!\n]|$))"
    comma = rf",(?=\s*\d{{1,2}}\s?(?:{minute})(?![^\W\d_]))"
    return re.sub(rf"(?<=[\d\s½¼¾])({hour})(?:{full_stop}|{comma})", r"\1", line, flags=re.IGNORECASE)


def length(text: str) -> float | None:
    """Returns the millimetres of a length with its unit, typed as ``14 mm``, ``1.5 cm``, ``½ inch`` or ``about two centimetres``; None
    for anything else."""
    text = _plain(text)
    for unit, millimetres in LENGTHS:
        matched = re.fullmatch(rf"(.+?) ?(?:{either(unit)})\.?", text)
        amount = None if matched is None else _amount(matched[1]) if _bare(matched[1]) else 1  # an inch
        if amount is not None:
            return _whole(round(amount * millimetres, PRECISION))
    return None


def count(text: str, unit: str) -> float | None:
    """Returns how many there are of a unit of the catalogue, typed as ``2 layers`` or ``two layers``; None for anything else."""
    matched = re.fullmatch(rf"(.+?) ?(?:{either(unit)})", _plain(text))
    return None if matched is None else number(matched[1])


def _amount(text: str) -> float | None:
    """Returns how many: a number, a fraction, or both, as in ``1½``, ``1 1/2``, ``one and a half`` or ``three quarters of``."""
    text = re.sub(rf"(?: (?:{either('typed.out-of')}))?(?: (?:{either('typed.articles')}))?$", "", text)
    if (plain := number(text)) is not None:
        return plain
    if (fraction := _fraction(text)) is not None:
        return fraction
    matched = re.fullmatch(rf"({NUMBER}) ?(?:(?:{either('typed.and')}) )?(.+)", text)
    above = None if matched is None else _fraction(matched[2])
    return None if matched is None or above is None else float(matched[1].replace(",", ".")) + above


def _plain(text: str) -> str:
    """Returns a text with its numbers as figures, without the small words before the first: "about 80 min"."""
    return re.sub(rf"^(?:(?:{either('typed.articles')}) )+(?=\d)", "", _in_figures(text))


def share(text: str) -> float | None:
    """Returns a share of the whole coat (0 to 1), typed as ``1/5``, ``20%``, ``0.2``, ``0,2``, ``one in five`` or ``a fifth``; None for
    anything else. Words are those in which orders say shares."""
    text = " ".join(text.lower().split())
    value = number(text) if text[:1].isdigit() else _told_shares().get(text)  # "one" alone is no share
    if value is None:
        value = _fraction(text)
    if value is None:
        value = 1 if text in spellings("typed.all") else 0 if text in spellings("typed.none") else None
    return value if value is not None and 0 <= value <= 1 else None


def _fraction(text: str) -> float | None:
    """Returns a fraction in figures, signs, per cent or words; None for anything else, a plain number too."""
    if (named := _named_fractions().get(_bare(text))) is not None:
        return named
    text = re.sub(rf"^(?:(?:{either('typed.articles')}) )+", "", _in_figures(text))
    if matched := re.fullmatch(rf"({NUMBER}) ?(?:{either('typed.percent')})", text, re.ASCII):
        return _rounded(float(matched[1].replace(",", ".")) / 100)
    if matched := re.fullmatch(rf"(\d{{1,3}}) ?(?:[/⁄]| (?:{either('typed.out-of')}) ) ?(\d{{1,3}})", text, re.ASCII):
        return _rounded(int(matched[1]) / int(matched[2])) if int(matched[2]) else None
    return _rounded(_SIGNS[text]) if text in _SIGNS else None


def _told_shares() -> dict[str, float]:
    """Every share that an order can tell, in its words and figures."""
    shares = {say("amount.share.none"): 0.0, say("amount.share.hardly"): HARDLY}
    for name, value in TELLABLE.items():
        shares |= {say(f"amount.share.{name}"): value, say(*fraction_said(value)): value}
    named = [(" ".join(words.lower().split()), _rounded(value)) for words, value in shares.items()]
    return dict(however_written(named))


def _named_fractions() -> dict[str, float]:
    named = {say(f"amount.share.{above}-{below}"): _rounded(above / below) for above, below in FRACTIONS}
    named |= dict.fromkeys(spellings("typed.half"), 0.5)
    ways = [(way, value) for words, value in named.items() for way in (words, _in_figures(words))]
    return {_bare(way): value for way, value in however_written(ways)}


def _bare(text: str) -> str:
    """A text without the small words before a fraction, written as one: ``fifth`` for ``about a fifth``."""
    articles = (*spellings("typed.articles"), "1")
    return "".join(word for word in re.split(r"[\s-]+", text.lower()) if word not in articles)


def _in_figures(text: str) -> str:
    """Returns a text in small letters with the numbers that it says in words as figures."""
    figures: list[str] = []
    known = _number_words(spellings("typed.numbers"))
    tens = False
    for word in re.sub(r"(?<=[^\W\d])-(?=[^\W\d])", " ", text.lower()).split():
        value = known.get(word)
        if value is not None and tens and value < 10:
            figures[-1] = f"{float(figures[-1]) + value:g}"
        else:
            figures.append(word if value is None else f"{value:g}")
        tens = value is not None and value >= TENS
    return " ".join(figures)


@lru_cache(maxsize=8)
def _number_words(numbers: tuple[str, ...]) -> Mapping[str, float]:
    pairs = ((word, float(value)) for word, _, value in (entry.partition("=") for entry in numbers))
    return dict(however_written(pairs))


def _rounded(value: float) -> float:
    return _whole(round(value, PRECISION))


def _whole(value: float) -> float:
    return int(value) if value == int(value) else value
