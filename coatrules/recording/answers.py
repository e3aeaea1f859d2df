"""A line in which a groomer says what went otherwise than planned, applied to the visit piece by piece.

``back 1/5, no toes; beard stop, loin and croup sore; 80 min; note: tired`` says six things; one that is not understood takes
nothing from the others.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any, get_args

from attrs import evolve, frozen

from coatrules.catalogue.message import Message, message
from coatrules.catalogue.speaking import say
from coatrules.formats.plain import checked_text
from coatrules.formats.values import Reaction
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import CompiledProfile
from coatrules.recording import amounts, typed
from coatrules.recording.answered import Answered
from coatrules.recording.entry import check_minutes, put_off, set_work
from coatrules.recording.parts import NamedPart, Parts, names_whole, part_named, parts_shown
from coatrules.recording.spellings import either, spellings, typed_as
from coatrules.recording.typed import NotUnderstood, SeenEntry

_ROWS = re.compile(r";|\n|\.(?=\s)")
_APART = re.compile(r"(?<!\d),|,(?!\d)")  # no decimal comma
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
        if any(kind in ("work", "left") for kind, _ in _understood_words(item.says) or ())
        for part in item.parts
        for region in compiled.names[part.id]
    }


def see_typed(visit: dict[str, Any], text: str, compiled: CompiledProfile, earlier: Answered | None = None) -> None:
    """Adds what a text says was seen (``typed.seen``) to a visit (plain data); raises ``InputError`` as ``see`` does."""
    with _refused():
        entries = typed.seen(names_whole(text, compiled))
    see(visit, entries, compiled, earlier)


def seen_in(things: Iterable[Item], compiled: CompiledProfile) -> dict[str, dict[str, Any]]:
    """Returns what the items say was seen, as the ``seen`` of a visit."""
    visit: dict[str, Any] = {}
    for item in larger_first(things, compiled):
        for kind, value in _understood_words(item.says) or ():
            for part in item.parts if kind == "seen" else ():
                _see(visit, part.id, value, compiled)
    return dict(visit.get("seen", {}))


def react(visit: dict[str, Any], part: str, how: str, compiled: CompiledProfile, earlier: Answered) -> None:
    """Adds how the dog bore the work on a part; raises ``InputError`` as ``see`` does."""
    named = part_named(compiled, part)
    with _refused():
        earlier.add(part, compiled.names[named], "reaction", how, how)
    visit.setdefault("reactions", {})[named] = how


def take_minutes(
    visit: dict[str, Any], part: str | None, minutes: float, compiled: CompiledProfile, earlier: Answered
) -> None:
    """Adds the minutes that a part took, or without one the whole visit; raises ``InputError`` as ``see`` does."""
    with _refused():
        if part is None:
            earlier.add_minutes(minutes)
            visit["minutes"] = minutes
            check_minutes(visit, compiled)
            return
        named = part_named(compiled, part)
        earlier.add(part, compiled.names[named], "work minutes", minutes, say.amount("minutes", minutes))
    set_work(visit, named, {"minutes": minutes}, compiled)
    check_minutes(visit, compiled)


# -- a line cut into items ----------------------------------------------------------------------------------------------


def items(line: str, compiled: CompiledProfile) -> Iterator[Item]:
    """Yields what a line says, one thing each; a note takes the rest of the line.

    Of parts in a row one thing is said: "back, ribs 1/5", "no toes, pads". What names no part says more of the last one: "back
    raked, pulled a fifth". An exception was left: "all but the tail".
    """
    note = re.search(rf"(?:^|[;,.\n])\s*((?:{either('typed.note')})\b.*)$", line, re.IGNORECASE | re.DOTALL)
    parts = Parts(compiled)
    waiting: list[Item] = []
    before = Item("")
    for text, excepted in _texts(names_whole(line[: note.start()] if note else line, compiled)):
        if not text:  # the end of a row of parts
            yield from _unsaid(waiting, before)
            waiting = []
            continue
        if not waiting and typed_as(text, "typed.nothing-else"):
            if not excepted:
                yield Item(text)
            continue
        item = _item(text, parts)
        if item.parts and not item.says and (excepted or before.left_first):
            yield from _unsaid(waiting, before)
            waiting, before = [], evolve(item, says=spellings("typed.left")[0], left_first=True)
            yield before
        elif item.parts and not item.says:
            waiting.append(item)
        else:
            named = tuple([other.parts[0] for other in waiting])
            if item.parts and not item.left_first:
                item = evolve(item, parts=(*named, *item.parts))
            elif not item.parts and _says_more(evolve(before, parts=named, says="") if named else before, item.text):
                item = evolve(item, parts=named or before.parts, says=item.text)
            else:
                yield from _unsaid(waiting, before)
            waiting, before = [], item
            yield item
    yield from _unsaid(waiting, before)
    if note:
        yield Item(note[1])


def _unsaid(waiting: Sequence[Item], before: Item) -> Iterator[Item]:
    """Yields the parts of which nothing is said, but for one whose name says how the dog bore the part before it: "stop"."""
    for item in waiting:
        bore = len(waiting) == 1 and typed.key_typed(item.text, "typed.reaction", get_args(Reaction)) is not None
        yield evolve(item, parts=before.parts, says=item.text) if bore and _says_more(before, item.text) else item


def _texts(line: str) -> Iterator[tuple[str, bool]]:
    """Yields the texts of a line, and of each whether it is an exception to what was said before it; an empty one where a semicolon or
    a full stop ends a row of parts."""
    for row in _ROWS.split(line):
        for text in _APART.split(row):
            for number, part in enumerate(re.split(rf"(?:^|\s)(?:{either('typed.but')})\s", text, flags=re.IGNORECASE)):
                for one in _anded(part):
                    if one.strip(" .!"):
                        yield one.strip(" .!"), number > 0
        yield "", False


def _anded(text: str) -> Iterator[str]:
    """Yields what is said before and behind each "and", but for one within a time: "an hour and a half"."""
    before: list[str] = []
    for part in re.split(rf"(\s(?:{either('typed.and')})\s)", text, flags=re.IGNORECASE):
        before.append(part)
        if len(before) == 3 and _took("".join(before).strip(" .!")) is None:
            yield before[0]
            before = before[2:]
    yield "".join(before)


def _item(text: str, parts: Parts) -> Item:
    """An item with the part that it begins or ends with, by as long a name as there is; without any where it names none."""
    words = re.sub(r"^([^=:]*?)\s*[=:]\s*", r"\1 ", text).split()
    spoken = " ".join(words)
    leaving = re.match(rf"(?:{either('typed.left')}|{either('typed.left-first')})\s(.+)", spoken, re.IGNORECASE)
    if leaving and (part := parts.named(leaving[1])) is not None:
        return Item(text, (part,), spellings("typed.left")[0], left_first=True)
    found = Item(text)
    for count in range(len(words), 0, -1):
        if (part := parts.named(" ".join(words[:count]))) is not None:
            found = Item(text, (part,), " ".join(words[count:]))
            break
    if (found.says and _understood_words(found.says) is None) or not found.parts:
        for start in range(1, len(words)):
            part, says = parts.named(" ".join(words[start:])), " ".join(words[:start])
            if part is not None and not part.shortened and _understood_words(says) is not None:
                return Item(text, (part,), says)
    return found


def _says_more(before: Item, text: str) -> bool:
    """Whether a text says something more of the parts before it, and nothing that was said of them already."""
    if not before.parts or before.left_first or _took(text) is not None:
        return False
    earlier, more = (_understood_words(words) for words in (before.says, text))
    return more is not None and {topic for phrase in earlier or () for topic in _topics(*phrase)}.isdisjoint(
        topic for phrase in more for topic in _topics(*phrase)
    )


def _understood_words(says: str) -> list[tuple[str, Any]] | None:
    """Returns what is said of a part, phrase by phrase; None where not all of it is understood."""
    try:
        return list(_phrases(says, says))
    except NotUnderstood:
        return None


def _topics(kind: str, value: Any) -> dict[str, Any]:
    """What a phrase is about, and what it says of that: the same topic twice would be two answers to one question."""
    if kind not in ("seen", "work"):
        return {kind: value}
    return {f"{kind} {key}": one for key, one in dict([value] if kind == "seen" else value).items()}


# -- an item applied ----------------------------------------------------------------------------------------------------


def apply(visit: dict[str, Any], item: Item, compiled: CompiledProfile) -> list[Message]:
    """Changes a visit (plain data by the schema) as one item of a line says, and returns how it was understood where that is not
    plain; raises ``NotUnderstood`` or ``InputError``, and then nothing is changed."""
    if matched := re.match(rf"(?:{either('typed.note')})(?:\s*:|\s)\s*(\S.*)", item.text, re.IGNORECASE | re.DOTALL):
        _add_note(visit, matched[1])
        return []
    if (minutes := _took(item.text)) is not None:
        visit["minutes"] = minutes
        return [message("prompt.took-so-long", minutes=minutes)] if amounts.number(item.text) is not None else []
    if not item.parts and typed_as(item.text, "typed.nothing-else"):
        raise NotUnderstood("typed.nothing-unclear", text=item.text)
    if not item.parts and any(typed_as(item.text, code) for code in ("typed.all-planned", "typed.yes")):
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
    if not item.parts and len(words := re.findall(r"[^\s=:]+", item.text)) > 1:
        if not Parts(compiled).is_like_one(words[0]):
            raise NotUnderstood("typed.except", text=item.text)
        part_named(compiled, words[0])  # says what is wrong with it
    if not item.says:
        raise NotUnderstood("typed.except", text=item.text)
    phrases = list(_phrases(item.says, item.text))
    for part in item.parts:
        for kind, value in phrases:
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
    if (minutes := _took(item.text)) is not None:
        earlier.add_minutes(minutes)
        return
    for kind, value in _understood_words(item.says) or ():
        for topic, one in _topics(kind, value).items():
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


def _took(text: str) -> float | None:
    """The minutes of the whole visit that a text says."""
    took = either("typed.took")
    time = re.sub(rf"^(?:{took})\s|\s(?:{took})$", "", text, flags=re.IGNORECASE)
    bare = amounts.number(text)
    return amounts.duration(time) if bare is None or bare >= LEAST_MINUTES else None


def _phrases(says: str, text: str) -> Iterator[tuple[str, Any]]:
    """Yields what is said of a part: as long phrases as are understood, one after the other, without the small words between them;
    raises ``NotUnderstood`` for the text where nothing is left, or more than small words."""
    words, fillers = says.split(), spellings("typed.phrase-fillers")
    understood = False
    while words:
        for count in range(len(words), 0, -1):
            phrase = _phrase(" ".join(words[:count]))
            if phrase is not None:
                yield phrase
                understood = True
                del words[:count]
                break
        else:
            if typed.key_typed(words[0], "typed.task", ("clip",)):
                typed.work(words[0])  # says that it has no length
            if words[0].lower() not in fillers:
                raise NotUnderstood("typed.except", text=text)
            del words[0]
    if not understood:
        raise NotUnderstood("typed.except", text=text)


def _phrase(text: str) -> tuple[str, Any] | None:
    if typed_as(text, "typed.left"):
        return "left", None
    if (reaction := typed.key_typed(text, "typed.reaction", get_args(Reaction))) is not None:
        return "reaction", reaction
    if amounts.number(text) is None and (minutes := amounts.duration(text)) is not None:
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
    key, seen = value
    visit.setdefault("seen", {}).setdefault(part, {})[key] = seen


_APPLIED = {"left": _put_off, "reaction": _react, "seen": _see, "work": set_work}
