"""What was done at a visit, put together from the day's order and what was otherwise; plain data by the history's schema."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from coatrules.compiled import CompiledProfile
from coatrules.workorder import WorkOrder


def as_planned(order: WorkOrder) -> dict[str, Any]:
    """The ``work`` and ``put_off`` of a visit that went as ordered. Minutes are left out: nobody measured them."""
    work: dict[str, dict[str, Any]] = {}
    for step in order.steps:
        if step.region is None:
            continue
        done = work.setdefault(step.region, {})
        if step.share is not None:
            done["pull"] = round(step.share, 6)  # parts per million: exactly what the order counts in
        elif step.task in ("clip", "scissor"):
            done[step.task] = True if step.leave_mm is None else step.leave_mm
        else:
            done[step.task] = True
    visit: dict[str, Any] = {"work": work} if work else {}
    if order.deferred:
        visit["put_off"] = list(order.deferred)
    return visit


def apply_did(visit: dict[str, Any], part: str, what: Mapping[str, Any], plan: CompiledProfile) -> None:
    """Sets what was done on a part of the dog. Other tasks on record there stay; parts within it take it over too."""
    work = visit.setdefault("work", {})
    inside, around = _related(work, part, plan)
    if part not in work:
        work[part] = {**(work[around[0]] if around else {})}
        if around and "minutes" not in what:
            work[part].pop("minutes", None)  # those were of the larger part
    for name in (part, *inside) if "minutes" not in what else (part,):
        work[name] = {**(work[name] or {}), **what}
    visit["put_off"] = [name for name in visit.get("put_off", ()) if not _within(name, part, plan)]
    if not visit["put_off"]:
        del visit["put_off"]


def apply_left(visit: dict[str, Any], part: str, plan: CompiledProfile) -> None:
    """Takes a part of the dog out of the work and puts it off."""
    work = visit.setdefault("work", {})
    inside, around = _related(work, part, plan)
    for name in (part, *inside):
        work.pop(name, None)
    if around:
        work[part] = {}  # what is said of the smaller part wins over the larger one: here, that nothing was done
    if not work:
        del visit["work"]
    put_off = [name for name in visit.get("put_off", ()) if not _within(name, part, plan)]
    visit["put_off"] = [*put_off, part]


def _related(work: Mapping[str, Any], part: str, plan: CompiledProfile) -> tuple[list[str], list[str]]:
    """The parts on record inside this one, and those around it, the smallest first."""
    inside = [name for name in work if name != part and _within(name, part, plan)]
    around = [name for name in work if name != part and name not in inside and _within(part, name, plan)]
    return inside, sorted(around, key=lambda name: len(plan.names[name]))


def _within(inner: str, outer: str, plan: CompiledProfile) -> bool:
    return set(plan.names[inner]) <= set(plan.names[outer])
