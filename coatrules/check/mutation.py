"""Figures that could change without any worked case noticing, and the cases that would notice: mutation testing of a profile.

Each figure that a profile writes itself is changed up and down, by a quarter or by as much less as the format and the floor allow,
and all cases are worked again. Where none fails, an expectation is looked for that would: first of the cases there are, then of
dogs that are made up for it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import islice
from typing import Any, Final, NamedTuple

from coatrules.catalogue.message import message
from coatrules.catalogue.speaking import say
from coatrules.check.acceptance import not_accepted
from coatrules.check.cases import occasion, unmet
from coatrules.check.catalogue import FINDINGS
from coatrules.check.expectations import joined, telling
from coatrules.check.invented_dogs import facts_for, invented_dogs
from coatrules.check.subject import Subject
from coatrules.formats.paths import value_at, with_value
from coatrules.formats.structure import structure
from coatrules.formats.unstructure import thawed
from coatrules.formats.values import MAPPINGS
from coatrules.order.engine import order
from coatrules.order.work_order import WorkOrder
from coatrules.problems import InputError, Path, Problem, path_text
from coatrules.profile.case_history import in_series
from coatrules.profile.compiled import CompiledRegion
from coatrules.profile.loading import checked_profile, merged_chain
from coatrules.profile.model import ALWAYS, Case, Expectation, Profile
from coatrules.read_only import frozen_plain
from coatrules.reading import Document

STEPS: Final = ((1.25, 1.1, 1.02), (0.8, 0.9, 0.98))
"""By how much a figure is changed, up and down: by the first of each that can be loaded."""
MOST_DOGS: Final = 40
"""Dogs that are made up for one changed figure."""
MOST_REGIONS: Final = 2
"""Regions that they are made up for."""
_SECTIONS: Final = (
    "visit",
    "coats",
    "regions",
    "layer_targets",
    "blends",
    "sensitive_zones",
    "clipper_only_zones",
    "routines",
    "methods",
    "rules",
)
"""The sections with figures on which an order depends."""


def can_be_asked(problems: Iterable[Problem]) -> bool:
    """Returns whether a profile with these findings is sound and its cases come out, so that a changed figure can be noticed."""
    return not any(
        problem.code in _CASES_FAIL or (problem.severity == "error" and problem.code not in FINDINGS)
        for problem in problems
    )


_CASES_FAIL: Final = ("case-unmet", "visit-after-case")


def unproven(profile: Profile) -> Iterator[Problem]:
    """Yields a finding for each figure that a profile, or one of its own regimes, writes and that could change unnoticed. What would
    notice is ``params["add"]``: to be merged into the profile's file (RFC 7396)."""
    chain = tuple(document for _, document in profile.origin.parts)
    found = list(_Mutated(profile, profile, chain, ()).findings())
    for name in chain[0].data.get("regimes") or ():
        if name in profile.regimes:
            found += _Mutated(profile, profile.regimes[name], chain, ("regimes", name)).findings()
    yield from not_accepted(profile, found)


class _Suggestion:
    """A case, there already or made up, with what it should expect besides; ``usual``: how its dog is worked now."""

    def __init__(self, name: str, case: Case, usual: WorkOrder, *, there: bool) -> None:
        self.name, self.case, self.usual, self.there = name, case, usual, there
        self.expects: dict[str, Any] = {}
        self.figures: list[str] = []

    def notices(self, other: WorkOrder) -> bool:
        """Whether an order is not what should be expected."""
        expect = structure(self.expects, Expectation)
        return any(unmet(Case(history={}, date=self.case.date, expect=expect), other))

    def data(self) -> dict[str, Any]:
        """The case as its profile has it; of one that is there only what is to be added."""
        if self.there:
            return {"expect": self.expects}
        head: dict[str, Any] = {
            "because": say("case.because-figures", figures=tuple(self.figures)),
            "history": in_series(thawed(self.case.history)),
            "date": self.case.date.isoformat(),
        }
        if self.case.minutes is not None:
            head["minutes"] = self.case.minutes
        return {**head, "expect": self.expects}


class _Unnoticed(NamedTuple):
    """A figure that could be another, and the case that would notice; None where no dog that was tried is worked otherwise."""

    path: Path
    old: float
    new: list[float]
    told_by: _Suggestion | None


class _Mutated:
    """A profile, or one of its regimes, whose own figures are changed one by one; ``prefix``: where in the file it is written."""

    def __init__(self, whole: Profile, own: Profile, chain: Sequence[Document], prefix: Path) -> None:
        self.whole, self.own, self.chain, self.prefix = whole, own, chain, prefix
        self.subject = Subject(own)
        self.suggestions = [
            _Suggestion(name, case, usual, there=True)
            for name, case in own.cases.items()
            if (usual := _worked(own, case)) is not None and not case.expect.steps
        ]
        self.usual: dict[str, WorkOrder | None] = {}

    def findings(self) -> Iterator[Problem]:
        """Yields the findings, in the order of the file."""
        written = value_at(self.chain[0].data, self.prefix)
        unnoticed = [found for path in _figures(written) if (found := self._tried(path)) is not None]
        for path, old, new, told_by in unnoticed:
            params: dict[str, Any] = {"old": f"{old:g}", "new": tuple(f"{one:g}" for one in new)}
            fix = None
            if told_by is not None:
                add: dict[str, Any] = {"cases": {told_by.name: told_by.data()}}
                for key in reversed(self.prefix):
                    add = {str(key): add}
                params["add"] = frozen_plain(add)
                fix = message("fix.expect-too" if told_by.there else "fix.add-case", case=told_by.name)
            place = (*self.prefix, *path)
            yield self.whole.origin.problem_at(place, "figure-unproven", params, fix=fix, severity="warning")

    def _tried(self, path: Path) -> _Unnoticed | None:
        """What became of a figure that was changed up and down; None where a case fails each time."""
        old = value_at(self.chain[0].data, (*self.prefix, *path))
        new: list[float] = []
        told_by: _Suggestion | None = None
        for value, mutant in self._mutants((*self.prefix, *path), old):
            worked = self._worked_unnoticed(mutant)
            if worked is None:
                continue
            new.append(value)
            told_by = self._told_by(path, self._same_regime(mutant), worked) or told_by
        if told_by is not None:
            told_by.figures.append(path_text(path))
        return _Unnoticed(path, old, new, told_by) if new else None

    def _mutants(self, path: Path, old: float) -> Iterator[tuple[float, Profile]]:
        for steps in STEPS:
            for value in dict.fromkeys(_changed(old, step) for step in steps):
                data = with_value(self.chain[0].data, path, value)
                try:
                    yield value, checked_profile(*merged_chain((self.chain[0]._replace(data=data), *self.chain[1:])))
                except InputError:  # the format or the floor notices
                    continue
                break

    def _same_regime(self, mutant: Profile) -> Profile:
        return mutant.regimes[str(self.prefix[1])] if self.prefix else mutant

    def _worked_unnoticed(self, mutant: Profile) -> dict[str, WorkOrder] | None:
        """How the dogs of the cases are worked on a mutant, by case; None where a case fails on it: for what all regimes share one of
        theirs, too."""
        pairs = [(self.own, self._same_regime(mutant))]
        if not self.prefix:
            pairs += [(regime, mutant.regimes[name]) for name, regime in self.own.regimes.items()]
        worked: dict[str, WorkOrder] = {}
        for profile, other in pairs:
            for name, case in profile.cases.items():
                result = _worked(other, case)
                if result is None or any(unmet(case, result)):
                    return None
                if profile is self.own:
                    worked[name] = result
        return worked

    def _told_by(self, path: Path, mutant: Profile, worked: Mapping[str, WorkOrder]) -> _Suggestion | None:
        """The suggestion that notices a mutant, expecting more than it did where that is needed."""
        regions = self._regions(path)
        names = [region.id for region in regions]
        for suggestion in self.suggestions:
            other = worked[suggestion.name] if suggestion.there else _worked(mutant, suggestion.case)
            if other is None or (suggestion.expects and suggestion.notices(other)):
                return suggestion
            if (expects := telling(suggestion.usual, other, names)) is not None:
                suggestion.expects = joined(suggestion.expects, expects)
                return suggestion
        for case in islice(self._dogs(path, mutant, regions), MOST_DOGS):
            usual, other = self._usually(case), _worked(mutant, case)
            if usual is None or other is None:
                continue
            expects = telling(usual, other, names)
            if expects is None and (_in_the_row_alone(path) or _tasks(usual) != _tasks(other)):
                usual, other = (_worked(profile, case, in_turn=True) for profile in (self.own, mutant))
                expects = telling(usual, other, names) if usual is not None and other is not None else None
            if usual is not None and expects is not None:
                suggestion = _Suggestion(self._new_name(names), case, usual, there=False)
                suggestion.expects = expects
                self.suggestions.append(suggestion)
                return suggestion
        return None

    def _usually(self, case: Case) -> WorkOrder | None:
        key = repr((case.history, case.date, case.minutes))
        if key not in self.usual:
            self.usual[key] = _worked(self.own, case)
        return self.usual[key]

    def _new_name(self, regions: Sequence[str]) -> str:
        taken = {*self.own.cases, *(suggestion.name for suggestion in self.suggestions)}
        return next(name for number in range(1, 10_000) if (name := f"{regions[0]}-{number}") not in taken)

    def _dogs(self, path: Path, mutant: Profile, regions: Sequence[CompiledRegion]) -> Iterator[Case]:
        facts = list(self._facts(path, mutant))
        for region in regions:
            for one in facts:
                yield from invented_dogs(self.own, region, one)

    def _facts(self, path: Path, mutant: Profile) -> Iterator[dict[str, Any]]:
        """What is so of dogs for which a figure could count: the condition of its part, or the figure itself, at their edge."""
        if path == ("visit", "first_coat_weeks"):
            for profile in (self.own, mutant):
                yield {"age_weeks": profile.visit.first_coat_weeks}
            return
        for profile in (self.own, mutant):
            yield from facts_for(_when(profile, path))
            if _when(profile, path) == ALWAYS:
                return

    def _regions(self, path: Path) -> list[CompiledRegion]:
        """The regions in which a figure may count, those that are pulled first."""
        section, name = path[0], str(path[1])
        everywhere = list(self.subject.compiled.regions.values())
        if section == "visit":
            found = everywhere
        elif section == "regions":
            found = [self.subject.compiled.regions[name]]
        elif section == "coats":
            found = [region for region in everywhere if region.region.coat == name]
        else:
            found = self.subject.regions(getattr(self.own, str(section))[name].regions)
            if section in ("rules", "methods"):
                when = _when(self.own, path)
                found = [region for region in found if self.subject.spaces.possible(region, (when, True))]
        found = found or everywhere
        return sorted(found, key=lambda region: region.hand is None)[:MOST_REGIONS]


def _worked(profile: Profile, case: Case, *, in_turn: bool = False) -> WorkOrder | None:
    """How a case's dog is worked, in turn only where that or the case asks for it; None where it cannot be."""
    try:
        compiled, history = occasion(profile, case)
        return order(compiled, history, case.date, case.minutes, in_turn=in_turn or bool(case.expect.steps))
    except InputError:
        return None


def _in_the_row_alone(path: Path) -> bool:
    """Whether a figure can decide what is worked when, and else nothing: bouts, rests, turns, what soils the clipper."""
    return path[0] in ("sensitive_zones", "clipper_only_zones", "methods") or path == ("visit", "tender_in_a_row")


def _tasks(result: WorkOrder) -> list[tuple[object, ...]]:
    """What is worked of an order that is not in turn, by all that its turns depend on beside those figures."""
    return [(step.region, step.task, step.minutes, step.method, step.leave_mm) for step in result.steps]


def _when(profile: Profile, path: Path) -> Any:
    """The condition of the part that a figure stands in; ``ALWAYS`` where it has none."""
    section = getattr(profile, str(path[0]))
    return getattr(section[path[1]], "when", ALWAYS) if isinstance(section, Mapping) else ALWAYS


def _figures(data: Any, path: Path = ()) -> Iterator[Path]:
    """The paths of all numbers that a profile writes in its sections."""
    if isinstance(data, MAPPINGS):
        for key, value in data.items():
            if key in _SECTIONS if not path else key != "ranges":  # what a figure could be says nothing of what is done
                yield from _figures(value, (*path, key))
    elif isinstance(data, list | tuple):
        for index, value in enumerate(data):
            yield from _figures(value, (*path, index))
    elif isinstance(data, int | float) and not isinstance(data, bool):
        yield path


def _changed(old: float, step: float) -> float:
    """A figure by so much larger or smaller: a whole one stays whole."""
    if isinstance(old, int):
        least = 1 if step > 1 else -1
        new = round(old * step)
        return new if abs(new - old) >= 1 and (new > old) == (least > 0) else old + least
    return float(f"{old * step:.3g}")
