"""Why, and why not: everything that was decided in one region, rule by rule, with the facts it rested on."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date as Date
from typing import Any

from attrs import frozen

from coatrules.catalogue.message import Message, message
from coatrules.conditions.condition import Miss
from coatrules.dog.history import History
from coatrules.dog.regime import worked_by
from coatrules.formats.values import SourceOf
from coatrules.order.arguments import checked_day
from coatrules.order.engine import order
from coatrules.order.facts import RegionFacts
from coatrules.order.work_order import WorkOrder
from coatrules.problems import InputError, Problem, nearest_fix
from coatrules.profile.compiled import CompiledProfile, compile_profile
from coatrules.profile.model import Profile, Source


@frozen
class RuleTrace:
    """One rule in one region. ``misses`` says which facts stopped it; empty where it held. ``sources`` are where its numbers
    come from."""

    rule: str
    because: str
    sources: tuple[Message, ...]
    facts: RegionFacts
    misses: tuple[Miss, ...]

    @property
    def source(self) -> str:
        """Its sources in words; empty where it has none."""
        return "; ".join(source.text for source in self.sources)

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

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Explanation:
        """Returns an explanation from what ``to_dict`` gave; raises ``InputError``. Its order is as ``WorkOrder.from_dict`` says."""
        from coatrules.order.stored_results import stored_explanation

        return stored_explanation(data)

    def to_dict(self) -> dict[str, Any]:
        """Returns the explanation as plain data by ``schemas/explanation.schema.json``."""
        from coatrules.order.plain_data import result_data

        return {
            "format": 1,
            "region": self.region,
            "rules": [_rule_data(rule) for rule in self.rules],
            "elsewhere": result_data(self.elsewhere),
            "order": self.order.to_dict(),
        }


def explain(
    profile: Profile, history: History, region: str, *, date: Date, minutes: float | None = None
) -> Explanation:
    """What was decided in a region on a day and why; raises ``InputError`` for a region the profile does not have."""
    profile = worked_by(profile, history, checked_day(date))
    compiled = compile_profile(profile)
    if region not in compiled.regions:
        raise InputError([_no_region(compiled, region)])
    result = order(compiled, history, date, minutes)
    facts = result.all_facts[region]
    own = compiled.regions[region].rules
    traces = tuple(
        RuleTrace(name, rule.because, _sources(profile, rule.source), rule.when.met(facts), rule.when.misses(facts))
        for name, rule in own
    )
    elsewhere = sorted(set(profile.rules) - {name for name, _ in own})
    return Explanation(result, region, traces, tuple(elsewhere))


def regions_named(compiled: CompiledProfile, name: str) -> tuple[str, ...]:
    """Returns the regions that a region, group or zone stands for; raises ``InputError`` for a name that is none."""
    if name in compiled.names:
        return compiled.names[name]
    raise InputError([_no_region(compiled, name)])


def _no_region(compiled: CompiledProfile, name: str) -> Problem:
    """What was meant, perhaps, by a name that is no region's: a group, a label, a slip of the pen."""
    if len(compiled.names.get(name, ())) > 1:
        return Problem(code="several-regions", params={"name": name, "regions": compiled.names[name]})
    text = name.strip().lower()
    labels = {region: found.region.label.lower() for region, found in compiled.regions.items()}
    meant = compiled.names.get(name) or [
        region for region, label in labels.items() if text and text in (label, *re.findall(r"\w+", label))
    ]
    fix = message("fix.use-name", name=meant[0]) if len(meant) == 1 else nearest_fix(text, meant or compiled.names)
    return Problem(code="unknown-region", params={"profile": compiled.profile.id, "name": name}, fix=fix)


def _rule_data(rule: RuleTrace) -> dict[str, Any]:
    from coatrules.order.plain_data import result_data

    return {
        "rule": rule.rule,
        "fired": rule.fired,
        "because": rule.because,
        "sources": result_data(rule.sources),
        "facts": result_data(rule.facts),
        "misses": [
            {
                "fact": miss.fact,
                "value": result_data(miss.value),
                "absent": miss.absent,
                "wanted": result_data(miss.wanted),
            }
            for miss in rule.misses
        ],
    }


def _sources(profile: Profile, source: SourceOf | None) -> tuple[Message, ...]:
    """A rule's sources."""
    match source:
        case None:
            names: list[str] = []
        case str():
            names = [source]
        case Mapping():
            names = list(dict.fromkeys(source.values()))
        case _:
            names = list(source)
    return tuple(_source(profile.sources[name]) for name in names)


def _source(source: Source) -> Message:
    if source.common_practice:
        return message("source.common-practice")
    parts = [part for part in (source.publisher, source.title, str(source.year or "")) if part]
    return message("source.from-memory" if source.from_memory else "source.published", reference=", ".join(parts))
