"""``coatrules explain DOG REGION``: what was decided there, and why, and why not; of a group in each of its regions."""

from __future__ import annotations

import os
from argparse import ArgumentParser, Namespace

from coatrules.catalogue.speaking import say
from coatrules.cli import terminal_width
from coatrules.cli.common import add_dog, add_way, the_dog, today, write_result
from coatrules.order.explanation import explain, regions_named
from coatrules.profile.compiled import compile_profile
from coatrules.report.explanation import text


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    add_dog(parser)
    add_way(parser)
    parser.add_argument("region", metavar=say("metavar.REGION"), help=say("help.explain.REGION"))
    parser.set_defaults(run=run, error=parser.error)


def run(args: Namespace) -> int:
    """Explains one region, or those of a group one after the other."""
    if os.path.isfile(args.region) and not os.path.isfile(args.dog):
        args.error(say("usage.dog-first", dog=args.region, region=args.dog))
    history, profile = the_dog(args)
    regions = regions_named(compile_profile(profile), args.region)
    explained = [explain(profile, history, region, date=today(args), minutes=args.minutes) for region in regions]
    width = min(88, terminal_width(88))
    write_result("\n\n".join(text(one, width) for one in explained), None)
    return 0
