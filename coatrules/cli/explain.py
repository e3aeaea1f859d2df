"""``coatrules explain DOG REGION``: what was decided there, and why, and why not; of a group in each of its regions."""

from __future__ import annotations

import os
from argparse import ArgumentParser, Namespace

from coatrules.catalogue.speaking import say
from coatrules.cli import terminal_width
from coatrules.cli.common import add_dog, add_way, engine_of, the_dog, today, write_result


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
    engine = engine_of(args)
    history = the_dog(args, engine)
    options = {"date": today(args), "minutes": args.minutes, "profile": args.profile, "strip_whole": args.strip_whole}
    regions = engine.regions(history, args.region, profile=args.profile)
    width = min(88, terminal_width(88))
    explained = (engine.explain(history, region, **options) for region in regions)
    write_result("\n\n".join(engine.text(one, width) for one in explained), None)
    return 0
