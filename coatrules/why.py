"""Why, and why not: everything that was decided in one region, rule by rule, with the facts it rested on."""

from __future__ import annotations

from datetime import date as Date

from attrs import frozen

from coatrules.compiled import compiled
from coatrules.conditions import Miss
from coatrules.engine import order
from coatrules.facts import RegionFacts
from coatrules.history import History
from coatrules.problems import InputError, Problem, nearest
from coatrules.profile import Profile
from coatrules.workorder import WorkOrder


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
    plan = compiled(profile)
    if region not in plan.regions:
        hint = nearest(region, plan.regions)
        raise InputError([Problem("unknown-name", f"the profile '{profile.id}' has no region '{region}'", hint=hint)])
    result = order(plan, history, date, minutes)
    facts = result.all_facts[region]
    own = plan.regions[region].rules
    traces = tuple(
        RuleTrace(name, rule.because, _source(profile, rule.source), rule.when.met(facts), rule.when.misses(facts))
        for name, rule in own
    )
    elsewhere = sorted(set(profile.rules) - {name for name, _ in own})
    return Explanation(result, region, traces, tuple(elsewhere))


def _source(profile: Profile, source: object) -> str:
    """A rule's source in words."""
    names = [source] if isinstance(source, str) else list(source) if isinstance(source, tuple) else []
    said = []
    for name in names:
        known = profile.sources[name]
        if known.common_practice:
            said.append("common practice, no source")
        else:
            parts = [part for part in (known.publisher, known.title, str(known.year or "")) if part]
            said.append(", ".join(parts) + (" (from memory)" if known.from_memory else ""))
    return "; ".join(said)
