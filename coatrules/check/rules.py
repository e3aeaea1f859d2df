"""Rules that can never hold, always hold, change nothing, or contradict each other on facts that can occur together."""

from __future__ import annotations

import json
from collections.abc import Iterator
from math import inf

from coatrules.catalogue.message import Message, message
from coatrules.check.fact_values import is_satisfiable
from coatrules.check.subject import STRUCTURE, Subject, parts
from coatrules.conditions.condition import Condition
from coatrules.dog.safety import HEALTH
from coatrules.formats.values import TaskKind
from coatrules.problems import Problem
from coatrules.profile.compiled import CompiledRegion
from coatrules.profile.model import Rule

UNTOUCHED = Condition.parse({"anyOf": [{"skin": "unsound"}, {"health": {"contains": {"enum": sorted(HEALTH)}}}]})
"""When safety keeps all hands off, whatever a rule says."""


def rules(subject: Subject) -> Iterator[Problem]:
    """All findings on single rules."""
    for name, rule in subject.profile.rules.items():
        if not subject.is_own("rules", name):
            continue
        where = subject.regions(rule.regions)
        live = [region for region in where if subject.spaces.possible(region, (rule.when, True))]
        if not live:
            if is_satisfiable(rule.when, subject.profile):
                yield _never(subject, name, rule, where)
            continue
        yield from _alternatives(subject, name, rule, live)
        yield from _always(subject, name, rule, live)
        yield from _hidden(subject, name, rule, live)


def never_fires(subject: Subject, name: str) -> bool:
    """Whether a rule can never fire."""
    rule = subject.profile.rules[name]
    return not any(subject.spaces.possible(region, (rule.when, True)) for region in subject.regions(rule.regions))


def _never(subject: Subject, name: str, rule: Rule, where: list[CompiledRegion]) -> Problem:
    for key, part in parts(rule.when).items():
        if not any(subject.spaces.possible(region, (part, True)) for region in where):
            params = {"rule": name, "why": message("never.part", key=key)}
            fix = _bounds_fix(key, part)
            return subject.problem("rule-never", params, "rules", name, "if", key, fix=fix, key=True)
    params = {"rule": name, "why": message("never.together")}
    return subject.problem("rule-never", params, "rules", name, "if", fix=message("fix.any-of"), key=True)


def _bounds_fix(fact: str, part: Condition) -> Message | None:
    """How bounds are written the right way round; None where they are."""
    test = part.tree.get(fact)
    if isinstance(test, dict) and test.get("minimum", -inf) > test.get("maximum", inf):
        return message("schema-type.fix-bounds", low=f"{test['maximum']:g}", high=f"{test['minimum']:g}")
    return None


def _alternatives(subject: Subject, name: str, rule: Rule, live: list[CompiledRegion]) -> Iterator[Problem]:
    """Alternatives of a rule that can hold of which one never does."""
    for index, one in enumerate(json.loads(rule.when.text).get("anyOf", ())):
        alternative = Condition.parse(one)
        possible = any(subject.spaces.possible(region, (alternative, True)) for region in live)
        if not possible and is_satisfiable(alternative, subject.profile):
            path = ("rules", name, "if", "anyOf", index)
            yield subject.problem("alternative-never", {"rule": name, "keys": tuple(sorted(one))}, *path)


def _always(subject: Subject, name: str, rule: Rule, live: list[CompiledRegion]) -> Iterator[Problem]:
    if not rule.when.facts() - STRUCTURE:
        return
    if not any(subject.spaces.possible(region, (rule.when, False)) for region in live):
        yield subject.problem("rule-always", {"rule": name}, "rules", name, "if", key=True)
        return
    for key, part in parts(rule.when).items():
        if part.facts() - STRUCTURE and not any(subject.spaces.possible(region, (part, False)) for region in live):
            yield subject.problem("condition-idle", {"rule": name, "key": key}, "rules", name, "if", key, key=True)


def _hidden(subject: Subject, name: str, rule: Rule, live: list[CompiledRegion]) -> Iterator[Problem]:
    """Effects that nothing comes of in any region where the rule can hold."""
    then = rule.then
    free = [r for r in live if subject.spaces.possible(r, (rule.when, True), (UNTOUCHED, False))]
    works = then.take.at_least is not None or then.take.at_most is not None or then.add or then.leave or then.use
    if works and not free:
        params = {"rule": name, "why": message("hidden.hands-off")}
        yield subject.problem("rule-hidden", params, "rules", name, "then", fix=message("fix.caution-only"), key=True)
        return
    possible: set[TaskKind] = set().union(*(subject.tasks(region) for region in free)) if free else set()
    for key, tasks in (
        ("take", ["pull"] if then.take.at_least or then.take.at_most is not None else []),
        ("leave", list(then.leave)),
        ("use", [subject.profile.methods[then.use].does] if then.use else []),
    ):
        idle = [task for task in tasks if task not in possible]
        if idle and len(idle) == len(tasks):
            why = message("hidden.task", task=idle[0], regions=tuple(region.id for region in live))
            yield subject.problem("rule-hidden", {"rule": name, "why": why}, "rules", name, "then", key, key=True)
    capped = [r.hand.take.at_most for r in free if r.hand is not None]
    cap = then.take.at_most
    if cap is not None and capped and not subject.is_base and cap > max(capped):
        params = {"rule": name, "at_most": cap, "target_at_most": max(capped)}
        yield subject.problem("rule-idle", params, "rules", name, "then", "take", "at_most")


def same(subject: Subject) -> Iterator[Problem]:
    """Rules that say what another says already: most likely a copy that was to be changed."""
    known: dict[object, str] = {}
    for name, rule in subject.profile.rules.items():
        other = known.setdefault((rule.regions, rule.when, rule.then), name)
        if other != name and subject.is_own("rules", name):
            yield subject.problem("rules-same", {"rule": name, "other": other}, "rules", name, key=True)


def conflicts(subject: Subject) -> Iterator[Problem]:
    """Floors above a cap that can hold at the same time: the cap then wins, and the floor is never kept."""
    rules = subject.profile.rules
    for name, rule in rules.items():
        floor = rule.then.take.at_least
        if floor is None:
            continue
        where = [region for region in subject.regions(rule.regions) if "pull" in subject.tasks(region)]
        live = [region for region in where if subject.spaces.possible(region, (rule.when, True))]
        for other, capped in rules.items():
            cap = capped.then.take.at_most
            if cap is None or cap >= floor or not (subject.is_own("rules", name) or subject.is_own("rules", other)):
                continue
            both = [
                region.id
                for region in live
                if any(rule_id == other for rule_id, _ in region.rules)
                and subject.spaces.possible(region, (rule.when, True), (capped.when, True))
            ]
            if both:
                limit = message("limit.rule", rule=other, at_most=cap, regions=tuple(both))
                params = {"rule": name, "at_least": floor, "limit": limit}
                mine = name if subject.is_own("rules", name) else other
                end = "at_least" if mine == name else "at_most"
                yield subject.problem("rules-conflict", params, "rules", mine, "then", "take", end)
        low = [(r, r.target.take.at_most) for r in live if r.target is not None and r.target.take.at_most < floor]
        if low and subject.is_own("rules", name):
            limit = message("limit.target", target=low[0][0].target_id, at_most=low[0][1])
            params = {"rule": name, "at_least": floor, "limit": limit}
            path = ("rules", name, "then", "take", "at_least")
            yield subject.problem("rules-conflict", params, *path, fix=message("fix.raise-target"))
