"""Findings on a profile that loads: what its mentor should think about. One module a subject, each check a generator."""

from __future__ import annotations

from coatrules.check import (
    cases,
    figures,
    file_name,
    methods,
    older_format,
    places,
    regions,
    rules,
    sources,
    steady_state,
    unused,
)
from coatrules.check.acceptance import accepted
from coatrules.check.subject import Subject
from coatrules.problems import Problem
from coatrules.profile.model import Profile

CHECKS = (
    file_name.id_and_file,
    places.unknown_places,
    figures.unsupported,
    older_format.blown_before_grown,
    sources.unsourced_numbers,
    sources.misnamed_keys,
    unused.unused,
    regions.unworked,
    regions.hidden_parts,
    regions.loosening_zones,
    regions.minutes,
    regions.visit_too_short,
    steady_state.unreachable_targets,
    methods.never_chosen,
    methods.without_method,
    rules.rules,
    rules.conflicts,
    cases.worked_cases,
)


def findings(profile: Profile) -> list[Problem]:
    """Returns all findings on a profile, in the order of its file; those about what it takes over come last."""
    subject = Subject(profile)
    problems = list(accepted(profile, [problem for check in CHECKS for problem in check(subject)]))
    for regime in profile.regimes.values():
        told = {(problem.code, problem.file, problem.line, problem.column) for problem in problems}
        problems += [one for one in findings(regime) if (one.code, one.file, one.line, one.column) not in told]
    profile_file, _, _ = profile.origin.place(())
    return sorted(
        problems, key=lambda problem: (problem.file != profile_file, problem.file, problem.line, problem.column)
    )
