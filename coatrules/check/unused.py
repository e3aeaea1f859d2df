"""What a profile defines and nothing uses: as a rule a misspelt name somewhere else."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from coatrules.check.subject import Subject
from coatrules.conditions.condition import Condition
from coatrules.problems import Problem
from coatrules.profile.references import source_references

UNUSED: Final = {
    "coats": "coat-unused",
    "comparisons": "comparison-unused",
    "sources": "source-unused",
    "groups": "group-unused",
}
"""The finding of each section's entries that nothing names."""


def unused(subject: Subject) -> Iterator[Problem]:
    """Coats, groups, comparisons and sources that nothing names. A base defines for others, so there only coats count."""
    profile = subject.profile
    named = {
        "coats": {region.coat for region in profile.regions.values()},
        "comparisons": set().union(*(condition.facts() for condition in _conditions(subject))),
        "sources": {source for _, source in source_references(profile)},
        "groups": _named_groups(subject),
    }
    for section, names in named.items():
        if subject.is_for_others and section != "coats":
            continue
        for name in getattr(profile, section):
            if name not in names and subject.is_own(section, name) and _is_new(subject, section, name):
                yield subject.problem(UNUSED[section], {"name": name}, section, name, key=True)


def _is_new(subject: Subject, section: str, name: str) -> bool:
    """Whether no profile that this one extends defines the name too: then it is only changed here."""
    return not any(name in document.data.get(section, ()) for _, document in subject.profile.origin.parts[1:])


def _conditions(subject: Subject) -> Iterator[Condition]:
    profile = subject.profile
    yield from (part.when for section in (profile.rules, profile.methods) for part in section.values())
    yield from (expected for case in profile.cases.values() for expected in case.expect.regions.values())


def _named_groups(subject: Subject) -> set[str]:
    profile = subject.profile
    named = {member for members in profile.groups.values() for member in members}
    sections = (
        profile.layer_targets,
        profile.blends,
        profile.sensitive_zones,
        profile.clipper_only_zones,
        profile.routines,
    )
    for section in (*sections, profile.methods, profile.rules):
        for part in section.values():
            named.update(part.regions or ())
    for comparison in profile.comparisons.values():
        named |= {comparison.of, comparison.to}
    for case in profile.cases.values():
        named.update(_texts(case.history))
    for condition in _conditions(subject):
        if "groups" in condition.facts():
            named.update(_texts(condition.schema()))
    return named


def _texts(value: Any) -> Iterator[str]:
    """All keys and texts in plain data."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            yield key
            yield from _texts(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from _texts(inner)
