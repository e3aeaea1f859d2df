"""Finds profiles, merges what they extend, and loads them whole."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from attrs import evolve

from coatrules.formats.documents import Origin, idle_nulls, merge_patch, read_file, without_file
from coatrules.formats.resources import folder
from coatrules.formats.validation import empty_file, structured
from coatrules.formats.values import ID_PATTERN, matches
from coatrules.problems import InputError, Problem, nearest
from coatrules.problems import Path as ValuePath
from coatrules.profile.compiled import assigned
from coatrules.profile.floor import loosened
from coatrules.profile.model import Profile
from coatrules.profile.references import faults
from coatrules.reading import Document

LONGEST_CHAIN = 16
NOT_INHERITED = ("cases",)
"""What a profile does not take from the one it extends: its worked cases hold for its own figures only."""


def library(folders: Iterable[str | Path] = ()) -> dict[str, Path]:
    """All profiles by id: those of ``folders`` first, then the packaged ones."""
    found: dict[str, Path] = {}
    for place in (*map(Path, folders), folder("profiles")):
        for file in sorted(place.glob("*.yaml"), key=str):
            if _stays(file):
                found.setdefault(file.stem, file)
    return found


def located(name: str, folders: Iterable[str | Path] = ()) -> Path | None:
    """The file of the profile with this id, as ``library`` has it; None where there is none."""
    if not matches(ID_PATTERN, name):
        return library(folders).get(name)
    for place in (*map(Path, folders), folder("profiles")):
        file = place / f"{name}.yaml"
        if os.path.exists(file) and _stays(file):  # unlike the path's own way, no name is too long to ask for
            return file
    return None


def no_profile(name: str, folders: Iterable[str | Path], origin: Origin, path: ValuePath) -> InputError:
    """What to say where no profile has this id; ``origin`` and ``path``: where it was asked for."""
    hint = nearest(name, library(folders))
    return InputError([origin.problem("unknown-profile", f"there is no profile '{name}'", path, hint=hint)])


def _stays(file: Path) -> bool:
    """Whether a file lies in its folder: a link may lead out of it."""
    return not file.is_symlink() or file.resolve().parent == file.parent.resolve()


def load_profile(source: str | Path | Mapping[str, Any], *, folders: Iterable[str | Path] = ()) -> Profile:
    """A profile with all that it extends merged in, complete and free of errors.

    ``source`` is a profile's id (searched in ``folders``, then in the packaged library), a ``Path`` to a file, or the
    profile as plain data. Raises ``InputError`` with every problem found.
    """
    return checked_profile(*merged_profile(source, folders=folders))


def checked_profile(merged: Any, origin: Origin) -> Profile:
    """The profile of merged data; raises ``InputError`` with every problem found."""
    left_open = list(_left_open(origin))
    try:
        profile = structured(merged, Profile, "profile", origin)
    except InputError as error:
        told = {problem.path for problem in error.problems}
        raise InputError([*error.problems, *(p for p in left_open if p.path not in told)]) from error
    profile = evolve(profile, origin=origin)
    if problems := [*left_open, *faults(profile)]:
        raise InputError(problems)
    zones = assigned(profile, profile.sensitive_zones)
    if problems := list(loosened(profile, zones, assigned(profile, profile.clipper_only_zones))):
        raise InputError(problems)
    return profile


def _left_open(origin: Origin) -> Iterator[Problem]:
    """Keys without a value where nothing is inherited that they could take away: an unfinished 'if' would hold always."""
    if not any(path for _, document in origin.parts for path in idle_nulls({}, document.data)):
        return  # as nearly always: no need to merge it all again
    merged: Any = {}
    for _, document in reversed(origin.parts):
        own = Origin((((), document),))
        for path in idle_nulls(_inherited(merged), document.data):
            hint = "Fill it in, or take it away; nothing of this name is inherited."
            yield own.problem("no-value", f"'{path[-1]}' has no value", path, hint=hint, key=True)
        merged = merge_patch(_inherited(merged), document.data)


def _inherited(merged: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in merged.items() if key not in NOT_INHERITED}


def merged_profile(
    source: str | Path | Mapping[str, Any] | Document, *, folders: Iterable[str | Path] = ()
) -> tuple[Any, Origin]:
    """A profile as plain data with all that it extends merged in, not yet checked, and where each part was written."""
    folders = tuple(folders)
    if isinstance(source, Mapping):
        document = without_file(source)
    elif isinstance(source, Document):
        document = source
    elif isinstance(source, Path):
        document = _one(source)
    else:
        document = _one(_find(source, folders))
    chain = _chain(document, folders)
    merged: Any = {}
    for ancestor in reversed(chain):
        merged = merge_patch(_inherited(merged), ancestor.data)
    return merged, Origin(tuple(((), ancestor) for ancestor in chain))


def _one(file: Path) -> Document:
    return only_document(read_file(file), str(file))


def only_document(documents: Sequence[Document], file: str) -> Document:
    """The one document of a profile's file; raises ``InputError`` where there is none, or another, or it is no mapping."""
    start = "A profile starts with 'format: 1' and 'id:'; 'coatrules new profile' writes one."
    if not documents:
        raise empty_file(file, start)
    if len(documents) > 1:
        from coatrules.formats.schema_faults import other_kind  # only for mistakes

        first, second = (Origin((((), document),)) for document in documents[:2])
        problem = other_kind("profile", documents[0].data, first)  # a history has its visits after it
        if problem is None:
            hint = "Take out the line '---' before it, or put it in a file of its own."
            problem = second.problem("not-a-profile", "a second profile starts here; a file holds one", hint=hint)
        raise InputError([problem])
    if not isinstance(documents[0].data, dict):
        message = "a profile is made of keys with values"
        raise InputError([Origin((((), documents[0]),)).problem("not-a-profile", message, hint=start)])
    return documents[0]


def _find(name: str, folders: Sequence[str | Path]) -> Path:
    file = located(name, folders)
    if file is None:
        raise no_profile(name, folders, Origin(), ())
    return file


def _chain(document: Document, folders: Sequence[str | Path]) -> list[Document]:
    """The profile and all that it builds on, itself first."""
    chain = [document]
    seen = {str(document.data.get("id"))}
    while (name := chain[-1].data.get("extends")) is not None:
        origin = Origin((((), chain[-1]),))
        if not isinstance(name, str):
            hint = "Write one id, as in 'extends: points-of-the-dog'."
            raise InputError([origin.problem("extends", "a profile builds on one other", ("extends",), hint=hint)])
        if name in seen:
            hint = "Take 'extends' out of one of the profiles that build on one another."
            raise InputError([origin.problem("extends-loop", f"'{name}' builds on itself", ("extends",), hint=hint)])
        file = located(name, folders)
        if file is None:
            raise no_profile(name, folders, origin, ("extends",))
        if len(chain) == LONGEST_CHAIN:
            message = f"more than {LONGEST_CHAIN} profiles build on one another"
            raise InputError(
                [origin.problem("extends-far", message, ("extends",), hint="Build on a profile further down.")]
            )
        seen.add(name)
        chain.append(_one(file))
    return chain
