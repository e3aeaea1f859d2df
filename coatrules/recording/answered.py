"""What is said in one go, so that nothing is silently overruled by what is said after it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from coatrules.recording.typed import NotUnderstood

LEFT = "left"
"""The topic of a part on which nothing was done."""
WORK = "work"
"""How the topics of what was done on a part begin."""


class Answered:
    """The answers given so far, by the regions that they are about and by what they say of them."""

    def __init__(self) -> None:
        self._said: dict[tuple[tuple[str, ...], str], tuple[Any, str]] = {}

    def add(self, part: str, regions: Sequence[str], topic: str, value: Any, words: str) -> None:
        """Adds what is said of a part in these words; raises ``NotUnderstood`` where something else was said of just this part. Of a
        smaller part something else may be said: it is an exception."""
        regions = tuple(regions)
        for (others, other_topic), (other, other_words) in self._said.items():
            if others == regions and _exclude((topic, value), (other_topic, other)):
                raise NotUnderstood("typed.seen-twice", part=part, first=other_words, second=words)
        self._said[regions, topic] = value, words

    def add_minutes(self, minutes: float) -> None:
        """Adds the minutes of the whole visit; raises ``NotUnderstood`` where it took others."""
        before, _ = self._said.setdefault(((), "minutes"), (minutes, ""))
        if before != minutes:
            raise NotUnderstood("typed.took-twice", first=before, second=minutes)


def _exclude(one: tuple[str, Any], other: tuple[str, Any]) -> bool:
    """Whether a part cannot have both: two answers to one question, or work where nothing was done."""
    topics = (one[0], other[0])
    if LEFT in topics:
        return any(topic.startswith(WORK) for topic in topics)
    return one[0] == other[0] and one[1] != other[1]
