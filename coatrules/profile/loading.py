"""Finds profiles, merges what they extend, and loads them whole."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any

from attrs import evolve

from coatrules.catalogue.message import Message, message
from coatrules.disk import read
from coatrules.formats.documents import Origin, as_document, documents_of, idle_nulls, read_file, without_file
from coatrules.formats.paths import has
from coatrules.formats.slips import colon_fix
from coatrules.formats.validation import empty_file, structured
from coatrules.problems import InputError, Problem, nearest_fix, spelt_alike_fix
from coatrules.problems import Path as ValuePath
from coatrules.profile.compiled import assigned
from coatrules.profile.floor import loosened
from coatrules.profile.format1 import one_length, upgraded
from coatrules.profile.house_rules import house_rules
from coatrules.profile.merging import extras, inherited, is_extra, mapped, merge_profile
from coatrules.profile.model import Profile
from coatrules.profile.references import faults
from coatrules.profile.regimes import layers, regimes, unknown_regime, without_regimes
from coatrules.profile.shelves import Shelf, found, profile_ids
from coatrules.read_only import NOTHING, ReadOnly
from coatrules.reading import MAX_BYTES, Document

LONGEST_CHAIN = 16
MOST_BASES = 32
"""So many files that others build on are kept as they were read, as long as they hold the same."""


def no_profile(name: str, shelves: Iterable[Shelf], origin: Origin, path: ValuePath) -> InputError:
    """What to say where no profile has this id; ``origin`` and ``path``: where it was asked for."""
    fix = nearest_fix(name, profile_ids(shelves))
    return InputError([origin.problem_at(path, "unknown-profile", {"profile": name}, fix=fix)])


def load_profile(source: str | Path | Mapping[str, Any], *, shelves: Iterable[Shelf] = ()) -> Profile:
    """A profile with all that it extends merged in, complete and free of errors.

    ``source`` is a profile's id (searched on ``shelves``, then in the packaged library), a ``Path`` to a file, or the
    profile as plain data. Over a profile found by its id the house rules of its shelves are laid. Raises ``InputError`` with every
    problem found.
    """
    shelves = tuple(shelves)
    try:
        return checked_profile(*merged_profile(source, shelves=shelves))
    except InputError as error:
        from coatrules.profile.examination import examined  # only for mistakes

        raise InputError(examined(source, shelves=shelves).problems or error.problems) from error


def checked_profile(merged: Any, origin: Origin) -> Profile:
    """The profile of merged data, in each of its regimes too; raises ``InputError`` with every problem found."""
    return in_regimes(single_profile(merged, origin))


def in_regimes(profile: Profile) -> Profile:
    """The profile with each of the regimes that it can be in; raises ``InputError`` with every problem of those."""
    found: dict[str, Profile] = {}
    problems: list[Problem] = []
    for name, (merged, origin) in merged_regimes(profile.origin).items():
        try:
            found[name] = single_profile(merged, origin)
        except InputError as error:
            problems += error.problems
    if problems:
        raise InputError(dict.fromkeys(problems))
    return evolve(profile, regimes=ReadOnly(found)) if found else profile


def merged_regimes(origin: Origin) -> dict[str, tuple[Any, Origin]]:
    """Each regime of a profile that was merged, likewise: by name, as plain data, not yet checked, and where each part was written."""
    documents = [document for _, document in reversed(origin.parts)]
    found: dict[str, tuple[Any, Origin]] = {}
    for name, patches in regimes(documents).items():
        merged, written = merged_documents([*documents, *patches], name)
        is_own = has(documents[-1].data, ("regimes", name))
        found[name] = (merged if is_own else inherited(merged) | extras(merged)), written
    return found


def regime_of(chain: Sequence[Document], name: str) -> Profile:
    """The profile of a chain in this regime; raises ``InputError`` with every problem found, also where it has no such regime."""
    _, origin = merged_chain(chain)
    known = merged_regimes(origin)
    if name not in known:
        raise InputError([unknown_regime(name, tuple(known), origin, ("regimes",))])
    return single_profile(*known[name])


def single_profile(merged: Any, origin: Origin) -> Profile:
    """The profile of merged data, without its regimes; raises ``InputError`` with every problem found."""
    left_open = list(_left_open(origin))
    try:
        profile = structured(merged, Profile, "profile", origin)
    except InputError as error:
        raise InputError(_beside_open(error.problems, left_open)) from error
    profile = evolve(profile, origin=origin)
    if problems := [*left_open, *faults(profile)]:
        raise InputError(problems)
    zones = assigned(profile, profile.sensitive_zones)
    if problems := list(loosened(profile, zones, assigned(profile, profile.clipper_only_zones))):
        raise InputError(problems)
    return profile


def _beside_open(problems: Sequence[Problem], left_open: Sequence[Problem]) -> Iterator[Problem]:
    """Yields problems and keys without a value: of what is empty as none of its keys has a value these keys, and an entry without a value
    not where its keys are told to be beside it."""
    reported = {problem.path for problem in problems}
    around = {problem.path[:-1] for problem in left_open}
    beside = {problem.path[:1] for problem in problems if problem.code == "schema-misplaced"}
    yield from (problem for problem in problems if problem.code != "schema-empty" or problem.path not in around)
    yield from (
        one for one in left_open if one.path not in reported and (len(one.path) != 2 or one.path[:1] not in beside)
    )


def _left_open(origin: Origin) -> Iterator[Problem]:
    """Keys without a value where nothing is inherited that they could take away: an unfinished 'if' would hold always."""
    own = [(document, _looked_at(document.data)) for _, document in reversed(origin.parts)]
    if not any(path for _, data in own for path in idle_nulls({}, data)):
        return  # as nearly always: no need to merge it all again
    merged: Any = {}
    for document, data in own:
        taken = inherited(merged)
        known = mapped(taken, data)
        for path in idle_nulls(known, data):
            fix = _no_value_fix(path, known)
            yield Origin((((), document),)).problem_at(path, "no-value", {"key": path[-1]}, fix=fix, key=True)
        merged = merge_profile(taken, data)


def _looked_at(data: Any) -> Any:
    """A file's own data, merged by themselves, but for what is another program's."""
    data = without_regimes(data)
    return {key: value for key, value in data.items() if not is_extra(key)} if isinstance(data, Mapping) else data


def _no_value_fix(path: ValuePath, known: Any) -> Message | None:
    """How a key without a value is written where it is a slip; None where it lacks no more than its value."""
    if path[0] == "accept":
        return message("no-value.fix-accept")
    if len(path) > 2 and (path[-2] == "regions" or path[0] == "groups"):
        return message("no-value.fix-names", name=path[-1])
    return colon_fix(str(path[-1])) or spelt_alike_fix(str(path[-1]), _names_beside(known, path))


def _names_beside(merged: Any, path: ValuePath) -> Iterable[str]:
    """The keys that are inherited where a path leads."""
    for step in path[:-1]:
        merged = merged.get(step) if isinstance(merged, Mapping) else None
    return merged if isinstance(merged, Mapping) else ()


def merged_profile(
    source: str | Path | Mapping[str, Any] | Document, *, shelves: Iterable[Shelf] = ()
) -> tuple[Any, Origin]:
    """A profile as plain data with all that it extends merged in, not yet checked, and where each part was written; its regimes
    are not in it. Over one found by its id the house rules of its shelves are laid."""
    return merged_chain(chain_under_house_rules(source, shelves=shelves))


def chain_under_house_rules(
    source: str | Path | Mapping[str, Any] | Document, *, shelves: Iterable[Shelf] = ()
) -> tuple[Document, ...]:
    """As ``chain_of``, after the house rules that are laid over a profile found by its id."""
    shelves = tuple(shelves)
    chain = chain_of(source, shelves=shelves)
    return (*house_rules(source, shelves, _one), *chain) if isinstance(source, str) else chain


def chain_of(
    source: str | Path | Mapping[str, Any] | Document, *, shelves: Iterable[Shelf] = ()
) -> tuple[Document, ...]:
    """A profile and all that it builds on, itself first; raises ``InputError`` where one of them cannot be read or found."""
    shelves = tuple(shelves)
    if isinstance(source, Mapping):
        document = without_file(source)
    elif isinstance(source, Document):
        document = source
    elif isinstance(source, Path):
        document = _one(source)
    elif isinstance(source, str):
        document = _find(source, shelves, Origin(), ())
    else:
        document = without_file(source)  # refused below
    return tuple(_chain(document, shelves))


def merged_chain(chain: Sequence[Document]) -> tuple[Any, Origin]:
    """The profiles of a chain merged, not yet checked, and where each part was written."""
    return merged_documents(layers(reversed(chain)))


def merged_documents(
    documents: Sequence[Document], regime: str | None = None, *, onto: Mapping[str, Any] = NOTHING
) -> tuple[Any, Origin]:
    """Documents merged in turn (``onto`` what is merged already), in this regime, and where each part of theirs was written."""
    merged: Any = dict(onto)
    own = extras(merged)
    for document in documents:
        taken = inherited(merged)
        merged = merge_profile(taken, newest(without_regimes(document.data), taken))
        if "id" in document.data:  # no house rules and no regime, which are merged last and have none
            own = extras(document.data)
    merged |= own
    if regime is not None:
        merged["regime"] = regime
    return merged, Origin(tuple(((), document) for document in reversed(documents)))


def newest(data: Any, taken: Mapping[str, Any]) -> Any:
    """Returns one profile's own data in the newest format; ``taken``: all that it builds on, in that format."""
    if not isinstance(data, Mapping):
        return data
    return one_length(upgraded(data, taken) if data.get("format") == 1 else data)


def _one(file: Path) -> Document:
    return only_document(read_file(file), str(file))


@lru_cache(MOST_BASES)
def document_of(content: bytes, file: Path) -> Document:
    """Returns the document of what a profile's file holds, kept for the next time: many profiles build on the same few. Raises
    ``InputError`` with every problem found."""
    return only_document(documents_of(content, file), str(file))


def only_document(documents: Sequence[Document], file: str) -> Document:
    """The one document of a profile's file; raises ``InputError`` where there is none, or another, or it is no mapping."""
    start = message("empty.fix-profile")
    if not documents:
        raise empty_file(file, start)
    if len(documents) > 1:
        from coatrules.formats.schema_faults import other_kind  # only for mistakes

        first, second = (Origin((((), document),)) for document in documents[:2])
        problem = other_kind("profile", documents[0].data, first)  # a history has its visits after it
        if problem is None:
            problem = second.problem_at((), "second-profile")
        raise InputError([problem])
    if not isinstance(documents[0].data, dict):
        raise InputError([Origin((((), documents[0]),)).problem_at((), "not-a-profile", fix=start)])
    return documents[0]


def _find(name: str, shelves: Sequence[Shelf], origin: Origin, path: ValuePath) -> Document:
    profile = found(name, shelves)
    if profile is None:
        raise no_profile(name, shelves, origin, path)
    return document_of(read(profile, MAX_BYTES), profile) if isinstance(profile, Path) else as_document(profile)


def _chain(document: Document, shelves: Sequence[Shelf]) -> list[Document]:
    """The profile and all that it builds on, itself first."""
    chain = [_mapping(document)]
    seen = {str(document.data.get("id"))}
    while (name := chain[-1].data.get("extends")) is not None:
        origin = Origin((((), chain[-1]),))
        if not isinstance(name, str):
            raise InputError([origin.problem_at(("extends",), "extends")])
        if name == chain[-1].data.get("id"):
            raise InputError([origin.problem_at(("extends",), "extends-itself", {"profile": name})])
        if name in seen:
            raise InputError([origin.problem_at(("extends",), "extends-loop", {"profile": name})])
        parent = _find(name, shelves, origin, ("extends",))
        if len(chain) == LONGEST_CHAIN:
            raise InputError([origin.problem_at(("extends",), "extends-far", {"most": LONGEST_CHAIN})])
        seen.add(name)
        chain.append(_mapping(parent))
    return chain


def _mapping(document: Document) -> Document:
    """The same document; raises ``InputError`` where it is no mapping, as another program may hand one over."""
    if not isinstance(document.data, Mapping):
        raise InputError([Origin((((), document),)).problem_at((), "not-a-profile")])
    return document
