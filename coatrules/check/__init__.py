"""Findings on a profile that loads: what its mentor should think about. One module a check, each a function of the profile."""

from __future__ import annotations

from coatrules.check import cases, sources, steady
from coatrules.problems import Problem
from coatrules.profile import Profile

CHECKS = (steady.unreachable_targets, cases.worked_cases, sources.unsourced_numbers)


def findings(profile: Profile) -> list[Problem]:
    """All findings on a profile, in the order of its file."""
    found = [problem for check in CHECKS for problem in check(profile)]
    return sorted(found, key=lambda problem: (problem.file, problem.line, problem.column))
