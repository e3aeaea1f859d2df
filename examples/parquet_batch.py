"""A folder of Parquet in, a folder of Parquet out: ``python parquet_batch.py HISTORIES DAY ORDERS``.

Every file of HISTORIES has a column ``history``: one dog's history as JSON. ORDERS gets a file of the same name, with a
row for each of its rows, in order. Only a few thousand dogs are in memory at a time; a run that was cut short goes on
with the files that are not there yet. Needs PyArrow besides.
"""

import json
import sys
from concurrent.futures import ProcessPoolExecutor
from datetime import date
from pathlib import Path

import pyarrow as pa
import pyarrow.dataset as ds
import pyarrow.parquet as pq

from coatrules import InputError, load_profile, work_orders

COLUMNS = pa.schema(
    {
        "dog": pa.string(),
        "come_by": pa.date32(),
        "minutes": pa.float64(),
        "order": pa.string(),
        "problems": pa.list_(pa.string()),
    }
)


def main(histories, day, orders):
    profile = load_profile("griffon-bruxellois-rough")
    Path(orders).mkdir(parents=True, exist_ok=True)
    with ProcessPoolExecutor() as pool:
        for fragment in ds.dataset(histories, format="parquet").get_fragments():
            done = Path(orders, Path(fragment.path).name)
            if not done.exists():
                begun = done.with_suffix(".part")
                with pq.ParquetWriter(begun, COLUMNS) as out:
                    for batch in batches(work_orders(texts(fragment), profile, date=day, executor=pool)):
                        out.write_batch(batch)
                begun.replace(done)


def texts(fragment):
    for batch in fragment.to_batches(columns=["history"], batch_size=1000):
        yield from map(plain, batch.column("history").to_pylist())


def plain(text):
    try:
        return json.loads(text)
    except (ValueError, TypeError, RecursionError):
        return text  # no JSON: refused like all else that is no history


def batches(answers, rows=1000):
    some = []
    for answer in answers:
        some.append(row(answer))
        if len(some) == rows:
            yield pa.RecordBatch.from_pylist(some, COLUMNS)
            some = []
    yield pa.RecordBatch.from_pylist(some, COLUMNS)


def row(answer):
    if isinstance(answer, InputError):
        return {"problems": [str(problem) for problem in answer.problems]}
    order = json.dumps(answer.to_dict(), ensure_ascii=False)
    come_by, minutes = answer.next_visit.latest, answer.minutes_planned
    return {"dog": answer.dog_id, "come_by": come_by, "minutes": minutes, "order": order, "problems": []}


if __name__ == "__main__":
    main(sys.argv[1], date.fromisoformat(sys.argv[2]), sys.argv[3])
