"""The language that is spoken: English unless another catalogue is put in its place, for a thread or a task at a time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from typing import Any, Protocol

from coatrules.catalogue.english import ENGLISH
from coatrules.read_only import NOTHING


class Catalogue(Protocol):
    """Puts codes with parameters into words of one language."""

    @property
    def locale(self) -> str:
        """The language tag, as in ``en`` or ``de-AT`` (BCP 47)."""

    @property
    def direction(self) -> str:
        """``ltr``, or ``rtl`` of a language that is written from the right to the left."""

    def sentence(self, code: str, params: Mapping[str, Any]) -> str:
        """The sentence of a code; raises ``KeyError`` where there is none."""

    def several(self, code: str) -> str:
        """The sentence of a code before it is filled in; of one that depends on a number, as it is said of several."""

    def knows(self, code: str) -> bool:
        """Whether there is a sentence of this code."""

    def amount(self, kind: str, value: Any) -> str:
        """A value of a kind of ``coatrules.catalogue.template``: ``4½ min``, ``a fifth``."""

    def own(self, text: str) -> str:
        """A text of a shipped profile in this language, where it is known; any other text as it is."""


_spoken: ContextVar[Catalogue] = ContextVar("spoken", default=ENGLISH)


class _Say:
    """Speaks by the catalogue in force."""

    def __call__(self, code: str, params: Mapping[str, Any] = NOTHING, /, **more: Any) -> str:
        return _spoken.get().sentence(code, {**params, **more} if more else params)

    def amount(self, kind: str, value: Any) -> str:
        return _spoken.get().amount(kind, value)

    def own(self, text: str) -> str:
        return _spoken.get().own(text)

    def template(self, code: str) -> str:
        return _spoken.get().several(code)

    def knows(self, code: str) -> bool:
        return _spoken.get().knows(code)

    @property
    def locale(self) -> str:
        return _spoken.get().locale

    @property
    def direction(self) -> str:
        return _spoken.get().direction


say = _Say()
"""``say("order.time", planned=90, available=120)``: a sentence of the catalogue in force."""


def called(key: str, text: str = "") -> str:
    """Returns what people call that which files know by ``key``: ``text`` (without one the key's own words) where the language in
    force has a name of its own for it, else the key."""
    text = text or key.replace("-", " ")
    spoken = say.own(text)
    return key if spoken == text else spoken


@contextmanager
def speaking(catalogue: Catalogue) -> Iterator[None]:
    """Within it, all that is put into words is put into this catalogue's."""
    token = _spoken.set(catalogue)
    try:
        yield
    finally:
        _spoken.reset(token)
