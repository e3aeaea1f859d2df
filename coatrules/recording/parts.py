"""Parts of a dog as people name them: by id, label or group, in the singular, shortened, in other words, with a side."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial

from attrs import frozen

from coatrules.catalogue.message import Message
from coatrules.catalogue.speaking import called, say
from coatrules.catalogue.spellings import either, however_written, small, spellings, written_ways
from coatrules.problems import InputError, Problem, nearest_fix, use_one_of
from coatrules.profile.compiled import CompiledProfile

LEAST_LETTERS = 3
"""Letters of the shortest word that may stand for a longer one."""
LIKE = 0.75
"""How alike the spelling of a slip is to the word that was meant: letters in common, as a part of all."""
ENDING = 2
"""Letters by which the singular and the plural of a word differ at most."""


@frozen
class NamedPart:
    """A part that somebody named: its id, the words for it, whether these are shortened, and whether they name one side only."""

    id: str
    words: str
    shortened: bool = False
    one_side: bool = False


class Parts:
    """The parts of one dog by what people call them, in the language in force."""

    def __init__(self, compiled: CompiledProfile) -> None:
        self._regions = compiled.names
        spoken = [(_joined(words), part) for words, part in _spoken_names(compiled)]
        names = dict(spoken)
        for way, part in however_written(spoken):
            names.setdefault(way, part)
        self._called: Mapping[str, str] = {**names, **{name: name for name in compiled.names}}
        self._same = dict(pair.split("=") for pair in spellings("typed.same-words"))
        self._ignored, self._sides = (set(spellings(code)) for code in ("typed.part-fillers", "typed.side"))
        self._names = [(self._telling(name.split("-")), part) for name, part in self._called.items()]
        others = [(self._telling(name.split("-")), part) for name, part in self._other_words(compiled)]
        self._meant = [*self._names, *others]

    def _other_words(self, compiled: CompiledProfile) -> Iterator[tuple[str, str]]:
        """Yields other words for parts, and each part that they may mean: of a part that this dog lacks, what lies about it."""
        others: dict[str, list[str]] = {}
        for words, part in (other.split("=") for other in spellings("typed.other-words")):
            for way in written_ways(_joined(words)):
                others.setdefault(way, []).append(part)

        def on_this_dog(part: str) -> Iterator[str]:
            if part in compiled.names:
                yield part
                return
            for other in others.get(part, ()):
                yield from on_this_dog(other)

        for words, parts in others.items():
            if words not in self._called:
                for part in parts:
                    yield from ((words, other) for other in on_this_dog(part))

    def named(self, text: str) -> NamedPart | None:
        """Returns the part that a text names; None where it names none, or may mean several."""
        words = _split(text)
        if words and (exact := self._called.get("-".join(words))) is not None:
            return NamedPart(exact, text)
        plain = self._without_side(words)
        for parts, shortened in self._candidates(plain):
            if parts:
                return NamedPart(parts[0], text, shortened, plain != words) if len(parts) == 1 else None
        return None

    def meant(self, text: str) -> tuple[str, ...]:
        """Returns every part that a text may mean."""
        return next((tuple(parts) for parts, _ in self._candidates(self._without_side(_split(text))) if parts), ())

    def is_like_one(self, word: str) -> bool:
        """Whether a word means several parts, or is spelt much like one, or another word for one."""
        from difflib import get_close_matches  # only for mistakes

        known = {part for name, _ in self._meant for part in name}
        return bool(self.meant(word)) or bool(get_close_matches(word.lower(), known, n=1, cutoff=LIKE))

    def _without_side(self, words: list[str]) -> list[str]:
        """The words without those for a side; behind the part "left" says that nothing was done there."""
        left = spellings("typed.left")
        return [word for number, word in enumerate(words) if word not in self._sides or (number > 0 and word in left)]

    def _candidates(self, words: Sequence[str]) -> Iterator[tuple[list[str], bool]]:
        """The parts that go by just these words, by these in another number, then those whose names they shorten; then the same of
        other words for these. Of each, whether the words shorten a name."""
        telling = self._telling(words)
        if not words or words[-1] in self._ignored:
            return
        yield self._where(telling.__eq__, self._meant), False
        if all(len(word) >= LEAST_LETTERS for word in telling):
            for called in (telling, [self._same.get(word, word) for word in telling]):
                yield self._where(partial(_the_same, called), self._meant), False
                yield self._where(partial(_shortens, called), self._names), True

    def _where(self, matches: Callable[[Sequence[str]], bool], names: Sequence[tuple[Sequence[str], str]]) -> list[str]:
        """The parts with such a name, of those with the same regions the first."""
        found: dict[frozenset[str], str] = {}
        for known, part in names:
            if matches(known):
                found.setdefault(frozenset(self._regions[part]), part)
        return list(found.values())

    def _telling(self, words: Sequence[str]) -> list[str]:
        return [word for word in words if word not in self._ignored] or list(words)


def part_named(compiled: CompiledProfile, text: str) -> str:
    """Returns the part of the dog that a text names, as people name them; raises ``InputError`` for none, and for a word that may
    mean several."""
    if text.strip() in compiled.names:
        return text.strip()
    parts = Parts(compiled)
    if (found := parts.named(text)) is not None:
        return found.id
    raise InputError([_unknown(compiled, text, parts.meant(text))])


def _unknown(compiled: CompiledProfile, text: str, meant: Sequence[str]) -> Problem:
    params = {"profile": compiled.profile.id, "name": text}
    return Problem(code="several-parts" if meant else "unknown-part", params=params, fix=part_fix(compiled, text))


def part_fix(compiled: CompiledProfile, text: str) -> Message | None:
    """Returns the fix of a text that names no part, or several: those that it may mean, or else what is spelt alike."""
    shown = parts_shown(compiled)
    if meant := Parts(compiled).meant(text):
        return use_one_of([shown[part] for part in meant])
    return nearest_fix(text, shown.values())


def parts_shown(compiled: CompiledProfile) -> dict[str, str]:
    """Returns every part by what it is called where the language in force has a name of its own for it, else by its id."""
    labels = {region: found.region.label for region, found in compiled.regions.items()}
    return {name: called(name, labels.get(name, "")) for name in compiled.names}


def names_whole(line: str, compiled: CompiledProfile) -> str:
    """Returns the line with the ids of parts whose names hold a comma or an "and", as in "Tail, underside": elsewhere these part
    what is said of two."""
    between = rf",\s*|\s(?:{either('typed.and')})\s"
    for words, part in sorted(_spoken_names(compiled), key=lambda pair: len(pair[0]), reverse=True):
        if re.search(between, words):
            as_typed = r"\s*".join(map(re.escape, re.split(r"(?<=,)\s*|\s+", words)))
            line = re.sub(rf"(?<!\w){as_typed}(?!\w)", part, line, flags=re.IGNORECASE)
    return line


def _spoken_names(compiled: CompiledProfile) -> Iterator[tuple[str, str]]:
    """What each part is called in the language in force, and its id."""
    for name in compiled.names:
        region = compiled.regions.get(name)
        yield say.own(region.region.label if region else name.replace("-", " ")), name


def _split(text: str) -> list[str]:
    return re.findall(r"[^\s,-]+", small(text))


def _joined(text: str) -> str:
    return "-".join(_split(text))


def _the_same(words: Sequence[str], known: Sequence[str]) -> bool:
    """Whether a name has these words, each in the singular or the plural, in any order, written as one or apart."""
    return _one_number("".join(words), "".join(known)) or (
        len(words) == len(known) and all(any(_one_number(word, other) for other in known) for word in words)
    )


def _shortens(words: Sequence[str], known: Sequence[str]) -> bool:
    """Whether a name begins with the first of these words, or a word that begins so, and has the others."""
    return _begins(words[0], known[0]) and all(any(_begins(word, other) for other in known) for word in words)


def _one_number(word: str, other: str) -> bool:
    """Whether two words are the singular and the plural of one."""
    short, long = sorted((word, other), key=len)
    return len(short) >= LEAST_LETTERS and long.startswith(short) and len(long) - len(short) <= ENDING


def _begins(word: str, name: str) -> bool:
    return name.startswith(word) or _one_number(word, name)
