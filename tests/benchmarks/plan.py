"""How much longer planning takes than the bare solver on the same matrices: ``python -m tests.benchmarks.plan``.

A year's plan: 25 regions whose coats all differ, 18 visits. Both sides are the best of several runs, taken in turn; time is
that of the processor, so that a busy machine slows neither.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from time import process_time
from typing import Any

import numpy as np
from attrs import evolve
from scipy.optimize import linprog
from scipy.sparse import vstack

from coatrules import History, Profile, load_history, load_profile
from coatrules.plan import plan_ahead
from coatrules.plan.dates import row
from coatrules.plan.inputs import plan_inputs, region_classes_of
from coatrules.plan.program import Program, program, solve
from coatrules.profile.compiled import compile_profile

TODAY = date(2026, 3, 21)
REGIONS, VISITS = 25, 18


def profile() -> Profile:
    """Twenty-five invented regions of twenty-five coats, so that none is planned together with another."""
    coats = {
        f"coat-{n}": {
            "breakthrough_weeks": 2 + n % 4,
            "mm_per_week": 2 + n / 25,
            "full_mm": 60,
            "blown_weeks": 24 + n % 7,
            "ready_mm": 6,
            "cover_mm": 6,
            "layer_gap_mm": 2,
        }
        for n in range(REGIONS)
    }
    target = {
        "regions": [f"region-{n}" for n in range(REGIONS)],
        "layers": 4,
        "take": {"usual": 0.2, "at_most": 0.35, "low_spot": 0.05},
        "cover": {"at_least": 0.45},
        "longest_mm": [10, 40],
    }
    regions = {
        f"region-{n}": {"label": f"Region {n}", "coat": f"coat-{n}", "minutes": {"pull": 12 + n % 9}, "anatomy": "none"}
        for n in range(REGIONS)
    }
    data: dict[str, Any] = {
        "format": 1,
        "id": "made-up",
        "label": "Made up",
        "visit": {"every_weeks": 3, "minutes": 90, "pace_spread": 0.15},
        "coats": coats,
        "regions": regions,
        "layer_targets": {"all": target},
    }
    return load_profile(data)


def history() -> History:
    """Five visits, each region worked a little differently."""
    visits = [
        {
            "visit": (TODAY - timedelta(weeks=3 * back)).isoformat(),
            "work": {f"region-{n}": {"pull": 0.1 + (n * 7 + back) % 10 / 50} for n in range(REGIONS)},
        }
        for back in (5, 4, 3, 2, 1)
    ]
    arrival = {f"region-{n}": {"grown_weeks": 10 + n % 12} for n in range(REGIONS)}
    return load_history({"format": 1, "dog": {"id": "pip"}, "arrival": arrival, "visits": visits})


def measure(rounds: int = 7) -> list[tuple[str, float, float]]:
    """(name, ratio or seconds, at most)."""
    bench_profile, dog = profile(), history()
    compiled = compile_profile(bench_profile)
    inputs = plan_inputs(bench_profile, dog, TODAY, row(compiled, dog, TODAY, None, VISITS, None), None)
    classes = region_classes_of(inputs)
    matrices = program(classes, inputs.pulling)
    if plan_ahead(bench_profile, dog, date=TODAY, visits=VISITS).clashes:
        raise AssertionError("dates and targets clash, so that a second program is solved: no result")
    simple = linear_program(matrices)
    if abs((linprog(**simple, method="highs").fun or 0.0) - solve(matrices, len(classes), VISITS).cost) > 1e-6:
        raise AssertionError("the ways to solve it do not agree: no result")
    ours = theirs = quickest = float("inf")
    for _ in range(rounds):
        ours = min(ours, _seconds(lambda: plan_ahead(bench_profile, dog, date=TODAY, visits=VISITS)))
        theirs = min(theirs, _seconds(lambda: linprog(**simple, method="highs")))
        quickest = min(quickest, _seconds(lambda: solve(matrices, len(classes), VISITS)))
    return [
        (f"a year's plan, {len(classes)} parts / linprog on its matrices", ours / theirs, 1.5),
        # Guards against growing worse, no more: milp's way into the same solver is shorter.
        ("the same / milp on its matrices", ours / quickest, 3.0),
        ("a year's plan in seconds", ours, 2.0),
        real_dog(rounds),
    ]


def real_dog(rounds: int) -> tuple[str, float, float]:
    """A packaged profile, whose regions of one coat are planned together, against milp on all regions apart."""
    griffon, dog = load_profile("griffon-bruxellois-rough"), load_history({"format": 1, "dog": {"id": "pip"}})
    compiled = compile_profile(griffon)
    inputs = plan_inputs(griffon, dog, TODAY, row(compiled, dog, TODAY, None, VISITS, None), None)
    apart = [
        evolve(region_class, regions=(region,), minutes=inputs.pull_minutes(region))
        for region_class in region_classes_of(inputs)
        for region in region_class.regions
    ]
    matrices = program(apart, inputs.pulling)
    ours = theirs = float("inf")
    for _ in range(rounds):
        ours = min(ours, _seconds(lambda: plan_ahead(griffon, dog, date=TODAY, visits=VISITS)))
        theirs = min(theirs, _seconds(lambda: solve(matrices, len(apart), VISITS)))
    return f"a rough Griffon's year, {len(apart)} regions / milp on all apart", ours / theirs, 1.5


def linear_program(problem: Program) -> dict[str, Any]:
    """The matrices as ``linprog`` takes them."""
    matrix = problem.matrix.tocsr()
    exact = problem.low == problem.high
    above, below = np.isfinite(problem.high) & ~exact, np.isfinite(problem.low) & ~exact
    return {
        "c": problem.cost,
        "A_ub": vstack([matrix[above], -matrix[below]]),
        "b_ub": np.concatenate([problem.high[above], -problem.low[below]]),
        "A_eq": matrix[exact],
        "b_eq": problem.low[exact],
        "bounds": np.column_stack([np.zeros(len(problem.cost)), problem.upper]),
    }


def _seconds(call: Callable[[], object]) -> float:
    start = process_time()
    call()
    return process_time() - start


if __name__ == "__main__":
    for name, got, target in measure():
        print(f"{name:60} {got:8.3f}   at most {target:g}   {'' if got <= target else 'MISSED'}")
