"""``coatrules rehearse PROFILE``: what two years of a profile's own work orders make of a coat."""

from __future__ import annotations

import json
from argparse import ArgumentParser, Namespace
from pathlib import Path

from coatrules.catalogue.speaking import say
from coatrules.cli.common import add_folders, profile_named, write_result
from coatrules.cli.progress import progress


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("profile", metavar=say("metavar.PROFILE"), help=say("help.PROFILE"))
    parser.add_argument("--format", choices=("text", "json"), default="text", help=say("help.rehearse.--format"))
    parser.add_argument("--out", type=Path, metavar=say("metavar.FILE"), help=say("help.--out"))
    add_folders(parser)
    parser.set_defaults(run=run)


def run(args: Namespace) -> int:
    """Rehearses all dogs and shows what became of them; the exit code is 1 where the average dog that comes on time does not keep
    to the targets."""
    engine, source = profile_named(args.profile, args.profiles)
    label = say("progress.rehearsal")
    with progress(1.0, label) as tell:
        rehearsal = engine.rehearse(source, tell=lambda done: tell(done, label))
    data = json.dumps(engine.data(rehearsal), indent=2, ensure_ascii=False) + "\n"
    write_result(data if args.format == "json" else engine.text(rehearsal), args.out)
    return 0 if rehearsal.keeps_to_targets else 1
