"""What is worked in a short time: ``python -m tests.benchmarks.passes_short FILE``.

FILE holds days written by ``python -m tests.benchmarks.passes --keep FILE``. Each is tried with 35, 60 and 85 % of the time
that its work takes. Prints what is put off or kept, in regions, and the time it takes.
"""

from __future__ import annotations

import argparse
import pickle
from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from pathlib import Path
from statistics import mean, median, quantiles
from time import process_time

from coatrules.order.jobs import Job
from coatrules.order.short_time import fit


def counts(jobs: Iterable[Job], put_off: Mapping[str, Collection[int]]) -> Counter[str]:
    """Counts by the tasks that are put off in each region."""

    def is_off(job: Job, task: int) -> bool:
        return task in put_off.get(job.region, ())

    found: Counter[str] = Counter()
    pulled: dict[str, list[bool]] = {}
    for job in jobs:
        kinds = {task.kind: is_off(job, n) for n, task in enumerate(job.tasks)}
        found["overdue hygiene put off"] += job.overdue and kinds.get("clip", False)
        found["feet and beard put off"] += any(task.finish and is_off(job, n) for n, task in enumerate(job.tasks))
        found["stop places worked"] += job.stop and not all(kinds.values())
        found["jacket regions worked"] += job.jacket and not all(kinds.values())
        if "pull" in kinds and job.target is not None and not job.stop:
            pulled.setdefault(job.target, []).append(kinds["pull"])
    found["patchy targets"] = sum(0 < sum(off) < len(off) for off in pulled.values())
    return found


def main() -> None:
    """Measures and prints."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("days", type=Path)
    args = parser.parse_args()
    new = Counter[str]()
    took, used, over = [], [], 0
    for day in pickle.loads(args.days.read_bytes()):
        whole = sum(task.minutes for job in day.jobs for task in job.tasks)
        for per_cent in (35, 60, 85) if day.jobs else ():
            available = whole * per_cent // 100
            begun = process_time()
            found = fit(day.jobs, day.zones, day.stations, available)
            took.append(1000 * (process_time() - begun))
            new += counts(day.jobs, found.put_off)
            used.append(found.arrangement.minutes / max(1, available))
            over += found.arrangement.minutes > available
    print(f"{len(took)} orders, over the time {over}, time used {100 * mean(used):.1f} %")
    for name, count in new.items():
        print(f"  {name}: {count}")
    print(f"ms: median {median(took):.1f}, 95th percentile {quantiles(took, n=20)[-1]:.1f}, mean {mean(took):.1f}")


if __name__ == "__main__":
    main()
