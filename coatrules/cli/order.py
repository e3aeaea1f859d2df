"""``coatrules order DOG``: today's work order."""

from __future__ import annotations

import json
import os
from argparse import ArgumentParser, Namespace
from pathlib import Path

from coatrules.cli.common import add_dog, put, the_dog, today
from coatrules.engine import work_order
from coatrules.workorder import WorkOrder


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    add_dog(parser)
    parser.add_argument(
        "--format", choices=("text", "json", "markdown", "calendar"), default="text", help="how to show it"
    )
    parser.add_argument("--out", type=Path, metavar="FILE", help="write it to this file")
    parser.set_defaults(run=run)


def run(chosen: Namespace) -> int:
    """Computes the order and shows it."""
    history, profile = the_dog(chosen)
    put(shown(work_order(profile, history, date=today(chosen), minutes=chosen.minutes), chosen.format), chosen.out)
    return 0


def shown(order: WorkOrder, form: str) -> str:
    """The order in the form asked for."""
    if form == "json":
        return json.dumps(order.to_dict(), indent=2, ensure_ascii=False) + "\n"
    if form == "markdown":
        from coatrules.report.markdown import markdown

        return markdown(order)
    if form == "calendar":
        from coatrules.report.calendar import calendar, next_visit_event

        return calendar([next_visit_event(order)], order.date)
    from coatrules.report.text import text

    try:
        columns = os.get_terminal_size().columns  # shutil's is slow to import
    except OSError:  # no terminal
        columns = 88
    return text(order, width=min(100, columns))
