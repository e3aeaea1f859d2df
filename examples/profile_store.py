"""A chain's profiles in its own database: a shelf that is a function. ``python profile_store.py``

A shelf is a folder, a mapping from id to plain data, or, as here, a function that gives the plain data of an id, None for one it does not
have. Shelves are asked in their order, before the library; what a profile extends is found in the same way. An engine reads a profile
once: after a change in the database make a new one, which costs nothing until it is asked.
"""

import json
import sqlite3
from datetime import date

from coatrules import Engine


class Store:
    """Profiles in a table ``profiles (id, content)``."""

    def __init__(self, path):
        self.path = path

    def __call__(self, name):
        with sqlite3.connect(self.path) as database:  # a connection each: threads do not share them
            found = database.execute("SELECT content FROM profiles WHERE id = ?", [name]).fetchone()
        return json.loads(found[0]) if found else None


def main(path="profiles.db"):
    house = {
        "format": 1,
        "id": "house-griffon",
        "label": "House griffon",
        "extends": "griffon-bruxellois-rough",
        "visit": {"minutes": 75},
    }
    with sqlite3.connect(path) as database:
        database.execute("CREATE TABLE IF NOT EXISTS profiles (id TEXT PRIMARY KEY, content TEXT)")
        database.execute("INSERT OR REPLACE INTO profiles VALUES (?, ?)", [house["id"], json.dumps(house)])
    engine = Engine(shelves=[Store(path)])
    dog = {"format": 1, "dog": {"id": "tip", "profile": "house-griffon"}}
    order = engine.order(dog, date=date(2026, 3, 21))
    print(f"{order.profile_label}: {order.minutes_planned:g} of {order.minutes_available:g} minutes")


if __name__ == "__main__":
    main()
