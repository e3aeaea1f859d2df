"""What a history makes a reader stop at: records that contradict the rest, a coat that does not roll, what ended one that did.

Dogs' breeds are named where a figure was published for them alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from coatrules.catalogue.message import message
from coatrules.dog.against_floor import against_floor
from coatrules.dog.history import History
from coatrules.dog.rolling import BLOWN_AFTER, RollingEnd, blown_window, visits_to_layer
from coatrules.dog.state import DogState
from coatrules.learning.pace import Observation, Outlier
from coatrules.learning.speed import Timed
from coatrules.problems import Path, Problem
from coatrules.profile.compiled import CompiledProfile


def history_findings(compiled: CompiledProfile, history: History, state: DogState) -> Iterator[Problem]:
    """The findings, each at its visit's line where a visit tells of it."""
    if state.first_visit is None and history.visits:
        first = min(visit.day for visit in history.visits)
        if first.toordinal() > state.day:
            yield _too_early(history, first, state.day)
    elif later := [visit.day for visit in history.visits if visit.day.toordinal() > state.day]:
        params = {"day": date.fromordinal(state.day), "visits": len(later), "first": min(later)}
        yield history.origin.problem_at(("visits",), "visits-after-day", params, severity="note")
    yield from against_floor(compiled, history, date.fromordinal(state.day))
    for contrary in state.pace.contrary:
        yield _contrary(compiled, history, contrary)
    for entry in state.speed.rejected:
        yield _minutes(history, entry)
    if state.rolling.rolls == "no":
        yield _one_coat(history, state)
    for ending in state.endings:
        yield _ending(compiled, history, ending, state.day)


def _too_early(history: History, first: date, day: int) -> Problem:
    params = {"day": date.fromordinal(day), "first": first}
    return history.origin.problem_at((), "before-first-visit", params, severity="warning")


def _contrary(compiled: CompiledProfile, history: History, outlier: Outlier) -> Problem:
    measured = outlier.measured
    params: dict[str, object] = {
        "region": compiled.regions[measured.region].region.label,
        "day": date.fromordinal(measured.day),
    }
    if isinstance(measured, Observation):
        key = "longest_mm"
        params["seen_mm"] = measured.length_mm
        if outlier.expected:
            params["expected_mm"] = outlier.expected
            code = "length-contradicts"
        else:
            code = "length-under-the-skin"
    else:
        key, code = "layers", "layers-contradict"
        params["layers"] = measured.layers
    path: Path = ("visits", measured.visit, "seen")
    if measured.visit >= 0:
        path = (*path, compiled.keys_of(history.visits[measured.visit].seen)[measured.region], key)
    return history.origin.problem_at(path, code, params, severity="warning")


def _minutes(history: History, entry: Timed) -> Problem:
    params = {"took": entry.minutes, "usual": entry.usual_minutes, "part": entry.said}
    path = ("visits", entry.visit, "work", entry.said, "minutes")
    return history.origin.problem_at(path, "minutes-doubtful", params, severity="warning")


def _one_coat(history: History, state: DogState) -> Problem:
    params = {"days": tuple(message("on-date", day=date.fromordinal(day)) for day, _ in state.rolling.days)}
    path = ("visits", state.rolling.days[-1][1], "seen")
    return history.origin.problem_at(path, "one-coat-at-a-time", params, severity="warning")


def _ending(compiled: CompiledProfile, history: History, ending: RollingEnd, day: int) -> Problem:
    path: Path = () if ending.visit is None else ("visits", ending.visit)
    code = f"rolling-ended-{ending.kind}"
    params: dict[str, object] = {"visits": visits_to_layer(compiled), "day": date.fromordinal(ending.day)}
    match ending.kind:
        case "season" | "whelped":
            path = (*path, "events", ending.kind)
            first, last = blown_window(ending.day)
            params |= {"first": first, "last": last}
            if day - ending.day < BLOWN_AFTER[0] * 7:
                code = f"rolling-will-end-{ending.kind}"
        case "gap":
            params |= {"weeks": (day - ending.day) / 7, "every_weeks": compiled.profile.visit.every_weeks}
        case "clip":
            params["regions"] = tuple(compiled.regions[name].region.label for name in ending.regions)
    return history.origin.problem_at(path, code, params, severity="note")
