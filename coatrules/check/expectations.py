"""What a case may expect so that one order fulfils it and another does not."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import pairwise
from math import ceil, floor
from typing import Any, Final

from coatrules.check.cases import outcome_facts, worked_in_turn
from coatrules.order.work_order import WorkOrder

TOLD_FIRST: Final = ("outcome", "share", "method", "layers", "minutes_planned", "longest_mm", "outline_mm", "cover")
"""What says most about a region comes first; every other fact follows."""
_EXACT: Final = 3
"""Digits behind the point up to which a number is expected as it is."""
_DIGITS: Final = (1, 2, 3, 4, 6)
"""Digits of the bounds within which another is expected: as few as tell it apart."""


def telling(wanted: WorkOrder, other: WorkOrder, regions: Iterable[str]) -> dict[str, Any] | None:
    """Returns what is so of the one order and not of the other, as a case expects it and as briefly as can be; None where no case
    could tell them apart. ``regions``: those that are looked at first."""
    return next(_differences(wanted, other, regions), None)


def _differences(wanted: WorkOrder, other: WorkOrder, regions: Iterable[str]) -> Iterator[dict[str, Any]]:
    first = [region for region in regions if region in wanted.labels]
    rest = [region for region in wanted.labels if region not in first]
    facts = {
        region: (outcome_facts(wanted, region), outcome_facts(other, region))
        for region in (*first, *rest)
        if region in other.labels
    }
    unlike = {region: pair for region, pair in facts.items() if pair[0] != pair[1]}
    for region, pair in unlike.items():
        yield from _in_region(region, *pair, TOLD_FIRST)
    yield from _of_the_dog(wanted, other)
    for region, pair in unlike.items():
        yield from _in_region(region, *pair, [key for key in pair[0] if key not in TOLD_FIRST])
    turns = worked_in_turn(wanted, wanted.labels)
    for two in pairwise(turns):
        if worked_in_turn(other, two) != list(two):
            yield {"steps": list(two)}


def _in_region(
    region: str, facts: Mapping[str, object], others: Mapping[str, object], keys: Iterable[str]
) -> Iterator[dict[str, Any]]:
    for key in keys:
        if key in facts and facts[key] != others.get(key):
            expected = _expected(facts[key], others.get(key))
            if expected is not None:
                yield {"regions": {region: {key: expected}}}


def _expected(value: object, other: object) -> Any:
    """How a value is expected so that another one is not: itself, or a number within bounds as round as can be."""
    if isinstance(value, bool | str | int):
        return value
    if not isinstance(value, float):
        return None
    if round(value, _EXACT) == value:
        return value
    if not isinstance(other, int | float):
        return None
    for digits in _DIGITS:
        scale = 10**digits
        low, high = floor(value * scale) / scale, ceil(value * scale) / scale
        if not low <= other <= high:
            return {"minimum": low, "maximum": high}
    return None


def _of_the_dog(wanted: WorkOrder, other: WorkOrder) -> Iterator[dict[str, Any]]:
    fired, others = ({rule for rules in order.fired.values() for rule in rules} for order in (wanted, other))
    for rule in sorted(fired - others):
        yield {"rules": [rule]}
    for rule in sorted(others - fired):
        yield {"not_rules": [rule]}
    if bool(wanted.refer) != bool(other.refer):
        yield {"refer": bool(wanted.refer)}
    for end in ("best", "earliest", "latest"):
        day = getattr(wanted.next_visit, end)
        if day is not None and day != getattr(other.next_visit, end):
            yield {"next_visit": {end: day.isoformat()}}


def joined(expected: Mapping[str, Any], more: Mapping[str, Any]) -> dict[str, Any]:
    """Returns what expects both: of a number within bounds the narrower ones."""
    both: dict[str, Any] = dict(expected)
    for key, value in more.items():
        known = both.get(key)
        if isinstance(known, Mapping) and isinstance(value, Mapping):
            bounds = {"minimum": max, "maximum": min}
            if known.keys() == value.keys() == bounds.keys():
                both[key] = {bound: narrower(known[bound], value[bound]) for bound, narrower in bounds.items()}
            else:
                both[key] = joined(known, value)
        elif isinstance(known, list) and key in ("rules", "not_rules"):
            both[key] = list(dict.fromkeys((*known, *value)))
        elif not isinstance(value, Mapping) or key not in both:
            both[key] = value
    return both
