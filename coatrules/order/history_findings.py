"""What a history makes a reader stop at: records that contradict the rest, a coat that does not roll, what ended one that did.

Dogs' breeds are named where a figure was published for them alone.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date

from coatrules.catalogue.message import message
from coatrules.dog.against_floor import against_floor
from coatrules.dog.forgotten_visits import Forgotten
from coatrules.dog.history import History, Seen, Work
from coatrules.dog.region_log import keys_given, speaker
from coatrules.dog.rolling import BLOWN_AFTER, RollingEnd, blown_window, visits_to_layer
from coatrules.dog.state import DogState
from coatrules.learning.observations import AtLeast, Felt, Layers, Length
from coatrules.learning.posterior import Outlier
from coatrules.learning.speed import Timed
from coatrules.order.clipped_coat import stripped_whole_from, strips_since_clip
from coatrules.problems import Path, Problem
from coatrules.profile.compiled import CompiledProfile


def history_findings(compiled: CompiledProfile, history: History, state: DogState) -> Iterator[Problem]:
    """The findings, each at its visit's line where a visit tells of it."""
    days = [visit.day for _, visit in history.counting()]
    if state.first_visit is None and days:
        first = min(days)
        if first.toordinal() > state.day:
            yield _too_early(history, first, state.day)
    elif later := [visit.day for visit in history.visits if visit.day.toordinal() > state.day]:
        params = {"day": date.fromordinal(state.day), "visits": len(later), "first": min(later)}
        yield history.origin.problem_at(("visits",), "visits-after-day", params, severity="note")
    yield from against_floor(compiled, history, date.fromordinal(state.day))
    yield from _nothing_corrected(history)
    yield from _old_year(history)
    paths: set[Path] = set()
    for outlier in state.pace.outliers:
        problem = _outlier(compiled, history, outlier)
        if problem.path not in paths:  # once, however many regions it was recorded of
            paths.add(problem.path)
            yield problem
    for missing in state.forgotten:
        yield _forgotten(history, missing)
    yield from _merged_parts(compiled, history, state.day)
    for entry in state.speed.rejected:
        yield _minutes(history, entry)
    if state.rolling.rolls == "no":
        yield _one_coat(history, state)
    for ending in state.endings:
        yield _ending(compiled, history, ending, state)
    for code, params in strips_since_clip(compiled, state):
        yield history.origin.problem_at((), code, params, severity="note")


def _too_early(history: History, first: date, day: int) -> Problem:
    params = {"day": date.fromordinal(day), "first": first}
    return history.origin.problem_at((), "before-first-visit", params, severity="warning")


def _nothing_corrected(history: History) -> Iterator[Problem]:
    """A correction of a visit that is not there most likely has the wrong day."""
    days: set[date] = set()
    for index, visit in enumerate(history.visits):
        if (visit.corrects or visit.withdrawn) and visit.day not in days:
            path, params = ("visits", index, "visit"), {"day": visit.day}
            yield history.origin.problem_at(path, "nothing-to-correct", params, severity="warning")
        days.add(visit.day)


FITS_A_YEAR_LATER = 84
"""Days within which a visit follows the one written before it, if its year is one too small."""


def _old_year(history: History) -> Iterator[Problem]:
    """A visit that would follow the one written before it a year later: in January many write the old year. One that is entered late
    is nothing to stop at."""
    before: date | None = None
    for index, visit in history.counting():
        if before is not None and 0 <= (visit.day - before).days + 365 <= FITS_A_YEAR_LATER and not visit.corrects:
            params = {"day": visit.day, "before": before}
            yield history.origin.problem_at(("visits", index, "visit"), "visit-far-back", params, severity="warning")
        before = visit.day


def _outlier(compiled: CompiledProfile, history: History, outlier: Outlier) -> Problem:
    measured, section = outlier.measured, "seen"
    params: dict[str, object] = {
        "region": compiled.regions[measured.region].region.label,
        "day": date.fromordinal(measured.day),
    }
    if isinstance(measured, Length | AtLeast):
        key = "longest_mm"
        params["seen_mm"] = measured.length_mm
        if outlier.expected:
            params["expected_mm"] = outlier.expected
            code = "length-contradicts"
        else:
            code = "length-under-the-skin"
    elif isinstance(measured, Layers):
        key, code = "layers", "layers-contradict"
        params["layers"] = measured.layers
    elif isinstance(measured, Felt):
        key, code = "comes", "verdict-contradicts"
        params["comes"] = measured.comes
    else:
        section, key, code = "work", "asked", "share-contradicts"
        params["share"] = measured.share
    if measured.visit < 0:  # it is of the arrival
        key_of = compiled.keys_of(history.arrival)[measured.region]
        return history.origin.problem_at(("arrival", key_of, key), code, params, severity="warning")
    visit = history.visits[measured.visit]
    entries: Mapping[str, Work] | Mapping[str, Seen] = visit.work if section == "work" else visit.seen
    part = speaker(entries, compiled.parts_of(entries)[measured.region], key)
    path: Path = ("visits", measured.visit, section, part or "", key)
    return history.origin.problem_at(path, code, params, severity="warning")


def _forgotten(history: History, missing: Forgotten) -> Problem:
    about, after, before = map(date.fromordinal, missing)
    path = next((("visits", index) for index, visit in history.counting() if visit.day == before), ("visits",))
    params = {"about": about, "after": after, "before": before}
    return history.origin.problem_at(path, "visit-forgotten", params, severity="note")


def _merged_parts(compiled: CompiledProfile, history: History, day: int) -> Iterator[Problem]:
    """Visits that say more of a group than of a part of it, which has an entry of its own: once, that part lost it."""
    for index, visit in history.until(date.fromordinal(day)):
        for section, entries in (("work", visit.work), ("seen", visit.seen)):
            if len(entries) < 2:
                continue
            found: dict[str, str] = {}
            for parts in compiled.parts_of(entries).values():
                if len(parts) > 1 and keys_given(entries[parts[-1]]):
                    own = set(keys_given(entries[parts[-1]]))
                    more = [part for part in parts[:-1] if set(keys_given(entries[part])) - own - {"minutes"}]
                    if more:
                        found[parts[-1]] = more[-1]
            for part, group in found.items():
                params = {"part": part, "group": group}
                path: Path = ("visits", index, section, part)
                yield history.origin.problem_at(path, "group-and-part", params, severity="note", key=True)


def _minutes(history: History, entry: Timed) -> Problem:
    params: dict[str, object] = {"took": entry.minutes, "usual": entry.usual_minutes}
    if not entry.part:
        path: Path = ("visits", entry.visit, "minutes")
        return history.origin.problem_at(path, "minutes-doubtful-visit", params, severity="warning")
    params["part"] = entry.part
    path = ("visits", entry.visit, "work", entry.part, "minutes")
    return history.origin.problem_at(path, "minutes-doubtful", params, severity="warning")


def _one_coat(history: History, state: DogState) -> Problem:
    params = {"days": tuple(message("on-date", day=date.fromordinal(day)) for day, _ in state.rolling.days)}
    path = ("visits", state.rolling.days[-1][1], "seen")
    return history.origin.problem_at(path, "one-coat-at-a-time", params, severity="warning")


def _ending(compiled: CompiledProfile, history: History, ending: RollingEnd, state: DogState) -> Problem:
    day = state.day
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
            params |= {"weeks": round((day - ending.day) / 7), "every_weeks": compiled.profile.visit.every_weeks}
        case "clip":
            params["regions"] = tuple(compiled.regions[name].region.label for name in ending.regions)
            params["ready"] = stripped_whole_from(state, ending.regions)
    return history.origin.problem_at(path, code, params, severity="note")
