"""A line in which a groomer says what went otherwise than planned, applied to the visit piece by piece.

``back 1/5, no toes; beard stop, loin and croup sore; 80 min; note: tired`` says six things; one that is not understood takes
nothing from the others.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any, get_args

from attrs import evolve, frozen

from coatrules.catalogue.message import Message, message
from coatrules.formats.plain import checked_text
from coatrules.formats.values import Reaction
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import CompiledProfile
from coatrules.recording import typed
from coatrules.recording.entry import put_off, set_work
from coatrules.recording.parts import NamedPart, Parts, names_whole, part_named, parts_shown
from coatrules.recording.typed import NotUnderstood, either

_APART = re.compile(r";|(?<!\d),|,(?!\d)|\.(?=\s)")  # no decimal comma
LEAST_MINUTES = 5
"""A bare number from here on is the minutes of the visit: no share is as large."""


@frozen
class Item:
    """One thing that a line says: its words, the parts of the dog that it names, and what it says of them, if anything;
    ``left_first``: whether it says first that they were left, as in "no toes"."""

    text: str
    parts: tuple[NamedPart, ...] = ()
    says: str = ""
    left_first: bool = False


def see(visit: dict[str, Any], by_part: Mapping[str, Mapping[str, Any]], compiled: CompiledProfile) -> None:
    """Adds what was seen to a visit (plain data), by the parts as people type them; raises ``InputError`` for an unknown one."""
    for part, words in by_part.items():
        visit.setdefault("seen", {}).setdefault(part_named(compiled, checked_text(part)), {}).update(words)


def see_typed(visit: dict[str, Any], text: str, compiled: CompiledProfile) -> None:
    """Adds what a text says was seen (``typed.seen``) to a visit (plain data); raises ``InputError`` for an unknown part."""
    see(visit, typed.seen(names_whole(text, compiled)), compiled)


# -- a line cut into items ----------------------------------------------------------------------------------------------


def items(line: str, compiled: CompiledProfile) -> Iterator[Item]:
    """Yields what a line says, one thing each; a note takes the rest of the line.

    Of parts in a row one thing is said: "back, ribs 1/5", "no toes, pads".
    """
    note = re.search(rf"(?:^|[;,.])\s*((?:{either('typed.note')})\b.*)$", line, re.IGNORECASE | re.DOTALL)
    parts = Parts(compiled)
    waiting: list[Item] = []
    before = Item("")
    for text in _texts(names_whole(line[: note.start()] if note else line, compiled)):
        item = _item(text, parts)
        if item.parts and not item.says and before.left_first:
            yield evolve(item, says=before.says)
        elif item.parts and not item.says:
            waiting.append(item)
        else:
            if item.parts and not item.left_first:
                item = evolve(item, parts=(*(other.parts[0] for other in waiting), *item.parts))
            else:
                yield from waiting
            waiting, before = [], item
            yield item
    yield from waiting
    if note:
        yield Item(note[1])


def _texts(line: str) -> Iterator[str]:
    for text in _APART.split(line):
        for part in re.split(rf"\s(?:{either('typed.and')})\s", text, flags=re.IGNORECASE):
            if part.strip(" .!"):
                yield part.strip(" .!")


def _item(text: str, parts: Parts) -> Item:
    """An item with the part that it begins with, by as long a name as there is; without any where it names none."""
    words = re.sub(r"^([^=:]*?)\s*[=:]\s*", r"\1 ", text).split()
    spoken = " ".join(words)
    leaving = re.match(rf"(?:{either('typed.left')}|{either('typed.left-first')})\s(.+)", spoken, re.IGNORECASE)
    if leaving and (part := parts.named(leaving[1])) is not None:
        return Item(text, (part,), typed.spellings("typed.left")[0], left_first=True)
    for count in range(len(words), 0, -1):
        if (part := parts.named(" ".join(words[:count]))) is not None:
            return Item(text, (part,), " ".join(words[count:]))
    return Item(text)


# -- an item applied ----------------------------------------------------------------------------------------------------


def apply(visit: dict[str, Any], item: Item, compiled: CompiledProfile) -> list[Message]:
    """Changes a visit (plain data by the schema) as one item of a line says, and returns how it was understood where that is not
    plain; raises ``NotUnderstood`` or ``InputError``, and then nothing is changed."""
    if matched := re.match(rf"(?:{either('typed.note')})(?:\s*:|\s)\s*(\S.*)", item.text, re.IGNORECASE | re.DOTALL):
        _add_note(visit, matched[1])
        return []
    if (minutes := _took(item.text)) is not None:
        visit["minutes"] = minutes
        return [message("prompt.took-so-long", minutes=minutes)] if typed.number(item.text) is not None else []
    if not item.parts and len(words := re.findall(r"[^\s=:]+", item.text)) > 1:
        part_named(compiled, words[0])  # says what is wrong with it
    if not item.says:
        raise NotUnderstood("typed.except", text=item.text)
    phrases = list(_phrases(item))
    for part in item.parts:
        for kind, value in phrases:
            _APPLIED[kind](visit, part.id, value, compiled)
    if any(part.one_side for part in item.parts):
        _add_note(visit, item.text)
    return list(_understood(item, compiled))


def take_line(visit: dict[str, Any], line: str, compiled: CompiledProfile) -> list[Message]:
    """Changes a visit (plain data) as all of a line says, and returns how it was understood where that is not plain; raises
    ``InputError`` for what is not understood."""
    understood: list[Message] = []
    for item in items(line, compiled):
        try:
            understood += apply(visit, item, compiled)
        except NotUnderstood as error:
            raise InputError([Problem(code=error.says.code, params=error.says.params)]) from None
    return understood


def _understood(item: Item, compiled: CompiledProfile) -> Iterator[Message]:
    shown = parts_shown(compiled)
    for part in item.parts:
        if part.shortened:
            yield message("prompt.taken-for", text=part.words, part=shown[part.id])
        if part.one_side:
            yield message("prompt.both-sides", text=part.words)
    if item.left_first and item.text.split()[0].lower() in typed.spellings("typed.side"):
        yield message("prompt.left", text=item.text, part=shown[item.parts[0].id])


def _add_note(visit: dict[str, Any], text: str) -> None:
    visit["note"] = " ".join([*filter(None, [visit.get("note")]), *text.split()])


def _took(text: str) -> float | None:
    """The minutes of the whole visit that a text says."""
    took = either("typed.took")
    time = re.sub(rf"^(?:{took})\s|\s(?:{took})$", "", text, flags=re.IGNORECASE)
    bare = typed.number(text)
    return typed.duration(time) if bare is None or bare >= LEAST_MINUTES else None


def _phrases(item: Item) -> Iterator[tuple[str, Any]]:
    """Yields what is said of a part: as long phrases as are understood, one after the other."""
    words = item.says.split()
    while words:
        for count in range(len(words), 0, -1):
            phrase = _phrase(" ".join(words[:count]))
            if phrase is not None:
                yield phrase
                del words[:count]
                break
        else:
            if typed.key_typed(words[0], "typed.task", ("clip",)):
                typed.work(words[0])  # says that it has no length
            raise NotUnderstood("typed.except", text=item.text)


def _phrase(text: str) -> tuple[str, Any] | None:
    if typed.typed_as(text, "typed.left"):
        return "left", None
    if (reaction := typed.key_typed(text, "typed.reaction", get_args(Reaction))) is not None:
        return "reaction", reaction
    if typed.number(text) is None and (minutes := typed.duration(text)) is not None:
        return "work", {"minutes": minutes}
    for kind, parse in (("seen", typed.seen_word), ("work", typed.work)):
        try:
            return kind, parse(text)
        except NotUnderstood:
            continue
    return None


def _put_off(visit: dict[str, Any], part: str, value: Any, compiled: CompiledProfile) -> None:
    put_off(visit, part, compiled)


def _react(visit: dict[str, Any], part: str, value: Any, compiled: CompiledProfile) -> None:
    visit.setdefault("reactions", {})[part] = value


def _see(visit: dict[str, Any], part: str, value: Any, compiled: CompiledProfile) -> None:
    see(visit, {part: dict([value])}, compiled)


_APPLIED = {"left": _put_off, "reaction": _react, "seen": _see, "work": set_work}
