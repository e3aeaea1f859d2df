"""``coatrules order DOG``: today's work order."""

from __future__ import annotations

import json
from argparse import ArgumentParser, Namespace
from pathlib import Path

from coatrules.catalogue.speaking import say
from coatrules.cli import terminal_width
from coatrules.cli.common import add_dog, the_dog, today, write_result
from coatrules.order.engine import work_order
from coatrules.order.work_order import WorkOrder


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    add_dog(parser)
    forms = ("text", "json", "markdown", "page", "calendar")
    parser.add_argument("--format", choices=forms, default="text", help=say("help.order.--format"))
    about = say("help.order.--for")
    parser.add_argument("--for", dest="reader", choices=("groomer", "owner"), default="groomer", help=about)
    parser.add_argument("--out", type=Path, metavar="FILE", help=say("help.--out"))
    parser.set_defaults(run=run, error=parser.error)


def run(args: Namespace) -> int:
    """Computes the order and shows it."""
    if args.reader == "owner" and args.format in ("json", "calendar"):
        args.error(say("usage.owner-format"))
    history, profile = the_dog(args)
    order = work_order(profile, history, date=today(args), minutes=args.minutes, ahead=True)
    write_result((render_for_owner if args.reader == "owner" else render)(order, args.format), args.out)
    return 0


def render_for_owner(order: WorkOrder, form: str) -> str:
    """Returns the owner's note in the form asked for."""
    from coatrules.report.owner import owner_markdown, owner_page, owner_text

    return {"text": owner_text, "markdown": owner_markdown, "page": owner_page}[form](order)


def render(order: WorkOrder, form: str) -> str:
    """Returns the order in the form asked for."""
    if form == "json":
        return json.dumps(order.to_dict(), indent=2, ensure_ascii=False) + "\n"
    if form == "markdown":
        from coatrules.report.markdown import markdown

        return markdown(order)
    if form == "page":
        from coatrules.report.page import page

        return page(order)
    if form == "calendar":
        from coatrules.report.calendar import calendar, next_visit_event

        return calendar([next_visit_event(order)] if order.next_visit.hold is None else [], order.date)
    from coatrules.report.text import text

    return text(order, width=min(100, terminal_width(88)))
