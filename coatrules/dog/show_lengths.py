"""The lengths wanted on a show day, where the dog's file or the command line says them and not the profile."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from attrs import evolve

from coatrules.dog.history import History
from coatrules.dog.loading import given_history
from coatrules.problems import InputError, Problem, nearest_fix
from coatrules.profile.model import Profile
from coatrules.read_only import ReadOnly


def wanted_lengths(history: History, lengths: Mapping[str, Sequence[float]]) -> History:
    """Returns the history as if its dog wanted these lengths too; itself where there are none. Raises ``InputError``."""
    if not lengths:
        return history
    own = given_history({"format": 1, "dog": {"id": history.dog.id, "show_mm": lengths}}).dog.show_mm
    return evolve(history, dog=evolve(history.dog, show_mm=ReadOnly({**history.dog.show_mm, **own})))


def with_show_lengths(profile: Profile, lengths: Mapping[str, tuple[float, ...]]) -> Profile:
    """Returns the profile with other show lengths, shortest and longest in mm, by layer target; raises ``InputError`` for a name that is
    none of its targets, and for a shortest that is longer than the longest."""
    problems = []
    for name, (shortest, longest) in lengths.items():
        if name not in profile.layer_targets:
            params = {"profile": profile.id, "name": name}
            problems.append(
                Problem(code="unknown-section", params=params, fix=nearest_fix(name, profile.layer_targets))
            )
        elif shortest > longest:
            problems.append(Problem(code="show-lengths", params={"shortest": shortest, "longest": longest}))
    if problems:
        raise InputError(problems)
    if all(profile.layer_targets[name].show_mm == show_mm for name, show_mm in lengths.items()):
        return profile
    targets = {
        name: evolve(target, show_mm=lengths[name]) if name in lengths else target
        for name, target in profile.layer_targets.items()
    }
    return evolve(profile, layer_targets=ReadOnly(targets))
