"""The order of work by passes beside an exact solver, on the same bouts: ``python -m tests.benchmarks.passes_exact FILE``.

FILE holds days written by ``python -m tests.benchmarks.passes --keep FILE``; of each only every third or fourth region is
taken, so that the solver can prove its answer. It is CP-SAT of OR-Tools (Apache 2.0), which is no dependency of the library:
a circuit over the units with their times, the rules and prices of ``coatrules.order.jobs``.
"""

from __future__ import annotations

import argparse
from itertools import pairwise
from pathlib import Path
from statistics import mean

from ortools.sat.python import cp_model

from coatrules.order.passes import best_row
from coatrules.order.units import CALM, Board
from tests.benchmarks.passes import small_boards


def exact(day: Board, hint: list[int], seconds: float) -> tuple[int, bool]:
    """The price of the best row that the solver finds, and whether it has proved it best."""
    model = cp_model.CpModel()
    units, prices, edge = day.units, day.prices, day.edge
    longest = sum(day.minutes) + sum(day.rests[unit.lane] for unit in units if unit.lane != CALM)
    start = [model.new_int_var(0, longest, f"s{n}") for n in range(edge)]
    run = [model.new_int_var(0, edge, f"r{n}") for n in range(edge)]
    cost: list[cp_model.LinearExprT] = []
    follows = set(zip([edge, *hint], [*hint, edge], strict=True))
    arcs = []
    for one in range(edge + 1):
        for two in range(edge + 1):
            if one == two:
                continue
            arc = model.new_bool_var(f"a{one}-{two}")
            model.add_hint(arc, (one, two) in follows)
            arcs.append((one, two, arc))
            if edge in (one, two):
                if one == edge and units[two].lane != CALM:
                    model.add(run[two] == 1).only_enforce_if(arc)
                continue
            lanes = units[one].lane, units[two].lane
            tender = CALM not in lanes
            two_high = tender and lanes[0] != lanes[1] and day.high[lanes[0]] and day.high[lanes[1]]
            cost.append((day.pairs[one][two] - prices.idle * two_high) * arc)
            model.add(start[two] >= start[one] + day.minutes[one] + int(two_high)).only_enforce_if(arc)
            if lanes[1] != CALM:
                model.add(run[two] == (run[one] + 1 if tender else 1)).only_enforce_if(arc)
    model.add_circuit(arcs)
    for chain, rest in zip([day.backbone, *day.chains], [0, *day.rests], strict=True):
        for one, two in pairwise(chain):
            model.add(start[two] >= start[one] + day.minutes[one] + rest)
    end = model.new_int_var(0, longest, "end")
    for n in range(edge):
        model.add(end >= start[n] + day.minutes[n])
    cost.append(prices.idle * (end - sum(day.minutes)))

    def before(one: int, two: int) -> cp_model.IntVar:
        is_before = model.new_bool_var(f"b{one}-{two}")
        model.add(start[one] < start[two]).only_enforce_if(is_before)
        model.add(start[one] > start[two]).only_enforce_if(~is_before)
        return is_before

    if day.last_open != edge:
        for n in range(edge):
            if units[n].lane != CALM:
                model.add(start[n] > start[day.backbone[0]])
    for n, unit in enumerate(units):
        if day.after[n] >= 0:
            model.add(start[n] > start[day.after[n]])
        if unit.lane != CALM:
            long = model.new_bool_var(f"l{n}")
            model.add(run[n] <= prices.most_in_a_row).only_enforce_if(~long)
            cost.append(prices.in_a_row * long)
            if unit.cuts and day.last_by_hand != edge:
                cost.append(prices.early_cut * before(n, day.last_by_hand))
            if unit.cuts and not unit.finish and day.first_comb != edge:
                cost.append(prices.after_comb * before(day.first_comb, n))
            finishing = [other for other in range(edge) if units[other].finish]
            if finishing and not unit.finish:
                late = model.new_bool_var(f"f{n}")
                for other in finishing:
                    model.add_implication(before(other, n), late)
                cost.append(prices.after_finish * late)
        dirtier = [
            other for other in range(edge) if unit.clips and units[other].clips and units[other].soiled > unit.soiled
        ]
        if dirtier:
            unclean = model.new_bool_var(f"u{n}")
            for other in dirtier:
                model.add_implication(before(other, n), unclean)
            cost.append(prices.unclean * unit.clips * unclean)
    model.minimize(sum(cost))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 2
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return 10**9, False
    return round(solver.objective_value) + day.fixed, status == cp_model.OPTIMAL


def main() -> None:
    """Measures and prints."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("days", type=Path)
    parser.add_argument("--count", type=int, default=30)
    parser.add_argument("--seconds", type=float, default=8)
    parser.add_argument("--every", type=int, default=3, help="of each day every so manieth region")
    args = parser.parse_args()
    ratios, proved = [], 0
    for name, units in small_boards(args.days, args.count, args.every):
        row, cost = best_row(units)
        least, is_proved = exact(units, row, args.seconds)
        if least >= 10**9:
            print(f"{name}: the solver found nothing")
            continue
        proved += is_proved
        ratios.append(cost / least if least else 1.0)
        print(f"{name}: {units.edge} units, {cost} beside {least}{' (proved)' if is_proved else ''}", flush=True)
    print(
        f"{len(ratios)} days, {proved} proved; on average {mean(ratios):.4f} of the solver's price, at most {max(ratios):.3f}"
    )


if __name__ == "__main__":
    main()
