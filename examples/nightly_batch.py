"""Every night, every dog: ``python nightly_batch.py BOOK.db DAY``. Reads the histories of a database, writes the orders into it.

The database (SQLite) has a table ``dogs (id, history)``, the history as JSON. Every dog gets a row in ``orders``: its order, or the
problems of its history. A bad row stops nothing. After a power cut the run goes on with the dogs that have no row yet.
"""

import json
import sqlite3
import sys
from concurrent.futures import ProcessPoolExecutor
from datetime import date

from coatrules import Engine, InputError

TABLE = """CREATE TABLE IF NOT EXISTS orders (dog, day TEXT, come_by TEXT, minutes REAL, content TEXT, problems TEXT,
           PRIMARY KEY (dog, day))"""
REST = "SELECT id, history FROM dogs WHERE id NOT IN (SELECT dog FROM orders WHERE day = ?) ORDER BY id LIMIT 500"
engine = Engine()


def main(book, day):
    with sqlite3.connect(book) as database, ProcessPoolExecutor() as pool:
        database.execute(TABLE)
        # A few hundred dogs at a time, each lot written as a whole: memory stays small whatever the book holds.
        while rows := database.execute(REST, [day.isoformat()]).fetchall():
            answers = engine.orders([history(text) for _, text in rows], date=day, executor=pool)
            lot = [(dog, day.isoformat(), *columns(answer)) for (dog, _), answer in zip(rows, answers, strict=True)]
            database.executemany("INSERT INTO orders VALUES (?, ?, ?, ?, ?, ?)", lot)
            database.commit()
        query = "SELECT count(*), count(problems) FROM orders WHERE day = ?"
        total, bad = database.execute(query, [day.isoformat()]).fetchone()
    print(f"{total} dogs, {bad} with problems")


def history(text):
    try:
        return json.loads(text)
    except (TypeError, ValueError, RecursionError):
        return text  # refused like all else that is no history


def columns(answer):
    if isinstance(answer, InputError):
        return None, None, None, json.dumps(engine.data(answer)["problems"], ensure_ascii=False)
    latest = answer.next_visit.latest
    order = json.dumps(answer.to_dict(), ensure_ascii=False)
    return latest and latest.isoformat(), answer.minutes_planned, order, None


if __name__ == "__main__":
    main(sys.argv[1], date.fromisoformat(sys.argv[2]))
