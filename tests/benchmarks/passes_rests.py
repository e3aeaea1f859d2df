"""How much of the dog's rests must be, by an exact solver: ``python -m tests.benchmarks.passes_rests FILE``.

FILE holds days written by ``python -m tests.benchmarks.passes --keep FILE``. Of each order in which the dog rests, the solver (CP-SAT of
OR-Tools, Apache 2.0, no dependency of the library) looks for the shortest day with the same bouts, whatever it costs in changes, moves
and the rest; what it proves of that is a rest that no order of work is without.
"""

from __future__ import annotations

import argparse
import pickle
from itertools import combinations, pairwise
from pathlib import Path

from ortools.sat.python import cp_model

from coatrules.order.jobs import PRICES, Job
from coatrules.order.passes import arrange, best_row
from coatrules.order.row import waits
from coatrules.order.short_time import fit
from coatrules.order.units import CALM, Board, board, work
from tests.benchmarks.captured import Day


def least_rest(day: Board, seconds: float) -> tuple[int, int]:
    """The shortest rest that the solver finds, and what it proves that there must be (half-minutes)."""
    row, _ = best_row(day)
    rested = waits(day, row)
    longest = sum(day.minutes) + sum(rested)
    model = cp_model.CpModel()
    start = [model.new_int_var(0, longest - minutes, "") for minutes in day.minutes]
    model.add_no_overlap(
        [
            model.new_fixed_size_interval_var(begin, minutes, "")
            for begin, minutes in zip(start, day.minutes, strict=True)
        ]
    )

    def follows(one: int, two: int, rest: int) -> cp_model.BoundedLinearExpression | bool:
        return start[two] >= start[one] + day.minutes[one] + rest

    for chain, rest in zip([day.backbone, *day.chains], [0, *day.rests], strict=True):
        for one, two in pairwise(chain):
            model.add(follows(one, two, rest))
    tender = [n for n in range(day.edge) if day.lane[n] != CALM]
    for one, two in combinations([n for n in tender if day.high[day.lane[n]]], 2):
        if day.lane[one] != day.lane[two]:  # two high zones never touch
            first = model.new_bool_var("")
            model.add(follows(one, two, 1)).only_enforce_if(first)
            model.add(follows(two, one, 1)).only_enforce_if(~first)
    for n in tender:
        if day.last_open != day.edge:
            model.add(follows(day.backbone[0], n, 0))
        if day.after[n] >= 0:
            model.add(follows(day.after[n], n, 0))
    end = model.new_int_var(sum(day.minutes), longest, "")
    now = 0
    for n, rest in zip(row, rested, strict=True):
        now += rest
        model.add(end >= start[n] + day.minutes[n])
        model.add_hint(start[n], now)
        now += day.minutes[n]
    model.minimize(end)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return sum(rested), 0
    return round(solver.objective_value) - sum(day.minutes), round(solver.best_objective_bound) - sum(day.minutes)


def kept_work(day: Day, available: int) -> list[Job]:
    """What is worked of a day in so many half-minutes."""
    off = fit(day.jobs, day.zones, day.stations, available).put_off
    return [job for job in day.jobs if job.region not in off]


def main() -> None:
    """Measures and prints."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("days", type=Path)
    parser.add_argument("--seconds", type=float, default=8)
    args = parser.parse_args()
    orders = resting = ours = found = proved = 0
    for day in pickle.loads(args.days.read_bytes()):
        for available in (day.available, day.available * 6 // 10):
            kept = kept_work(day, available)
            rested = arrange(kept, day.zones, day.stations).rested
            orders += 1
            if not rested:
                continue
            resting += 1
            cuts = [
                board(work(kept, day.zones, day.stations), day.stations.apart, PRICES, unlike=unlike)
                for unlike in (False, True)
            ]
            least = [least_rest(cut, args.seconds) for cut in cuts]
            ours += rested
            found += min(rested, *[there for there, _ in least])
            proved += min(rested, *[must for _, must in least])
    print(
        f"{orders} orders, {resting} with rest: {ours} half-minutes; the solver finds {found} and proves that {proved} must be"
    )


if __name__ == "__main__":
    main()
