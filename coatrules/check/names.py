"""What a profile is called: its id against the name of its file, its label against that of the profile it builds on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import PurePath
from typing import Any

from coatrules.check.subject import Subject
from coatrules.problems import Path, Problem
from coatrules.profile.shelves import label_from_id


def id_and_file(subject: Subject) -> Iterator[Problem]:
    """An id that is not the file's name: histories and other profiles that name it would not find it."""
    file, _, _ = subject.profile.origin.place(("id",))
    stem = PurePath(file).stem
    if file and stem != subject.profile.id:
        yield subject.problem("id-not-file", {"id": subject.profile.id, "file": stem}, "id")


def own_head(subject: Subject) -> Iterator[Problem]:
    """A label, or a format, that is not the profile's own: on a dog's sheet nobody could tell it from the one it builds on."""
    profile = subject.profile
    if profile.extends is None or profile.regime is not None or not subject.chain:
        return  # in a regime it is called as the regime is
    written, *bases = [document.data for document in subject.chain]
    if profile.label == next((base["label"] for base in bases if "label" in base), None):
        params = {"label": profile.label, "base": profile.extends, "own": label_from_id(profile.id)}
        path = ("label",) if "label" in written else ("id",)
        yield subject.problem("label-not-own", params, *path)
    if "format" not in written:
        yield subject.problem("format-not-own", {"format": profile.format}, "id")


def listed_twice(subject: Subject) -> Iterator[Problem]:
    """A name that stands twice in one list: most likely another was meant."""
    if subject.profile.regime is None and subject.chain:
        for path, name in _repeated(subject.chain[0].data, ()):
            yield subject.problem("listed-twice", {"name": name}, *path)


def _repeated(data: Any, path: Path) -> Iterator[tuple[Path, str]]:
    """Every name that was in its list before, with the path to it."""
    entries = data.items() if isinstance(data, Mapping) else enumerate(data) if isinstance(data, list) else ()
    for key, value in entries:
        if isinstance(data, list) and isinstance(value, str) and value in data[:key]:
            yield (*path, key), value
        yield from _repeated(value, (*path, key))
