"""A profile's id against the name of its file: profiles are found by the one and named by the other."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import PurePath

from coatrules.check.subject import Subject
from coatrules.problems import Problem


def id_and_file(subject: Subject) -> Iterator[Problem]:
    """An id that is not the file's name: histories and other profiles that name it would not find it."""
    file, _, _ = subject.profile.origin.place(("id",))
    stem = PurePath(file).stem
    if file and stem != subject.profile.id:
        yield subject.problem("id-not-file", {"id": subject.profile.id, "file": stem}, "id")
