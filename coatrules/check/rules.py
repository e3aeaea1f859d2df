"""Rules that can never hold, always hold, change nothing, or contradict each other on facts that can occur together."""

from __future__ import annotations

from collections.abc import Iterator

from coatrules.check.subject import STRUCTURE, Subject, in_words, parts
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
            yield _never(subject, name, rule, where)
            continue
        yield from _always(subject, name, rule, live)
        yield from _hidden(subject, name, rule, live)


def _never(subject: Subject, name: str, rule: Rule, where: list[CompiledRegion]) -> Problem:
    for key, part in parts(rule.when).items():
        if not any(subject.spaces.possible(region, (part, True)) for region in where):
            message = f"the rule '{name}' can never hold: '{key}' is never so where it looks"
            hint = "Look at the number or the word, and at the rule's 'regions'."
            return subject.problem("rule-never", message, "rules", name, "if", key, hint=hint, key=True)
    message = f"the rule '{name}' can never hold: the parts of its 'if' never come together"
    hint = "Take one of them out, or write 'anyOf' where one of them is enough."
    return subject.problem("rule-never", message, "rules", name, "if", hint=hint, key=True)


def _always(subject: Subject, name: str, rule: Rule, live: list[CompiledRegion]) -> Iterator[Problem]:
    if not rule.when.facts() - STRUCTURE:
        return
    if not any(subject.spaces.possible(region, (rule.when, False)) for region in live):
        message = f"the rule '{name}' holds always, on every dog: its 'if' decides nothing"
        hint = "Leave 'if' out where that is meant; else look at the numbers."
        yield subject.problem("rule-always", message, "rules", name, "if", hint=hint, key=True)
        return
    for key, part in parts(rule.when).items():
        if part.facts() - STRUCTURE and not any(subject.spaces.possible(region, (part, False)) for region in live):
            message = f"in the rule '{name}', '{key}' is always so and decides nothing"
            hint = "Take it out, or look at the number."
            yield subject.problem("condition-idle", message, "rules", name, "if", key, hint=hint, key=True)


def _hidden(subject: Subject, name: str, rule: Rule, live: list[CompiledRegion]) -> Iterator[Problem]:
    """Effects that nothing comes of in any region where the rule can hold."""
    then = rule.then
    free = [r for r in live if subject.spaces.possible(r, (rule.when, True), (UNTOUCHED, False))]
    works = then.take.at_least is not None or then.take.at_most is not None or then.add or then.leave or then.use
    if works and not free:
        message = f"the rule '{name}' only holds where hands stay off the dog anyway, so what it asks for is never done"
        hint = "A 'caution' or 'refer' can still be said there; the work cannot be changed."
        yield subject.problem("rule-hidden", message, "rules", name, "then", hint=hint, key=True)
        return
    possible: set[TaskKind] = set().union(*(subject.tasks(region) for region in free)) if free else set()
    for key, tasks in (
        ("take", ["pull"] if then.take.at_least or then.take.at_most is not None else []),
        ("leave", list(then.leave)),
        ("use", [subject.profile.methods[then.use].does] if then.use else []),
    ):
        idle = [task for task in tasks if task not in possible]
        if idle and len(idle) == len(tasks):
            message = f"the rule '{name}' is about '{idle[0]}', which is never done in {in_words([r.id for r in live])}"
            hint = "Clipper-only regions and regions without a layer target are never pulled: look at the rule's 'regions'."
            yield subject.problem("rule-hidden", message, "rules", name, "then", key, hint=hint, key=True)
    capped = [r.hand.take.at_most for r in free if r.hand is not None]
    cap = then.take.at_most
    if cap is not None and capped and not subject.is_base and cap > max(capped):
        message = f"the rule '{name}' allows at most {cap:g}, but no target there ever allows more than {max(capped):g}"
        hint = "A smaller share would make a difference."
        yield subject.problem("rule-idle", message, "rules", name, "then", "take", "at_most", hint=hint)


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
                message = (
                    f"'{name}' asks for at least {floor:g} where '{other}' allows at most {cap:g} ({in_words(both)})"
                )
                hint = "The smaller share would hold. Let one of them leave out what the other is about ('if' or 'regions')."
                mine = name if subject.is_own("rules", name) else other
                end = "at_least" if mine == name else "at_most"
                yield subject.problem("rules-conflict", message, "rules", mine, "then", "take", end, hint=hint)
        low = [(r, r.target.take.at_most) for r in live if r.target is not None and r.target.take.at_most < floor]
        if low and subject.is_own("rules", name):
            most = f"the target '{low[0][0].target_id}' never allows more than {low[0][1]:g}"
            message = f"'{name}' asks for at least {floor:g}, but {most}"
            hint = "Raise the target's 'at_most', or ask for less."
            yield subject.problem("rules-conflict", message, "rules", name, "then", "take", "at_least", hint=hint)
