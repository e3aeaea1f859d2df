"""A profile's worked cases, run; and what none of them tests."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from coatrules.check.subject import STRUCTURE, Subject, in_words, parts
from coatrules.conditions.condition import Miss
from coatrules.dog.loading import load_history
from coatrules.order.engine import order
from coatrules.order.work_order import WorkOrder
from coatrules.problems import InputError, Path, Problem
from coatrules.profile.model import Case, Profile


def worked_cases(subject: Subject) -> Iterator[Problem]:
    """Cases that do not come out as expected, what none of them tests, and expectations that test nothing."""
    profile = subject.profile
    if not profile.cases:
        message = "there is no worked case, so nothing shows that this profile does what it should"
        yield profile.origin.problem("no-cases", message, severity="warning", hint="Add one under 'cases'.")
        return
    fired: set[str] = set()
    pulled: set[str] = set()
    for name, case in profile.cases.items():
        yield from _idle(subject, name, case)
        try:
            result = order(subject.compiled, load_history(case.history), case.date, case.minutes)
        except InputError as error:
            for problem in error.problems:
                path: Path = ("cases", name, "history", *problem.path)
                yield profile.origin.problem(problem.code, problem.message, path, hint=problem.hint, key=problem.key)
            continue
        fired.update(rule for rules in result.fired.values() for rule in rules)
        pulled.update(step.region for step in result.steps if step.region is not None and step.task == "pull")
        yield from _unmet(profile, name, case, result)
    yield from _untested(subject, fired, pulled)


def _untested(subject: Subject, fired: Collection[str], pulled: Collection[str]) -> Iterator[Problem]:
    """Rules that no case fires, and layer targets under which no case pulls anything."""
    untested = [rule for rule in subject.profile.rules if rule not in fired]
    hint = "Add a case in which it holds, and say what must come out."
    for rule in untested:
        if subject.is_own("rules", rule):
            message = f"no worked case fires the rule '{rule}'"
            yield subject.problem("rule-untested", message, "rules", rule, hint=hint, key=True)
    if inherited := [rule for rule in untested if not subject.is_own("rules", rule)]:
        message = f"no worked case fires these rules that the profile takes over: {in_words(inherited, most=30)}"
        hint = "Add a case for each; a rule that this breed does not want is taken out with 'null'."
        yield subject.problem("rule-untested", message, "cases", hint=hint, key=True)
    for target in subject.profile.layer_targets:
        where = [r.id for r in subject.compiled.regions.values() if r.target is not None and r.target_id == target]
        if where and not any(region in pulled for region in where):
            message = f"in no worked case is anything pulled under the target '{target}'"
            hint = "Add a case of a dog whose coat is due there."
            yield subject.problem("target-untested", message, "layer_targets", target, hint=hint, key=True)


def _idle(subject: Subject, name: str, case: Case) -> Iterator[Problem]:
    """Expectations that come true whatever the engine answers, and a case that has no other."""
    expect = case.expect
    tests = bool(expect.rules or expect.steps or expect.not_rules or expect.refer is not None)
    visit = expect.next_visit
    tests = tests or any(day is not None for day in (visit.earliest, visit.best, visit.latest))
    for region, expected in expect.regions.items():
        space = subject.spaces.anywhere(subject.compiled.regions[region])
        for key, part in parts(expected).items():
            if part.facts() & STRUCTURE or space.possible((part, False)):
                tests = True
                continue
            message = f"case '{name}': '{key}' of '{region}' is so whatever happens, which tests nothing"
            hint = "Say the value that must come out."
            path = ("cases", name, "expect", "regions", region, key)
            yield subject.problem("expectation-idle", message, *path, hint=hint, key=True)
    for index, rule in enumerate(expect.not_rules):
        when, where = subject.profile.rules[rule].when, subject.regions(subject.profile.rules[rule].regions)
        if not any(subject.spaces.possible(region, (when, True)) for region in where):
            message = f"case '{name}': the rule '{rule}' can never hold, so that it does not tests nothing"
            hint = "Mend the rule, or take this out."
            yield subject.problem("expectation-idle", message, "cases", name, "expect", "not_rules", index, hint=hint)
    if not tests:
        message = f"the case '{name}' expects nothing that could come out otherwise"
        hint = "Say under 'expect' what must come out; 'coatrules new case' writes what comes out today."
        yield subject.problem("case-idle", message, "cases", name, "expect", hint=hint, key=True)


def _unmet(profile: Profile, name: str, case: Case, result: WorkOrder) -> Iterator[Problem]:
    def unmet(message: str, *path: str | int) -> Problem:
        hint = "'coatrules explain' says why it comes out so: mend the profile, or what the case expects."
        whole = f"case '{name}': {message}"
        return profile.origin.problem("case-unmet", whole, ("cases", name, "expect", *path), hint=hint)

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
        expected_day, day = getattr(case.expect.next_visit, end), getattr(result.next_visit, end)
        if expected_day is not None and expected_day != day:
            yield unmet(f"the next visit's {end} day came out as {day}", "next_visit", end)


def _miss(miss: Miss) -> str:
    return f"{miss.fact} should be {miss.expected}, but " + (
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
