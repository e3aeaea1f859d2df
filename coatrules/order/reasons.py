"""Reasons as values: which rule or step of the engine, and the facts it rested on; put in words only when asked."""

from collections.abc import Mapping

from attrs import field, frozen

from coatrules.catalogue.speaking import say
from coatrules.read_only import NOTHING, read_only

VET_FIRST = frozenset({"coat.health", "coat.refer", "floor.unsound"})
"""Rules by which hands stay off until a veterinary surgeon agrees; where the dog said stop a place only rests."""


@frozen(kw_only=True)
class Reason:
    """Why something was decided. ``rule`` is a rule's id in the profile, or a step of the engine, which starts with ``coat.`` and is
    a code of the catalogue.

    ``own`` is the author's own sentence; where it is empty the catalogue makes one from the facts.
    """

    rule: str
    facts: Mapping[str, object] = field(default=NOTHING, converter=read_only)
    own: str = ""

    @property
    def text(self) -> str:
        """The reason in a sentence."""
        if self.own:
            return say.own(self.own)
        sentence = say(self.rule, self.facts)
        return sentence[:1].upper() + sentence[1:]
