"""What people type, understood: what was done, how long it took, what was seen and felt.

Files are read strictly and know none of this. The words themselves are the catalogue's, in the language in force.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any, NamedTuple, get_args

from coatrules.catalogue.message import Message, message
from coatrules.catalogue.speaking import say
from coatrules.catalogue.spellings import either, spellings, typed_as
from coatrules.catalogue.typed_amounts import NUMBER, count, duration, length, number, share
from coatrules.dog.history import Health, Seen
from coatrules.formats.structure import written

LEAST_MINUTES = 5
"""A bare number from here on is the minutes of the visit: no share is as large, and no visit takes as many hours."""


class NotUnderstood(ValueError):
    """Typed words that mean nothing here; the text says what would."""

    def __init__(self, code: str | Message, **params: Any) -> None:
        self.says = message(code, **params) if isinstance(code, str) else code
        super().__init__(self.says.text)


class SeenWord(NamedTuple):
    """A word of the hand or the eye, and the key and value of ``seen`` that it stands for."""

    code: str
    key: str
    value: Any


class SeenEntry(NamedTuple):
    """What was seen of one part: key and value of ``seen``, and the words for it."""

    part: str
    key: str
    value: Any
    words: str


SEEN_WORDS = (
    SeenWord("typed.sore", "skin", "unsound"),
    SeenWord("typed.sound", "skin", "sound"),
    SeenWord("typed.comes-easily", "comes", "easily"),
    SeenWord("typed.comes-mixed", "comes", "mixed"),
    SeenWord("typed.holds", "comes", "holds"),
    SeenWord("typed.soft", "texture", "soft"),
    SeenWord("typed.woolly", "texture", "woolly"),
    SeenWord("typed.see-through", "see_through", True),
    SeenWord("typed.undercoat-none", "undercoat", "none"),
    SeenWord("typed.undercoat-some", "undercoat", "some"),
    SeenWord("typed.undercoat-full", "undercoat", "full"),
)
_KEYS = tuple(written(Seen))
TASKS = ("pull", "card", "comb", "scissor", "clip")


def key_typed(text: str, codes: str, keys: Iterable[str]) -> str | None:
    """Returns which of these keys of a file a text stands for: the key itself, or a word of the catalogue for it."""
    text = " ".join(text.lower().split())
    return next((key for key in keys if text == key or typed_as(text, f"{codes}.{key}")), None)


def keys_shown(codes: str, keys: Iterable[str]) -> tuple[str, ...]:
    """Returns the words for these keys of a file, as they are shown to people."""
    return tuple(spellings(f"{codes}.{key}")[0] for key in keys)


def health_typed(text: str) -> str:
    """Returns the key for what must be minded on a dog; raises ``NotUnderstood``."""
    key = key_typed(text, "typed.health", get_args(Health))
    if key is None:
        raise NotUnderstood("argument.one-of", text=text, names=keys_shown("typed.health", get_args(Health)))
    return key


def healths_typed(text: str) -> list[str]:
    """Returns the keys for all that must be minded, "in whelp, unwell"; raises ``NotUnderstood``."""
    words = re.split(rf"[,;]|\s(?:{either('typed.and')})\s", text, flags=re.IGNORECASE)
    return [health_typed(word) for word in filter(None, map(str.strip, words))]


def work(text: str) -> dict[str, Any]:
    """Returns what was done, typed as ``1/5+card`` or ``clip:3``, as an entry of ``work``; raises ``NotUnderstood``."""
    done: dict[str, Any] = {}
    for word in text.split("+"):
        spaced = rf"^\s*(\w+)(?:[:=]|\s+(?:{either('typed.to')})\s+(?=\S)|\s+(?=\d))"
        task, _, figure = (part.strip() for part in re.sub(spaced, r"\1:", word).partition(":"))
        leave_mm = number(figure) if length(figure) is None else length(figure)
        match key_typed(task, "typed.task", (*TASKS, "not-carded")) or task, figure:
            case "not-carded", "":
                done["card"] = False
            case "card" | "comb" | "scissor" as kind, "":
                done[kind] = True
            case "clip" | "scissor" as kind, _:
                if leave_mm is None:
                    raise NotUnderstood("typed.length", text=word.strip(), task=task)
                done[kind] = leave_mm
            case "pull", _:
                done["pull"] = _pulled(figure, message("typed.share", text=word.strip()))
            case _:
                otherwise = message("typed.work", text=word.strip(), work=message("record.work"))
                done["pull"] = _pulled(word, otherwise)
    return done


def _pulled(text: str, otherwise: Message) -> float:
    taken = share(text)
    if taken is None:
        raise NotUnderstood(otherwise)
    return taken


def seen_words() -> tuple[str, ...]:
    """Returns every word of what is seen and felt, as it is shown to people."""
    units = tuple(say("typed.number-of", number="N", unit=spellings(code)[0]) for code in ("typed.mm", "typed.layers"))
    return (*(spellings(word.code)[0] for word in SEEN_WORDS), *units)


def seen_word(text: str) -> tuple[str, Any]:
    """Returns the key and the value of ``seen`` that a word stands for, ``KEY=VALUE`` too; raises ``NotUnderstood``."""
    text = " ".join(text.split())
    if "=" in text:
        return _assigned(text)
    for word in SEEN_WORDS:
        if typed_as(text, word.code):
            return word.key, word.value
    if (layers := count(text, "typed.layers")) is not None:
        return "layers", layers
    if (longest := length(text)) is not None:
        return "longest_mm", longest
    first, last = either("typed.at-least-first"), either("typed.at-least")
    least = re.sub(rf"^(?:{first}) | ?(?:{last})$|(?<=\d) ?\+(?= ?[^\W\d])", "", text, flags=re.IGNORECASE)
    if least != text and (longest := length(least)) is not None:
        return "longest_mm", {"minimum": longest}
    raise NotUnderstood("argument.one-of", text=text, names=seen_words())


def _assigned(text: str) -> tuple[str, Any]:
    key, _, value = (part.strip() for part in text.partition("="))
    if key not in _KEYS or not value:
        raise NotUnderstood("typed.seen-key", text=text, keys=_KEYS)
    if key in ("longest_mm", "layers"):
        figure = number(value)
        if figure is None:
            raise NotUnderstood("typed.number", text=value)
        return key, figure
    truths = {"true": True, "yes": True, "false": False, "no": False}
    return key, truths.get(value, value) if key in ("see_through", "at_end") else value


def minutes(text: str) -> float:
    """Returns the minutes that a whole visit took; raises ``NotUnderstood``, also where a bare number may be hours."""
    value = duration(text)
    if not value:  # nothing, or work in no time
        raise NotUnderstood("typed.part-minutes", text=text)
    if value < LEAST_MINUTES and number(text) is not None:
        raise NotUnderstood("typed.hours-or-minutes", text=text)
    return value


_SHOW_LENGTHS = re.compile(rf"\s*([^:\s]+)\s*:\s*({NUMBER})\s*[-–]\s*({NUMBER})\s*(?:mm)?\s*")


def show_lengths(text: str) -> tuple[str, tuple[float, ...]]:
    """Returns the layer target or part and the shortest and longest hair (mm) of 'jacket: 20-30'; raises ``NotUnderstood``."""
    found = _SHOW_LENGTHS.fullmatch(text)
    if found is None:
        raise NotUnderstood("argument.show-lengths", text=text)
    target, *figures = found.groups()
    return target, tuple([float(figure.replace(",", ".")) for figure in figures])
