"""What house rules bring about in the profiles over which they are laid, each once, with the profiles."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from attrs import evolve

from coatrules.catalogue.message import message
from coatrules.catalogue.speaking import say
from coatrules.check import examine, laid_over
from coatrules.check.acceptance import Acceptance, can_be_accepted, is_accepted
from coatrules.problems import InputError, Problem
from coatrules.profile.house_rules import HOUSE_RULES
from coatrules.profile.loading import load_profile
from coatrules.profile.shelves import Shelf, found


def over_others(
    names: Sequence[str], shelves: Sequence[Shelf], tell: Callable[[float], object] | None = None
) -> Iterator[Problem]:
    """Yields what house rules bring about in the profiles with these ids, but for what is found in the house rules themselves. ``tell``
    is told after each what share of them is done."""
    file = found(HOUSE_RULES, shelves)
    if not isinstance(file, Path):
        return
    known = {_mark(problem) for problem in examine(file, shelves)}
    first: dict[tuple[object, ...], Problem] = {}
    where: dict[tuple[object, ...], list[str]] = {}
    for done, name in enumerate(names, 1):
        for problem in laid_over(name, shelves):
            if problem.file == str(file) and _mark(problem) not in known:
                first.setdefault(_mark(problem), problem)
                where.setdefault(_mark(problem), []).append(name)
        if tell is not None:
            tell(done / len(names))
    accept = _accepted_by(file, shelves)
    for mark, problem in first.items():
        wide = _over(problem, tuple(dict.fromkeys(where[mark])))
        if not can_be_accepted(problem) or not is_accepted(accept, wide):
            yield wide


def _accepted_by(file: Path, shelves: Sequence[Shelf]) -> Acceptance:
    """What the house rules accept; nothing where they are not sound."""
    try:
        return load_profile(file, shelves=shelves).accept
    except InputError:
        return {}


def _mark(problem: Problem) -> tuple[object, ...]:
    return problem.code, problem.file, problem.line, problem.column


def _over(problem: Problem, names: Sequence[str]) -> Problem:
    """A problem as one of all profiles in which it is found."""
    usual = f"{problem.code}.fix"
    fix = problem.fix or (message(usual, **problem.params) if say.knows(usual) else None)
    if problem.code == "breed-contradicted":
        fix = message("laid-over.fix-breed")
    params = {"profiles": tuple(names), "what": message(problem.code, **problem.params)}
    return evolve(problem, code="laid-over", params=params, fix=fix)
