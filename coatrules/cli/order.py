"""``coatrules order DOG``: today's work order."""

from __future__ import annotations

import json
from argparse import ArgumentParser, Namespace
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from textwrap import TextWrapper

from coatrules import Engine, History, InputError, WorkOrder
from coatrules.catalogue.speaking import say
from coatrules.cli import terminal_width
from coatrules.cli.common import (
    add_dog,
    add_salon,
    add_show_lengths,
    add_way,
    engine_of,
    salon_of,
    the_dog,
    today,
    write_result,
)
from coatrules.engine.speaking import Audience


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
        help=say("help.order.--seen"),
    )
    parser.add_argument("--out", type=Path, metavar=say("metavar.FILE"), help=say("help.--out"))
    parser.set_defaults(run=run, error=parser.error)


def run(args: Namespace) -> int:
    """Computes the order and shows it."""
    if args.reader == "owner" and args.format in ("json", "calendar"):
        args.error(say("usage.owner-format"))
    engine = engine_of(args, salon_of(args, [args.dog]))
    history = the_dog(args, engine)
    if args.seen:
        history = engine.with_seen(history, "; ".join(args.seen), date=today(args), profile=args.profile)
    order = engine.order(
        history,
        date=today(args),
        minutes=args.minutes,
        profile=args.profile,
        strip_whole=args.strip_whole,
        ahead=True,
    )
    if args.why is not None:
        reasons = _reasons(engine, order, args.why, history, args.profile)
        write_result(_listed(reasons) or say("sheet.no-reasons") + "\n", args.out)
    else:
        write_result(render(engine, order, args), args.out)
    return 0


def _reasons(engine: Engine, order: WorkOrder, asked: str, history: History, profile: str | None) -> list[str]:
    """The reasons of a line or a part, by whatever name people give it."""
    try:
        return engine.reasons(order, asked)
    except InputError:
        with suppress(InputError):
            return engine.reasons(order, engine.regions(history, asked, profile=profile))
        raise


def _listed(reasons: Iterable[str]) -> str:
    """Sentences one below the other, in lines that the terminal does not break."""
    wrapper = TextWrapper(
        min(100, terminal_width(88)),
        initial_indent="- ",
        subsequent_indent="  ",
        break_long_words=False,
        break_on_hyphens=False,
    )
    return "".join(wrapper.fill(reason) + "\n" for reason in reasons)


def render(engine: Engine, order: WorkOrder, args: Namespace) -> str:
    """Returns the order in the form asked for."""
    audience: Audience = "owner" if args.reader == "owner" else "table"
    match args.format:
        case "json":
            return json.dumps(engine.data(order), indent=2, ensure_ascii=False) + "\n"
        case "markdown":
            return engine.markdown(order, audience=audience)
        case "page":
            return engine.page(order, audience=audience, steps=args.steps)
        case "calendar":
            return engine.calendar([order], date=order.date)
    wide = args.steps or audience == "owner"
    width = min(88 if audience == "owner" else 100, terminal_width(88 if wide else 80))
    return engine.text(order, width, audience=audience, steps=args.steps)
