"""What is worked today and what is put off: the decisions on each region, cut down to the time there is."""

from __future__ import annotations

from collections.abc import Mapping
from math import floor
from typing import NamedTuple

from attrs import frozen

from coatrules.coat.queue import WHOLE
from coatrules.dog.safety import Stage
from coatrules.dog.state import DogState
from coatrules.formats.values import TaskKind
from coatrules.order.jobs import WHOLE_SHARE, Arrangement
from coatrules.order.reasons import Reason
from coatrules.order.short_time import Why, fit, fit_out_of_turn
from coatrules.order.table import Piece, half_minutes, set_out
from coatrules.order.verdicts import Task, Verdict
from coatrules.profile.compiled import CompiledProfile


@frozen(kw_only=True)
class PutOff:
    """Work in one region that is put off: its tasks, the minutes that they would take, and why."""

    tasks: tuple[TaskKind, ...]
    minutes: float
    because: tuple[Reason, ...]


class Today(NamedTuple):
    """The slots at the table, with what each job's tasks are and which regions are tender; the verdicts on what is worked, cut down
    to what is done; and what is put off. A region that is worked in part is in both of the last. ``minutes`` are those of the work
    and its rests."""

    minutes: float
    arrangement: Arrangement
    pieces: Mapping[str, tuple[Piece, ...]]
    tender: frozenset[str]
    worked: Mapping[str, Verdict]
    deferred: Mapping[str, PutOff]


def todays_work(
    compiled: CompiledProfile,
    state: DogState,
    verdicts: Mapping[str, Verdict],
    stage: Stage,
    available: float,
    *,
    in_turn: bool = True,
) -> Today:
    """Returns what fits into so many minutes, rests included; if not ``in_turn`` each task in one slot, in no order and without
    rests."""
    table = set_out(compiled, state, verdicts, stage)
    asked = table.jobs, table.zones, table.stations, floor(available * 2), table.prices
    if in_turn:
        fitted = fit(*asked)
        minutes = fitted.arrangement.minutes
    else:
        fitted, minutes = fit_out_of_turn(*asked)
    worked: dict[str, Verdict] = {}
    deferred: dict[str, PutOff] = {}
    for job in table.jobs:
        name, verdict = job.region, verdicts[job.region]
        off = {table.pieces[name][piece].task: why for piece, why in fitted.put_off.get(name, {}).items()}
        if off:
            deferred[name] = _put_off(verdict, off, available, stage)
        if len(off) < len(verdict.tasks):
            at = {table.pieces[name][piece].task: eighths for piece, eighths in fitted.shares.get(name, {}).items()}
            kept = [
                _reduced(task, at.get(index, WHOLE_SHARE))
                for index, task in enumerate(verdict.tasks)
                if index not in off
            ]
            worked[name] = verdict._replace(tasks=tuple(kept))
    tender = frozenset(job.region for job in table.jobs if job.zone is not None)
    return Today(minutes / 2, fitted.arrangement, table.pieces, tender, worked, deferred)


def _reduced(task: Task, eighths: int) -> Task:
    if eighths == WHOLE_SHARE:
        return task
    if not task.mass:  # raked more lightly
        reason = Reason(rule="coat.short-raked", facts={"part": eighths / WHOLE_SHARE})
        return task._replace(minutes=task.minutes * eighths / WHOLE_SHARE, because=(*task.because, reason))
    mass = task.mass * eighths // WHOLE_SHARE
    reason = Reason(rule="coat.short-day", facts={"share": mass / WHOLE, "eighths": eighths})
    return task._replace(mass=mass, minutes=task.minutes * eighths / WHOLE_SHARE, because=(*task.because, reason))


_RULES: Mapping[Why, str] = {
    "said-stop": "floor.stop-waits",
    "out-of-sight": "coat.out-of-sight",
    "not-overdue": "coat.not-overdue",
    "low-priority": "coat.low-priority",
    "no-time": "coat.no-time",
}


def _put_off(verdict: Verdict, off: Mapping[int, Why], available: float, stage: Stage) -> PutOff:
    tasks = [verdict.tasks[index] for index in sorted(off)]
    minutes = sum(half_minutes(task.minutes) for task in tasks) / 2
    rules = list(dict.fromkeys(_RULES[off[index]] for index in sorted(off)))
    if minutes > available and stage == "grown" and "floor.stop-waits" not in rules:
        rules = ["coat.never-time"]  # but nobody gives a puppy a longer visit, or comes back to what the dog refused
    because = [Reason(rule=rule, facts={"minutes": minutes}) for rule in rules]
    return PutOff(
        tasks=tuple([task.kind for task in tasks]),
        minutes=minutes,
        because=(*because, *(reason for task in tasks for reason in task.because)),
    )
