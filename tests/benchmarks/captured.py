"""Days of real dogs for the benchmarks of the order of work: what is decided for every profile and five histories each."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from math import floor
from pathlib import Path
from typing import Any, NamedTuple

from coatrules import load_history, load_profile
from coatrules.dog.history import History
from coatrules.dog.loading import given_history
from coatrules.dog.safety import stage_of
from coatrules.dog.state import state_on
from coatrules.order import engine
from coatrules.order.decide import decide
from coatrules.order.facts import all_facts
from coatrules.order.jobs import Job, Stations, Zone
from coatrules.order.table import set_out
from coatrules.profile.compiled import compile_profile
from coatrules.profile.model import Profile
from coatrules.recording.entry import as_planned

ROOT = Path(__file__).parent.parent.parent
START = date(2026, 3, 2)


class Day(NamedTuple):
    """A dog's day: what is to be done, and the half-minutes there are."""

    name: str
    jobs: list[Job]
    zones: Mapping[str, Zone]
    stations: Stations
    available: int


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
    return {"visit": day.isoformat(), **as_planned(engine.work_order(profile, history, date=day))}


def _day(name: str, profile: Profile, history: History, day: date, minutes: float | None) -> Day:
    compiled = compile_profile(profile)
    state = state_on(compiled, history, day)
    available = profile.visit.minutes if minutes is None else minutes
    facts, _ = all_facts(compiled, history.dog, state, available)
    stage = stage_of(state.age_weeks, profile.visit.first_coat_weeks, state.visits, available)
    verdicts, _ = decide(compiled, state, facts, stage)
    table = set_out(compiled, state, verdicts, stage)
    return Day(name, table.jobs, table.zones, table.stations, floor(available * 2))
