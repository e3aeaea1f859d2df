"""How a profile is merged into the one it extends: RFC 7396, with lists of names written as mappings, and regions removed."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from functools import cache
from types import UnionType
from typing import Annotated, Any, Final, Union, get_args, get_origin

from attrs import has

from coatrules.formats.documents import merge_patch
from coatrules.formats.structure import written
from coatrules.formats.values import EXTRA, MAPPINGS, NAMES
from coatrules.problems import Path
from coatrules.profile.model import Profile

NOT_INHERITED: Final = ("cases", "accept", "over")
"""What a profile does not take from the one it extends: worked cases hold for its own figures only, and so do findings accepted;
house rules say themselves over what they are laid."""
EACH: Final = "*"
"""In a pattern of a path: any key."""


def inherited(merged: Mapping[str, Any]) -> dict[str, Any]:
    """Returns what a profile takes from the one it extends."""
    return {key: value for key, value in merged.items() if key not in NOT_INHERITED and not is_extra(key)}


def extras(data: Any) -> dict[str, Any]:
    """Returns the keys of a profile that are another program's own."""
    return {key: value for key, value in data.items() if is_extra(key)} if isinstance(data, MAPPINGS) else {}


def is_extra(key: object) -> bool:
    """Whether a key of a profile is another program's own: kept as it was written in that profile, and never looked at."""
    return isinstance(key, str) and key.startswith(EXTRA)


def merge_profile(target: Mapping[str, Any], patch: Any) -> Any:
    """Returns a profile merged into what it inherits, neither changed: a list of names that the patch writes as a mapping takes
    names and loses those set to null, and what the patch removes from ``regions`` leaves the lists that it inherits."""
    if not isinstance(patch, MAPPINGS):
        return patch
    merged = listed(merge_patch(_without(mapped(target, patch), _removed(target, patch)), patch))
    return merged | extras(patch)  # with each null that they hold


def mapped(target: Mapping[str, Any], patch: Mapping[str, Any]) -> dict[str, Any]:
    """Returns what is inherited with each list of names as a mapping that the patch writes as a mapping."""
    changed = dict(target)
    for path, _ in _found(patch, dict):
        names = _at(target, path)
        if isinstance(names, list | tuple) and all(isinstance(name, str) for name in names):
            changed = _with(changed, path, dict.fromkeys(names, True))
    return changed


def listed(data: Any) -> Any:
    """Returns a profile with each mapping of names to true as the list that it stands for."""
    for path, names in list(_found(data, dict)):
        if names and all(value is True for value in names.values()):
            data = _with(data, path, list(names))
    return data


def _removed(target: Mapping[str, Any], patch: Mapping[str, Any]) -> set[str]:
    """The regions that a patch removes."""
    regions, known = patch.get("regions"), target.get("regions")
    if not isinstance(regions, MAPPINGS) or not isinstance(known, MAPPINGS):
        return set()
    return {name for name, value in regions.items() if value is None and name in known}


def _without(target: Mapping[str, Any], regions: Collection[str]) -> Mapping[str, Any]:
    """What is inherited without some regions: groups, targets, zones, methods and rules that hold nowhere else go with them."""
    left, gone = target, set(regions)
    while gone:
        emptied: set[str] = set()
        for path, names in list(_found(left, (list, tuple, dict))):
            if (path[0] == "groups" or path[-1] == "regions") and not gone.isdisjoint(names):
                kept = _less(names, gone)
                left = _with(left, path, kept) if kept else _with(left, path[:2], None)
                if path[0] == "groups" and not kept:
                    emptied.add(str(path[1]))
        for path, name in _matching(left, ("comparisons", EACH, EACH)):
            if path[-1] != "fact" and name in gone:
                left = _with(left, path[:2], None)
        gone = emptied
    return _unnamed(left, *(_lost(target, left, section) for section in ("stations", "methods"))) if regions else left


def _lost(before: Mapping[str, Any], after: Mapping[str, Any], section: str) -> set[str]:
    return set(before.get(section) or ()) - set(after.get(section) or ())


def _unnamed(target: Mapping[str, Any], stations: Collection[str], methods: Collection[str]) -> Mapping[str, Any]:
    """A profile in which nothing names stations or methods that are gone."""
    for path, names in _matching(target, ("stations", EACH, "next_door")):
        target = _with(target, path, _less(names, stations))
    for pattern in (("methods", EACH, "then"), ("methods", EACH, "tool"), ("rules", EACH, "then", "use")):
        for path, name in _matching(target, pattern):
            if name in methods:
                target = _with(target, path, None)
                if path[-1] == "use" and not _at(target, path[:-1]):
                    target = _with(target, path[:2], None)
    return target


def _less(names: Any, gone: Collection[str]) -> Any:
    """Names, in a list or in a mapping, without some."""
    left = [name for name in names if name not in gone]
    return dict.fromkeys(left, True) if isinstance(names, MAPPINGS) else left


@cache
def _patterns(kind: Any = Profile, path: tuple[str, ...] = ()) -> tuple[tuple[str, ...], ...]:
    """The paths, within a value of a kind, at which lists of names are."""
    if path and path[0] in NOT_INHERITED:
        return ()
    origin, parts = get_origin(kind), get_args(kind)
    if origin is Annotated:
        return (path,) if NAMES in parts else _patterns(parts[0], path)
    if origin in (Union, UnionType):
        return tuple(found for part in parts for found in _patterns(part, path))
    if origin is Mapping:
        return _patterns(parts[1], (*path, EACH))
    if not (isinstance(kind, type) and has(kind)):
        return ()
    return tuple(found for key, (_, meant) in written(kind).items() for found in _patterns(meant, (*path, key)))


def _found(data: Any, kinds: Any) -> Iterator[tuple[Path, Any]]:
    """Every value of these kinds where a list of names belongs, with the path to it."""
    for pattern in _patterns():
        yield from ((path, value) for path, value in _matching(data, pattern) if isinstance(value, kinds))


def _matching(data: Any, pattern: tuple[str, ...], path: Path = ()) -> list[tuple[Path, Any]]:
    """Every value whose path fits the pattern, with its path."""
    if not pattern:
        return [(path, data)]
    if not isinstance(data, MAPPINGS):
        return []
    keys = data if pattern[0] == EACH else {pattern[0]} & data.keys()
    return [found for key in keys for found in _matching(data[key], pattern[1:], (*path, key))]


def _at(data: Any, path: Path) -> Any:
    for key in path:
        data = data.get(key) if isinstance(data, MAPPINGS) else None
    return data


def _with(data: Mapping[str, Any], path: Path, value: Any) -> dict[str, Any]:
    """Returns a mapping with another value at a path that it has; None removes it."""
    changed, key = dict(data), str(path[0])
    if len(path) > 1:
        changed[key] = _with(changed[key], path[1:], value)
    elif value is None:
        del changed[key]
    else:
        changed[key] = value
    return changed
