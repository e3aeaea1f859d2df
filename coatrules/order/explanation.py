"""Why, and why not: everything that was decided in one region, rule by rule, with the facts it rested on."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date as Date

from attrs import frozen

from coatrules.conditions.condition import Miss
from coatrules.dog.history import History
from coatrules.formats.values import SourceOf
from coatrules.order.engine import order
from coatrules.order.facts import RegionFacts
from coatrules.order.work_order import WorkOrder
from coatrules.problems import InputError, Problem, nearest
from coatrules.profile.compiled import CompiledProfile, compile_profile
from coatrules.profile.model import Profile


@frozen
class RuleTrace:
    """One rule in one region. ``misses`` says which facts stopped it; empty where it held."""

    rule: str
    because: str
    source: str
    facts: RegionFacts
    misses: tuple[Miss, ...]

    @property
    def fired(self) -> bool:
        """Whether the rule held."""
        return not self.misses


@frozen(eq=False)
class Explanation:
    """One region of a work order, explained. ``elsewhere`` are the profile's rules that are not for this region."""

    order: WorkOrder
    region: str
    rules: tuple[RuleTrace, ...]
    elsewhere: tuple[str, ...]


def explain(
    profile: Profile, history: History, region: str, *, date: Date, minutes: float | None = None
) -> Explanation:
    """What was decided in a region on a day and why; raises ``InputError`` for a region the profile does not have."""
    compiled = compile_profile(profile)
    if region not in compiled.regions:
        raise InputError([_no_region(compiled, region)])
    result = order(compiled, history, date, minutes)
    facts = result.all_facts[region]
    own = compiled.regions[region].rules
    traces = tuple(
        RuleTrace(name, rule.because, _source(profile, rule.source), rule.when.met(facts), rule.when.misses(facts))
        for name, rule in own
    )
    elsewhere = sorted(set(profile.rules) - {name for name, _ in own})
    return Explanation(result, region, traces, tuple(elsewhere))


def _no_region(compiled: CompiledProfile, name: str) -> Problem:
    """What was meant, perhaps, by a name that is no region's: a group, a label, a slip of the pen."""
    if len(compiled.names.get(name, ())) > 1:
        message = f"'{name}' is more than one region, and one at a time is explained"
        return Problem(
            code="unknown-name", message=message, hint=f"Name one of them: {', '.join(compiled.names[name])}."
        )
    said = name.strip().lower()
    labels = {region: found.region.label.lower() for region, found in compiled.regions.items()}
    meant = compiled.names.get(name) or [
        region for region, label in labels.items() if said and said in (label, *re.findall(r"\w+", label))
    ]
    hint = f"Did you mean '{meant[0]}'?" if len(meant) == 1 else nearest(said, meant or compiled.names)
    return Problem(
        code="unknown-name", message=f"the profile '{compiled.profile.id}' has no region '{name}'", hint=hint
    )


def _source(profile: Profile, source: SourceOf | None) -> str:
    """A rule's source in words."""
    match source:
        case None:
            names: list[str] = []
        case str():
            names = [source]
        case Mapping():
            names = list(dict.fromkeys(source.values()))
        case _:
            names = list(source)
    said = []
    for name in names:
        known = profile.sources[name]
        if known.common_practice:
            said.append("common practice, no source")
        else:
            parts = [part for part in (known.publisher, known.title, str(known.year or "")) if part]
            said.append(", ".join(parts) + (" (from memory)" if known.from_memory else ""))
    return "; ".join(said)
