"""What a profile is merged of: the files of its chain, and the regimes chosen in them, each a named merge patch (RFC 7396)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final

from coatrules.formats.documents import Origin
from coatrules.problems import InputError, Path, Problem, nearest_fix
from coatrules.reading import Document

NOT_IN_REGIME: Final = frozenset({"format", "id", "extends", "regime", "regimes"})
"""What a regime cannot change: which profile it is, and what it builds on."""

Regimes = dict[str, list[Document]]
"""The patches of each regime, those of the profile furthest away first."""


def layers(chain: Iterable[Document]) -> list[Document]:
    """Returns what a profile is merged of, in turn. ``chain``: its files, the one furthest away first. A file that says ``regime``
    builds on its parent in that regime; one that builds on none, being plain data of a loaded profile, is in it already."""
    merged: list[Document] = []
    known: Regimes = {}
    for document in chain:
        chosen = document.data.get("regime")
        if isinstance(chosen, str) and merged:
            if chosen not in known:
                raise InputError([unknown_regime(chosen, tuple(known), Origin((((), document),)), ("regime",))])
            merged += known[chosen]
            known = {}
        merged.append(document)
        _add(known, document)
    return merged


def regimes(chain: Iterable[Document]) -> Regimes:
    """Returns the regimes that a profile can be in, with their patches."""
    known: Regimes = {}
    for document in chain:
        if isinstance(document.data, Mapping):
            if document.data.get("regime") is not None:
                known = {}
            _add(known, document)
    return known


def without_regimes(data: Any) -> Any:
    """Returns a file's own data without its regimes, which are merged by themselves; those that are not well formed stay."""
    if not isinstance(data, Mapping) or not _well_formed(data.get("regimes")):
        return data
    return {key: value for key, value in data.items() if key != "regimes"}


def unknown_regime(name: str, known: Sequence[str], origin: Origin, path: Path) -> Problem:
    """What to say where a profile has no such regime; ``origin`` and ``path``: where it was asked for."""
    return origin.problem_at(path, "unknown-regime", {"regime": name}, fix=nearest_fix(name, known))


def _add(known: Regimes, document: Document) -> None:
    own = document.data.get("regimes") if "regimes" in document.data else {}
    if own is None:
        known.clear()
    elif _well_formed(own):
        for name, patch in own.items():
            if patch is None:
                known.pop(name, None)
            else:
                known.setdefault(name, []).append(document.within("regimes", name))


def _well_formed(own: Any) -> bool:
    return own is None or (
        isinstance(own, Mapping)
        and all(
            patch is None or (isinstance(patch, Mapping) and NOT_IN_REGIME.isdisjoint(patch)) for patch in own.values()
        )
    )
