"""``coatrules profiles [ID]``: what profiles there are, one shown whole, or what its numbers rest on."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

import yaml

from coatrules.catalogue.speaking import say
from coatrules.cli.common import add_folders, engine_of, profile_named, write_result


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("id", nargs="?", metavar=say("metavar.ID"), help=say("help.profiles.ID"))
    parser.add_argument("--sources", action="store_true", help=say("help.profiles.--sources"))
    parser.add_argument("--where", metavar=say("metavar.KEY"), help=say("help.profiles.--where"))
    add_folders(parser)
    parser.set_defaults(run=run, error=parser.error)


def run(args: Namespace) -> int:
    """Lists the library, shows one profile, what the numbers of one or of all rest on, or where a value comes from."""
    if args.where is not None and args.id is None and not args.sources:
        args.error(say("usage.where-id"))
    if args.sources:
        engine = engine_of(args)
        for name in [args.id] if args.id is not None else engine.ids():
            write_result(engine.sources(name), None)
        return 0
    if args.id is None:
        labels = engine_of(args).labels()
        width = max(map(len, labels), default=0)
        write_result("".join(f"{name:<{width}}  {label}\n" for name, label in labels.items()), None)
        return 0
    engine, source = profile_named(args.id, args.profiles)
    if args.where is not None:
        write_result("".join(f"{line}\n" for line in engine.where(source, args.where)), None)
        return 0
    merged = engine.merged(source)
    write_result(yaml.safe_dump(merged, sort_keys=False, allow_unicode=True, width=110), None)
    return 0
