"""``coatrules order DOG``: today's work order."""

from __future__ import annotations

import json
from argparse import ArgumentParser, Namespace
from pathlib import Path
from typing import Any

from coatrules.catalogue.speaking import say
from coatrules.cli import terminal_width
from coatrules.cli.common import (
    add_dog,
    add_salon,
    add_show_lengths,
    add_way,
    salon_of,
    the_dog,
    today,
    understood,
    write_result,
)
from coatrules.dog.history import History
from coatrules.formats.documents import without_file
from coatrules.order.engine import work_order
from coatrules.order.work_order import WorkOrder
from coatrules.problems import InputError, Problem, nearest_fix
from coatrules.profile.compiled import CompiledProfile, compile_profile
from coatrules.recording import typed
from coatrules.recording.answers import see_typed
from coatrules.recording.append import with_visit


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    add_dog(parser)
    add_show_lengths(parser)
    add_way(parser)
    add_salon(parser)
    forms = ("text", "json", "markdown", "page", "calendar")
    parser.add_argument("--format", choices=forms, default="text", help=say("help.order.--format"))
    parser.add_argument("--steps", action="store_true", help=say("help.order.--steps"))
    parser.add_argument("--why", metavar=say("metavar.LINE"), help=say("help.order.--why"))
    about = say("help.order.--for")
    parser.add_argument("--for", dest="reader", choices=("groomer", "owner"), default="groomer", help=about)
    parser.add_argument(
        "--seen",
        action="append",
        default=[],
        metavar=say("metavar.PART:WORDS"),
        type=understood(typed.seen_text),
        help=say("help.order.--seen"),
    )
    parser.add_argument("--out", type=Path, metavar=say("metavar.FILE"), help=say("help.--out"))
    parser.set_defaults(run=run, error=parser.error)


def run(args: Namespace) -> int:
    """Computes the order and shows it."""
    if args.reader == "owner" and args.format in ("json", "calendar"):
        args.error(say("usage.owner-format"))
    history, profile = the_dog(args)
    if args.seen:
        history = _with_seen(args, history, compile_profile(profile))
    salon = salon_of(args, [args.dog])
    usual = salon.minutes_for(history.dog.id) if salon is not None else None
    minutes = usual if args.minutes is None else args.minutes
    order = work_order(profile, history, date=today(args), minutes=minutes, ahead=True)
    if salon is not None:
        order = salon.with_open_day(order)
    if args.why is not None:
        write_result(_reasons(order, args.why), args.out)
    elif args.reader == "owner":
        write_result(render_for_owner(order, args.format), args.out)
    else:
        write_result(render(order, args.format, steps=args.steps), args.out)
    return 0


def _reasons(order: WorkOrder, asked: str) -> str:
    from coatrules.report.sheet import why

    try:
        reasons = why(order, asked)
    except KeyError:
        lines = max((step.pass_number for step in order.steps), default=0)
        fix = nearest_fix(asked, order.labels)
        raise InputError([Problem(code="no-such-line", params={"asked": asked, "lines": lines}, fix=fix)]) from None
    return "".join(f"- {reason}\n" for reason in reasons) or say("sheet.no-reasons") + "\n"


def _with_seen(args: Namespace, history: History, compiled: CompiledProfile) -> History:
    """Returns the history as if what is seen and felt today were in it; nothing is recorded."""
    visit: dict[str, Any] = {"visit": today(args).isoformat()}
    for text in args.seen:
        see_typed(visit, text, compiled)
    return with_visit(history, without_file(visit), compiled)


def render_for_owner(order: WorkOrder, form: str) -> str:
    """Returns the owner's note in the form asked for."""
    from coatrules.report.owner import owner_markdown, owner_page, owner_text

    return {"text": owner_text, "markdown": owner_markdown, "page": owner_page}[form](order)


def render(order: WorkOrder, form: str, *, steps: bool = False) -> str:
    """Returns the order in the form asked for."""
    if form == "json":
        return json.dumps(order.to_dict(), indent=2, ensure_ascii=False) + "\n"
    if form == "markdown":
        from coatrules.report.markdown import markdown

        return markdown(order)
    if form == "page":
        from coatrules.report.page import page

        return page(order, steps=steps)
    if form == "calendar":
        from coatrules.report.calendar import calendar, next_visit_event

        return calendar([next_visit_event(order)] if order.next_visit.hold is None else [], order.date)
    if steps:
        from coatrules.report.text import text

        return text(order, width=min(100, terminal_width(88)))
    from coatrules.report.sheet import WIDTH, sheet

    return sheet(order, width=min(100, terminal_width(WIDTH)))
