"""The work order: what the engine answers, as frozen values and as plain data by ``schemas/work-order.schema.json``."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date as Date
from functools import cache
from typing import Any, Literal

from attrs import field, frozen

from coatrules.catalogue.message import Message
from coatrules.dog.rolling import Rolling, RollingEnd
from coatrules.formats.digest import Edition
from coatrules.formats.resources import schema
from coatrules.formats.values import Outline
from coatrules.learning.observations import AtLeast, Came, Felt, Layers, Length, Observation
from coatrules.learning.pace import Pace
from coatrules.learning.speed import Speed
from coatrules.order import display
from coatrules.order.next_visit import NextLayer, NextVisit
from coatrules.order.reasons import Reason
from coatrules.order.show_ahead import ShowAhead, show_data
from coatrules.order.today import PutOff
from coatrules.problems import Problem
from coatrules.read_only import NOTHING, read_only

NotWorked = Literal["left_alone", "deferred", "not_to_be_touched"]


@frozen(kw_only=True)
class Step:
    """One step at the table. ``minutes`` are minutes; ``share`` is of the region's whole coat.

    ``region`` is None for a rest. ``how`` is hands and tools with how they are used, ``tools`` the same by name alone.
    ``bout`` of ``bouts``: a tender place is worked in several, with other work between. ``pass_number``: in which pass it
    stands, one hand or tool over all places that need it.
    """

    region: str | None
    task: str
    minutes: float
    pass_number: int = 1
    share: float | None = None
    leave_mm: float | None = None
    method: str | None = None
    how: str = ""
    tools: str = ""
    priority: float = 0.0
    priority_parts: Mapping[str, float] = field(default=NOTHING, converter=read_only)
    bout: int = 1
    bouts: int = 1
    because: tuple[Reason, ...] = ()
    cautions: tuple[Message, ...] = ()


@frozen(kw_only=True)
class WorkOrder:
    """Today's work on one dog; ``print`` shows it as the groomer reads it.

    Every region is in exactly one of ``steps``, ``left_alone``, ``deferred`` and ``not_to_be_touched``, but for one that is worked
    in part: it is in ``steps`` and in ``deferred``. Minutes are minutes, shares 0 to 1, lengths millimetres. ``strip_whole``: the
    coat is stripped out whole instead of rolled. ``findings`` are what a reader should know about how it was computed.
    """

    dog_id: str | int
    dog_name: str
    profile_id: str
    profile_label: str
    profile_regime: str | None
    profile_edition: Edition
    outline: Outline
    date: Date
    pace: Pace
    speed: Speed
    rolling: Rolling
    endings: tuple[RollingEnd, ...]
    minutes_available: float
    minutes_planned: float
    steps: tuple[Step, ...]
    left_alone: Mapping[str, tuple[Reason, ...]] = field(converter=read_only)
    deferred: Mapping[str, PutOff] = field(converter=read_only)
    not_to_be_touched: Mapping[str, tuple[Reason, ...]] = field(converter=read_only)
    refer: tuple[Message, ...]
    first: tuple[Message, ...]
    next_visit: NextVisit
    next_layers: Mapping[str, NextLayer] = field(converter=read_only)
    labels: Mapping[str, str] = field(converter=read_only)
    all_facts: Mapping[str, Mapping[str, object]] = field(converter=read_only)
    fired: Mapping[str, tuple[str, ...]] = field(converter=read_only)
    hair: Mapping[str, tuple[tuple[float, Date], ...]] = field(converter=read_only)
    ripe: Mapping[str, tuple[float, ...]] = field(converter=read_only)
    loose: Mapping[str, tuple[float, ...]] = field(converter=read_only)
    guessed: Mapping[str, float] = field(converter=read_only)
    findings: tuple[Problem, ...]
    cautions: tuple[Message, ...]
    show: ShowAhead | None = None
    strip_whole: bool = False

    @property
    def profile_sha256(self) -> str:
        """Which edition of the profile it was made by."""
        return self.profile_edition.sha256

    @property
    def facts(self) -> dict[str, dict[str, object]]:
        """The facts that are each region's own, without those of the dog."""
        common = dog_facts()
        return {
            name: {fact: value for fact, value in found.items() if fact not in common}
            for name, found in self.all_facts.items()
        }

    def not_worked(self, region: str) -> tuple[NotWorked, tuple[Reason, ...]] | None:
        """Returns how a region, or some of its work, is set aside today, and why; None where all of it is done."""
        if region in self.deferred:
            return "deferred", self.deferred[region].because
        if region in self.not_to_be_touched:
            return "not_to_be_touched", self.not_to_be_touched[region]
        return ("left_alone", self.left_alone[region]) if region in self.left_alone else None

    def __repr__(self) -> str:
        return (
            f"<WorkOrder for {self.dog_id} on {self.date}: {len(self.steps)} steps, {self.minutes_planned:g} minutes>"
        )

    def __str__(self) -> str:
        """As the groomer reads it at the table."""
        return display.text(self)

    def _repr_html_(self) -> str:
        """The printed page, for notebooks."""
        return display.html(self)

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> WorkOrder:
        """Returns an order from what ``to_dict`` gave, of this version or an earlier one; raises ``InputError``.

        It shows, prints and draws as the one it came from, and gives the same plain data. Numbers have four places. Of the learning
        only what it rested on is kept, and sentences are put together anew by their codes.
        """
        from coatrules.order.stored import stored_order

        return stored_order(data)

    def to_dict(self) -> dict[str, Any]:
        """The work order as plain data, ready for JSON; the same order always gives the same data."""
        from coatrules.order.plain_data import result_data as plain  # only what is written out needs it

        rendered: dict[int, dict[str, Any]] = {}  # regions that are alike share their reasons

        def reasons(because: tuple[Reason, ...]) -> list[dict[str, Any]]:
            found = []
            for reason in because:
                data = rendered.get(id(reason))
                if data is None:
                    data = rendered[id(reason)] = plain(reason)
                else:
                    data = {**data, "facts": {**data["facts"]}}  # the caller may change one alone
                found.append(data)
            return found

        return {
            "format": 1,
            "dog": {"id": self.dog_id, "name": self.dog_name},
            "profile": profile_data(
                self.profile_id,
                self.profile_label,
                self.profile_regime,
                self.profile_edition,
                self.outline,
                self.strip_whole,
            ),
            "date": plain(self.date),
            "pace": plain(
                {
                    "mean": self.pace.mean,
                    "sd": self.pace.sd,
                    "from": self.pace.observations,
                    "regions": {name: {"mean": mean, "sd": sd} for name, (mean, sd) in self.pace.regions.items()},
                    "learned_from": _learned(self.pace),
                    "final": self.pace.final,
                    "final_80": self.pace.final_80,
                }
            ),
            "speed": plain(
                {
                    "mean": self.speed.mean,
                    "sd": self.speed.sd,
                    "from": self.speed.entries,
                    "regions": self.speed.regions,
                }
            ),
            "rolling": plain(
                {
                    "possible": self.rolling.rolls,
                    "most_layers": self.rolling.most,
                    "evidence": [_day(day) for day, _ in self.rolling.days],
                    "ended_by": [
                        {"kind": ending.kind, "day": _day(ending.day), "regions": ending.regions}
                        for ending in self.endings
                    ],
                }
            ),
            "minutes": minutes_data(self.minutes_available, self.minutes_planned),
            "steps": [_step(number, step, plain, reasons) for number, step in enumerate(self.steps, 1)],
            "left_alone": plain(self.left_alone),
            "deferred": {name: reasons(put_off.because) for name, put_off in self.deferred.items()},
            "deferred_work": {
                name: {"tasks": list(put_off.tasks), "minutes": plain(put_off.minutes)}
                for name, put_off in self.deferred.items()
            },
            "not_to_be_touched": plain(self.not_to_be_touched),
            "refer": plain(self.refer),
            "first": plain(self.first),
            "next_visit": plain(next_visit_data(self.next_visit)),
            "show": self.show and plain(show_data(self.show)),
            "facts": plain(self._dog_facts()),
            "regions": {name: self._region(name, facts, plain) for name, facts in self.facts.items()},
            "findings": [_finding(problem, plain) for problem in self.findings],
            "cautions": plain(self.cautions),
        }

    def _dog_facts(self) -> dict[str, object]:
        """The facts of the dog, which are the same in every region."""
        any_region = next(iter(self.all_facts.values()), NOTHING)
        return {fact: value for fact, value in any_region.items() if fact in dog_facts() and fact not in _OF_NAMES}

    def _region(self, name: str, facts: Mapping[str, object], plain: Callable[[object], Any]) -> dict[str, Any]:
        return {
            "label": self.labels[name],
            "coat": self.all_facts[name].get("coat"),
            "groups": plain(self.all_facts[name].get("groups", ())),
            "facts": plain(facts),
            "rules": list(self.fired[name]),
            "hair": plain(self.hair[name]),
            "ripe": plain(self.ripe[name]),
            "loose": plain(self.loose[name]),
            "guessed_share": plain(self.guessed[name]),
            "next_layer": plain(self.next_layers.get(name)),
        }


def profile_data(
    name: str, label: str, regime: str | None, edition: Edition, outline: str, strip_whole: bool
) -> dict[str, Any]:
    """By which profile, in which regime and way, an order was made, as plain data."""
    chosen = {} if regime is None else {"regime": regime}
    way = {"strip_whole": True} if strip_whole else {}
    return {"id": name, "label": label, **chosen, **way, "sha256": edition.sha256, "outline": outline}


def minutes_data(available: float, planned: float) -> dict[str, float]:
    """The time there is and the time that is planned, as plain data."""
    return {"available": round(available, 4), "planned": round(planned, 4)}


@cache
def dog_facts() -> frozenset[str]:
    """The facts that are the same in every region, and the region's own names."""
    return frozenset(schema("facts")["$defs"]["dog"]["enum"]) | _OF_NAMES


_OF_NAMES = frozenset({"region", "groups", "coat"})
"""Facts that only say which region it is."""


def _step(
    number: int,
    step: Step,
    plain: Callable[[object], Any],
    reasons: Callable[[tuple[Reason, ...]], list[dict[str, Any]]],
) -> dict[str, Any]:
    return {
        "step": number,
        "pass": step.pass_number,
        "region": step.region,
        "task": step.task,
        "share": plain(step.share),
        "leave_mm": plain(step.leave_mm),
        "method": step.method,
        "how": step.how,
        "tools": step.tools,
        "minutes": plain(step.minutes),
        "priority": plain(step.priority),
        "priority_parts": plain(step.priority_parts),
        "bout": [step.bout, step.bouts],
        "because": reasons(step.because),
        "cautions": plain(step.cautions),
    }


def next_visit_data(visit: NextVisit) -> dict[str, Any]:
    """Returns a window as its schema has it, before its days are made text."""
    return {
        "earliest": visit.earliest,
        "best": visit.best,
        "latest": visit.latest,
        "planned": visit.planned,
        "clash": visit.clash,
        "hold": visit.hold,
        "window": {end: visit.window_80(end) for end in _ENDS},
        "because": visit.binding,
        "late": visit.late,
    } | ({} if visit.open is None else {"open": visit.open})


_ENDS: tuple[Literal["earliest", "best", "latest"], ...] = ("earliest", "best", "latest")


def _learned(pace: Pace) -> list[dict[str, Any]]:
    """What the pace and the final length were learned from, in the order of the days."""
    by_day = sorted(pace.records, key=lambda one: (one.day, one.region))
    return [{"day": _day(one.day), "region": one.region, **_figures(one)} for one in by_day]


def _figures(one: Observation) -> dict[str, Any]:
    match one:
        case Length():
            known = {} if one.arrived is not None else {"age_weeks": one.weeks}
            return {"longest_mm": one.length_mm, **known, **({"at_end": True} if one.at_end else {})}
        case AtLeast():
            return {"longest_mm": {"minimum": one.length_mm}}
        case Layers():
            return {"layers": one.layers}
        case Felt():
            return {"comes": one.comes}
        case Came():
            return {"came": one.share}


def _day(ordinal: int) -> Date:
    return Date.fromordinal(ordinal)


def _finding(problem: Problem, plain: Callable[[object], Any]) -> dict[str, Any]:
    return {
        "code": problem.code,
        "params": plain(problem.params),
        "severity": problem.severity,
        "message": problem.message,
        "hint": problem.hint,
        "path": list(problem.path),
        "line": problem.line,
    }
