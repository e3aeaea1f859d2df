"""A line in which a groomer says what was otherwise, cut into items: of which parts it says what.

``back 1/5, no toes; beard stop, loin and croup sore; 80 min; note: tired`` holds six.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any, get_args

from attrs import evolve, frozen

from coatrules.catalogue import typed_amounts as amounts
from coatrules.catalogue.spellings import either, spellings, typed_as
from coatrules.formats.values import Reaction
from coatrules.profile.compiled import CompiledProfile
from coatrules.recording import typed
from coatrules.recording.parts import NamedPart, Parts, names_whole, part_named
from coatrules.recording.typed import NotUnderstood

_ROWS = re.compile(r";|\n|\.(?=\s)")
_APART = re.compile(r"(?<!\d),|,(?!\d)")  # no decimal comma
_SIGN = r"(?:=|(?<!\d):|:(?!\d))"  # no time: 1:20
RUN_TOGETHER = 24
"""Words of a text up to which it is read without its commas."""


@frozen
class Item:
    """One thing that a line says: its words, the parts of the dog that it names, and what it says of them, if anything;
    ``left_first``: whether it says first that they were left, as in "no toes"."""

    text: str
    parts: tuple[NamedPart, ...] = ()
    says: str = ""
    left_first: bool = False


def items(line: str, compiled: CompiledProfile) -> Iterator[Item]:
    """Yields what a line says, one thing each; a note takes the rest of the line.

    Of parts in a row one thing is said: "back, ribs 1/5", "no toes, pads". What names no part says more of the last one: "back
    raked, pulled a fifth". An exception was left: "all but the tail".
    """
    note = re.search(rf"(?:^|[;,.\n])\s*((?:{either('typed.note')})\b.*)$", line, re.IGNORECASE | re.DOTALL)
    parts = Parts(compiled)
    waiting: list[Item] = []
    before = Item("")
    without_note = names_whole(line[: note.start()] if note else line, compiled)
    for text, excepted in _texts(amounts.times_whole(without_note)):
        if not text:  # the end of a row of parts
            yield from _unsaid(waiting, before)
            waiting = []
            continue
        if not waiting and typed_as(text, "typed.nothing-else"):
            if not excepted:
                yield Item(text)
            continue
        item, *more = _run_together(text, parts)
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
        for before in more:
            yield before
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
        if len(before) == 3 and took("".join(before).strip(" .!")) is None:
            yield before[0]
            before = before[2:]
    yield "".join(before)


def _item(text: str, parts: Parts) -> Item:
    """An item with the part that it begins or ends with, by as long a name as there is; without any where it names none."""
    words = re.sub(rf"^([^=:]*?)\s*{_SIGN}\s*", r"\1 ", text).split()
    if (leaving := _leaving(" ".join(words), text, parts)) is not None:
        return leaving
    found = Item(text)
    for count in range(len(words), 0, -1):
        if (part := parts.named(" ".join(words[:count]))) is not None:
            found = Item(text, (part,), " ".join(words[count:]))
            break
    if (found.says and understood_words(found.says) is None) or not found.parts:
        for start in range(1, len(words)):
            part, says = parts.named(" ".join(words[start:])), " ".join(words[:start])
            if part is not None and not part.shortened and understood_words(says) is not None:
                return Item(text, (part,), says)
    return found


def _leaving(words: str, text: str, parts: Parts) -> Item | None:
    """The item of a text whose words say first that a part was left: "no toes"."""
    leaving = re.match(rf"(?:{either('typed.left')}|{either('typed.left-first')})\s(.+)", words, re.IGNORECASE)
    if leaving is None or (part := parts.named(leaving[1])) is None:
        return None
    return Item(text, (part,), spellings("typed.left")[0], left_first=True)


def _run_together(text: str, parts: Parts) -> list[Item]:
    """The items of a text: one, or several where the commas between them are missing, "back 1/5 loin sore". Only what can be read in
    one way is taken apart."""
    item = _item(text, parts)
    if item.parts and understood_words(item.says) is not None:
        return [item]
    words = [word for token in text.split() for word in _at_sign(token, parts)]
    if not 2 < len(words) <= RUN_TOGETHER or took(text) is not None:
        return [item]

    @cache
    def readings(start: int) -> list[list[Item]]:
        """Every way to read the words from here on, no more than two of them."""
        if start == len(words):
            return [[]]
        ways: list[list[Item]] = []
        for end in range(start + 2, len(words) + 1):
            for one in _readings(words[start:end], parts):
                ways += [[one, *rest] for rest in readings(end)]
        return ways[:2]

    ways = readings(0)
    return ways[0] if len(ways) == 1 else [item]


def _readings(words: Sequence[str], parts: Parts) -> Iterator[Item]:
    """Yields the items that these words are, wholly: a part by its full name, and what is said of it."""
    text = " ".join(words)
    if (leaving := _leaving(text, text, parts)) is not None and not leaving.parts[0].shortened:
        yield leaving
    for count in range(1, len(words)):
        part, says = parts.named(" ".join(words[:count])), " ".join(words[count:])
        facts = None if part is None or part.shortened else understood_words(says)
        if part is not None and facts and not any(kind == "work" and "minutes" in value for kind, value in facts):
            yield Item(text, (part,), says)  # a time may be the part's or the whole visit's


def _at_sign(token: str, parts: Parts) -> list[str]:
    """The words of a token with a colon or a sign of equality behind a part: "loin:sore"."""
    if (signed := re.fullmatch(rf"([^=:]*){_SIGN}(.*)", token, re.DOTALL)) is None:
        return [token]
    name, says = signed.groups()
    return [word for word in (name, says) if word] if not says or parts.named(name) else [token]


def _says_more(before: Item, text: str) -> bool:
    """Whether a text says something more of the parts before it, and nothing that was said of them already."""
    if not before.parts or before.left_first or took(text) is not None:
        return False
    earlier, more = (understood_words(words) for words in (before.says, text))
    return more is not None and {topic for phrase in earlier or () for topic in topics(*phrase)}.isdisjoint(
        topic for phrase in more for topic in topics(*phrase)
    )


def understood_words(says: str) -> list[tuple[str, Any]] | None:
    """Returns what is said of a part, phrase by phrase; None where not all of it is understood."""
    try:
        return list(phrases(says, says))
    except NotUnderstood:
        return None


def topics(kind: str, value: Any) -> dict[str, Any]:
    """What a phrase is about, and what it says of that: the same topic twice would be two answers to one question."""
    if kind not in ("seen", "work"):
        return {kind: value}
    return {f"{kind} {key}": one for key, one in dict([value] if kind == "seen" else value).items()}


def check_part(text: str, compiled: CompiledProfile) -> None:
    """Raises ``InputError`` where a text begins with something much like a part, which says what is wrong with it."""
    words = re.findall(r"[^\s=:]+", text)
    if len(words) > 1 and Parts(compiled).is_like_one(words[0]):
        part_named(compiled, words[0])


def part_and_minutes(text: str, compiled: CompiledProfile) -> tuple[NamedPart | None, float]:
    """Returns the part (None: the whole visit) and the minutes that it took, typed as ``80`` or ``back=12``; raises ``NotUnderstood``
    or ``InputError``."""
    if amounts.duration(text) is not None:
        return None, typed.minutes(text)
    item = _item(text, Parts(compiled))
    if not item.parts:
        check_part(text, compiled)
    minutes = amounts.duration(item.says) if item.parts else None
    if not minutes:  # nothing, or work in no time
        raise NotUnderstood("typed.part-minutes", text=text)
    return item.parts[0], minutes


def seen_of_part(text: str) -> dict[str, Any]:
    """Returns what was seen of one part, "holds, 14 mm", as an entry of ``seen``; raises ``NotUnderstood``."""
    facts: dict[str, Any] = {}
    for words in filter(str.strip, _APART.split(text)):
        pairs = understood_words(words) or [("", None)]
        facts |= dict(value if kind == "seen" else typed.seen_word(words) for kind, value in pairs)
    return facts


def is_as_planned(item: Item) -> bool:
    """Whether an item says that all went as planned."""
    return not item.parts and any(typed_as(item.text, code) for code in ("typed.all-planned", "typed.yes"))


def took(text: str) -> float | None:
    """The minutes of the whole visit that a text says."""
    took = either("typed.took")
    time = re.sub(rf"^(?:{took})\s|\s(?:{took})$", "", text, flags=re.IGNORECASE)
    bare = amounts.number(text)
    return amounts.duration(time) if bare is None or bare >= typed.LEAST_MINUTES else None


def phrases(says: str, text: str) -> Iterator[tuple[str, Any]]:
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
