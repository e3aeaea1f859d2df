"""``coatrules profiles [ID]``: what profiles there are, one shown whole, or what its numbers rest on."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

import yaml

from coatrules.catalogue.speaking import say
from coatrules.check.provenance import KINDS, shares, sourced_numbers
from coatrules.cli.common import add_folders, write_result
from coatrules.formats.documents import read_file
from coatrules.profile.loading import load_profile, merged_profile
from coatrules.profile.model import Profile
from coatrules.profile.shelves import library


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("id", nargs="?", metavar="ID", help=say("help.profiles.ID"))
    parser.add_argument("--sources", action="store_true", help=say("help.profiles.--sources"))
    add_folders(parser)
    parser.set_defaults(run=run)


def run(args: Namespace) -> int:
    """Lists the library, shows one profile, or what the numbers of one or of all rest on."""
    if args.sources:
        for name in [args.id] if args.id is not None else sorted(library(args.profiles)):
            write_result(_sources(load_profile(name, shelves=args.profiles)), None)
        return 0
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


def _sources(profile: Profile) -> str:
    """A table: a row for each kind of source, a column for all numbers, its own, and the lengths among these."""
    numbers = list(sourced_numbers(profile))
    own = [number for number in numbers if number.own]
    columns = [numbers, own, [number for number in own if number.wanted]]
    kinds = {kind: say(f"provenance.{kind}") for kind in KINDS if any(number.kind == kind for number in numbers)}
    heads = [say("provenance.all"), say("provenance.own"), say("provenance.wanted")]
    width = max(map(len, kinds.values()), default=0)
    lines = [f"{profile.id}:", f"{'':<{width}}  " + "  ".join(f"{head:>13}" for head in heads)]
    for kind, words in kinds.items():
        cells = []
        for column in columns:
            count = sum(number.kind == kind for number in column)
            cells.append(f"{count:>6} {shares(column).get(kind, 0):>6.0%}")
        lines.append(f"{words:<{width}}  " + "  ".join(cells))
    return "\n".join(lines) + "\n\n"
