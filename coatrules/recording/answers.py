"""A line in which a groomer says what went otherwise than planned, applied to the visit piece by piece.

``back 1/5, toes left; beard stop, loin sore; 80 min; note: tired`` says six things; one that is not understood takes nothing from
the others.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any, get_args

from coatrules.catalogue.speaking import called, say
from coatrules.formats.plain import checked_text
from coatrules.formats.values import Reaction
from coatrules.problems import InputError, Problem, nearest_fix
from coatrules.profile.compiled import CompiledProfile
from coatrules.recording import typed
from coatrules.recording.entry import put_off, set_work
from coatrules.recording.typed import NotUnderstood, spellings

_APART = re.compile(r";|(?<!\d),|,(?!\d)")  # no decimal comma


def part_named(compiled: CompiledProfile, text: str) -> str:
    """Returns the part of the dog that a text names by its id or in the language in force, capitals and spaces as people type them;
    raises ``InputError`` for none."""
    if text.strip() in compiled.names:
        return text.strip()
    if (name := _called(compiled).get(_as_typed(text))) is not None:
        return name
    params = {"profile": compiled.profile.id, "name": text}
    raise InputError([Problem(code="unknown-part", params=params, fix=nearest_fix(text, parts_shown(compiled)))])


def _called(compiled: CompiledProfile) -> dict[str, str]:
    """The parts by what people call them: by the labels of regions, by the names of groups, by their ids before all."""
    labels = {_as_typed(say.own(found.region.label)): region for region, found in compiled.regions.items()}
    groups = {
        _as_typed(say.own(name.replace("-", " "))): name for name in compiled.names if name not in compiled.regions
    }
    return {**labels, **groups, **{name: name for name in compiled.names}}


def parts_shown(compiled: CompiledProfile) -> tuple[str, ...]:
    """Returns every part by what it is called where the language in force has a name of its own for it, else by its id."""
    labels = {region: found.region.label for region, found in compiled.regions.items()}
    return tuple(called(name, labels.get(name, "")) for name in compiled.names)


def _as_typed(text: str) -> str:
    return "-".join(re.findall(r"[^\s,-]+", text.lower()))


def see(visit: dict[str, Any], by_part: Mapping[str, Mapping[str, Any]], compiled: CompiledProfile) -> None:
    """Adds what was seen to a visit (plain data), by the parts as people type them; raises ``InputError`` for an unknown one."""
    for part, words in by_part.items():
        visit.setdefault("seen", {}).setdefault(part_named(compiled, checked_text(part)), {}).update(words)


def see_typed(visit: dict[str, Any], text: str, compiled: CompiledProfile) -> None:
    """Adds what a text says was seen (``typed.seen``) to a visit (plain data); raises ``InputError`` for an unknown part."""
    see(visit, typed.seen(_names_whole(text, compiled)), compiled)


def _names_whole(line: str, compiled: CompiledProfile) -> str:
    """The line without the commas within names of parts, as in "Tail, underside": others part what is said of two."""
    shown = {say.own(found.region.label) for found in compiled.regions.values()}
    for name in sorted((name for name in shown if "," in name), key=len, reverse=True):
        words = r",\s*".join(map(re.escape, re.split(r",\s*", name)))
        line = re.sub(rf"(?<!\w){words}(?!\w)", lambda found: found[0].replace(",", " "), line, flags=re.IGNORECASE)
    return line


def items(line: str, compiled: CompiledProfile) -> Iterator[str]:
    """Yields what a line says, one thing each; a note takes the rest of the line."""
    line = _names_whole(line, compiled)
    note = re.search(rf"(?:^|[;,])\s*((?:{_either('typed.note')})\s*:.*)$", line, re.IGNORECASE | re.DOTALL)
    for item in _APART.split(line[: note.start()] if note else line):
        if item.strip():
            yield item.strip()
    if note:
        yield note[1]


def apply(visit: dict[str, Any], item: str, compiled: CompiledProfile) -> None:
    """Changes a visit (plain data by the schema) as one item of a line says; raises ``NotUnderstood`` or ``InputError``, and then
    nothing is changed."""
    if matched := re.match(rf"(?:{_either('typed.note')})\s*:\s*(\S.*)", item, re.IGNORECASE | re.DOTALL):
        visit["note"] = " ".join([*filter(None, [visit.get("note")]), " ".join(matched[1].split())])
    elif (minutes := _took(item)) is not None:
        visit["minutes"] = minutes
    else:
        part, rest = _part(compiled, item)
        for kind, value in list(_phrases(rest, item)):
            _APPLIED[kind](visit, part, value, compiled)


def _took(item: str) -> float | None:
    matched = re.fullmatch(rf"(?:{_either('typed.took')})\s+(.+)", item, re.IGNORECASE)
    return _minutes(matched[1], needs_unit=False) if matched else _minutes(item)


def _minutes(text: str, *, needs_unit: bool = True) -> float | None:
    matched = re.fullmatch(rf"(\S+?)\s*({_either('typed.minutes')})?", text.strip(), re.IGNORECASE)
    return None if matched is None or (needs_unit and not matched[2]) else typed.number(matched[1])


def _part(compiled: CompiledProfile, item: str) -> tuple[str, str]:
    """Returns the part that an item begins with, as long a name as there is, and what is said of it."""
    words = re.sub(r"^([^=:]*?)\s*[=:]", r"\1 ", item).split()
    called = _called(compiled)
    for count in range(len(words) - 1, 0, -1):
        name = called.get(_as_typed(" ".join(words[:count])))
        if name is not None:
            return name, " ".join(words[count:])
    if len(words) > 1:
        return part_named(compiled, words[0]), ""
    raise NotUnderstood("typed.except", text=item)


def _phrases(rest: str, item: str) -> Iterator[tuple[str, Any]]:
    """Yields what is said of a part: as long phrases as are understood, one after the other."""
    words = rest.split()
    while words:
        for count in range(len(words), 0, -1):
            phrase = _phrase(" ".join(words[:count]))
            if phrase is not None:
                yield phrase
                del words[:count]
                break
        else:
            raise NotUnderstood("typed.except", text=item)


def _phrase(text: str) -> tuple[str, Any] | None:
    if typed.typed_as(text, "typed.left"):
        return "left", None
    if (reaction := typed.key_typed(text, "typed.reaction", get_args(Reaction))) is not None:
        return "reaction", reaction
    if (minutes := _minutes(text)) is not None:
        return "work", {"minutes": minutes}
    for kind, parse in (("seen", typed.seen_word), ("work", typed.work)):
        try:
            return kind, parse(text)
        except NotUnderstood:
            continue
    return None


def _either(code: str) -> str:
    return "|".join(map(re.escape, spellings(code)))


def _put_off(visit: dict[str, Any], part: str, value: Any, compiled: CompiledProfile) -> None:
    put_off(visit, part, compiled)


def _react(visit: dict[str, Any], part: str, value: Any, compiled: CompiledProfile) -> None:
    visit.setdefault("reactions", {})[part] = value


def _see(visit: dict[str, Any], part: str, value: Any, compiled: CompiledProfile) -> None:
    see(visit, {part: dict([value])}, compiled)


_APPLIED = {"left": _put_off, "reaction": _react, "seen": _see, "work": set_work}
