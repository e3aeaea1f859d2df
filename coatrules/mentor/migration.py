"""Brings a profile written in an older format to the newest, in its text: comments and all that is not meant stay as written.

A step leads from one format to the next. It looks at the data and says what to edit; the edits are made where the data was
written. Steps are made one after the other until the newest format is reached.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, Final

import yaml
from attrs import frozen

from coatrules.catalogue.speaking import say
from coatrules.problems import InputError, Path, Problem, path_text
from coatrules.profile.format1 import rests_of
from coatrules.reading import Document, read_yaml

NEWEST: Final = 2
"""The format that this version reads and writes."""


@frozen
class Edit:
    """One edit at a path: ``key`` is the key's new name, ``value`` the new scalar as YAML; None leaves it as it is. ``note``: a
    comment on a line of its own above the part, the top-level key and the key below it, that holds the path."""

    path: Path
    key: str | None = None
    value: str | None = None
    note: str | None = None


Step = Callable[[Any], Iterable[Edit]]
"""From the data of one format to the edits that make it the next; the ``format`` itself is seen to."""


def _ripening(data: Any) -> Iterator[Edit]:
    """From format 1 to 2: hair grows and rests, and is blown by that. A figure that cannot be carried stays as a comment."""
    coats = data.get("coats") if isinstance(data, Mapping) else None
    for name, coat in coats.items() if isinstance(coats, Mapping) else ():
        if not isinstance(coat, Mapping):
            continue
        path: Path = ("coats", name)
        if "breakthrough_weeks" in coat:
            yield Edit((*path, "breakthrough_weeks"), key="lag_weeks")
        if coat.get("blown_weeks") is not None:
            rests, early = rests_of(coat, {})
            figure = f"{coat['blown_weeks']:g}"
            if rests is None:
                # What it inherits is not known here; eight weeks is what coats are taken to rest.
                yield Edit(
                    (*path, "blown_weeks"),
                    key="rests_weeks",
                    value="8",
                    note=say("migrate.check-figure", figure=figure),
                )
            else:
                left = say("migrate.early-figure", figure=figure) if early else None
                yield Edit((*path, "blown_weeks"), key="rests_weeks", value=f"{rests:g}", note=left)
        source = coat.get("source")
        for old, new in (("breakthrough_weeks", "lag_weeks"), ("blown_weeks", "rests_weeks")):
            if isinstance(source, Mapping) and old in source:
                yield Edit((*path, "source", old), key=new)


STEPS: Final[Mapping[int, Step]] = {1: _ripening}
"""The steps there are, each by the format that it starts from."""


def migrated(text: str, file: str = "<text>", *, steps: Mapping[int, Step] = STEPS, newest: int = NEWEST) -> str:
    """The text in the newest format; the text itself where it is. ``InputError`` where its format is not known."""
    while True:
        document = _first_document(text, file)
        data = document.data
        number = data.get("format") if isinstance(data, Mapping) else None
        if number == newest and type(number) is int:
            return text
        if type(number) is not int or number not in steps or number > newest:
            line, column = document.places.place(("format",))
            raise InputError(
                [
                    Problem(
                        code="no-format" if number is None else "unknown-format",
                        params={"format": number, "formats": (*sorted(steps), newest), "newest": newest},
                        file=file,
                        line=line,
                        column=column,
                        path=("format",),
                    )
                ]
            )
        text = edited(text, [*steps[number](data), Edit(("format",), value=str(number + 1))])


def _first_document(text: str, file: str) -> Document:
    documents = read_yaml(text, file)
    if not documents:
        raise InputError([Problem(code="no-document", file=file)])
    return documents[0]


def edited(text: str, edits: Iterable[Edit]) -> str:
    """The text with all edits made; ``KeyError`` for a path that is not there, ``ValueError`` for a value that is no scalar."""
    root = yaml.compose(text, Loader=yaml.SafeLoader)
    spans: list[tuple[int, int, str]] = []
    for edit in edits:
        key, value = _nodes_at(root, edit.path)
        if edit.key is not None:
            spans.append((key.start_mark.index, key.end_mark.index, edit.key))
        if edit.value is not None:
            if not isinstance(value, yaml.ScalarNode) or value.style in ("|", ">"):
                raise ValueError(f"{path_text(edit.path)} is not a scalar on a line")
            spans.append((value.start_mark.index, value.end_mark.index, edit.value))
        if edit.note is not None:
            part, _ = _nodes_at(root, edit.path[:2])
            start = part.start_mark.index - part.start_mark.column
            spans.append((start, start, f"{' ' * part.start_mark.column}# {edit.note}\n"))
    for start, end, new in sorted(spans, reverse=True):  # from the end, so that what is before keeps its place
        text = text[:start] + new + text[end:]
    return text


def _nodes_at(node: Any, path: Path) -> tuple[yaml.Node, yaml.Node]:
    """The key and the value at a path; in a list both are the item."""
    key = node
    for part in path:
        if isinstance(node, yaml.SequenceNode) and isinstance(part, int) and part < len(node.value):
            key = node = node.value[part]
        elif isinstance(node, yaml.MappingNode):
            pairs = [pair for pair in node.value if pair[0].value == part]
            if not pairs:
                raise KeyError(path_text(path))
            key, node = pairs[0]
        else:
            raise KeyError(path_text(path))
    return key, node
