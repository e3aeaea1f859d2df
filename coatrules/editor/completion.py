"""What can be written at a place of a profile: keys by the schema, names by what the profile has and takes over."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Literal

from attrs import frozen

from coatrules.catalogue.message import Message, message
from coatrules.editor.cursor import Context, context
from coatrules.editor.profile_text import Merged
from coatrules.formats.keys import about, keys, values
from coatrules.formats.resources import schema
from coatrules.problems import Path as ValuePath
from coatrules.profile.references import WITH_REGIONS
from coatrules.profile.shelves import Shelf, ids

SECTIONS_OF_IDS = ("sources", "coats", "groups", "regions", "comparisons", *WITH_REGIONS)
PARTS = ("regions", "groups")
HISTORY_PARTS = (*PARTS, "sensitive_zones", "clipper_only_zones")


@frozen(kw_only=True)
class Choice:
    """One thing that can be written: ``text`` takes the place of the line's characters from ``start`` to the cursor."""

    text: str
    start: int
    kind: Literal["key", "name", "value"]
    note: Message | None = None
    meaning: str = ""


def choices(text: str, line: int, column: int, merged: Merged, shelves: Sequence[Shelf] = ()) -> list[Choice]:
    """Returns what can be written at a line and column (from 0) of a text, in the order of the schema and of the profile."""
    here = context(text, line, column)
    found: list[Choice] = []
    if here.kind != "value":
        found += _keys(here, merged)
    if here.kind != "key":
        found += _values(here, merged, shelves)
    return [choice for choice in found if choice.text.startswith(here.prefix.strip("\"'"))]


def _keys(here: Context, merged: Merged) -> Iterable[Choice]:
    known = keys(here.path)
    for name, what in known.items():
        yield Choice(text=name, start=here.start, kind="key", meaning=what.get("description", ""))
    for section in names_as_keys(here.path):
        for name in merged.names(section):
            if name not in known:
                meaning = about((*here.path, name)).get("description", "")
                yield Choice(
                    text=name, start=here.start, kind="name", note=_from(merged, section, name), meaning=meaning
                )


def _values(here: Context, merged: Merged, shelves: Sequence[Shelf]) -> Iterable[Choice]:
    for word in values(here.path):
        yield Choice(text=word, start=here.start, kind="value")
    if here.path == ("extends",):
        for name in ids(shelves):
            yield Choice(text=name, start=here.start, kind="name")
    if here.path[:1] == ("comparisons",) and here.path[2:] == ("fact",):
        for name, fact in schema("facts")["properties"].items():
            if fact["type"] in ("number", "integer"):
                yield Choice(text=name, start=here.start, kind="name", meaning=fact["description"])
    for section in names_as_values(here.path):
        for name in merged.names(section):
            yield Choice(text=name, start=here.start, kind="name", note=_from(merged, section, name))


def _from(merged: Merged, section: str, name: str) -> Message | None:
    file, line, _ = merged.origin.place((section, name), key=True)
    return message("editor.written-in", file=Path(file).name, line=line) if file else None


def names_as_keys(path: ValuePath) -> tuple[str, ...]:
    """The sections of which ids, or facts of the profile's own, can be keys of the mapping at a path."""
    match path:
        case (str(section),) if section in SECTIONS_OF_IDS:
            return (section,)
        case ("cases", _, "expect", "regions"):
            return ("regions",)
        case ("cases", _, "history", "arrival") | ("cases", _, "history", "visits", _, "work" | "seen" | "reactions"):
            return HISTORY_PARTS
        case ("rules" | "methods", _, "if", *steps) if not _within_fact(steps):
            return ("comparisons",)
        case ("cases", _, "expect", "regions", _, *steps) if not _within_fact(steps):
            return ("comparisons",)
    return ()


def names_as_values(path: ValuePath) -> tuple[str, ...]:
    """The sections of which ids can be the value at a path."""
    match path:
        case ("groups", _, int()) | (_, _, "regions", int()) | ("comparisons", _, "of" | "to"):
            return PARTS
        case ("regions", _, "coat"):
            return ("coats",)
        case ("methods", _, "then") | ("rules", _, "then", "use"):
            return ("methods",)
        case ("cases", _, "expect", "rules" | "not_rules", int()):
            return ("rules",)
        case ("cases", _, "expect", "steps", int()):
            return ("regions",)
        case ("cases", _, "history", "visits", _, "put_off", int()):
            return HISTORY_PARTS
        case (*_, "source") | (*_, "source", _):
            return ("sources",)
    facts = [step for step in path if step in ("region", "groups", "coat", "method")]
    if facts and ("if" in path or "expect" in path):
        return {"region": ("regions",), "groups": ("groups",), "coat": ("coats",), "method": ("methods",)}[
            str(facts[0])
        ]
    return ()


def _within_fact(steps: Sequence[str | int]) -> bool:
    """Whether what is left of a path in a condition leads into what a fact must be."""
    return any(step not in ("anyOf", "allOf", "not") and not isinstance(step, int) for step in steps)
