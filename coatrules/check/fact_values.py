"""Values that a condition asks for and its fact never has: a misspelt word, a month by its name, a part that there is not."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from coatrules.catalogue.message import Message, message
from coatrules.check.subject import Subject
from coatrules.conditions.condition import Condition
from coatrules.conditions.evaluation import Tree, is_number, pairs
from coatrules.formats.resources import schema
from coatrules.formats.slips import month_number
from coatrules.formats.value_fixes import shown, type_fix
from coatrules.problems import Path, Problem, nearest_fix
from coatrules.profile.model import Profile
from coatrules.profile.references import OUTCOMES

_NAMED: Final = {"region": "regions", "groups": "groups", "coat": "coats", "method": "methods"}
"""Facts that are names of a profile's own, each with the section that has them."""
_NUMERIC: Final = ("integer", "number")


def never_had(subject: Subject) -> Iterator[Problem]:
    """Values of which the profile's own conditions ask, and that their facts never have."""
    for path, condition in _conditions(subject.profile):
        if subject.is_own(*path):
            for place, fact, value in _never(condition.tree, path, subject.profile):
                params = {"fact": fact, "value": shown(value)}
                fix = _fix(fact, value, place, subject.profile)
                written = place if subject.is_own(*place) else place[:-1]  # a bare value stands for a 'const'
                yield subject.profile.origin.problem_at(written, "fact-value", params, fix=fix)


def is_satisfiable(condition: Condition, profile: Profile) -> bool:
    """Whether a condition asks of each fact only for values that it can have."""
    return not any(True for _ in _never(condition.tree, (), profile))


def _conditions(profile: Profile) -> Iterator[tuple[Path, Condition]]:
    for section in ("layer_targets", "methods", "rules"):
        for name, part in getattr(profile, section).items():
            yield (section, name, "if"), part.when
    for name, case in profile.cases.items():
        for region, expected in case.expect.regions.items():
            yield ("cases", name, "expect", "regions", region), expected


def _never(tree: Tree, path: Path, profile: Profile) -> Iterator[tuple[Path, str, object]]:
    """The values that facts never have, each with its place and its fact."""
    for fact, test in pairs(tree):
        for place, value, is_entry in _values(test, (*path, fact), is_entry=False):
            if not _can_be(fact, value, profile, is_entry=is_entry):
                yield place, fact, value
    for key in ("anyOf", "allOf"):
        for index, part in enumerate(tree.get(key, ())):
            yield from _never(part, (*path, key, index), profile)
    if "not" in tree:
        yield from _never(tree["not"], (*path, "not"), profile)


def _values(test: Mapping[str, Any], path: Path, *, is_entry: bool) -> Iterator[tuple[Path, object, bool]]:
    """The values that a test names, each with its place, and whether it is to be an entry of a list."""
    if "const" in test:
        yield (*path, "const"), test["const"], is_entry
    for index, value in enumerate(test.get("enum", ())):
        yield (*path, "enum", index), value, is_entry
    if "contains" in test:
        yield from _values(test["contains"], (*path, "contains"), is_entry=True)
    for key in ("anyOf", "allOf"):
        for index, part in enumerate(test.get(key, ())):
            yield from _values(part, (*path, key, index), is_entry=is_entry)
    if "not" in test:
        yield from _values(test["not"], (*path, "not"), is_entry=is_entry)


def _about(fact: str) -> Mapping[str, Any]:
    """What is known of a fact; of a comparison, and of what is expected of a worked case besides, that it is a number."""
    known: Mapping[str, Mapping[str, Any]] = schema("facts")["properties"]
    if fact == "outcome":
        return {"type": "string", "enum": OUTCOMES}
    if fact == "method":
        return {"type": "string"}
    return known.get(fact, {"type": "number"})


def _known_values(fact: str, profile: Profile) -> list[str]:
    """The words that a fact, or an entry of it, can be; none where it may be any."""
    about = _about(fact)
    if fact in _NAMED:
        return list(getattr(profile, _NAMED[fact]))
    return list(about.get("items", about).get("enum", ()))


def _can_be(fact: str, value: Any, profile: Profile, *, is_entry: bool) -> bool:
    about = _about(fact)
    match about["type"]:
        case "array":
            return is_entry == isinstance(value, str) and _is_known(value, _known_values(fact, profile))
        case "boolean":
            return isinstance(value, bool)
        case "string":
            return isinstance(value, str) and _is_known(value, _known_values(fact, profile))
    return is_number(value) and about.get("minimum", value) <= value <= about.get("maximum", value)


def _is_known(value: object, words: list[str]) -> bool:
    return not words or not isinstance(value, str) or value in words


def _fix(fact: str, value: object, place: Path, profile: Profile) -> Message | None:
    """How the value is written that was most likely meant."""
    kind, words = _about(fact)["type"], _known_values(fact, profile)
    if kind == "array" and isinstance(value, str) and "contains" not in place:
        return message("fact-value.fix-contains", value=value)
    if words:
        return nearest_fix(str(value), words)
    if fact == "month" and isinstance(value, str) and month_number(value) is None:
        return message("fix.months")
    if kind in _NUMERIC and is_number(value):
        return message("fact-value.fix-range", low=_about(fact)["minimum"], high=_about(fact)["maximum"])
    return type_fix([kind], value, place)
