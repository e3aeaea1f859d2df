"""``coatrules explain DOG REGION``: what was decided there, and why, and why not."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path

from coatrules.cli.common import add_dog, put, the_dog, today
from coatrules.order.explanation import explain
from coatrules.report.explanation import text


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    add_dog(parser)
    parser.add_argument("region", metavar="REGION", help="the region's id in the profile")
    parser.set_defaults(run=run, wrong=parser.error)


def run(chosen: Namespace) -> int:
    """Explains one region."""
    if Path(chosen.region).is_file() and not chosen.dog.is_file():
        chosen.wrong(f"name the dog first and then the region: explain {chosen.region} {chosen.dog}")
    history, profile = the_dog(chosen)
    put(text(explain(profile, history, chosen.region, date=today(chosen), minutes=chosen.minutes)), None)
    return 0
