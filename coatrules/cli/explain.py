"""``coatrules explain DOG REGION``: what was decided there, and why, and why not."""

from __future__ import annotations

import os
from argparse import ArgumentParser, Namespace

from coatrules.catalogue.speaking import say
from coatrules.cli.common import add_dog, the_dog, today, write_result
from coatrules.order.explanation import explain
from coatrules.report.explanation import text


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    add_dog(parser)
    parser.add_argument("region", metavar="REGION", help=say("help.explain.REGION"))
    parser.set_defaults(run=run, error=parser.error)


def run(args: Namespace) -> int:
    """Explains one region."""
    if os.path.isfile(args.region) and not os.path.isfile(args.dog):
        args.error(say("usage.dog-first", dog=args.region, region=args.dog))
    history, profile = the_dog(args)
    write_result(text(explain(profile, history, args.region, date=today(args), minutes=args.minutes)), None)
    return 0
