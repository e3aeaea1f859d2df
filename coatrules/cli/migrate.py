"""``coatrules migrate FILE...``: brings profiles to the newest format, and keeps every comment."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path

from coatrules import Engine
from coatrules.catalogue.speaking import say
from coatrules.cli.rewriting import rewrite


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("file", nargs="+", metavar=say("metavar.FILE"), type=Path, help=say("help.FILE"))
    parser.add_argument("--check", action="store_true", help=say("help.migrate.--check"))
    parser.set_defaults(run=run)


def run(args: Namespace) -> int:
    """Rewrites the files of an older format."""
    return rewrite(args.file, Engine(locale=say.locale).migrated, "migrate", check_only=args.check)
