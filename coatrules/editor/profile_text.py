"""A profile as it stands in an editor, saved or not: its problems, and what it is with all that it builds on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from attrs import evolve, frozen

from coatrules.check import examine_text
from coatrules.formats.documents import NOWHERE, Origin
from coatrules.problems import InputError, Problem
from coatrules.problems import Path as ValuePath
from coatrules.profile.graph import base_named
from coatrules.profile.loading import chain_of, document_of, merged_profile, only_document
from coatrules.profile.shelves import Shelf
from coatrules.reading import Document, read_yaml


@frozen(kw_only=True)
class Merged:
    """A profile as plain data with all that it builds on, and where each part was written; ``inherited`` is what it takes over."""

    data: Mapping[str, Any]
    inherited: Mapping[str, Any]
    origin: Origin

    def names(self, section: str) -> tuple[str, ...]:
        """The ids that a section has or takes over, also where it is just begun; none where it is not written as it should be."""
        both = (self.data.get(section), self.inherited.get(section))
        return tuple(dict.fromkeys(name for inner in both if isinstance(inner, Mapping) for name in inner))

    def value(self, path: ValuePath) -> Any:
        """The value at a path; raises ``LookupError`` where there is none."""
        value: Any = self.data
        for step in path:
            match value, step:
                case (Mapping(), str()) | (list() | tuple(), int()):
                    value = value[step]
                case _:
                    raise LookupError(path)
        return value


NOTHING_MERGED = Merged(data={}, inherited={}, origin=NOWHERE)


def problems(text: str, file: str, shelves: Sequence[Shelf] = ()) -> list[Problem]:
    """All problems and findings of a profile, as ``coatrules check`` has them of a file."""
    searched = [*shelves, Path(file).parent]
    return examine_text(text, file, searched)


def merged(text: str, file: str, shelves: Sequence[Shelf] = ()) -> Merged:
    """The profile with all that it builds on; of a broken text, what it builds on alone."""
    searched = [*shelves, Path(file).parent]
    named = base_named(text)
    base = _merged(named, searched) if named is not None else NOTHING_MERGED
    try:
        own = _merged(only_document(read_yaml(text, file), file), searched)
    except InputError:
        return base
    return evolve(own, inherited=base.data) if own is not NOTHING_MERGED else base


def builds_on(text: str, file: str, other: str, shelves: Sequence[Shelf] = ()) -> bool:
    """Whether a profile builds on the one in another file; true also where that cannot be told, as something is broken."""
    try:
        own = document_of(text.encode(), Path(file))
        chain = chain_of(own, shelves=[*shelves, Path(file).parent])
    except InputError:
        return True
    return any(document.file == other for document in chain[1:])


def _merged(source: str | Document, shelves: Sequence[Shelf]) -> Merged:
    try:
        data, origin = merged_profile(source, shelves=shelves)
    except InputError:
        return NOTHING_MERGED
    return Merged(data=data, inherited=data, origin=origin)
