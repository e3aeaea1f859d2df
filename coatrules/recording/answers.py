"""What a groomer says in a line, applied to the visit item by item; one that is not understood takes nothing from the others."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any, get_args

from coatrules.catalogue import typed_amounts as amounts
from coatrules.catalogue.message import Message, message
from coatrules.catalogue.speaking import say
from coatrules.catalogue.spellings import either, spellings, typed_as
from coatrules.formats.plain import checked_text
from coatrules.formats.values import Reaction
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import CompiledProfile
from coatrules.recording import typed
from coatrules.recording.answered import Answered
from coatrules.recording.entry import check_minutes, put_off, set_work
from coatrules.recording.lines import (
    Item,
    check_part,
    is_as_planned,
    items,
    part_and_minutes,
    phrases,
    took,
    topics,
    understood_words,
)
from coatrules.recording.parts import NamedPart, part_named, parts_shown
from coatrules.recording.typed import NotUnderstood, SeenEntry, keys_shown, seen_words


def see(
    visit: dict[str, Any], entries: Iterable[SeenEntry], compiled: CompiledProfile, earlier: Answered | None = None
) -> None:
    """Adds what was seen to a visit (plain data), by the parts as people type them; raises ``InputError`` for an unknown one, and
    where two answers of those said in one go exclude each other."""
    earlier = Answered() if earlier is None else earlier
    for part, key, value, words in entries:
        named = part_named(compiled, checked_text(part))
        with _refused():
            earlier.add(part, compiled.names[named], f"seen {key}", value, words)
        visit.setdefault("seen", {}).setdefault(named, {})[key] = value


def worked_in(things: Iterable[Item], compiled: CompiledProfile) -> set[str]:
    """Returns the regions of which the items say what was done, or that they were left."""
    return {
        region
        for item in things
        if any(kind in ("work", "left") for kind, _ in understood_words(item.says) or ())
        for part in item.parts
        for region in compiled.names[part.id]
    }


def see_typed(
    visit: dict[str, Any], text: str, compiled: CompiledProfile, earlier: Answered | None = None
) -> list[Message]:
    """Adds what a text says was seen ("throat: holds; loin, croup: sore, 14 mm") to a visit (plain data), and returns how it was
    understood where that is not plain; raises ``InputError`` as ``see`` does, and for what is nothing seen."""
    with _refused():
        things = _only("seen", text, compiled)
    return take_items(visit, things, compiled, earlier)


def react_typed(visit: dict[str, Any], text: str, compiled: CompiledProfile, earlier: Answered) -> list[Message]:
    """Adds how the dog bore the work, as a text says it ("beard: stop"); as ``see_typed``."""
    with _refused():
        things = _only("reaction", text, compiled)
    return take_items(visit, things, compiled, earlier)


def _only(kind: str, text: str, compiled: CompiledProfile) -> list[Item]:
    """Returns the items of a text, all of which say this kind of thing; raises ``NotUnderstood`` or ``InputError``."""
    incomplete = {"seen": "typed.seen-part", "reaction": "typed.part-what"}[kind]
    things = list(items(text, compiled))
    for before, item in zip([None, *things], things, strict=False):
        if not item.parts:
            if before is not None and before.parts and understood_words(item.text):
                part = before.parts[-1].words
                raise NotUnderstood("typed.seen-twice", part=part, first=before.says, second=item.text)
            check_part(item.text, compiled)
        if not item.parts or not item.says:
            raise NotUnderstood(incomplete, text=item.text)
        if {one for one, _ in understood_words(item.says) or [("", None)]} != {kind}:
            if kind == "seen":
                typed.seen_word(item.says)  # says which key or figure is wrong
            otherwise = {"seen": seen_words(), "reaction": keys_shown("typed.reaction", get_args(Reaction))}[kind]
            raise NotUnderstood("argument.one-of", text=item.says, names=otherwise)
    if not things:
        raise NotUnderstood(incomplete, text=text)
    return things


def seen_in(things: Iterable[Item], compiled: CompiledProfile) -> dict[str, dict[str, Any]]:
    """Returns what the items say was seen, as the ``seen`` of a visit."""
    visit: dict[str, Any] = {}
    for item in larger_first(things, compiled):
        for kind, value in understood_words(item.says) or ():
            for part in item.parts if kind == "seen" else ():
                _see(visit, part.id, value, compiled)
    return dict(visit.get("seen", {}))


def take_minutes(visit: dict[str, Any], text: str, compiled: CompiledProfile, earlier: Answered) -> None:
    """Adds the minutes that a part took ("back=12"), or without one the whole visit; raises ``InputError`` as ``see`` does."""
    with _refused():
        part, minutes = part_and_minutes(text, compiled)
        if part is None:
            earlier.add_minutes(minutes)
            visit["minutes"] = minutes
        else:
            earlier.add(part.words, compiled.names[part.id], "work minutes", minutes, say.amount("minutes", minutes))
            set_work(visit, part.id, {"minutes": minutes}, compiled)
    check_minutes(visit, compiled)


def apply(visit: dict[str, Any], item: Item, compiled: CompiledProfile) -> list[Message]:
    """Changes a visit (plain data by the schema) as one item of a line says, and returns how it was understood where that is not
    plain; raises ``NotUnderstood`` or ``InputError``, and then nothing is changed."""
    if matched := re.match(rf"(?:{either('typed.note')})(?:\s*:|\s)\s*(\S.*)", item.text, re.IGNORECASE | re.DOTALL):
        _add_note(visit, matched[1])
        return []
    if (minutes := took(item.text)) is not None:
        visit["minutes"] = minutes
        return [message("prompt.took-so-long", minutes=minutes)] if amounts.number(item.text) is not None else []
    if not item.parts and typed_as(item.text, "typed.nothing-else"):
        raise NotUnderstood("typed.nothing-unclear", text=item.text)
    if is_as_planned(item):
        if not visit.get("work"):
            raise NotUnderstood("typed.nothing-planned", text=item.text)
        return []
    if not item.parts and typed_as(item.text, "typed.not-planned"):
        for key in ("work", "put_off"):
            visit.pop(key, None)
        return []
    if not item.parts and typed_as(item.text, "typed.none-planned"):
        for part in list(visit.get("work", ())):
            put_off(visit, part, compiled)
        return []
    if not item.parts:
        check_part(item.text, compiled)
    if not item.says:
        raise NotUnderstood("typed.except", text=item.text)
    if "=" in item.text and understood_words(item.says) is None:
        typed.work(item.says)  # says what is no share, or lacks its length
    facts = list(phrases(item.says, item.text))
    for part in item.parts:
        for kind, value in facts:
            _APPLIED[kind](visit, part.id, value, compiled)
    if any(part.one_side for part in item.parts):
        _add_note(visit, item.text)
    return list(_understood(item, compiled))


def take_items(
    visit: dict[str, Any], things: Iterable[Item], compiled: CompiledProfile, earlier: Answered | None = None
) -> list[Message]:
    """Changes a visit (plain data) as all of these say, and returns how they were understood where that is not plain; raises
    ``InputError`` for what is not understood, and where two of those said in one go exclude each other."""
    earlier, understood = Answered() if earlier is None else earlier, []
    for item in larger_first(things, compiled):
        with _refused():
            keep_apart(earlier, item, compiled)
            understood += apply(visit, item, compiled)
    return understood


def take_line(visit: dict[str, Any], line: str, compiled: CompiledProfile) -> list[Message]:
    """Changes a visit (plain data) as all of a line says; as ``take_items``."""
    return take_items(visit, items(line, compiled), compiled)


@contextmanager
def _refused() -> Iterator[None]:
    try:
        yield
    except NotUnderstood as error:
        raise InputError([Problem(code=error.says.code, params=error.says.params)]) from None


def larger_first(things: Iterable[Item], compiled: CompiledProfile) -> list[Item]:
    """Returns the items in the order in which they hold: what names no part, then larger parts before smaller ones, which are
    exceptions to them wherever they stand in the line."""
    return sorted(
        things, key=lambda item: (bool(item.parts), -max([len(compiled.names[part.id]) for part in item.parts] or [0]))
    )


def keep_apart(earlier: Answered, item: Item, compiled: CompiledProfile) -> None:
    """Adds what an item says to what is said in one go; raises ``NotUnderstood`` where the two exclude each other."""
    if (minutes := took(item.text)) is not None:
        earlier.add_minutes(minutes)
        return
    for kind, value in understood_words(item.says) or ():
        for topic, one in topics(kind, value).items():
            for part in item.parts:
                earlier.add(part.words, compiled.names[part.id], topic, one, item.says)


def left(part: str, compiled: CompiledProfile) -> Item:
    """Returns the item that says that a part was left; raises ``InputError`` for an unknown one."""
    return Item(part, (NamedPart(part_named(compiled, part), part),), spellings("typed.left")[0], left_first=True)


def _understood(item: Item, compiled: CompiledProfile) -> Iterator[Message]:
    shown = parts_shown(compiled)
    for part in item.parts:
        if part.shortened:
            yield message("prompt.taken-for", text=part.words, part=shown[part.id])
        if part.one_side:
            yield message("prompt.both-sides", text=part.words)
    if item.left_first and item.text.split()[0].lower() in spellings("typed.side"):
        yield message("prompt.left", text=item.text, part=shown[item.parts[0].id])


def _add_note(visit: dict[str, Any], text: str) -> None:
    visit["note"] = " ".join([*filter(None, [visit.get("note")]), *text.split()])


def _put_off(visit: dict[str, Any], part: str, value: Any, compiled: CompiledProfile) -> None:
    put_off(visit, part, compiled)


def _react(visit: dict[str, Any], part: str, value: Any, compiled: CompiledProfile) -> None:
    visit.setdefault("reactions", {})[part] = value


def _see(visit: dict[str, Any], part: str, value: Any, compiled: CompiledProfile) -> None:
    key, seen = value
    visit.setdefault("seen", {}).setdefault(part, {})[key] = seen


_APPLIED = {"left": _put_off, "reaction": _react, "seen": _see, "work": set_work}
