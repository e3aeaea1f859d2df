"""The lengths wanted on a show day, where the dog's file or the command line says them and not the profile."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet

from attrs import evolve

from coatrules.dog.history import History
from coatrules.dog.loading import given_history
from coatrules.problems import InputError, Problem, nearest_fix
from coatrules.profile.compiled import all_names, most_specific
from coatrules.profile.model import Profile
from coatrules.profile.parts import expand
from coatrules.read_only import ReadOnly


def wanted_lengths(history: History, lengths: Mapping[str, Sequence[float]]) -> History:
    """Returns the history as if its dog wanted these lengths too; itself where there are none. Raises ``InputError``."""
    if not lengths:
        return history
    own = given_history({"format": 1, "dog": {"id": history.dog.id, "show_mm": lengths}}).dog.show_mm
    return evolve(history, dog=evolve(history.dog, show_mm=ReadOnly({**history.dog.show_mm, **own})))


def with_show_lengths(profile: Profile, lengths: Mapping[str, tuple[float, ...]]) -> Profile:
    """Returns the profile with other show lengths, shortest and longest in mm, by layer target or by part (a region, a group, a zone;
    the smallest that holds a region has the last word, before its target); raises ``InputError`` for a name that is neither, for a
    part of which no hair is pulled, and for a shortest that is longer than the longest."""
    if not lengths:
        return profile
    targets, names = profile.layer_targets, all_names(profile)
    pulled = {region for target in targets.values() for region in expand(profile, target.regions)}
    problems = list(_problems(profile, lengths, names, pulled))
    if problems:
        raise InputError(problems)
    of_targets = {name: target for name, target in targets.items() if name in lengths}
    parts = most_specific([name for name in lengths if name not in targets], names)
    return evolve(
        profile,
        layer_targets=ReadOnly(
            {**targets, **{name: evolve(one, show_mm=lengths[name]) for name, one in of_targets.items()}}
        ),
        show_mm=ReadOnly({region: lengths[part] for region, part in parts.items() if region in pulled}),
    )


def _problems(
    profile: Profile,
    lengths: Mapping[str, tuple[float, ...]],
    names: Mapping[str, tuple[str, ...]],
    pulled: AbstractSet[str],
) -> Iterator[Problem]:
    for name, (shortest, longest) in lengths.items():
        params = {"profile": profile.id, "name": name}
        known = {*names, *profile.layer_targets}
        if name not in known:
            yield Problem(code="unknown-section", params=params, fix=nearest_fix(name, known))
        elif name not in profile.layer_targets and pulled.isdisjoint(names[name]):
            yield Problem(code="show-not-pulled", params={**params, "targets": tuple(profile.layer_targets)})
        elif shortest > longest:
            yield Problem(code="show-lengths", params={"shortest": shortest, "longest": longest})
