"""All that is wrong with a profile, in one go, each at the author's own line that caused it.

Loading ends at the first stage that finds something: a number out of range hides a name that leads nowhere. Here what is wrong is
set right as it might have been meant (by what is inherited, by the schema's example, by leaving it out), and the profile is read
again until it is sound; what is found on the way at a place that was set right is left out, for it is of our making.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from pathlib import Path as FilePath
from typing import Any, Final, NamedTuple

from attrs import evolve

from coatrules.formats.documents import Origin, read_partly
from coatrules.formats.keys import about
from coatrules.formats.values import MAPPINGS
from coatrules.problems import InputError, Path, Problem
from coatrules.profile.loading import chain_of, checked_profile, in_regimes, merged_chain, only_document, single_profile
from coatrules.profile.model import Profile
from coatrules.profile.shelves import Shelf
from coatrules.reading import Document, read_yaml_partly

ROUNDS: Final = 5
"""How often a profile is read again."""
MOST_REPAIRED: Final = 60
"""Problems beyond which a profile is not read again: more would bury the first."""
_NAMING: Final = frozenset(("format", "id", "label", "extends"))
"""Keys without which a profile is none: no other fault is blamed on them."""


class Examination(NamedTuple):
    """All problems of a profile; the profile, set right where it was wrong (``repaired`` are the paths), None where it cannot be."""

    problems: tuple[Problem, ...]
    profile: Profile | None
    repaired: tuple[Path, ...] = ()

    def is_repaired(self, path: Path) -> bool:
        """Whether a path leads to, or through, something that was set right."""
        return any(path[: len(one)] == one or one[: len(path)] == path for one in self.repaired)


def examined_text(text: str, file: str, *, shelves: Iterable[Shelf] = ()) -> Examination:
    """Returns all problems of the profile that a text holds, as ``examined`` does."""
    documents, problems = read_yaml_partly(text, file)
    return _examined(only_document(documents, file), problems, tuple(shelves))


def examined(source: str | FilePath | Mapping[str, Any] | Document, *, shelves: Iterable[Shelf] = ()) -> Examination:
    """Returns all problems of a profile, given as ``load_profile`` takes it; raises ``InputError`` where one ends the search."""
    if not isinstance(source, FilePath):
        return _examined(source, (), tuple(shelves))
    documents, problems = read_partly(source)
    return _examined(only_document(documents, str(source)), problems, tuple(shelves))


def _examined(
    source: str | Mapping[str, Any] | Document, known: Sequence[Problem], shelves: Sequence[Shelf]
) -> Examination:
    try:
        chain = chain_of(source, shelves=shelves)
    except InputError as error:
        known = [*known, *error.problems]
        meant = _meant(error.problems[0])
        if not isinstance(source, Document) or error.problems[0].code != "unknown-profile" or not meant:
            raise InputError(known) from error
        chain = chain_of(source._replace(data={**source.data, "extends": meant}), shelves=shelves)
    return _all_in_one_go(chain, known)


def _meant(problem: Problem) -> str:
    """The one name that a problem's fix is to use; empty where there is none."""
    fix = problem.fix
    return str(fix.params["name"]) if fix is not None and fix.code == "fix.use-name" else ""


def _all_in_one_go(chain: Sequence[Document], known: Sequence[Problem]) -> Examination:
    merged, origin = merged_chain(chain)
    written, profile = merged, None
    problems, repaired = list(known), [problem.path for problem in known if problem.path]
    for _ in range(ROUNDS):
        try:
            profile = single_profile(merged, origin)
            break
        except InputError as error:
            seen = Examination((), None, tuple(repaired))
            found = [one for one in error.problems if not seen.is_repaired(one.path) and not _is_of_ours(one, written)]
            problems += found
            if len(problems) > MOST_REPAIRED or not all(problem.path for problem in error.problems):
                break
            for problem in error.problems:
                path = _place_to_repair(problem)
                repaired.append(path)
                merged = _repaired(merged, path, chain, again=not found)
    if profile is not None:
        try:
            profile = in_regimes(profile)
        except InputError as error:
            problems += error.problems
    own = chain[0].file
    placed = [blamed(problem, chain, _problems) if problem.file != own else problem for problem in problems]
    return Examination(tuple(_once(placed)), profile, tuple(repaired))


def _is_of_ours(problem: Problem, written: Any) -> bool:
    """Whether a name is only not there because it was left out here."""
    name = problem.params.get("name", problem.params.get("fact"))
    sections = (section for section in written.values() if isinstance(section, Mapping))
    return problem.code in ("unknown-name", "unknown-fact") and any(name in section for section in sections)


def _place_to_repair(problem: Problem) -> Path:
    return (*problem.path, problem.params["key"]) if problem.code == "schema-missing-key" else problem.path


def _repaired(merged: Any, path: Path, chain: Sequence[Document], *, again: bool) -> Any:
    """The data with another value at a path: what is inherited there, else the schema's example, else nothing.

    ``again``: that did not help, so the whole entry of its section is left out.
    """
    if again:
        return _without(merged, path[:2])
    inherited = merged_chain(chain[1:])[0] if len(chain) > 1 else {}
    examples = about(path).get("examples") or [about(path).get("default")]
    present = _value(merged, path)
    for value in (_value(inherited, path), examples[0]):
        if value is not None and value != present and type(path[-1]) is str:
            return _with(merged, path, value)
    return _without(merged, path)


def _value(data: Any, path: Path) -> Any:
    for step in path:
        try:
            data = data[step]
        except (LookupError, TypeError):
            return None
    return data


def _with(data: Any, path: Path, value: Any) -> Any:
    if not path:
        return value
    if isinstance(data, list | tuple) and isinstance(path[0], int) and path[0] < len(data):
        return [_with(one, path[1:], value) if index == path[0] else one for index, one in enumerate(data)]
    if isinstance(data, MAPPINGS) or data is None:
        inner = dict(data or {})
        inner[path[0]] = _with(inner.get(path[0]), path[1:], value)
        return inner
    return data


def _without(data: Any, path: Path) -> Any:
    """The data without what is at a path; a list or mapping that would be empty goes with it."""
    if not path:
        return data
    inner = _value(data, path[:-1])
    if isinstance(inner, list | tuple) and isinstance(path[-1], int):
        rest: Any = [one for index, one in enumerate(inner) if index != path[-1]]
    elif isinstance(inner, MAPPINGS):
        rest = {key: value for key, value in inner.items() if key != path[-1]}
    else:
        return data
    if len(path) == 1:
        return rest
    return _with(data, path[:-1], rest) if rest else _without(data, path[:-1])


# --- whose line it is --------------------------------------------------------------------------------------------------


Found = Callable[[Sequence[Document]], Iterable[Problem]]
"""Returns the problems of a chain of documents."""


def _problems(chain: Sequence[Document]) -> Iterator[Problem]:
    try:
        checked_profile(*merged_chain(chain))
    except InputError as error:
        yield from error.problems


def blamed(problem: Problem, chain: Sequence[Document], found: Found) -> Problem:
    """Returns a problem in a file that a profile builds on at the line of the profile's own that causes it: at the smallest value
    without which ``found`` does not find it. As it was, where the profile takes it over from the one below."""
    if len(chain) == 1 or not chain[0].file:
        return problem

    def is_there(own: Any) -> bool:
        others = found((chain[0]._replace(data=own), *chain[1:]))
        return any((other.code, other.path) == (problem.code, problem.path) for other in others)

    path = _culprit(chain[0].data, (), is_there)
    if not path:
        return blamed(problem, chain[1:], found)
    file, line, column = Origin((((), chain[0]),)).place(path, key=True)
    return evolve(problem, file=file, line=line, column=column, path=path, key=True)


def _culprit(data: Any, path: Path, is_there: Callable[[Any], bool]) -> Path:
    """The path of the smallest value without which the problem is not there; empty where it is there without all."""
    inner = _value(data, path)
    for key in inner if isinstance(inner, MAPPINGS) else ():
        if not path and key in _NAMING:
            continue
        if not is_there(_dropped(data, (*path, key))):
            return _culprit(data, (*path, key), is_there)
    return path


def _dropped(data: Any, path: Path) -> Any:
    inner = {key: value for key, value in _value(data, path[:-1]).items() if key != path[-1]}
    return _with(data, path[:-1], inner) if path[:-1] else inner


def _once(problems: Iterable[Problem]) -> Iterator[Problem]:
    """Problems, of several that one line causes in the profiles below it only the first."""
    seen = set()
    for problem in problems:
        key = (problem.code, problem.file, problem.line, problem.column, problem.path, problem.message)
        if key not in seen:
            seen.add(key)
            yield problem
