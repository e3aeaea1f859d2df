"""A profile's worked cases, run; and what none of them tests."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

from attrs import evolve

from coatrules.catalogue.message import Message, message
from coatrules.check.rules import never_fires
from coatrules.check.subject import STRUCTURE, Subject, parts
from coatrules.conditions.condition import Miss
from coatrules.dog.history import History
from coatrules.dog.loading import load_history
from coatrules.dog.regime import worked_by
from coatrules.formats.documents import NOWHERE
from coatrules.order.engine import order
from coatrules.order.work_order import WorkOrder
from coatrules.problems import InputError, Path, Problem, path_text
from coatrules.profile.case_history import entries
from coatrules.profile.compiled import CompiledProfile, compile_profile
from coatrules.profile.model import Case, Profile


def worked_cases(subject: Subject) -> Iterator[Problem]:
    """Cases that do not come out as expected, what none of them tests, and expectations that test nothing."""
    profile = subject.profile
    if not profile.cases:
        if subject.needs_cases:
            yield subject.problem("no-cases", {})
        return
    fired: set[str] = set()
    pulled: set[str | None] = set()
    for name, case in profile.cases.items():
        yield from _idle(subject, name, case)
        try:
            compiled, history = occasion(profile, case)
            result = order(compiled, history, case.date, case.minutes, in_turn=bool(case.expect.steps))
        except InputError as error:
            yield from _in_history(profile, name, error.problems)
            continue
        fired.update(rule for rules in result.fired.values() for rule in rules)
        pulled.update(
            compiled.regions[step.region].target_id
            for step in result.steps
            if step.region is not None and step.task == "pull"
        )
        if late := [visit.day for visit in history.visits if visit.day > case.date]:
            index = next(index for index, visit in enumerate(history.visits) if visit.day == late[0])
            index = entries(profile.origin.value(("cases", name, "history")))[index]
            params = {"case": name, "date": case.date, "visit": late[0]}
            yield subject.problem("visit-after-case", params, "cases", name, "history", "visits", index)
            continue
        for place, outcome in unmet(case, result):
            if place[0] == "rules" and _is_found(subject, case.expect.rules[int(place[1])]):
                continue
            params = {"case": name, "outcome": outcome}
            yield profile.origin.problem_at(("cases", name, "expect", *place), "case-unmet", params)
    yield from _untested(subject, fired, pulled)


def _in_history(profile: Profile, name: str, problems: Sequence[Problem]) -> Iterator[Problem]:
    """Yields the problems of a case's history where they are written: what one of its entries lacks, else what the visits do that it
    stands for."""
    from coatrules.formats.schema_faults import explain  # only for mistakes

    around: Path = ("cases", name, "history")
    history = profile.origin.value(around)
    written = explain("profile#history", history, NOWHERE)
    for problem in written or problems:
        path = problem.path
        if not written and path[:1] == ("visits",) and len(path) > 1:
            path = ("visits", entries(history)[int(path[1])], *path[2:])
        path = (*around, *path)
        file, line, column = profile.origin.place(path, key=problem.key)
        yield evolve(problem, path=path, file=file, line=line, column=column)


def _is_found(subject: Subject, rule: str) -> bool:
    """Whether the rule that does not fire is itself a finding, as it never can."""
    return subject.is_own("rules", rule) and never_fires(subject, rule)


def _untested(subject: Subject, fired: Collection[str], pulled: Collection[str | None]) -> Iterator[Problem]:
    """Rules that no case fires, and layer targets under which no case pulls anything: those that the profile writes or changes, for
    what it takes over is proven where it was written."""
    for rule in subject.profile.rules:
        if rule not in fired and subject.is_own("rules", rule) and not never_fires(subject, rule):
            yield subject.problem("rule-untested", {"rule": rule}, "rules", rule, key=True)
    for target in subject.profile.layer_targets:
        if not subject.is_own("layer_targets", target):
            continue
        where = [r.id for r in subject.compiled.regions.values() if r.target is not None and r.target_id == target]
        if (where or subject.profile.layer_targets[target].when.facts()) and target not in pulled:
            yield subject.problem("target-untested", {"target": target}, "layer_targets", target, key=True)


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
            path = ("cases", name, "expect", "regions", region, key)
            params = {"case": name, "expectation": path_text(path[3:])}
            yield subject.problem("expectation-idle", params, *path, key=True)
    for index, rule in enumerate(expect.not_rules):
        when, where = subject.profile.rules[rule].when, subject.regions(subject.profile.rules[rule].regions)
        if not any(subject.spaces.possible(region, (when, True)) for region in where):
            if subject.is_own("rules", rule):
                continue  # the rule itself is found
            params = {"case": name, "expectation": f"not_rules: {rule}"}
            fix = message("fix.rule-cannot-fire")
            yield subject.problem("expectation-idle", params, "cases", name, "expect", "not_rules", index, fix=fix)
    if not tests:
        yield subject.problem("case-idle", {"case": name}, "cases", name, "expect", key=True)


def unmet(case: Case, result: WorkOrder) -> Iterator[tuple[Path, Message]]:
    """Yields what does not come out as a case expects: its path within ``expect``, and what came instead."""
    expect = case.expect
    for region, expected in expect.regions.items():
        for miss in expected.misses(outcome_facts(result, region)):
            yield ("regions", region, miss.fact), _miss(region, miss)
    fired = {rule for rules in result.fired.values() for rule in rules}
    for index, rule in enumerate(expect.rules):
        if rule not in fired:
            yield ("rules", index), message("unmet.rule", rule=rule)
    for index, rule in enumerate(expect.not_rules):
        if rule in fired:
            yield ("not_rules", index), message("unmet.not-rule", rule=rule)
    regions = worked_in_turn(result, expect.steps)
    if regions != list(expect.steps):
        yield ("steps",), message("unmet.steps", regions=tuple(regions)) if regions else message("unmet.no-steps")
    if expect.refer is not None and bool(result.refer) != expect.refer:
        yield ("refer",), message("unmet.referred" if result.refer else "unmet.not-referred")
    for end in ("earliest", "best", "latest"):
        expected_day, day = getattr(expect.next_visit, end), getattr(result.next_visit, end)
        if expected_day is not None and expected_day != day:
            yield ("next_visit", end), message(f"unmet.{end}" if day is not None else "unmet.any-day", day=day)


def worked_in_turn(result: WorkOrder, regions: Collection[str]) -> list[str]:
    """Returns which of these regions are worked, in the order in which their work begins."""
    return list(
        dict.fromkeys(step.region for step in result.steps if step.region in regions if step.region is not None)
    )


def occasion(profile: Profile, case: Case) -> tuple[CompiledProfile, History]:
    """Returns what a case's dog is worked by, and its history; raises ``InputError`` where that cannot be used."""
    history = load_history(case.history)
    return compile_profile(worked_by(profile, history, case.date)), history


def _miss(region: str, miss: Miss) -> Message:
    code = "unmet.fact-absent" if miss.absent else "unmet.fact"
    return message(code, region=region, fact=miss.fact, expected=miss.expected, value=miss.value)


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
