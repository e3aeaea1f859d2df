"""Hands and tools that are never chosen, and tasks for which there is none."""

from __future__ import annotations

from collections.abc import Iterator

from coatrules.catalogue.message import message
from coatrules.check.subject import Subject
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
            why = message("unused-method.task", task=method.does)
            yield subject.problem("method-never", {"method": name, "why": why}, "methods", name, key=True)
        elif not any(subject.spaces.possible(region, (method.when, True)) for region in where):
            params = {"method": name, "why": message("unused-method.condition")}
            fix = message("fix.condition-of-method")
            yield subject.problem("method-never", params, "methods", name, "if", fix=fix, key=True)
        elif not any(_chosen(subject, region, name) for region in where):
            others = sorted({other for region in where for other, _ in _before(region, name)})
            params = {"method": name, "why": message("unused-method.outranked", methods=tuple(others))}
            yield subject.problem("method-never", params, "methods", name, fix=message("fix.rank"), key=True)


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
        yield subject.problem("method-missing", {"task": task, "regions": tuple(regions)}, "methods", key=True)
