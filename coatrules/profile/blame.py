"""Whose line it is: of a fault that shows in a file that a profile builds on, the profile's own line that causes it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Any, Final

from attrs import evolve

from coatrules.formats.documents import Origin
from coatrules.formats.paths import has, value_at, with_value
from coatrules.formats.values import MAPPINGS
from coatrules.problems import Path, Problem, path_text
from coatrules.reading import Document

_NAMING: Final = frozenset(("format", "id", "label", "extends"))
"""Keys without which a profile is none: no other fault is blamed on them."""

Found = Callable[[Sequence[Document]], Iterable[Problem]]
"""Returns the problems of a chain of documents."""


def blamed(problem: Problem, chain: Sequence[Document], found: Found) -> Problem:
    """Returns a problem in a file that a profile builds on at the line of the profile's own that causes it: at the smallest value
    without which ``found`` does not find it. As it was, where the profile takes it over from the one below."""
    if len(chain) == 1 or problem.file == chain[0].file:
        return problem
    return caused(problem, chain, found) or blamed(problem, chain[1:], found)


def caused(problem: Problem, chain: Sequence[Document], found: Found) -> Problem | None:
    """Returns a problem at the smallest value of a chain's first file that causes it, as ``blamed``; None where none does."""

    def is_there(own: Any) -> bool:
        others = found((chain[0]._replace(data=own), *chain[1:]))
        return any(_about(other) == _about(problem) for other in others)

    path = _culprit(chain[0].data, (), is_there)
    if not path:
        return None
    file, line, column = Origin((((), chain[0]),)).place(path, key=True)
    return evolve(problem, file=file, line=line, column=column, path=path, key=True)


def written_in_regime(problem: Problem, regime: str, own: Document) -> Problem:
    """Returns a problem of a profile in a regime with the path that leads to it in the profile's own file, where that writes it for the
    regime alone."""
    path = ("regimes", regime, *problem.path)
    is_there = problem.file == own.file and has(own.data, path[:2])
    there = is_there and own.places.place(path, key=problem.key) == (problem.line, problem.column)
    return evolve(problem, path=path) if there else problem


def _about(problem: Problem) -> tuple[object, ...]:
    return problem.code, problem.path, problem.params.get("statement")


def _culprit(data: Any, path: Path, is_there: Callable[[Any], bool]) -> Path:
    """The path of the smallest value without which the problem is not there; empty where it is there without all."""
    inner = value_at(data, path)
    for key in inner if isinstance(inner, MAPPINGS) else ():
        if not path and key in _NAMING:
            continue
        if not is_there(_dropped(data, (*path, key))):
            return _culprit(data, (*path, key), is_there)
    return path


def _dropped(data: Any, path: Path) -> Any:
    inner = {key: value for key, value in value_at(data, path[:-1]).items() if key != path[-1]}
    return with_value(data, path[:-1], inner) if path[:-1] else inner


def still_named(placed: Sequence[Problem], problems: Sequence[Problem]) -> Iterator[Problem]:
    """Yields the problems, those of all names that one line has taken away as one, with what still names it; ``problems``: as they were
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
