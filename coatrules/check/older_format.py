"""Figures of an older format that this one cannot carry."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from coatrules.check.subject import Subject
from coatrules.problems import Problem
from coatrules.profile.format1 import early_coats
from coatrules.profile.loading import newest
from coatrules.profile.merging import inherited, merge_profile


def blown_before_grown(subject: Subject) -> Iterator[Problem]:
    """Coats of format 1 whose hair was dead before it had grown out; they are taken to rest a week."""
    parts = subject.profile.origin.parts
    if not parts or parts[0][1].data.get("format") != 1:
        return
    merged: Any = {}
    for _, ancestor in reversed(parts[1:]):
        taken = inherited(merged)
        merged = merge_profile(taken, newest(ancestor.data, taken))
    own = parts[0][1].data
    for name in early_coats(own, merged):
        path = ("coats", name, "blown_weeks")
        params = {"coat": name, "blown": own["coats"][name]["blown_weeks"]}
        yield subject.profile.origin.problem_at(path, "blown-before-grown", params, severity="warning")
