"""The order of work by passes, with more and less of its prices: ``python -m tests.benchmarks.passes``.

Each day is ordered with the time there is, and with six tenths of it. Prints means an order: changes of the tool in the hand,
moves to a station not next door, half-minutes of rest, and the processor time it takes. ``--keep FILE`` writes the days down,
so that the next run with ``--days FILE`` begins at once.
"""

from __future__ import annotations

import argparse
import pickle
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from pathlib import Path
from statistics import mean, median, quantiles
from time import process_time
from typing import NamedTuple

from coatrules.order.jobs import PRICES, Job, Stations, Task
from coatrules.order.passes import arrange
from coatrules.order.short_time import fit
from coatrules.order.units import Board, board, work
from tests.benchmarks.captured import Day, days


class Counts(NamedTuple):
    """What is counted on an order."""

    changes: int
    moves: int
    idle: int
    steps: int
    early_cuts: int
    late: int
    longest_run: int
    high_rests: int


def counts(
    steps: Iterable[tuple[str | None, int | None, int]], jobs: Sequence[Job], stations: Stations, high: set[str]
) -> Counts:
    """Counts on steps: region, which of its job's tasks, half-minutes."""
    steps = list(steps)
    task: dict[tuple[str, int | None], Task] = {
        (job.region, number): one for job in jobs for number, one in enumerate(job.tasks)
    }
    zone = {job.region: job.zone for job in jobs}
    walk = [(region, task[region, number]) for region, number, _ in steps if region is not None]
    tools = [(one.tool, one.blade_mm) for _, one in walk]
    places = [stations.of[region] for region, _ in walk]
    last_hand = max((n for n, (r, t) in enumerate(walk) if zone[r] is None and t.kind in ("card", "pull")), default=-1)
    first_finish = min((n for n, (_, t) in enumerate(walk) if t.finish), default=len(walk))
    run = longest = 0
    before: str | None = None
    for region, _ in walk:
        run = 0 if zone[region] is None else run + (zone[region] != before)
        before = zone[region]
        longest = max(longest, run)
    around = zip(steps, steps[1:], steps[2:], strict=False)
    return Counts(
        sum(one != two for one, two in pairwise(tools)),
        sum(stations.apart[one][two] for one, two in pairwise(places)),
        sum(minutes for region, _, minutes in steps if region is None),
        len(steps),
        sum(n < last_hand and zone[r] is not None and t.kind in ("clip", "scissor") for n, (r, t) in enumerate(walk)),
        sum(n > first_finish and zone[r] is not None and not t.finish for n, (r, t) in enumerate(walk)),
        longest,
        sum(b[0] is None and zone.get(a[0] or "") in high and zone.get(c[0] or "") in high for a, b, c in around),
    )


def small_boards(file: Path, count: int, every: int) -> Iterator[tuple[str, Board]]:
    """Yields the names and the units of so many of the days kept in a file, of each every so manieth region, where any is tender."""
    found = pickle.loads(file.read_bytes())
    for number, day in enumerate(found[:: max(1, len(found) // count)][:count]):
        units = board(work(day.jobs[number % every :: every], day.zones, day.stations), day.stations.apart, PRICES)
        if units.chains:
            yield day.name, units


def main() -> None:
    """Measures and prints."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--days", type=Path)
    parser.add_argument(
        "--early", type=int, nargs="*", default=[PRICES.early_cut], help="prices of early cutting to try"
    )
    args = parser.parse_args()
    found: list[Day] = pickle.loads(args.days.read_bytes()) if args.days else list(days())
    if args.keep:
        args.keep.write_bytes(pickle.dumps(found))
    work = []
    for day in found:
        for available in (day.available, day.available * 6 // 10):
            off = fit(day.jobs, day.zones, day.stations, available).put_off
            if kept := [job for job in day.jobs if job.region not in off]:
                work.append((day, kept))
    print(f"{len(work)} orders of {len(found)} days")
    for early in args.early:
        prices = PRICES._replace(early_cut=early)
        made, took = [], []
        for day, kept in work:
            begun = process_time()
            done = arrange(kept, day.zones, day.stations, prices)
            took.append(1000 * (process_time() - begun))
            steps = [(slot.region, slot.task, slot.minutes) for slot in done.slots]
            high = {name for name, zone in day.zones.items() if zone.level == "high"}
            made.append(counts(steps, kept, day.stations, high))
        _show(f"passes {early}", made)
        print(
            f"  ms: median {median(took):.1f}, 95th percentile {quantiles(took, n=20)[-1]:.1f}, mean {mean(took):.1f}"
        )
        full = [n for n, one in enumerate(made) if one.steps >= 30]
        print(f"  {len(full)} of 30 steps and more: {mean([made[n].changes for n in full]):.1f} changes")
    least = mean([len({(t.tool, t.blade_mm) for job in kept for t in job.tasks}) - 1 for _, kept in work])
    print(f"tools in use less one: {least:.1f}")


def _show(name: str, made: Sequence[Counts]) -> None:
    parts = [f"{field} {mean([c[n] for c in made]):.2f}" for n, field in enumerate(Counts._fields)]
    print(f"{name}: " + ", ".join(parts) + f", with rest {sum(c.idle > 0 for c in made)}")


if __name__ == "__main__":
    main()
