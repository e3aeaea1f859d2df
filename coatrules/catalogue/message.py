"""A sentence as a value: its code and what it speaks of. It is put into words only when somebody reads it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from attrs import field, frozen

from coatrules.catalogue.speaking import say
from coatrules.read_only import NOTHING, read_only


@frozen(kw_only=True)
class Message:
    """A sentence: ``code`` names it in the catalogue, ``params`` fill it in. ``own`` is an author's own sentence, which stands as
    it was written (or as the catalogue translates that very text); its ``code`` then only says where it comes from."""

    code: str
    params: Mapping[str, Any] = field(default=NOTHING, converter=read_only)
    own: str = ""

    @property
    def text(self) -> str:
        """The sentence in the language that is spoken (``coatrules.catalogue.speaking``)."""
        return say.own(self.own) if self.own else say(self.code, self.params)

    def __str__(self) -> str:
        return self.text


def message(code: str, **params: Any) -> Message:
    """Returns the message of this code."""
    return Message(code=code, params=params)


def authors(code: str, text: str) -> Message:
    """Returns an author's own sentence as a message; ``code`` says where it comes from."""
    return Message(code=code, own=text)
