"""Hands and tools that are never chosen, and tasks for which there is none."""

from __future__ import annotations

from collections.abc import Iterator

from coatrules.check.subject import Subject, in_words
from coatrules.formats.values import TaskKind
from coatrules.problems import Problem
from coatrules.profile.compiled import CompiledRegion


def never_chosen(subject: Subject) -> Iterator[Problem]:
    """Methods that no region, no rule and no other method ever comes to."""
    methods = subject.profile.methods
    named = {rule.then.use for rule in subject.profile.rules.values()} | {method.then for method in methods.values()}
    for name, method in methods.items():
        if name in named or not subject.is_own("methods", name):
            continue
        where = subject.regions(method.regions)
        if not subject.is_base:  # what is done where is for the profiles that build on a base to say
            where = [region for region in where if method.does in subject.tasks(region)]
        if not where:
            message = f"the method '{name}' is never used: '{method.does}' is never done where it holds"
            hint = "Look at 'does' and 'regions'."
            yield subject.problem("method-never", message, "methods", name, hint=hint, key=True)
        elif not any(subject.spaces.possible(region, (method.when, True)) for region in where):
            message = f"the method '{name}' is never used: its 'if' never holds where it could be"
            hint = "Look at the number or the word."
            yield subject.problem("method-never", message, "methods", name, "if", hint=hint, key=True)
        elif not any(_chosen(subject, region, name) for region in where):
            others = sorted({other for region in where for other, _ in _before(region, name)})
            message = (
                f"the method '{name}' is never used: others of a higher rank always come first ({in_words(others)})"
            )
            hint = "Give it a higher 'rank', or narrow the others with 'if' or 'regions'."
            yield subject.problem("method-never", message, "methods", name, hint=hint, key=True)


def _before(region: CompiledRegion, name: str) -> list[tuple[str, object]]:
    for ranking in region.methods.values():
        names = [other for other, _ in ranking]
        if name in names:
            return list(ranking[: names.index(name)])
    return []


def _chosen(subject: Subject, region: CompiledRegion, name: str) -> bool:
    """Whether there are facts for which a method fits in a region and none of higher rank does."""
    method = subject.profile.methods[name]
    higher = [subject.profile.methods[other].when for other, _ in _before(region, name)]
    return subject.spaces.possible(region, (method.when, True), *((when, False) for when in higher))


def without_method(subject: Subject) -> Iterator[Problem]:
    """Tasks for which a profile that names methods has none in some region."""
    methods = subject.profile.methods
    if not methods:
        return
    lacking: dict[TaskKind, list[str]] = {}
    for name, region in subject.compiled.regions.items():
        for task in subject.tasks(region) - set(region.methods):
            lacking.setdefault(task, []).append(name)
    for task, regions in lacking.items():
        message = f"no method says with what to {task} {in_words(regions)}"
        hint = f"Add a method with 'does: {task}' that holds there; without 'regions' it holds everywhere."
        yield subject.problem("method-missing", message, "methods", hint=hint, key=True)
