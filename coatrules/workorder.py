"""The work order: what the engine answers, as frozen values and as plain data by ``schemas/work-order.schema.json``."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date as Date
from functools import cache
from typing import Any, Literal

from attrs import field, frozen

from coatrules.carry import Carries, Ending
from coatrules.pace import Pace
from coatrules.problems import Problem
from coatrules.reasons import Reason
from coatrules.resources import schema
from coatrules.speed import Speed
from coatrules.visits import Binding, Later, NextLayer, NextVisit


@frozen
class Step:
    """One step at the table. ``minutes`` are minutes; ``share`` is of the region's whole coat.

    ``region`` is None for a rest. ``how`` is hands and tools with how they are used, ``tools`` the same by name alone.
    ``bout`` of ``bouts``: a tender place is worked in several, with other work between.
    """

    region: str | None
    task: str
    minutes: float
    share: float | None = None
    leave_mm: float | None = None
    method: str | None = None
    how: str = ""
    tools: str = ""
    priority: float = 0.0
    priority_parts: Mapping[str, float] = field(factory=dict)
    bout: int = 1
    bouts: int = 1
    because: tuple[Reason, ...] = ()
    cautions: tuple[str, ...] = ()


@frozen(eq=False)
class WorkOrder:
    """Today's work on one dog.

    Every region is in exactly one of ``steps``, ``left_alone``, ``deferred`` and ``not_to_be_touched``. Minutes are minutes,
    shares 0 to 1, lengths millimetres. ``findings`` are what a reader should know about how it was computed.
    """

    dog_id: str
    dog_name: str
    profile_id: str
    profile_label: str
    profile_sha256: str
    date: Date
    pace: Pace
    speed: Speed
    carries: Carries
    endings: tuple[Ending, ...]
    minutes_available: float
    minutes_planned: float
    steps: tuple[Step, ...]
    left_alone: Mapping[str, tuple[Reason, ...]]
    deferred: Mapping[str, tuple[Reason, ...]]
    not_to_be_touched: Mapping[str, tuple[Reason, ...]]
    refer: tuple[str, ...]
    next_visit: NextVisit
    next_layers: Mapping[str, NextLayer]
    labels: Mapping[str, str]
    all_facts: Mapping[str, Mapping[str, object]]
    fired: Mapping[str, tuple[str, ...]]
    hair: Mapping[str, list[tuple[float, Date]]]
    guessed: Mapping[str, float]
    findings: tuple[Problem, ...]
    cautions: tuple[str, ...]

    @property
    def facts(self) -> dict[str, dict[str, object]]:
        """The facts that are each region's own, without those of the dog."""
        common = dog_facts()
        return {
            name: {fact: value for fact, value in found.items() if fact not in common}
            for name, found in self.all_facts.items()
        }

    def _repr_html_(self) -> str:
        """The printed page, for notebooks."""
        from coatrules.report.page import notebook

        return notebook(self)

    def to_dict(self) -> dict[str, Any]:
        """The work order as plain data, ready for JSON; the same order always gives the same data."""
        return {
            "format": 1,
            "dog": {"id": self.dog_id, "name": self.dog_name},
            "profile": {"id": self.profile_id, "label": self.profile_label, "sha256": self.profile_sha256},
            "date": self.date.isoformat(),
            "pace": {
                "mean": _plain(self.pace.mean),
                "sd": _plain(self.pace.sd),
                "from": self.pace.observations,
                "learned_from": _learned(self.pace),
            },
            "speed": {
                "mean": _plain(self.speed.mean),
                "sd": _plain(self.speed.sd),
                "from": self.speed.entries,
                "regions": {region: _plain(speed) for region, speed in self.speed.regions.items()},
            },
            "rolling": {
                "possible": self.carries.rolls,
                "most_layers": self.carries.most,
                "evidence": [_day(day) for day, _ in self.carries.days],
                "ended_by": [
                    {"kind": ending.kind, "day": _day(ending.day), "regions": list(ending.regions)}
                    for ending in self.endings
                ],
            },
            "minutes": {"available": self.minutes_available, "planned": self.minutes_planned},
            "steps": [_step(number, step) for number, step in enumerate(self.steps, 1)],
            "left_alone": _by_region(self.left_alone),
            "deferred": _by_region(self.deferred),
            "not_to_be_touched": _by_region(self.not_to_be_touched),
            "refer": list(self.refer),
            "next_visit": _next_visit(self.next_visit),
            "regions": {name: self._region(name, facts) for name, facts in self.facts.items()},
            "findings": [_finding(problem) for problem in self.findings],
            "cautions": list(self.cautions),
        }

    def _region(self, name: str, facts: Mapping[str, object]) -> dict[str, Any]:
        told = {fact: _plain(value) for fact, value in facts.items()}
        hair = [[_plain(share), day.isoformat()] for share, day in self.hair[name]]
        layer = self.next_layers.get(name)
        return {
            "label": self.labels[name],
            "facts": told,
            "rules": list(self.fired[name]),
            "hair": hair,
            "guessed_share": _plain(self.guessed[name]),
            "next_layer": {"day": layer.day.isoformat(), "window": _days(layer.window)} if layer is not None else None,
        }


@cache
def dog_facts() -> frozenset[str]:
    """The facts that are the same in every region, and the region's own names."""
    catalogue = schema("facts")["properties"]
    return frozenset(name for name, fact in catalogue.items() if fact["x-of"] == "dog") | {"region", "groups", "coat"}


def _step(number: int, step: Step) -> dict[str, Any]:
    return {
        "step": number,
        "region": step.region,
        "task": step.task,
        "share": step.share,
        "leave_mm": step.leave_mm,
        "method": step.method,
        "how": step.how,
        "minutes": step.minutes,
        "priority": step.priority,
        "priority_parts": dict(step.priority_parts),
        "bout": [step.bout, step.bouts],
        "because": [reason_data(reason) for reason in step.because],
        "cautions": list(step.cautions),
    }


def reason_data(reason: Reason) -> dict[str, Any]:
    """A reason as plain data, put in words."""
    facts = {name: _plain(value) for name, value in reason.facts.items()}
    return {"rule": reason.rule, "text": reason.text, "facts": facts}


def _by_region(reasons: Mapping[str, tuple[Reason, ...]]) -> dict[str, Any]:
    return {region: [reason_data(reason) for reason in found] for region, found in reasons.items()}


def _next_visit(visit: NextVisit) -> dict[str, Any]:
    return {
        "earliest": visit.earliest.isoformat(),
        "best": visit.best.isoformat(),
        "latest": visit.latest.isoformat() if visit.latest is not None else None,
        "clash": visit.clash,
        "window": {end: _days(visit.window_80(end)) for end in _ENDS},
        "because": [_binding(binding) for binding in visit.binding],
        "late": [_later(later) for later in visit.late],
    }


_ENDS: tuple[Literal["earliest", "best", "latest"], ...] = ("earliest", "best", "latest")


def _later(later: Later) -> dict[str, Any]:
    return {
        "weeks": later.weeks,
        "day": later.day.isoformat(),
        "cover": _plain(later.cover),
        "longest_mm": _plain(later.longest_mm),
        "blown_share": _plain(later.blown_share),
        "minutes": later.minutes,
    }


def _learned(pace: Pace) -> list[dict[str, Any]]:
    """What the pace was learned from, in the order of the days."""
    lengths = [
        (one.day, one.region, {"longest_mm": _plain(one.length_mm), "age_weeks": _plain(one.age_weeks)})
        for one in pace.lengths
    ]
    counts = [(count.day, count.region, {"layers": count.layers}) for count in pace.counts]
    by_day = sorted([*lengths, *counts], key=lambda one: one[:2])
    return [{"day": _day(day), "region": region, **seen} for day, region, seen in by_day]


def _day(ordinal: int) -> str:
    return Date.fromordinal(ordinal).isoformat()


def _days(days: tuple[Date, Date] | None) -> list[str] | None:
    return None if days is None else [day.isoformat() for day in days]


def _binding(binding: Binding) -> dict[str, Any]:
    day = binding.day.isoformat()
    return {
        "bound": binding.bound,
        "region": binding.region,
        "why": binding.why,
        "day": day,
        "window": _days(binding.window),
    }


def _finding(problem: Problem) -> dict[str, Any]:
    return {
        "code": problem.code,
        "severity": problem.severity,
        "message": problem.message,
        "path": list(problem.path),
        "line": problem.line,
    }


def _plain(value: object) -> Any:
    """A value as JSON has it; numbers to four places, so that an order reads the same however it was computed."""
    match value:
        case bool() | int() | str() | None:
            return value
        case float():
            return round(value, 4)
        case Date():
            return value.isoformat()
        case Mapping():
            return {str(name): _plain(part) for name, part in value.items()}
        case list() | tuple():
            return [_plain(part) for part in value]
    raise TypeError(f"a work order holds plain data, not {type(value).__name__}")
