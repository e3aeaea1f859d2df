"""Where on the dog each region lies: the floor must be able to tell."""

from __future__ import annotations

from collections.abc import Iterator

from coatrules.check.subject import Subject
from coatrules.problems import Problem


def unknown_places(subject: Subject) -> Iterator[Problem]:
    """Yields an error for each region of which nobody can tell where it lies: nothing is ever pulled there."""
    for name, region in subject.compiled.regions.items():
        if region.place is None:
            yield subject.profile.origin.problem_at(("regions", name), "anatomy-missing", {"region": name}, key=True)
