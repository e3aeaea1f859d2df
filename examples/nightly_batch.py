"""Every night, every dog: ``python nightly_batch.py BOOK.jsonl DAY``. Tells whose next visit must be within a fortnight.

The same from file to file, which also goes on after a power cut: ``coatrules fleet BOOK.jsonl --out ORDERS.jsonl``.
"""

import json
import sys
from concurrent.futures import ProcessPoolExecutor
from datetime import date, timedelta

from coatrules import InputError, load_profile, work_orders


def main(book, day):
    profile = load_profile("griffon-bruxellois-rough")
    with open(book, encoding="utf-8") as lines, ProcessPoolExecutor() as pool:
        histories = (json.loads(line) for line in lines)
        for number, order in enumerate(work_orders(histories, profile, date=day, executor=pool), 1):
            if isinstance(order, InputError):
                print(f"line {number}: {order}", file=sys.stderr)
            elif order.next_visit.latest and order.next_visit.latest <= day + timedelta(days=14):
                print(f"{order.dog_name}: by {order.next_visit.latest:%d %B}, {order.minutes_planned:g} minutes today")


if __name__ == "__main__":
    main(sys.argv[1], date.fromisoformat(sys.argv[2]))
