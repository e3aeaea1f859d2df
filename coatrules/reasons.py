"""Reasons as values: which rule or step of the engine, and the facts it rested on; put in words only when asked."""

from collections.abc import Mapping
from datetime import date
from functools import lru_cache
from typing import Any, NamedTuple

from coatrules.formats.values import NOTHING


class Reason(NamedTuple):
    """Why something was decided. ``rule`` is a rule's id in the profile, or a step of the engine, which starts with ``coat.``.

    ``said`` is the author's own sentence; where it is empty the engine's sentence is made from the facts.
    """

    rule: str
    facts: Mapping[str, object] = NOTHING
    said: str = ""

    @property
    def text(self) -> str:
        """The reason in a sentence."""
        if self.said:
            return self.said
        told: dict[str, Any] = {name: _words(name, value) for name, value in self.facts.items()}
        sentence = _SENTENCES[self.rule].format_map(told)
        return sentence[:1].upper() + sentence[1:]


_SENTENCES = {
    "coat.usual": "An ordinary visit takes {share} here.",
    "coat.overgrown": "{share} of the hair is blown or longer than wanted.",
    "coat.floor": "A rule asks for at least {share}.",
    "coat.cap": "No more than {share} may go at one visit.",
    "coat.conflict": "One rule asks for at least {at_least}, but no more than {at_most} is allowed: the smaller share holds.",
    "coat.cover": "More than {share} would let the skin show.",
    "coat.low-spot": "The cover is short here; a little ({share}) still goes, so that no bare patch comes a cycle later.",
    "coat.seen-through": "The skin was seen to show today.",
    "coat.not-ready": "Only {share} is long enough to pull.",
    "coat.too-little": "What is due ({share}) is not worth the dog's time.",
    "coat.nothing-ready": "No hair here is long enough to pull yet.",
    "coat.undercoat": "The undercoat is {undercoat} back.",
    "coat.carded-first": "The undercoat comes out before the coat is pulled.",
    "coat.no-target": "The profile asks for no hand work here.",
    "coat.not-due": "Nothing is due here until {due}.",
    "coat.short-enough": "The hair is no longer than the {leave_mm} it is clipped to.",
    "coat.clipper-only": "This place is only ever clipped, to {leave_mm}.",
    "coat.calendar": "Due every {every_weeks}; last done {weeks_since} ago.",
    "coat.calendar-first": "Due every {every_weeks}; never recorded.",
    "coat.left": "A rule leaves this out today.",
    "coat.never-time": "This alone takes {minutes}, more than there is: give the dog a longer visit.",
    "coat.no-time": "The time is up: {minutes} more would be needed. It comes first next time.",
    "coat.unsound": "The skin here is not sound: hands and tools stay off.",
    "coat.refer": "A veterinary surgeon must see this first.",
    "coat.health": "Hands stay off the dog today.",
    "coat.tender": "The dog has objected here before, so the bouts are short.",
}


def _words(name: str, value: object) -> str:
    if isinstance(value, int | float) and not isinstance(value, bool):
        if name in ("share", "at_least", "at_most", "cover"):
            return share_words(value)
        if name == "undercoat":
            return "fully" if value >= 1 else share_words(value)
        if name.endswith("_mm"):
            return f"{value:.0f} mm" if value >= 1 else f"{value:.1f} mm"
        if name.startswith("weeks_") or name.endswith("_weeks"):
            return weeks_words(value)
        if name == "minutes":
            return minutes_words(value)
        return f"{value:.2f}".rstrip("0").rstrip(".")
    return str(value)


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
    whole, half = divmod(round(minutes * 2), 2)
    return f"{whole if whole or not half else ''}{'½' if half else ''} min"


def day_words(day: date) -> str:
    """A day as people write it: ``Saturday 21 March 2026``. English whatever the machine's locale."""
    return f"{_DAYS[day.weekday()]} {date_words(day)}"


def date_words(day: date) -> str:
    """A date as people write it, without the day of the week: ``21 March 2026``."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


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
