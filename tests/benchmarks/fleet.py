"""Many dogs: two processes against one, memory a dog against plain dicts, and whether the work grows with the dogs only.

``python -m tests.benchmarks.fleet 100000`` summarises so many dogs of a short profile from file to file, once, and tells what it took.
"""

from __future__ import annotations

import gc
import json
import resource
import sys
import tracemalloc
from concurrent.futures import ProcessPoolExecutor
from contextlib import ExitStack
from multiprocessing import get_context
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter, process_time

from coatrules.book.checkpoint import Checkpoint, work_through
from coatrules.book.fleet import SUMMARY, run_of
from coatrules.dog.loading import load_history
from tests.benchmarks.generate import DAY, SHORT, book, short_dog


def measure(dogs: int = 240) -> list[tuple[str, float, float]]:
    """(name, ratio, the ratio it should not pass)."""
    return [
        ("two processes / one, elapsed", processes(dogs), 1 / 1.8),
        ("memory of a dog / plain dicts", memory(), 0.35),
        ("time a dog, four times the dogs / once", growth(dogs // 4), 1.1),
    ]


def processes(dogs: int, rounds: int = 4) -> float:
    """Elapsed time with two workers over that with one, all running already; the best of rounds that ask both in turn."""
    with TemporaryDirectory() as place, ExitStack() as stack:
        source, out, run = Path(place, "book.jsonl"), Path(place, "out.jsonl"), run_of(DAY)
        source.write_bytes(b"".join(book(dogs)))
        spawn = get_context("spawn")
        pools = [stack.enter_context(ProcessPoolExecutor(workers, mp_context=spawn)) for workers in (1, 2)]
        best = [float("inf")] * 2
        for number in range(rounds + 1):
            for place_of, pool in enumerate(pools):
                start = perf_counter()
                work_through(source, out, run, executor=pool)
                if number:  # in the first the workers start, load and compile
                    best[place_of] = min(best[place_of], perf_counter() - start)
    return best[1] / best[0]


def memory(dogs: int = 300) -> float:
    """Bytes of loaded histories over those of the same as dicts, lists and strings."""
    lines = list(book(dogs, visits=20))

    def held(load: object) -> int:
        gc.collect()
        tracemalloc.start()
        kept = [load(line) for line in lines]  # type: ignore[operator]  # a function
        gc.collect()
        size, _ = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        assert len(kept) == dogs
        return size

    return held(lambda line: load_history(json.loads(line))) / held(json.loads)


def growth(dogs: int, rounds: int = 3) -> float:
    """Processor time a dog of a book over that of one a quarter as long; the best of rounds that ask both in turn."""
    with TemporaryDirectory() as place:
        source, out, run = Path(place, "book.jsonl"), Path(place, "out.jsonl"), run_of(DAY)
        best = dict.fromkeys((dogs, 4 * dogs), float("inf"))
        for _ in range(rounds):
            for count in best:
                source.write_bytes(b"".join(book(count)))
                start = process_time()
                work_through(source, out, run)
                best[count] = min(best[count], (process_time() - start) / count)
    return best[4 * dogs] / best[dogs]


def long_run(dogs: int) -> None:
    """So many dogs of the short profile, from file to file, in two processes; every tenth part of the way told as it goes."""
    with TemporaryDirectory() as place:
        Path(place, "short.yaml").write_text(json.dumps(SHORT), encoding="utf-8")
        source, out = Path(place, "book.jsonl"), Path(place, "out.jsonl")
        run = run_of(DAY, folders=[Path(place)], fields=SUMMARY)
        with source.open("wb") as book_file:
            book_file.writelines(json.dumps(short_dog(number)).encode() + b"\n" for number in range(dogs))
        start, told = perf_counter(), 0

        def tell(done: Checkpoint) -> None:
            nonlocal told
            if done.dogs * 10 // dogs > told:
                told = done.dogs * 10 // dogs
                peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
                taken = perf_counter() - start
                print(
                    f"{done.dogs:>9,} dogs in {taken:7,.0f} s, {done.dogs / taken:5,.0f} a second; {peak} MB",
                    flush=True,
                )

        with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
            done = work_through(source, out, run, executor=pool, tell=tell)
        used = sum(
            part.ru_utime + part.ru_stime
            for part in map(resource.getrusage, (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
        )
        peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024
        with out.open("rb") as file:
            answers = sum(1 for _ in file)
        size = out.stat().st_size / dogs
        print(
            f"{answers:,} summaries of {size:.0f} bytes, {done.refused} refused; {used / dogs * 1000:.1f} ms of processors a dog"
        )
        print(f"a million in {used / dogs * 1e6 / 2:,.0f} s of two processors; a worker {peak} MB")


if __name__ == "__main__":
    long_run(int(sys.argv[1]))
