"""``coatrules rehearse PROFILE``: what two years of a profile's own work orders make of a coat."""

from __future__ import annotations

import json
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from pathlib import Path

from coatrules.cli.common import add_folders, profile_named, write_result
from coatrules.cli.output import output_file
from coatrules.mentor.rehearsal import Actor, actors, plain, rehearse
from coatrules.profile.model import Profile
from coatrules.report.rehearsal import text


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("profile", metavar="PROFILE", help="a profile's file, or the id of one in the library")
    parser.add_argument(
        "--format", choices=("text", "json"), default="text", help="json holds every visit, for pictures"
    )
    parser.add_argument("--out", type=Path, metavar="FILE", help="write it to this file")
    add_folders(parser)
    parser.set_defaults(run=run)


def run(args: Namespace) -> int:
    """Rehearses all dogs and shows what became of them."""
    profile = profile_named(args.profile, args.profiles)
    runs = [rehearse(profile, actor) for actor in _with_progress(profile)]
    output = json.dumps(plain(profile, runs), indent=2) + "\n" if args.format == "json" else text(profile, runs)
    write_result(output, output_file(args))
    return 0


def _with_progress(profile: Profile) -> Iterator[Actor]:
    """Yields the dogs one by one, with a progress bar on standard error where that is a terminal."""
    if not sys.stderr.isatty():
        yield from actors(profile)
        return
    from rich.console import Console
    from rich.progress import track

    yield from track(actors(profile), "Rehearsing two years", console=Console(stderr=True), transient=True)
