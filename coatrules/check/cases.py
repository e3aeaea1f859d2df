"""A profile's worked cases, run; and the rules that none of them fires."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from coatrules.compiled import compiled
from coatrules.conditions import Miss
from coatrules.engine import order
from coatrules.loading import load_history
from coatrules.problems import InputError, Path, Problem
from coatrules.profile import Case, Profile
from coatrules.workorder import WorkOrder


def worked_cases(profile: Profile) -> Iterator[Problem]:
    """Cases that do not come out as expected, rules that no case fires, and the want of any case."""
    fired: set[str] = set()
    for name, case in profile.cases.items():
        try:
            result = order(compiled(profile), load_history(case.history), case.date, case.minutes)
        except InputError as error:
            for problem in error.problems:
                path: Path = ("cases", name, "history", *problem.path)
                yield profile.origin.problem(problem.code, problem.message, path, hint=problem.hint)
            continue
        fired.update(rule for rules in result.fired.values() for rule in rules)
        yield from _unmet(profile, name, case, result)
    if not profile.cases:
        message = "there is no worked case, so nothing shows that this profile does what it should"
        yield profile.origin.problem("no-cases", message, severity="warning", hint="Add one under 'cases'.")
        return
    for rule in profile.rules:
        if rule not in fired:
            message = f"no worked case fires the rule '{rule}'"
            hint = "Add a case in which it holds, and say what must come out."
            yield profile.origin.problem(
                "rule-untested", message, ("rules", rule), severity="warning", hint=hint, key=True
            )


def _unmet(profile: Profile, name: str, case: Case, result: WorkOrder) -> Iterator[Problem]:
    def unmet(message: str, *path: str | int) -> Problem:
        return profile.origin.problem("case-unmet", f"case '{name}': {message}", ("cases", name, "expect", *path))

    for region, expected in case.expect.regions.items():
        for miss in expected.misses(outcome_facts(result, region)):
            yield unmet(f"{region}: {_miss(miss)}", "regions", region, miss.fact)
    fired = {rule for rules in result.fired.values() for rule in rules}
    for index, rule in enumerate(case.expect.rules):
        if rule not in fired:
            yield unmet(f"the rule '{rule}' did not hold anywhere", "rules", index)
    for index, rule in enumerate(case.expect.not_rules):
        if rule in fired:
            yield unmet(f"the rule '{rule}' held", "not_rules", index)
    worked = list(dict.fromkeys(step.region for step in result.steps if step.region in case.expect.steps))
    if worked != list(case.expect.steps):
        yield unmet(f"the order of work was {', '.join(map(str, worked)) or 'nothing'}", "steps")
    if case.expect.refer is not None and bool(result.refer) != case.expect.refer:
        yield unmet("the dog was " + ("" if result.refer else "not ") + "sent to a veterinary surgeon", "refer")
    for end in ("earliest", "best", "latest"):
        wanted, came = getattr(case.expect.next_visit, end), getattr(result.next_visit, end)
        if wanted is not None and wanted != came:
            yield unmet(f"the next visit's {end} day came out as {came}", "next_visit", end)


def _miss(miss: Miss) -> str:
    return f"{miss.fact} should be {miss.wanted}, but " + (
        "there is none" if miss.absent else f"is {_short(miss.value)}"
    )


def _short(value: object) -> str:
    return f"{value:.4g}" if isinstance(value, float) else str(value)


def outcome_facts(result: WorkOrder, region: str) -> Mapping[str, object]:
    """What a case may expect of a region: its facts, and its ``outcome``, ``share``, ``minutes_planned`` and ``method``."""
    steps = [step for step in result.steps if step.region == region]
    facts = dict(result.facts[region])
    facts["outcome"] = (
        "worked"
        if steps
        else "deferred"
        if region in result.deferred
        else "not-to-be-touched"
        if region in result.not_to_be_touched
        else "left-alone"
    )
    if steps:
        facts["minutes_planned"] = sum(step.minutes for step in steps)
        main = next((step for step in steps if step.share is not None), steps[0])
        if main.share is not None:
            facts["share"] = main.share
        if main.method is not None:
            facts["method"] = main.method
    return facts
