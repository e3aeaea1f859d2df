"""Which regions the parts of a profile stand for."""

from __future__ import annotations

from collections.abc import Iterable

from coatrules.profile.model import Profile


def expand(profile: Profile, names: Iterable[str]) -> tuple[str, ...]:
    """The regions that regions and groups name, in the dog's order. Names and groups must be sound (``references``)."""
    found: set[str] = set()
    todo = list(names)
    while todo:
        name = todo.pop()
        if name not in found:
            found.add(name)
            todo.extend(profile.groups.get(name, ()))
    return tuple(region for region in profile.regions if region in found)
