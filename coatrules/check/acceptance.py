"""Findings that a profile's author accepts, with a reason; and acceptances that accept nothing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final, TypeAlias

from coatrules.check.catalogue import FINDINGS
from coatrules.problems import Path, Problem, nearest_fix, path_text
from coatrules.profile.model import Profile

NEVER: Final = frozenset(
    {"case-unmet", "anatomy-missing", "fact-value", "accept-idle", "accept-idle-at", "accept-never"}
)
"""Findings that nobody can accept: a case that is not met is wrong or the profile is, the floor must
know every place, and a value that no fact has is a slip. What
makes a profile unusable, the floor's own errors among it, is no finding."""
ASKED_FOR: Final = frozenset({"figure-unproven", "laid-over"})
"""Findings that are looked for only when they are asked for, or with other profiles: that there are none now says nothing."""


Acceptance: TypeAlias = Mapping[str, str | Mapping[str, str]]
"""Why findings are accepted, by their code: everywhere, or by place."""


def accepted(profile: Profile, problems: Sequence[Problem]) -> Iterator[Problem]:
    """Yields the findings that the profile does not accept, and one for each acceptance that accepts none."""
    possible = frozenset(FINDINGS) - NEVER
    yield from not_accepted(profile, problems)
    for code, reasons in profile.accept.items():
        path, params = ("accept", code), {"code": code}
        if code not in possible:
            fix = None if code in NEVER else nearest_fix(code, possible)
            yield profile.origin.problem_at(path, "accept-never", params, fix=fix, severity="warning", key=True)
        elif code not in ASKED_FOR:
            for place in (None,) if isinstance(reasons, str) else reasons:
                if not any(problem.code == code and _is_at(problem, place) for problem in problems):
                    yield _idle(profile, path, code, place, [one for one in problems if one.code == code])


def not_accepted(profile: Profile, problems: Sequence[Problem]) -> Iterator[Problem]:
    """Yields the findings that the profile does not accept."""
    return (one for one in problems if not (can_be_accepted(one) and is_accepted(profile.accept, one)))


def can_be_accepted(problem: Problem) -> bool:
    """Whether a finding is one of those that an author may accept."""
    return problem.code in FINDINGS and problem.code not in NEVER


def is_accepted(accept: Acceptance, problem: Problem) -> bool:
    """Whether a finding is among those that are accepted."""
    reasons = accept.get(problem.code)
    return any(_is_at(problem, place) for place in ((None,) if isinstance(reasons, str) else reasons or ()))


def _is_at(problem: Problem, place: str | None) -> bool:
    """Whether a finding is at a place as findings name it, or within it, or about a statement of this id; everywhere is no place. A
    place in a regime may be said without it."""
    paths = [problem.path, problem.path[2:]] if problem.path[:1] == ("regimes",) else [problem.path]
    return (
        place is None
        or place == problem.params.get("statement")
        or any(path_text(path[:length]) == place for path in paths for length in range(1, len(path) + 1))
    )


def _idle(profile: Profile, path: Path, code: str, place: str | None, others: Sequence[Problem]) -> Problem:
    if place is None:
        return profile.origin.problem_at(path, "accept-idle", {"code": code}, severity="warning", key=True)
    params = {"code": code, "place": place}
    names = (str(one.params.get("statement") or path_text(one.path)) for one in others)
    fix = nearest_fix(place, names)
    return profile.origin.problem_at((*path, place), "accept-idle-at", params, fix=fix, severity="warning", key=True)
