"""Invented dogs: histories as a mentor would make them up, by which a figure of a profile can be told from another.

Each is about one region. Its coat is grown out, half grown, worked for a year as the profile usually does, stripped, clipped, or
seen by a groomer who has little time; and the dog is one for whom a rule holds, or only just holds no more.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from math import ceil, floor
from typing import Any, Final

from coatrules.conditions.condition import Condition
from coatrules.profile.compiled import CompiledRegion
from coatrules.profile.model import Case, Expectation, Profile

DAY: Final = date(2026, 3, 2)
"""A Monday on which all of them are seen, but for those that a rule wants at another time of the year."""
GROWN_WEEKS: Final = (1, 2, 4, 6, 9, 13, 20, 30)
"""Ages of a coat that are tried."""
STRIPPED: Final = ((0.7, 2), (0.7, 3), (0.7, 4), (0.7, 6), (0.7, 9), (0.3, 3), (0.3, 6))
"""Shares that were pulled, and so many weeks before."""
VISITS: Final = 8
"""Usual visits after which a rolled coat has all its layers, or nearly."""
SHORT_MINUTES: Final = 30
_STOP_WEEKS: Final = 4
"""Weeks since a place was left because the dog objected there: it may be tried again."""
_MONTHS: Final = {"winter": 1, "spring": 4, "summer": 7, "autumn": 10}


def invented_dogs(profile: Profile, region: CompiledRegion, facts: Mapping[str, Any]) -> Iterator[Case]:
    """Yields cases that expect nothing yet, of dogs told apart by their coat in a region; ``facts``: what is so of all of them."""
    yield _dog(facts, region.id)
    every = profile.visit.every_weeks
    if region.target is not None:
        usual = {region.id: {"card": True, "pull": region.target.take.usual}}
        for late in (1.0, 1.5):
            last = every * late
            yield _dog(facts, region.id, visits={last + every * number: usual for number in range(VISITS)})
    edges = [(routine.task, routine.every_weeks) for _, routine in region.routines]
    if region.clipper_only is not None:
        edges.append(("clip", region.clipper_only.every_weeks))
        for left in (0.95, 1.1):
            arrival = {"clipped_mm": round(region.clipper_only.leave_mm * left, 1), "clipped_weeks": 0}
            yield _dog(facts, region.id, arrival=arrival)
    for task, weeks in edges:
        for days in (1, -1):  # work is due where its day is nearer than the next usual visit
            since = weeks - every / 2 + days / 7
            if since > 0:
                yield _dog(facts, region.id, visits={since: {region.id: {task: 10 if task == "clip" else True}}})
    for weeks in GROWN_WEEKS:
        yield _dog(facts, region.id, arrival={"grown_weeks": weeks})
    for share, after in STRIPPED:
        yield _dog(facts, region.id, visits={after: {region.id: {"pull": share}}})
    yield _dog({**facts, "minutes": SHORT_MINUTES}, region.id)
    for weeks in (2, 4):
        yield _dog(facts, region.id, visits={weeks: {region.id: {"card": True}}})


def _dog(
    facts: Mapping[str, Any],
    region: str,
    *,
    arrival: Mapping[str, Any] | None = None,
    visits: Mapping[float, Mapping[str, Any]] | None = None,
) -> Case:
    """A dog on its day. ``visits``: what was done so many weeks before; of the facts those are made true that can be."""
    day = _day(facts)
    dog: dict[str, Any] = {"id": "dog"}
    for name in ("sex", "neutered", "size", "coat_type", "colour"):
        if name in facts:
            dog[name] = facts[name]
    if "age_weeks" in facts:
        dog["born"] = _before(day, facts["age_weeks"])
    if "weeks_to_show" in facts:
        dog["show"] = _before(day, -facts["weeks_to_show"])
    past = {_before(day, weeks): {"work": dict(work)} for weeks, work in (visits or {}).items()}
    _make_so(past, facts, region, day)
    history: dict[str, Any] = {"dog": dog}
    if arrival is not None:
        history["arrival"] = {region: dict(arrival)}
    if past:
        history["visits"] = [{"visit": when, **past[when]} for when in sorted(past)]
    return Case(history=history, date=day, expect=Expectation(), minutes=facts.get("minutes"))


def _make_so(past: dict[str, dict[str, Any]], facts: Mapping[str, Any], region: str, day: date) -> None:
    """Adds to the visits what makes facts true that only a visit can."""

    def visit(weeks: float) -> dict[str, Any]:
        return past.setdefault(_before(day, weeks), {})

    since = facts.get("weeks_since_visit", _STOP_WEEKS)
    for name, work in (("card", True), ("pull", 0.2), ("cut", 10)):
        if (weeks := facts.get(f"weeks_since_{name}")) is not None:
            kind = "clip" if name == "cut" else name
            visit(weeks).setdefault("work", {}).setdefault(region, {})[kind] = work
    if (weeks := facts.get("weeks_since_season")) is not None:
        visit(weeks)["events"] = {"season": _before(day, weeks)}
    if (reaction := facts.get("last_reaction")) is not None:
        visit(since)["reactions"] = {region: reaction}
    if (comes := facts.get("last_comes")) is not None:
        visit(since).setdefault("seen", {}).setdefault(region, {})["comes"] = comes
    if health := facts.get("health"):
        visit(since)["health"] = list(health)
    if (skin := facts.get("skin")) is not None:
        visit(since).setdefault("seen", {}).setdefault(region, {})["skin"] = skin
    count = round(facts.get("visits", 0))
    while len(past) < count:
        visit(since * (len(past) + 1))["work"] = {region: {"pull": 0.05}}
    if "weeks_since_visit" in facts and not past:
        visit(since)["work"] = {region: {"pull": 0.05}}


def _before(day: date, weeks: float) -> str:
    return (day - timedelta(days=round(weeks * 7))).isoformat()


def _day(facts: Mapping[str, Any]) -> date:
    month = facts.get("month", _MONTHS.get(facts.get("time_of_year", "")))
    return DAY if month is None else DAY.replace(month=round(month))


def facts_for(condition: Condition) -> Iterator[dict[str, Any]]:
    """Yields facts on which a condition holds, as near to where it no longer would as whole days allow; one for each alternative.
    What cannot be said in a single value is left out."""
    tree = json.loads(condition.text)
    for alternative in tree.get("anyOf", ({},)):
        facts: dict[str, Any] = {}
        for part in (tree, *tree.get("allOf", ()), alternative):
            facts |= {name: value for name, test in part.items() if (value := _value(name, test)) is not None}
        yield facts


def _value(name: str, test: Any) -> Any:
    """A value that a test of a fact in its normal form accepts, at its edge."""
    if not isinstance(test, dict):
        return None
    if "const" in test:
        return test["const"]
    if test.get("enum"):
        return test["enum"][0]
    if "contains" in test:
        inner = _value(name, test["contains"])
        return None if inner is None else [inner]
    in_days = 7 if "weeks" in name else 1
    whole = in_days > 1 or name in ("visits", "month", "layers")
    for key, step in (("minimum", 0), ("exclusiveMinimum", 1), ("maximum", 0), ("exclusiveMaximum", -1)):
        if isinstance(test.get(key), int | float):
            edge = test[key] * in_days
            rounded = (ceil(edge) if "inimum" in key else floor(edge)) if whole else edge
            if step and rounded == edge:
                rounded += step if whole else step * 0.01
            return rounded / in_days
    return None
