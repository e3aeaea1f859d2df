"""Findings that a profile's author accepts, with a reason; and acceptances that accept nothing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from coatrules.check.catalogue import FINDINGS
from coatrules.problems import Problem, nearest_fix
from coatrules.profile.model import Profile

NEVER: Final = frozenset({"case-unmet", "anatomy-missing", "accept-idle", "accept-never"})
"""Findings that nobody can accept: a case that is not met is wrong or the profile is, and the floor must know every place. What
makes a profile unusable, the floor's own errors among it, is no finding."""


def accepted(profile: Profile, problems: Sequence[Problem]) -> Iterator[Problem]:
    """Yields the findings that the profile does not accept, and one for each acceptance that accepts none."""
    possible = frozenset(FINDINGS) - NEVER
    yield from (one for one in problems if one.code not in profile.accept or one.code not in possible)
    codes = {one.code for one in problems}
    for code in profile.accept:
        path, params = ("accept", code), {"code": code}
        if code not in possible:
            fix = None if code in NEVER else nearest_fix(code, possible)
            yield profile.origin.problem_at(path, "accept-never", params, fix=fix, severity="warning", key=True)
        elif code not in codes:
            yield profile.origin.problem_at(path, "accept-idle", params, severity="warning", key=True)
