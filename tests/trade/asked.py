"""Puts the statements of ``profiles/evidence/statements.csv`` to profiles: what does a dog kept for two years by the profile say?

A second way to compute what stands: the coats are followed as plain portions of hair (``tests/support/rolling.py``), each target
pulling its usual share. The engine's own decisions are asked too: of a few profiles by the fast tests, of all by the slow ones.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from functools import cache
from math import ceil, inf
from pathlib import Path
from statistics import median

from attrs import evolve, frozen

from coatrules import Profile, load_profile
from coatrules.coat.growth import Growth
from coatrules.coat.queue import WHOLE
from coatrules.dog.history import Dog, History, Visit
from coatrules.dog.state import state_on
from coatrules.formats.structure import structure
from coatrules.order.decide import decide
from coatrules.order.facts import all_facts
from coatrules.order.today import todays_work
from coatrules.profile.compiled import compile_profile
from coatrules.profile.floor import DAY_MINUTES
from tests.support.rolling import Hair

TABLES = Path(__file__).resolve().parents[2] / "profiles" / "evidence"
DAY = date(2026, 3, 2)
NEAR_MM = 0.5  # nobody measures closer
REGIMES = {  # the way of keeping that a profile of a breed with several stands for; others keep a companion
    "cairn-terrier-show": "show",
    "lakeland-terrier-staged": "staged",
    "miniature-schnauzer": "show",
    "wire-fox-terrier-show": "show",
    "wirehaired-pointing-griffon-show": "show",
}

Row = Mapping[str, str]


def table(name: str) -> tuple[Row, ...]:
    with (TABLES / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return tuple(csv.DictReader(file))


@cache
def statements() -> Mapping[str, Row]:
    return {row["id"]: row for row in table("statements")}


@cache
def profiles_of() -> Mapping[str, tuple[str, ...]]:
    """The profiles of each breed."""
    return {row["breed"]: tuple(row["profiles"].split("+")) for row in table("breeds")}


def regimes_of(row: Row) -> set[str]:
    """The ways of keeping that the profiles of the row's breed stand for."""
    return {REGIMES.get(name, "pet") for name in profiles_of()[row["breed"]]}


def put_to(name: str) -> Iterator[Row]:
    """The rows that a profile is held to: of its breed, of its way of keeping, that can be asked and are no mere permission."""
    own = REGIMES.get(name, "pet")
    for row in statements().values():
        if name not in profiles_of()[row["breed"]] or row["asked_as"] == "none":
            continue
        if row["regime"] and row["regime"] != own and (row["regime"] in regimes_of(row) or row["regime"] == "staged"):
            continue
        yield row


@cache
def profile_of(name: str) -> Profile:
    return load_profile(name)


# ---- how a dog stands that is kept by the profile


@frozen(eq=False)
class Kept:
    """``mm``: outline before a visit. ``tasks``: what is ever done. ``round_weeks``: age at which the back's hair goes."""

    profile: Profile
    mm: Mapping[str, float]
    tasks: Mapping[str, frozenset[str]]
    round_weeks: float | None


@cache
def settled_mm(growth: Growth, every: float, share: float) -> float:
    """The outline in mm before a visit, the median of a year, once the coat has gone round."""
    hair = Hair(growth)
    found = []
    for visit in range(ceil(104 / every) + ceil(1 / share)):
        if visit * every >= 52:
            found.append(hair.outline())
        hair.pull(share)
        hair.grow(every)
    return median(found)


@cache
def kept(name: str) -> Kept:
    """The coat of an average dog after a year, told from the profile's shares, zones and routines."""
    profile = profile_of(name)
    every, mm, tasks = profile.visit.every_weeks, {}, {}
    compiled = compile_profile(profile)
    for region, plan in compiled.regions.items():
        done: set[str] = {routine.task for _, routine in plan.routines}
        mm[region] = plan.growth.full_mm
        if plan.growth.undercoat_weeks is not None and "card" in plan.region.minutes:
            done.add("card")
        if plan.clipper_only is not None:
            done.add("clip")
            clipped = plan.clipper_only  # as long as it is when its turn comes
            mm[region] = min(
                plan.growth.full_mm, clipped.leave_mm + max(every, clipped.every_weeks) * plan.growth.mm_per_week
            )
        elif plan.target is not None and plan.target.take.usual > 0:
            done.add("pull")
            mm[region] = settled_mm(plan.growth, every, plan.target.take.usual)
        tasks[region] = frozenset(done)
    back = compiled.regions["back"].target
    return Kept(profile, mm, tasks, every / back.take.usual if back is not None and back.take.usual else None)


@cache
def kept_by_orders(name: str) -> Kept:
    """The same told by two years of the engine's own decisions, all carried out.

    They are the orders without sequence and words, which nothing here asks for: a third of the time.
    """
    profile = profile_of(name)
    compiled = compile_profile(profile)
    every = profile.visit.every_weeks
    history = History(format=1, dog=Dog(id="kept", sex="male", neutered=False))
    seen: dict[str, list[float]] = {}
    tasks: dict[str, set[str]] = {}
    taken = 0.0
    visits = ceil(104 / every)
    for visit in range(visits):
        day = DAY + timedelta(weeks=visit * every)
        state = state_on(compiled, history, day)
        facts, _ = all_facts(compiled, history.dog, state, DAY_MINUTES)
        verdicts, _ = decide(compiled, state, facts, "grown")
        worked = todays_work(compiled, state, verdicts, "grown", DAY_MINUTES, in_turn=False).worked
        work = {
            region: {task.kind: task.mass / WHOLE if task.kind == "pull" else True for task in verdict.tasks}
            for region, verdict in worked.items()
        }
        done = structure({"visit": day.isoformat(), "work": work}, Visit)
        history = evolve(history, visits=(*history.visits, done))
        for region, doings in work.items():
            tasks.setdefault(region, set()).update(doings)
        if visit * every >= 52:
            for region, known in facts.items():
                if isinstance(length := known.get("outline_mm"), float | int):
                    seen.setdefault(region, []).append(length)
            taken += float(work.get("back", {}).get("pull") or 0.0)
    weeks = (visits - ceil(52 / every)) * every
    return Kept(
        profile,
        {region: median(lengths) for region, lengths in seen.items()},
        {region: frozenset(done) for region, done in tasks.items()},
        weeks / taken if taken else None,
    )


# ---- asking


@cache
def written_out(name: str) -> frozenset[str]:
    """The regions of a group, as the base has it and not as a breed may have altered it."""
    groups = profile_of("points-of-the-dog").groups
    return frozenset().union(*map(written_out, groups[name])) if name in groups else frozenset({name})


def regions(profile: Profile, text: str) -> set[str]:
    """The regions named in a row, as far as the profile has them."""
    return (
        {region for name in text.split("+") for region in written_out(name)} & profile.regions.keys() if text else set()
    )


def figures(row: Row, unit: str) -> tuple[float, float]:
    slack = 0.1 if row["about"] == "yes" else 0.0
    return float(row[f"low_{unit}"] or 0) * (1 - slack), float(row[f"high_{unit}"]) * (1 + slack)


def is_so(relation: str, one: float, other: float, ratio: str) -> bool:
    near = {
        "shorter": one < other - NEAR_MM,
        "longer": one > other + NEAR_MM,
        "equal": abs(one - other) <= 0.1 * other,
        "not-shorter": one >= other - NEAR_MM,
        "not-longer": one <= other + NEAR_MM,
    }[relation]
    return near and (not ratio or abs(one / other - float(ratio)) <= 0.1 * float(ratio) + 0.05)


def against(row: Row, dog: Kept) -> str:
    """What a dog kept by the profile has against a row, in figures; empty where the row holds or nobody can tell."""
    here = sorted(regions(dog.profile, row["region"]))
    match row["asked_as"]:
        case "length":
            low, high = figures(row, "mm")
            found = [f"{region} {dog.mm[region]:.0f} mm" for region in here if region in dog.mm]
            wrong = [
                region for region in here if region in dog.mm and not low - NEAR_MM <= dog.mm[region] <= high + NEAR_MM
            ]
            return ", ".join(one for one in found if one.split()[0] in wrong)
        case "relation":
            return ", ".join(
                f"{one} {dog.mm[one]:.0f} mm, {other} {dog.mm[other]:.0f} mm"
                for one in here
                for other in sorted(regions(dog.profile, row["than"]))
                if one in dog.mm and other in dog.mm
                if not is_so(row["relation"], dog.mm[one], dog.mm[other], row["ratio"])
            )
        case "pulled" | "cut":
            wanted = set(row["task"].split("+"))
            return ", ".join(region for region in here if not wanted & dog.tasks.get(region, frozenset()))
        case "untouched":
            barred = set(row["task"].split("+"))
            done = {region: sorted(barred & dog.tasks.get(region, frozenset())) for region in here}
            return ", ".join(f"{region}: {'+'.join(tasks)}" for region, tasks in done.items() if tasks)
        case "rhythm":
            return against_rhythm(row, dog)
        case "puppy":
            first = dog.profile.visit.first_coat_weeks
            low, high = figures(row, "weeks")
            if row["weeks_of"] == "first-strip" or (first is not None and low - 2 <= first <= high + 2):
                return ""
            return f"the puppy coat comes out at {first} weeks"
    raise AssertionError(row["asked_as"])


def against_rhythm(row: Row, dog: Kept) -> str:
    low, high = figures(row, "weeks")
    growth = dog.profile.coats[dog.profile.regions["back"].coat]
    match row["weeks_of"]:
        case "before-show":
            return against_stage(row, dog, low, high)
        case "visit":
            every = dog.profile.visit.every_weeks
            for routine in dog.profile.routines.values():
                if routine.task == row["task"]:
                    every = min(every, routine.every_weeks)
            return "" if low - 0.05 <= every <= high + 0.05 else f"every {every:g} weeks"
        case "strip":
            # A coat that is rolled is never stripped whole: then the row speaks of the hair, ripe by then and not yet all shed.
            ripe, shed = growth.lag_weeks + growth.grows_weeks, growth.blown_weeks
            if dog.round_weeks is not None and low * 0.9 <= dog.round_weeks <= high * 1.1:
                return ""
            return "" if ripe * 0.9 <= high and low <= shed * 1.1 else f"ripe at {ripe:g} weeks, all shed at {shed:g}"
        case "after-strip" | "grip":
            # By then the coat hides the skin again and can be gripped; half the weeks would not do for a show.
            length = growth.length(high)
            return "" if length >= max(growth.cover_mm, growth.ready_mm) else f"{length:.0f} mm after {high:g} weeks"
    return ""


def against_stage(row: Row, dog: Kept, low: float, high: float) -> str:
    """What is stripped so many weeks before a show is then as long as the profile wants it for the day, should it say so."""
    wrong = []
    for region, plan in compile_profile(dog.profile).regions.items():
        if region not in regions(dog.profile, row["region"]):
            continue
        hair = Hair(plan.growth)
        wanted = (plan.target and plan.target.show_mm) or (0.0, inf)
        if hair.length(high) < wanted[0] - NEAR_MM or hair.length(low) > wanted[1] + NEAR_MM:
            wrong.append(f"{region} {hair.length(high):.0f} mm")
    return ", ".join(wrong)
