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

TABLE = """CREATE TABLE IF NOT EXISTS orders (row INTEGER, day TEXT, dog, come_by TEXT, minutes REAL, content TEXT,
           problems TEXT, PRIMARY KEY (row, day))"""
# By its row, for an id may be there twice; as bytes, for a text may be none.
REST = """SELECT rowid, id, CAST(history AS BLOB) FROM dogs
          WHERE NOT EXISTS (SELECT 1 FROM orders WHERE row = dogs.rowid AND day = ?) ORDER BY rowid LIMIT 500"""
engine = Engine()


def main(book, day):
    with sqlite3.connect(book) as database, ProcessPoolExecutor() as pool:
        database.execute(TABLE)
        # A few hundred dogs at a time, each lot written as a whole: memory stays small whatever the book holds.
        while rows := database.execute(REST, [day.isoformat()]).fetchall():
            answers = engine.orders([history(content) for *_, content in rows], date=day, executor=pool)
            lot = [
                (row, day.isoformat(), dog, *columns(answer))
                for (row, dog, _), answer in zip(rows, answers, strict=True)
            ]
            database.executemany("INSERT INTO orders VALUES (?, ?, ?, ?, ?, ?, ?)", lot)
            database.commit()
        query = "SELECT count(*), count(problems) FROM orders WHERE day = ?"
        total, bad = database.execute(query, [day.isoformat()]).fetchone()
    print(f"{total} dogs, {bad} with problems")


def history(content):
    try:
        return json.loads(content)
    except (TypeError, ValueError, RecursionError):
        return content and content.decode("utf-8", "backslashreplace")  # refused like all else that is no history


def columns(answer):
    if isinstance(answer, InputError):
        return None, None, None, json.dumps(engine.data(answer)["problems"], ensure_ascii=False)
    latest = answer.next_visit.latest
    order = json.dumps(answer.to_dict(), ensure_ascii=False)
    return latest and latest.isoformat(), answer.minutes_planned, order, None


if __name__ == "__main__":
    main(sys.argv[1], date.fromisoformat(sys.argv[2]))
