"""What sentences speak of as plain data, ready for JSON, and back again."""

from __future__ import annotations

import re
from collections.abc import Mapping
from contextlib import suppress
from datetime import date as Date
from typing import Any, Final

from attrs import evolve

from coatrules.catalogue.message import Message
from coatrules.catalogue.speaking import say
from coatrules.read_only import ReadOnly

_DATE: Final = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_AS_IS: Final = frozenset((str, int, bool, type(None)))


def plain(value: Any) -> Any:
    """Returns what a sentence speaks of as plain data: days as ISO 8601 text, numbers to four places, all else as text."""
    if type(value) in _AS_IS:
        return value
    if isinstance(value, float):
        return round(value, 4)
    if isinstance(value, Message):
        return message_data(value)
    if isinstance(value, Mapping):
        return {str(key): plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple):
        return [plain(inner) for inner in value]
    return value.isoformat() if isinstance(value, Date) else str(value)


def message_data(message: Message) -> dict[str, Any]:
    """Returns a sentence as plain data. ``own`` says of an author's own words that they are, so that nobody looks for them in the
    catalogue."""
    data = {"code": message.code, "params": plain(message.params), "text": message.text}
    return data | {"own": True} if message.own else data


def message_of(data: Mapping[str, Any]) -> Message:
    """Returns the sentence that ``message_data`` made the data of; one that this catalogue lacks keeps the words it had."""
    found = Message(code=data["code"], params=value_of(data["params"]))
    return evolve(found, own=data["text"]) if data.get("own") or not can_be_said(found.code, found.params) else found


def can_be_said(code: str, params: Mapping[str, Any]) -> bool:
    """Whether the catalogue of today has the sentence, and all that it speaks of is there."""
    if not say.knows(code):
        return False
    try:
        return bool(say(code, params))
    except (KeyError, TypeError, ValueError, AttributeError):
        return False


def value_of(data: Any) -> Any:
    """What a sentence or a rule speaks of, as it was before it was written: days, lists and sentences within sentences."""
    if isinstance(data, str):
        if _DATE.fullmatch(data):
            with suppress(ValueError):  # a day that there is not, of which a problem speaks
                return day_of(data)
        return data
    if isinstance(data, Mapping):
        if data.keys() - {"own"} == {"code", "params", "text"}:
            return message_of(data)
        return ReadOnly({key: value_of(inner) for key, inner in data.items()})
    return tuple(map(value_of, data)) if isinstance(data, list | tuple) else data


def day_of(text: str) -> Date:
    """Returns the day of its ISO 8601 text."""
    return Date.fromisoformat(text)
