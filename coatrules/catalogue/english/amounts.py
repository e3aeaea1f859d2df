"""Shares, times and days as a groomer says them."""

from collections.abc import Iterable
from datetime import date
from functools import lru_cache

_NAMED = {
    1 / 2: "half",
    1 / 3: "a third",
    2 / 3: "two thirds",
    1 / 4: "a quarter",
    3 / 4: "three quarters",
    1 / 5: "a fifth",
    2 / 5: "two fifths",
    3 / 5: "three fifths",
    4 / 5: "four fifths",
    1 / 6: "a sixth",
    1 / 7: "a seventh",
    1 / 8: "an eighth",
    1 / 10: "a tenth",
    1 / 12: "a twelfth",
    1 / 15: "a fifteenth",
    1 / 20: "a twentieth",
    1 / 30: "a thirtieth",
}


@lru_cache(maxsize=4096)  # the dogs of a book share their shares
def share_words(share: float) -> str:
    """A share as a groomer says it: ``a fifth``, ``about a third``, ``all``, ``none``."""
    if share >= 0.995:
        return "all"
    if share <= 0:
        return "none"
    nearest = min(_NAMED, key=lambda named: abs(named - share) / named)
    exact = abs(nearest - share) <= 0.004
    if abs(nearest - share) / share > 0.12:
        return f"{share:.0%}"
    return _NAMED[nearest] if exact else f"about {_NAMED[nearest]}"


def weeks_words(weeks: float) -> str:
    """A time in weeks as people say it."""
    days = round(weeks * 7)
    if days < 14 and days % 7:
        return f"{days} day" + ("s" if days != 1 else "")
    number = f"{weeks:.1f}".removesuffix(".0")
    return f"{number} week" + ("s" if number != "1" else "")


def minutes_words(minutes: float) -> str:
    """Minutes to the half: ``4½ min``."""
    return f"{halves_words(minutes)} min"


def halves_words(number: float) -> str:
    """A number to the half: ``4½``."""
    whole, half = divmod(round(number * 2), 2)
    return f"{whole if whole or not half else ''}{'½' if half else ''}"


def day_words(day: date) -> str:
    """A day as people write it: ``Saturday 21 March 2026``. English whatever the machine's locale."""
    return f"{_DAYS[day.weekday()]} {date_words(day)}"


def date_words(day: date) -> str:
    """A date as people write it, without the day of the week: ``21 March 2026``."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def short_date_words(day: date) -> str:
    """A day where there is little room: ``21 Mar``."""
    return f"{day.day} {_MONTHS[day.month - 1][:3]}"


def row_of_names(names: Iterable[str]) -> str:
    """Names in a row, each once: the first keeps its capital; semicolons part names that have commas of their own."""
    first, *rest = dict.fromkeys(names) or [""]
    between = "; " if any("," in name for name in (first, *rest)) else ", "
    return between.join([first, *(name[:1].lower() + name[1:] for name in rest)])


_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def mm_words(length: float) -> str:
    """A length: ``12 mm``, below a millimetre ``0.5 mm``."""
    return f"{length:.0f} mm" if length >= 1 else f"{length:.1f} mm"


def number_words(number: float) -> str:
    """A number to two places, without zeros at its end."""
    return f"{number:.2f}".rstrip("0").rstrip(".")
