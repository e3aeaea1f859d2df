"""Which profiles build on which: those in a folder, and all that depend on one."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Mapping
from functools import cache
from pathlib import Path
from typing import NamedTuple

from coatrules.disk import files_below, read
from coatrules.formats.documents import read_one
from coatrules.problems import InputError
from coatrules.profile.house_rules import HOUSE_RULES, house_rules
from coatrules.profile.shelves import SUFFIXES, library, stays
from coatrules.reading import MAX_BYTES, Document

_PROFILE = re.compile(r"^(extends|regions|coats|layer_targets|rules)\s*:", re.MULTILINE)
_HISTORY = re.compile(r"""^(dog\s*:|visit\s*:\s*["']?\d)""", re.MULTILINE)
_EXTENDS = re.compile(r"""^extends\s*:\s*["']?([a-z][a-z0-9-]*)""", re.MULTILINE)
_ID = re.compile(r"""^id\s*:\s*["']?([a-z][a-z0-9-]*)""", re.MULTILINE)


def is_profile(text: str) -> bool:
    """Whether a text looks like a profile, though it may be broken; a dog's history and any other YAML do not."""
    return _PROFILE.search(text) is not None and _HISTORY.search(text) is None


def base_named(text: str) -> str | None:
    """The id of the profile that a text builds on, though the text may be broken; None where it names none."""
    found = _EXTENDS.search(text)
    return found[1] if found is not None else None


def profiles_in(folder: Path) -> list[Path]:
    """The files of a folder and of those within it that look like profiles, sorted; hidden ones and links that lead out are left."""
    inside = (file for file in files_below(folder) if file.suffix in SUFFIXES)
    return [file for file in sorted(inside, key=str) if stays(file) and is_profile(_text(file))]


def folders_of(files: Iterable[Path]) -> list[Path]:
    """The folders that files lie in, each once."""
    return list(dict.fromkeys(file.parent for file in files))


def id_of(file: Path) -> str:
    """The id that a profile's file says, though it may be broken; its name where it says none."""
    found = _ID.search(_text(file))
    return found[1] if found is not None else file.stem


class Graph(NamedTuple):
    """Profiles by id: their files, and what each builds on."""

    files: Mapping[str, Path]
    bases: Mapping[str, str | None]

    def dependants(self, name: str) -> dict[str, Path]:
        """The profiles that build on one, directly or not, by id: sorted, without itself."""
        return {one: file for one, file in sorted(self.files.items()) if one != name and name in self._chain(one)}

    def _chain(self, name: str) -> Iterator[str]:
        seen: set[str] = set()
        base = self.bases.get(name)
        while base is not None and base not in seen:
            seen.add(base)
            yield base
            base = self.bases.get(base)


def graph_of(folders: Iterable[str | Path]) -> Graph:
    """The profiles of folders and of the packaged library, as far as they can be read."""
    files = library(folders)
    return Graph(files, {name: base_named(_text(file)) for name, file in files.items()})


def bound(folders: Iterable[str | Path], named: Collection[str] | None = None) -> list[str]:
    """The ids of the profiles over which the house rules of folders are laid; none where these cannot be read. ``named``: only those of
    these, but all where the house rules themselves are among them."""
    folders = tuple(folders)

    @cache
    def read_once(file: Path) -> Document:
        return read_one(file, "second-profile")

    asked = None if named is None or HOUSE_RULES in named else named
    names = [name for name in sorted(library(folders)) if asked is None or name in asked]
    try:
        return [name for name in names if any(True for _ in house_rules(name, folders, read_once))]
    except InputError:
        return []


def laid_over(old: Iterable[str | Path], new: Iterable[str | Path]) -> set[str]:
    """The ids of the profiles over which the house rules of folders are laid, where these are others than those in ``old``."""
    shelves = [tuple(folders) for folders in (old, new)]
    files = [library(folders).get(HOUSE_RULES) for folders in shelves]
    if len({None if file is None else _text(file) for file in files}) < len(files):
        return set()
    return {name for folders in shelves for name in bound(folders)}


def _text(file: Path) -> str:
    """What a file holds, as far as it can be read."""
    try:
        return read(file, MAX_BYTES).decode(errors="replace")
    except InputError:
        return ""
