"""What was done at a visit, put together from the day's order and what was otherwise; plain data by the history's schema."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from coatrules.order.work_order import WorkOrder
from coatrules.problems import InputError, Problem
from coatrules.profile.compiled import CompiledProfile
from coatrules.recording.parts import parts_shown


def as_planned(order: WorkOrder) -> dict[str, Any]:
    """The ``work`` and ``put_off`` of a visit that went as ordered, and whether it was part of a whole strip. Minutes are left out:
    nobody measured them."""
    work: dict[str, dict[str, Any]] = {}
    for step in order.steps:
        if step.region is None:
            continue
        done = work.setdefault(step.region, {})
        if step.share is not None:
            done["pull"] = round(step.share, 6)  # parts per million: exactly what the order counts in
        else:
            done[step.task] = True if step.leave_mm is None else step.leave_mm
    visit: dict[str, Any] = {"work": work} if work else {}
    if order.deferred:
        visit["put_off"] = list(order.deferred)
    if order.strip_whole and any(step.share for step in order.steps):
        visit["strip_whole"] = True
    return visit


def set_work(visit: dict[str, Any], part: str, what: Mapping[str, Any], compiled: CompiledProfile) -> None:
    """Sets what was done on a part of the dog. Other tasks on record there stay; nothing changes elsewhere.

    ``what`` is as one entry of ``work``; its ``minutes`` are for the part as a whole.
    """
    work = visit.setdefault("work", {})
    before = dict(compiled.by_region(work))
    regions = compiled.names[part]
    if not any(region in before for region in regions):
        work[part] = dict(what)
    elif part in work and all(before[region] is work[part] for region in regions):
        work[part] = {**work[part], **what}
    else:  # not alike on all of the part
        whole = {"minutes": what["minutes"]} if len(regions) > 1 and "minutes" in what else {}
        for region in _worked(regions, what, compiled):
            names = [name for name in work if compiled.names[name] == (region,)]
            done = before.get(region, {}) if names else _tasks(before.get(region, {}))
            for name in names:
                del work[name]
            work[region] = {**done, **(_tasks(what) if whole else what)}
        if whole:
            work[part] = {**work.get(part, {}), **whole}
    put_off = [name for name in visit.pop("put_off", ()) if not _within(name, part, compiled)]
    if put_off:
        visit["put_off"] = put_off


def _worked(regions: Sequence[str], what: Mapping[str, Any], compiled: CompiledProfile) -> Sequence[str]:
    """The regions of a part in which this was done: hair that is only ever cut is not pulled because a larger part was."""
    if not {"pull", "card"} & what.keys():
        return regions
    return [region for region in regions if compiled.regions[region].clipper_only is None] or regions


def check_minutes(visit: Mapping[str, Any], compiled: CompiledProfile) -> None:
    """Raises ``InputError`` where parts took longer than the whole visit; a part within another counts with it."""
    whole = visit.get("minutes")
    if whole is None:
        return
    took = {part: done["minutes"] for part, done in visit.get("work", {}).items() if "minutes" in done}
    within, counted = set[str](), 0.0
    for part in sorted(took, key=lambda part: -len(compiled.names[part])):
        if not within.issuperset(compiled.names[part]):
            within.update(compiled.names[part])
            counted += took[part]
    if counted > whole:
        shown = parts_shown(compiled)
        params = {"parts": tuple([shown[part] for part in took]), "minutes": counted, "whole": whole}
        raise InputError([Problem(code="typed.parts-took-longer", params=params)])


def note_asked(visit: dict[str, Any], planned: Mapping[str, Any]) -> None:
    """Writes beside every share that came what was asked for, where that was another; only then what came teaches."""
    for part, done in planned.get("work", {}).items():
        came = visit.get("work", {}).get(part, {})
        if "pull" in came and "pull" in done and came["pull"] != done["pull"]:
            visit["work"][part] = {**came, "asked": done["pull"]}


def put_off(visit: dict[str, Any], part: str, compiled: CompiledProfile) -> None:
    """Takes a part of the dog out of the work and puts it off."""
    work = {name: done for name, done in visit.pop("work", {}).items() if not _within(name, part, compiled)}
    larger = dict(compiled.by_region(work))
    # What is said of the smaller part wins over the larger one: here, that nothing was done.
    work |= {region: _cancelled(larger[region]) for region in compiled.names[part] if region in larger}
    if work:
        visit["work"] = work
    visit["put_off"] = [*(name for name in visit.get("put_off", ()) if not _within(name, part, compiled)), part]


def _cancelled(done: Mapping[str, Any]) -> dict[str, Any]:
    """Returns what a smaller part must say so that none of this holds for it, where entries are merged key by key."""
    return {task: 0 if task == "pull" else False for task in _tasks(done) if task not in ("pick", "asked")}


def _tasks(done: Mapping[str, Any]) -> dict[str, Any]:
    return {task: how for task, how in done.items() if task != "minutes"}


def _within(inner: str, outer: str, compiled: CompiledProfile) -> bool:
    return set(compiled.names[inner]) <= set(compiled.names[outer])
