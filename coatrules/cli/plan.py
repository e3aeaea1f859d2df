"""``coatrules plan DOG``: the visits ahead, the way back from a show day, or which interval to keep."""

from __future__ import annotations

import json
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from datetime import date
from pathlib import Path

from coatrules import Engine, History, Intervals, Plan, StagedStrip
from coatrules.catalogue.speaking import say
from coatrules.cli import terminal_width
from coatrules.cli.common import (
    add_dog,
    add_salon,
    add_show_lengths,
    add_way,
    day,
    engine_of,
    salon_of,
    the_dog,
    today,
    write_result,
)
from coatrules.cli.progress import tracked
from coatrules.extras import require_extra

TWO_TO_EIGHT_WEEKS = tuple(map(float, range(2, 9)))
"""Intervals that are compared where none is named."""


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    add_dog(parser)
    add_show_lengths(parser)
    add_way(parser)
    add_salon(parser)
    when = parser.add_mutually_exclusive_group()
    when.add_argument("--every", type=weeks, metavar=say("metavar.WEEKS"), help=say("help.plan.--every"))
    when.add_argument("--dates", type=_visit_day, nargs="+", metavar=say("metavar.DAY"), help=say("help.plan.--dates"))
    when.add_argument(
        "--compare-intervals",
        type=weeks,
        nargs="*",
        metavar=say("metavar.WEEKS"),
        help=say("help.plan.--compare-intervals"),
    )
    when.add_argument(
        "--staged",
        action="store_true",
        help=say("help.plan.--staged"),
    )
    parser.add_argument("--visits", type=int, metavar=say("metavar.N"), help=say("help.plan.--visits"))
    parser.add_argument("--show", type=day, metavar=say("metavar.DAY"), help=say("help.plan.--show"))
    parser.add_argument("--format", choices=("text", "json", "calendar"), default="text", help=say("help.--format"))
    parser.add_argument("--out", type=Path, metavar=say("metavar.FILE"), help=say("help.--out"))
    parser.set_defaults(run=run, error=parser.error)


def _visit_day(text: str) -> date:
    if _is_file(text):
        raise ArgumentTypeError(say("argument.date-not-file", text=text))
    return day(text)


def _is_file(text: str) -> bool:
    """Whether an option of several values was given the dog's file too, as it stood after them."""
    return Path(text).suffix.lower() in (".yaml", ".yml", ".json")


def weeks(text: str) -> float:
    """A number of weeks of the command line."""
    try:
        return float(text)
    except ValueError:
        code = "argument.weeks-not-file" if _is_file(text) else "argument.weeks"
        raise ArgumentTypeError(say(code, text=text)) from None


def run(args: Namespace) -> int:
    """Plans, and shows the plan."""
    if args.compare_intervals is not None and args.format == "calendar":
        args.error(say("usage.intervals-calendar"))
    if args.strip_whole and any((args.every, args.dates, args.compare_intervals is not None, args.staged, args.show)):
        args.error(say("usage.strips-alone"))
    if not (args.staged or args.strip_whole):
        require_extra("plan", "scipy")
    engine = engine_of(args, salon_of(args, [args.dog]))
    result = make_plan(args, engine, the_dog(args, engine))
    write_result(render(engine, result, args.format), args.out)
    return 0


def render(engine: Engine, result: Plan | StagedStrip | Intervals, form: str) -> str:
    """Returns the plan in the form asked for."""
    if form == "json":
        return json.dumps(engine.data(result), indent=2, ensure_ascii=False) + "\n"
    if form == "calendar" and not isinstance(result, Intervals):
        return engine.calendar([result], date=result.date)
    return engine.text(result, width=min(100, terminal_width(88)))


def make_plan(args: Namespace, engine: Engine, history: History) -> Plan | StagedStrip | Intervals:
    """Returns the plan that was asked for."""
    as_of = today(args)
    if args.staged:
        on_record = engine.show_day(history, date=as_of)
        show = args.show or on_record or args.error(say("usage.staged-show"))
        return engine.staged_strip(history, date=as_of, show=show, profile=args.profile)
    if args.compare_intervals is not None:
        weeks = tracked(args.compare_intervals or TWO_TO_EIGHT_WEEKS, say("progress.intervals"))
        return engine.intervals(history, date=as_of, weeks=weeks, minutes=args.minutes, profile=args.profile)
    return engine.plan(
        history,
        date=as_of,
        dates=args.dates,
        every_weeks=args.every,
        visits=args.visits,
        minutes=args.minutes,
        show=args.show,
        sure=True,
        profile=args.profile,
        strip_whole=args.strip_whole,
    )
