"""Where profiles are found by their ids: folders, mappings and functions of the caller, in turn, then the packaged library."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from coatrules.catalogue.speaking import say
from coatrules.disk import read
from coatrules.formats.documents import read_file
from coatrules.formats.resources import folder
from coatrules.formats.values import ID_PATTERN, matches
from coatrules.problems import InputError, Problem
from coatrules.reading import MAX_BYTES, Document

Shelf = (
    str
    | Path
    | Mapping[str, Mapping[str, Any]]
    | Mapping[str, Document]
    | Callable[[str], Mapping[str, Any] | Document | None]
)
"""A folder of files named by id, profiles as plain data (or as they were read) by id, or a function from an id to such a profile, None
where it has none (a database, say). The same id must always give the same profile."""

Found = Path | Mapping[str, Any] | Document


def checked_shelves(shelves: Iterable[Shelf]) -> tuple[Shelf, ...]:
    """Returns the shelves of another program; raises ``InputError`` for one that is given without a list around it, whose letters or
    keys would be taken for folders, and for folders that are not there."""
    if isinstance(shelves, str | Path | Mapping) or callable(shelves) or not isinstance(shelves, Iterable):
        raise InputError([Problem(code="shelves-no-list")])
    shelves = tuple(shelves)
    others = [shelf for shelf in shelves if not isinstance(shelf, Mapping) and not callable(shelf)]
    missing = [shelf for shelf in others if not isinstance(shelf, str | Path) or not os.path.isdir(shelf)]
    if missing:
        raise InputError([Problem(code="no-folder", params={"folder": str(folder)}) for folder in missing])
    return shelves


def found(name: str, shelves: Iterable[Shelf]) -> Found | None:
    """Returns the file or the data of the profile with this id, from the first shelf that has it."""
    for shelf in (*shelves, folder("profiles")):
        profile = found_on(shelf, name)
        if profile is not None:
            return profile
    return None


def found_on(shelf: Shelf, name: str) -> Found | None:
    """Returns what one shelf has under an id."""
    if isinstance(shelf, Mapping):
        return shelf.get(name)
    return shelf(name) if callable(shelf) else _file(name, Path(shelf))


def ids(shelves: Iterable[Shelf] = ()) -> list[str]:
    """Returns the ids of all profiles that can be listed, sorted; a function cannot say what it has."""
    names: set[str] = set()
    for shelf in (*shelves, folder("profiles")):
        if isinstance(shelf, Mapping):
            names |= shelf.keys()
        elif not callable(shelf):
            names |= {file.stem for file in files(Path(shelf))}
    return sorted(names)


def profile_ids(shelves: Iterable[Shelf] = ()) -> list[str]:
    """Returns ``ids`` without those of files that hold something else: dogs' histories may lie in a folder of profiles."""
    folders = [Path(shelf) for shelf in shelves if not isinstance(shelf, Mapping) and not callable(shelf)]
    others = {file.stem for one in folders for file in files(one) if not _holds_profile(file)}
    return [name for name in ids(shelves) if name not in others]


def _holds_profile(file: Path) -> bool:
    with suppress(InputError):
        return _OF_A_DOG.search(read(file, MAX_BYTES)) is None
    return True  # whatever is wrong with it is told elsewhere


_OF_A_DOG: Final = re.compile(rb"^dog\s*:", re.MULTILINE)
"""How a dog's history begins; a folder may hold thousands, so none is read further."""


def labels(shelves: Iterable[Shelf]) -> dict[str, str]:
    """Returns the names of all profiles that can be listed, by id, in the language that is spoken; empty where one has none, or
    does not read."""
    named = {}
    for name in ids(shelves):
        label = ""
        with suppress(InputError):
            source = found(name, shelves)
            documents = read_file(source) if isinstance(source, Path) else [source]
            data = [one.data if isinstance(one, Document) else one for one in documents]
            label = str(data[0].get("label", "")) if data and isinstance(data[0], Mapping) else ""
        named[name] = say.own(label)
    return named


def library(folders: Iterable[str | Path] = ()) -> dict[str, Path]:
    """Returns the files of all profiles by id: those of ``folders`` first, then the packaged ones."""
    library: dict[str, Path] = {}
    for shelf in (*map(Path, folders), folder("profiles")):
        for file in files(shelf):
            library.setdefault(file.stem, file)
    return library


SUFFIXES: Final = (".yaml", ".yml")
"""What the names of files of profiles end on; of two of one name the first counts."""


def files(shelf: Path) -> Iterator[Path]:
    """Yields the profiles of a folder, sorted."""
    found = {file.stem: file for suffix in reversed(SUFFIXES) for file in shelf.glob(f"*{suffix}") if stays(file)}
    return iter(sorted(found.values(), key=str))


def _file(name: str, shelf: Path) -> Path | None:
    if not matches(ID_PATTERN, name):  # no path is made of it
        return next((file for file in files(shelf) if file.stem == name), None)
    for suffix in SUFFIXES:
        file = shelf / f"{name}{suffix}"
        if os.path.exists(file) and stays(file):  # unlike the path's own way, no name is too long to ask for
            return file
    return None


def stays(file: Path) -> bool:
    """Whether a file lies in its folder: a link may lead out of it."""
    try:
        return not file.is_symlink() or file.resolve().parent == file.parent.resolve()
    except (OSError, RuntimeError):  # a ring of links leads nowhere
        return False


def label_from_id(name: str) -> str:
    """Returns an id as people read it: ``our-borders`` as 'Our borders'."""
    return name.replace("-", " ").capitalize()
