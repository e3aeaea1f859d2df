"""Numbers that name no source, and sources that name no number."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from attrs import fields, has

from coatrules.catalogue.message import message
from coatrules.check.subject import Subject
from coatrules.formats.structure import written
from coatrules.problems import Problem, nearest_fix, path_text
from coatrules.profile.references import numbered_parts

_SAME = frozenset(("grows_weeks", "full_mm"))
"""Two ways to say one figure of a coat; a range is of the source of its figure."""


MOST_SAID: Final = 5
"""Parts without a source that are told one by one; of more the rest is summed up at the first of them."""


def unsourced_numbers(subject: Subject) -> Iterator[Problem]:
    """Parts of a profile that hold numbers and name no source for them."""
    found = list(_unsourced(subject))
    yield from found[:MOST_SAID]
    if len(found) == MOST_SAID + 1:
        yield found[MOST_SAID]
    elif rest := found[MOST_SAID:]:
        first = rest[0]
        params = {"parts": tuple(one.params["part"] for one in rest), "count": len(rest)}
        yield subject.problem("no-sources", params, *first.path, key=True)


def _unsourced(subject: Subject) -> Iterator[Problem]:
    for path, part in numbered_parts(subject.profile):
        source = part.source
        if source is None and numbers_of(part):
            yield subject.problem("no-source", {"part": path_text(path)}, *path, key=True)
        elif isinstance(source, Mapping):
            named = {*source, *(_SAME if not _SAME.isdisjoint(source) else ()), "ranges"}
            for key in sorted(numbers_of(part) - named):
                params, fix = {"part": path_text((*path, key))}, message("fix.source-of-key", key=key)
                yield subject.problem("no-source", params, *path, key, fix=fix)


def misnamed_keys(subject: Subject) -> Iterator[Problem]:
    """Sources named for a key that stands nowhere beside them: most likely it is misspelt, and its number has no source."""
    for path, part in numbered_parts(subject.profile):
        if not isinstance(part.source, Mapping):
            continue
        kinds = written(type(part)).keys() - {"source"}
        present = {key for key in kinds if subject.is_written(*path, key)}
        for key in part.source:
            # What a profile takes out of the one that it extends may leave a source behind, which does no harm.
            if key not in kinds or (key not in present and subject.is_own(*path, "source", key)):
                fix = nearest_fix(key, present)
                yield subject.problem("source-key", {"key": key}, *path, "source", key, fix=fix, key=True)


def numbers_of(part: Any) -> set[str]:
    """The keys of a part that hold numbers, its defaults aside."""
    values = {one.name: getattr(part, one.name) for one in fields(type(part)) if getattr(part, one.name) != one.default}
    return {name for name, value in values.items() if name != "source" and _has_number(value)}


def _has_number(value: Any) -> bool:
    if isinstance(value, bool):
        return False
    if isinstance(value, int | float):
        return True
    if isinstance(value, Mapping):
        return any(map(_has_number, value.values()))
    if isinstance(value, tuple):
        return any(map(_has_number, value))
    if has(type(value)):  # a share to take, a cover to keep
        return any(_has_number(getattr(value, one.name)) for one in fields(type(value)))
    return False
