"""A folder of Parquet in, a folder of Parquet out, on Dask: ``python parquet_batch.py HISTORIES DAY ORDERS``.

Every file of HISTORIES has a column ``history``: one dog's history as JSON. ORDERS gets a file of the same name with a row for each order,
and ORDERS/set-aside one with the rows that could not be worked and their problems: they stop nothing. A file that cannot be read is
named at the end. A run that was cut short goes on with the files that are not there yet.
Needs PyArrow besides; a Dask cluster works the same way.
"""

import json
import sys
from datetime import date
from pathlib import Path

import dask
import pyarrow as pa
import pyarrow.parquet as pq

from coatrules import Engine, InputError

ORDERS = pa.schema({"dog": pa.string(), "come_by": pa.date32(), "minutes": pa.float64(), "order": pa.string()})
SET_ASIDE = pa.schema({"row": pa.int64(), "history": pa.string(), "problems": pa.string()})


def main(histories, day, orders):
    (orders / "set-aside").mkdir(parents=True, exist_ok=True)
    engine = Engine()  # goes to the workers with each task
    files = [file for file in sorted(histories.glob("*.parquet")) if not (orders / file.name).exists()]
    tasks = [dask.delayed(worked)(engine, file, day, orders) for file in files]
    unread = [error for error in dask.compute(*tasks, scheduler="processes", chunksize=1) if error]
    sys.exit("\n".join(unread) if unread else 0)


def worked(engine, file, day, orders):
    """Works one file; says what is wrong with one that cannot be read."""
    try:
        work(engine, file, day, orders)
    except (OSError, pa.ArrowException, KeyError) as error:
        for half_written in (orders / f"{file.name}.part", orders / "set-aside" / file.name):
            half_written.unlink(missing_ok=True)
        return f"{file.name}: {error}"


def work(engine, file, day, orders):
    """Works one file, a few hundred rows at a time. The orders get their name last: they are there, or to be done."""
    begun, aside = orders / f"{file.name}.part", orders / "set-aside" / file.name
    number = 0
    with pq.ParquetWriter(begun, ORDERS) as good, pq.ParquetWriter(aside, SET_ASIDE) as bad:
        for batch in pq.ParquetFile(file).iter_batches(batch_size=500, columns=["history"]):
            texts = batch.column("history").to_pylist()
            answers = list(engine.orders(map(plain, texts), date=day))
            good.write_table(pa.Table.from_pylist([row(a) for a in answers if not isinstance(a, InputError)], ORDERS))
            refused = [(n, text, a) for n, (text, a) in enumerate(zip(texts, answers, strict=True), number)]
            rows = [
                {"row": n, "history": text, "problems": json.dumps(engine.data(a)["problems"])}
                for n, text, a in refused
                if isinstance(a, InputError)
            ]
            bad.write_table(pa.Table.from_pylist(rows, SET_ASIDE))
            number += len(texts)
    begun.replace(orders / file.name)


def plain(text):
    try:
        return json.loads(text)
    except (ValueError, TypeError, RecursionError):
        return text  # no JSON: refused like all else that is no history


def row(order):
    content = json.dumps(order.to_dict(), ensure_ascii=False)
    return {
        "dog": str(order.dog_id),
        "come_by": order.next_visit.latest,
        "minutes": order.minutes_planned,
        "order": content,
    }


if __name__ == "__main__":
    main(Path(sys.argv[1]), date.fromisoformat(sys.argv[2]), Path(sys.argv[3]))
