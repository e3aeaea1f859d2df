"""``coatrules profiles [ID]``: what profiles there are, or one shown whole."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

import yaml

from coatrules.catalogue.speaking import say
from coatrules.cli.common import add_folders, write_result
from coatrules.formats.documents import read_file
from coatrules.profile.loading import merged_profile
from coatrules.profile.shelves import library


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("id", nargs="?", metavar="ID", help=say("help.profiles.ID"))
    add_folders(parser)
    parser.set_defaults(run=run)


def run(args: Namespace) -> int:
    """Lists the library, or shows one profile."""
    if args.id is not None:
        data = merged_profile(args.id, shelves=args.profiles)[0]
        write_result(yaml.safe_dump(data, sort_keys=False, allow_unicode=True, width=110), None)
        return 0
    profile_files = library(args.profiles)
    width = max(map(len, profile_files), default=0)
    for name, file in sorted(profile_files.items()):
        data = read_file(file)[0].data
        label = say.own(data.get("label", "")) if isinstance(data, dict) else ""
        write_result(f"{name:<{width}}  {label}\n", None)
    return 0
