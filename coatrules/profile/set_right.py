"""A profile that is wrong, set right as it might have been meant: keys by the names they misspell, lists of entries as the mappings
they stand for, values by what is inherited, by the schema's example, or by leaving them out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from attrs import evolve

from coatrules.formats.documents import Origin
from coatrules.formats.keys import about
from coatrules.formats.paths import has, value_at, with_value
from coatrules.formats.values import MAPPINGS
from coatrules.problems import Path, Problem
from coatrules.profile.blame import written_in_regime
from coatrules.profile.loading import merged_documents, single_profile
from coatrules.profile.model import Profile
from coatrules.profile.regimes import layers, regimes
from coatrules.reading import Document
from coatrules.reading.places import Arrangement

_NAMED_BY = ("id", "name")
"""Keys by which people name the entries of a list."""


class Value(NamedTuple):
    """A value set right: by the one name that was ``meant``, else by what fits there."""

    path: Path
    meant: str = ""


class Rearranged(NamedTuple):
    """Keys set right: what is meant to be at a path, and where it was written."""

    meant: Path
    written: Path


class SetRight(NamedTuple):
    """A profile, in one of its regimes or in none, with all that was set right in it.

    ``chain``: its files, the one in question first, with their keys set right. ``values`` and ``regime_values``: what was set right
    beside that in the profile as it is merged, and in the regime on top of it.
    """

    chain: tuple[Document, ...]
    keys: tuple[Rearranged, ...] = ()
    values: tuple[Value, ...] = ()
    regime: str | None = None
    regime_values: tuple[Value, ...] = ()

    @property
    def repaired(self) -> tuple[Value, ...]:
        """The values set right where it is being set right: in the regime, where there is one."""
        return self.values if self.regime is None else self.regime_values

    def profile(self, chain: Sequence[Document] = ()) -> Profile:
        """Returns the profile, or that of another ``chain`` set right likewise; raises ``InputError`` with what is still wrong."""
        return single_profile(*self.merged(chain))

    def merged(self, chain: Sequence[Document] = ()) -> tuple[Any, Origin]:
        """Returns the profile as plain data, not yet checked, and where each part was written."""
        chain = chain or self.chain
        documents = layers(reversed(chain))
        merged, origin = merged_documents(documents)
        inherited = merged_documents(layers(reversed(chain[1:])))[0] if self.values else {}
        for value in self.values:
            merged = _repaired(merged, value, inherited)
        if self.regime is None:
            return merged, origin
        inherited, patches = merged, regimes(documents).get(self.regime, [])
        merged = merged_documents(patches, self.regime, onto=merged)[0]
        for value in self.regime_values:
            merged = _repaired(merged, value, inherited)
        return merged, merged_documents([*documents, *patches], self.regime)[1]

    def written(self) -> Any:
        """Returns the profile as plain data in which no value was set right."""
        return self._replace(values=(), regime_values=()).merged()[0]

    def with_value(self, path: Path, meant: str = "") -> SetRight:
        """Returns it with a value set right as well."""
        values = (*self.repaired, Value(path, meant))
        return self._replace(values=values) if self.regime is None else self._replace(regime_values=values)

    def with_keys(self, problem: Problem) -> SetRight | None:
        """Returns it with the keys set right that a problem is about; None where it is not about keys."""
        for number, document in enumerate(self.chain):
            for around in ((), ("regimes", self.regime)) if self.regime is not None else ((),):
                path = (*around, *problem.path)
                if not has(document.data, path) or (arranged := _arranged(document.data, path, problem)) is None:
                    continue
                where, keys = arranged
                chain = [*self.chain]
                chain[number] = document.rearranged(where, keys)
                moved = [
                    Rearranged((*where, *meant)[len(around) :], (*where, *written)[len(around) :])
                    for meant, written in _moved(keys)
                ]
                return self._replace(chain=tuple(chain), keys=(*self.keys, *moved))
        return None

    def as_written(self, problem: Problem) -> Problem:
        """Returns a problem with the path that is written where it is, not the one that was meant."""
        if self.regime is not None:
            problem = written_in_regime(problem, self.regime, self.chain[0])
        around = ("regimes", self.regime) if problem.path[:2] == ("regimes", self.regime) else ()
        path = problem.path[len(around) :]
        for meant, written in reversed(self.keys):
            if path[: len(meant)] == meant:
                path = (*written, *path[len(meant) :])
        path = (*around, *path)
        return problem if path == problem.path else evolve(problem, path=path)


def meant_name(problem: Problem) -> str:
    """Returns the one name that a problem's fix is to use; empty where there is none."""
    fix = problem.fix
    return str(fix.params["name"]) if fix is not None and fix.code == "fix.use-name" else ""


def _arranged(data: Any, path: Path, problem: Problem) -> tuple[Path, Arrangement] | None:
    """The path of the mapping whose keys are set right, and the keys it is to have; None where a problem is not about keys."""
    outer, value = value_at(data, path[:-1]), value_at(data, path)
    if problem.fix is not None and problem.fix.code == "schema-unknown-key.fix-level" and len(path) == 2:
        section, key = str(path[0]), str(path[1])
        kept = {one: (one,) for one in data if one not in (section, key)}
        return (), {**kept, section: {one: (section, one) for one in outer if one != key}, key: path}
    if problem.code == "schema-misplaced" and isinstance(outer, MAPPINGS):
        return path[:-1], _set_in(outer, problem.params["keys"])
    if problem.key and (meant := meant_name(problem)) and isinstance(outer, MAPPINGS) and value is not None:
        return path[:-1], _respelt(outer, str(path[-1]), meant)
    if problem.code == "schema-type" and isinstance(value, list) and _is_mapping_wanted(problem):
        keys = _entries(value)
        return (path, keys) if keys else None
    if problem.path[:1] == ("regimes",) and isinstance(outer, MAPPINGS):  # they must be well formed to be merged
        return path[:-1], {key: (key,) for key in outer if key != path[-1]}
    return None


def _set_in(outer: Mapping[str, Any], keys: Sequence[str]) -> Arrangement:
    """The entries of a mapping, with the keys that stand beside the name of the one above them, which has no value, below it."""
    before = list(outer)[: list(outer).index(keys[0])]
    above = next((name for name in reversed(before) if outer[name] is None), None)
    kept: Arrangement = {name: (name,) for name in outer if name not in keys}
    return kept if above is None else {**kept, above: {key: (key,) for key in keys}}


def _moved(keys: Arrangement, around: Path = ()) -> Iterator[tuple[Path, Path]]:
    """The paths at which keys are to be, each with the path at which they were, where these differ."""
    for key, at in keys.items():
        path = (*around, key)
        if not isinstance(at, tuple):
            yield from _moved(at, path)
        elif path != at:
            yield path, at


def _respelt(outer: Mapping[str, Any], key: str, meant: str) -> Arrangement:
    """The keys of a mapping, one by its right name; beside one that has that name, what only the misspelt one has."""
    if meant not in outer:
        return {meant if one == key else one: (one,) for one in outer}
    kept = {one: (one,) for one in outer if one != key}
    here, there = outer[key], outer[meant]
    if not isinstance(here, MAPPINGS) or not isinstance(there, MAPPINGS):
        return kept
    return {**kept, meant: {name: (key, name) for name in here} | {name: (meant, name) for name in there}}


def _is_mapping_wanted(problem: Problem) -> bool:
    return any(kind.code == "schema-kind.object" for kind in problem.params.get("expected", ()))


def _entries(entries: Sequence[Any]) -> Arrangement:
    """The keys of the mapping that a list of mappings stands for: each entry has its own keys, or says its name, or has none; empty where
    it stands for none."""
    if not all(isinstance(entry, MAPPINGS) for entry in entries):
        return {}
    for naming in _NAMED_BY:
        names = [entry.get(naming) for entry in entries]
        if all(isinstance(name, str) for name in names) and len({*names}) == len(names):
            rest = [{key: (index, key) for key in entry if key != naming} for index, entry in enumerate(entries)]
            return dict(zip(map(str, names), rest, strict=True))
    arranged: Arrangement = {key: (index, key) for index, entry in enumerate(entries) for key in entry}
    if len(arranged) == sum(map(len, entries)):
        return arranged
    return {f"entry-{index + 1}": (index,) for index in range(len(entries))}


def _repaired(merged: Any, value: Value, inherited: Any) -> Any:
    """The data with another value at a path: what was meant or is inherited there, else the schema's example, else nothing."""
    path = value.path
    if value.meant:
        return with_value(merged, path, value.meant)
    examples = about(path).get("examples") or [about(path).get("default")]
    present = value_at(merged, path)
    for other in (value_at(inherited, path), examples[0]):
        if other is not None and other != present and isinstance(path[-1], str):
            return with_value(merged, path, other)
    return _without(merged, path)


def _without(data: Any, path: Path) -> Any:
    """The data without what is at a path; a list or mapping that would be empty goes with it."""
    if not path:
        return data
    inner = value_at(data, path[:-1])
    if isinstance(inner, list | tuple) and isinstance(path[-1], int):
        rest: Any = [one for index, one in enumerate(inner) if index != path[-1]]
    elif isinstance(inner, MAPPINGS):
        rest = {key: value for key, value in inner.items() if key != path[-1]}
    else:
        return data
    if len(path) == 1:
        return rest
    return with_value(data, path[:-1], rest) if rest else _without(data, path[:-1])
