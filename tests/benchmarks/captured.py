"""Days of real dogs for the benchmarks of the order of work: what today's engine decides for every profile and history."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from math import ceil, floor
from pathlib import Path
from typing import Any, NamedTuple

from coatrules.compiled import CompiledProfile, compiled
from coatrules.decide import Verdict, decide
from coatrules.facts import all_facts
from coatrules.history import History
from coatrules.loading import given_history, load_history, load_profile
from coatrules.record import Record, recorded

from coatrules import engine, sequence
from coatrules.order.jobs import Job, Stations, Task, Zone, stations
from coatrules.profile import Profile
from tests.support.dog_points import (
    FINISHED_BY,
    KIND_TURNS,
    NEXT_DOOR,
    OUT_OF_SIGHT,
    SOILED,
    STATIONS,
    TOOLS,
    TURNS,
)

ROOT = Path(__file__).parent.parent.parent
START = date(2026, 3, 2)


class Day(NamedTuple):
    """A dog's day: the same work as today's sequencer takes it and as the new one does, and the half-minutes there are."""

    name: str
    old_jobs: list[sequence.Job]
    old_zones: dict[str, sequence.Bouts]
    jobs: list[Job]
    zones: dict[str, Zone]
    stations: Stations
    available: int
    puppy: bool


def days() -> Iterator[Day]:
    """Every profile with five histories each, its worked cases, and the salon's dogs."""
    profiles = sorted(path.stem for path in (ROOT / "profiles").glob("*.yaml"))
    for name in profiles:
        profile = load_profile(name)
        for title, history, day in _histories(profile):
            yield _day(f"{name}: {title}", profile, given_history(history), day, None)
        for title, case in profile.cases.items():
            yield _day(f"{name}: {title}", profile, given_history(case.history), case.date, case.minutes)
    for path in sorted((ROOT / "examples" / "salon").glob("*.yaml")):
        salon_dog = load_history(path)
        profile = load_profile(salon_dog.dog.profile or "rough-companion")
        last = max((visit.day for visit in salon_dog.visits), default=START)
        for weeks in (3, 6):
            yield _day(f"{path.stem}: {weeks} weeks on", profile, salon_dog, last + timedelta(weeks=weeks), None)


def _histories(profile: Profile) -> Iterator[tuple[str, dict[str, Any], date]]:
    every = timedelta(weeks=profile.visit.every_weeks)
    dog = {"id": "one", "born": "2022-05-01"}
    yield "new", {"format": 1, "dog": dog}, START
    for visits in (2, 5):
        made: list[dict[str, Any]] = []
        history = {"format": 1, "dog": dog, "visits": made}
        for number in range(visits):
            made.append(_carried_out(profile, history, START + number * every))
        yield f"after {visits} visits", history, START + visits * every
    stopped = {**made[-1], "reactions": {"toes": "stop", "throat": "unsettled", "face": "unsettled"}}
    yield "said stop", {"format": 1, "dog": dog, "visits": [*made[:-1], stopped]}, START + 5 * every
    young = {"id": "young", "born": (START - timedelta(weeks=20)).isoformat()}
    yield "puppy", {"format": 1, "dog": young}, START


def _carried_out(profile: Profile, history: Mapping[str, Any], day: date) -> dict[str, Any]:
    order = engine.work_order(profile, history, date=day)
    work: dict[str, dict[str, Any]] = {}
    for step in order.steps:
        if step.region is not None:
            value = {"pull": step.share, "clip": step.leave_mm or True}.get(step.task, True)
            work.setdefault(step.region, {})[step.task] = value
    return {"visit": day.isoformat(), "work": work, "put_off": list(order.deferred)}


def _day(name: str, profile: Profile, history: History, day: date, minutes: float | None) -> Day:
    plan = compiled(profile)
    record = recorded(plan, history, day)
    available = profile.visit.minutes if minutes is None else minutes
    facts, _ = all_facts(plan, history.dog, record, available)
    verdicts, _ = decide(plan, record, facts)
    old_jobs = engine._jobs(plan, record, verdicts)
    old_zones = engine._bouts(plan, record)
    overdue = {name: _is_overdue(plan, record, name, verdict) for name, verdict in verdicts.items()}
    jacket = {
        region.target[0]
        for region in plan.regions.values()
        if region.target is not None and "card" in region.region.minutes
    }
    jobs = [_job(plan, job, verdicts[job.region], facts[job.region], jacket, overdue[job.region]) for job in old_jobs]
    zones = {zone: Zone(*bouts) for zone, bouts in old_zones.items()}
    age = facts["back"].get("age_weeks") if "back" in facts else None
    puppy = isinstance(age, (int, float)) and age <= 26
    return Day(name, old_jobs, old_zones, jobs, zones, _stations(profile), floor(available * 2), puppy)


def _stations(profile: Profile) -> Stations:
    names = list(STATIONS)
    pairs = [(names.index(one), names.index(two)) for one, two in NEXT_DOOR]
    return stations(list(profile.regions), STATIONS.values(), pairs)


def _job(
    plan: CompiledProfile,
    old: sequence.Job,
    verdict: Verdict,
    facts: Mapping[str, object],
    jacket: set[str],
    overdue: bool,
) -> Job:
    region = plan.regions[old.region]
    tasks = []
    least = 1
    for piece, task in zip(old.tasks, verdict.tasks, strict=True):
        method = task.means.method if task.means is not None else task.kind
        finish = old.region in FINISHED_BY.get(task.kind, ())
        tasks.append(
            Task(
                piece.kind,
                piece.minutes,
                TURNS.get(method, KIND_TURNS[task.kind]),
                TOOLS.get(method, method),
                task.leave_mm if task.kind == "clip" else None,
                SOILED.get(old.region, 0) if task.kind == "clip" else 0,
                finish,
            )
        )
        if task.kind == "pull" and region.target is not None:
            least = min(8, max(1, ceil(8 * region.target[1].take.low_spot * 1_000_000 / task.mass - 1e-9)))
    target = region.target[0] if region.target is not None else None
    return Job(
        old.region,
        old.place,
        old.zone,
        tuple(tasks),
        target,
        target in jacket or any(task.kind == "card" for task in tasks),
        least,
        old.priority,
        float(verdict.priority_parts.get("put_off", 0.0)),
        old.put_off,
        old.overgrown,
        facts.get("last_reaction") == "stop",
        overdue,
        old.region not in OUT_OF_SIGHT,
    )


def _is_overdue(plan: CompiledProfile, record: Record, name: str, verdict: Verdict) -> bool:
    """Whether clipping here has waited longer than its zone's weeks."""
    zone = plan.regions[name].clipper_only
    if zone is None or not any(task.kind == "clip" for task in verdict.tasks):
        return False
    last = record.regions[name].last.get("clip")
    return last is not None and record.day - last > zone[1].every_weeks * 7
