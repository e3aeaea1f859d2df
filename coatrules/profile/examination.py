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
from coatrules.problems import InputError, Path, Problem, path_text
from coatrules.profile.loading import chain_of, checked_profile, in_regimes, merged_chain, only_document, single_profile
from coatrules.profile.model import Profile
from coatrules.profile.shelves import Shelf
from coatrules.reading import Document, read_yaml_partly
from coatrules.reading.source import NO_KEY

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
        """Whether a path leads to, or through, something that was set right; a whole entry is not what one of its keys is."""
        return any(_is_within(path, one) or (len(path) > 2 and _is_within(one, path)) for one in self.repaired)


def _is_within(path: Path, around: Path) -> bool:
    return path[: len(around)] == around


def examined_text(text: str | bytes, file: str, *, shelves: Iterable[Shelf] = ()) -> Examination:
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
    inherited = merged_chain(chain[1:])[0] if len(chain) > 1 else {}
    written, profile = merged, None
    renamed: dict[Path, Path] = {}
    problems, repaired = list(known), [problem.path for problem in known if problem.path]
    for _ in range(ROUNDS):
        try:
            profile = single_profile(merged, origin)
            break
        except InputError as error:
            found = [
                problem
                for problem in (_as_written(problem, renamed, origin) for problem in error.problems)
                if not any(_is_within(problem.path, one) or _is_within(one, problem.path) for one in repaired)
                and not (known and NO_KEY in problem.path)
            ]
            problems += [problem for problem in found if not _is_of_ours(problem, written, chain[0].data, repaired)]
            before = len(repaired)
            wrong = sorted(error.problems, key=lambda problem: len(problem.path))
            for problem in wrong if len(problems) <= MOST_REPAIRED else ():
                path = _place_to_repair(problem)
                path = path if path not in repaired[:before] else path[:2]
                if path and not any(_is_within(path, one) for one in repaired[before:]) and path not in repaired:
                    repaired.append(path)
                    merged = _as_meant(merged, problem, renamed) or _repaired(merged, path, inherited)
            if len(repaired) == before:
                break
    if profile is not None:
        try:
            profile = in_regimes(profile)
        except InputError as error:
            problems += error.problems
    own = chain[0].file
    placed = [blamed(problem, chain, _problems) if problem.file != own else problem for problem in problems]
    return Examination(tuple(_once(_still_named(placed, problems))), profile, tuple(repaired))


def _is_of_ours(problem: Problem, written: Any, own: Any, repaired: Sequence[Path]) -> bool:
    """Whether a problem may have come by what was set right: a name, or a zone of the floor, that is only not there because it was
    left out here; figures that contradict one that was put in."""
    if not repaired:
        return False
    if problem.code.startswith("figures"):
        return any(one[:2] == problem.path[:2] for one in repaired)
    if problem.code in ("floor-only-cut", "floor-tender"):
        changed = any(one[0] in (problem.path[0], "groups", "regions") for one in repaired)
        return changed or _value(own, problem.path) is None
    name = problem.params.get("name", problem.params.get("fact"))
    sections = (section for section in written.values() if isinstance(section, Mapping))
    return problem.code.startswith("unknown-") and any(name in section for section in sections)


def _place_to_repair(problem: Problem) -> Path:
    """What to set right: figures that contradict each other all at once, a key that is missing where it should be."""
    if problem.code.startswith("figures"):
        return problem.path[:2]
    return (*problem.path, problem.params["key"]) if problem.code == "schema-missing-key" else problem.path


def _as_written(problem: Problem, renamed: Mapping[Path, Path], origin: Origin) -> Problem:
    """The problem by the keys that are written where it is, not by those that were meant."""
    for meant, written in renamed.items():
        if _is_within(problem.path, meant):
            path = (*written, *problem.path[len(written) :])
            file, line, column = origin.place(path, key=problem.key)
            return evolve(problem, path=path, file=file, line=line, column=column)
    return problem


def _as_meant(merged: Any, problem: Problem, renamed: dict[Path, Path]) -> Any:
    """The data with the name that a problem's fix is to use, as a key (then kept in ``renamed``) or as a value; None where there is
    none."""
    meant, path = _meant(problem), problem.path
    outer = _value(merged, path[:-1]) if path else None
    if not meant or outer is None or (problem.key and meant in outer):
        return None
    if not problem.key or not isinstance(outer, MAPPINGS):
        return _with(merged, path, meant)
    renamed[(*path[:-1], meant)] = path
    return _with(merged, path[:-1], {meant if key == path[-1] else key: value for key, value in outer.items()})


def _repaired(merged: Any, path: Path, inherited: Any) -> Any:
    """The data with another value at a path: what is inherited there, else the schema's example, else nothing."""
    examples = about(path).get("examples") or [about(path).get("default")]
    present = _value(merged, path)
    for value in (_value(inherited, path), examples[0]):
        if value is not None and value != present and isinstance(path[-1], str):
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
    if len(chain) == 1 or problem.file == chain[0].file:
        return problem

    def is_there(own: Any) -> bool:
        others = found((chain[0]._replace(data=own), *chain[1:]))
        return any(_about(other) == _about(problem) for other in others)

    path = _culprit(chain[0].data, (), is_there)
    if not path:
        return blamed(problem, chain[1:], found)
    file, line, column = Origin((((), chain[0]),)).place(path, key=True)
    return evolve(problem, file=file, line=line, column=column, path=path, key=True)


def _about(problem: Problem) -> tuple[object, ...]:
    return problem.code, problem.path, problem.params.get("statement")


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


def _still_named(placed: Sequence[Problem], problems: Sequence[Problem]) -> Iterator[Problem]:
    """The problems, those of all names that one line has taken away as one, with what still names it; ``problems``: as they were
    before they were placed."""
    naming: dict[tuple[str, Path], list[Problem]] = {}
    for there, problem in zip(placed, problems, strict=True):
        if there is not problem and problem.code == "removed-name":
            naming.setdefault((there.file, there.path), []).append(problem)
    for there in placed:
        still = naming.get((there.file, there.path))
        if still is None or there.code != "removed-name":
            yield there
            continue
        params = {"name": still[0].params["name"], "places": tuple(path_text(one.path) for one in still)}
        yield evolve(there, code="still-named", params=params)


def _once(problems: Iterable[Problem]) -> Iterator[Problem]:
    """Problems, of several that one line causes in the profiles below it only the first."""
    seen = set()
    for problem in problems:
        key = (problem.code, problem.file, problem.line, problem.column, problem.path, problem.message)
        if key not in seen:
            seen.add(key)
            yield problem
