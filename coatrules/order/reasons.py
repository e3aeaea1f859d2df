"""Reasons as values: which rule or step of the engine, and the facts it rested on; put in words only when asked."""

from collections.abc import Mapping
from typing import Any

from attrs import field, frozen

from coatrules.order.words import minutes_words, share_words, weeks_words
from coatrules.read_only import NOTHING, read_only


@frozen(kw_only=True)
class Reason:
    """Why something was decided. ``rule`` is a rule's id in the profile, or a step of the engine, which starts with ``coat.``.

    ``said`` is the author's own sentence; where it is empty the engine's sentence is made from the facts.
    """

    rule: str
    facts: Mapping[str, object] = field(default=NOTHING, converter=read_only)
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
