"""``coatrules check PROFILE...``: what a profile's mentor should mend or think about."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from pathlib import Path

from coatrules.check import findings
from coatrules.cli.common import add_folders, profile_named, write_result
from coatrules.cli.output import output_file
from coatrules.problems import InputError, Problem
from coatrules.report.findings import FORMATS


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument(
        "profile", nargs="+", metavar="PROFILE", help="a profile's file, or the id of one in the library"
    )
    add_folders(parser)
    parser.add_argument("--format", choices=tuple(FORMATS), default="text", help="how to show what is found")
    parser.add_argument("--out", type=Path, metavar="FILE", help="write it to this file")
    parser.set_defaults(run=run)


def run(args: Namespace) -> int:
    """Checks every profile named; a broken one does not hide the findings of the next."""
    problems: list[Problem] = []
    for name in args.profile:
        problems += check(name, args.profiles)
    write_result(FORMATS[args.format](problems), output_file(args))
    profiles = f"{len(args.profile)} profile" + ("s" if len(args.profile) != 1 else "")
    if not problems:
        print(f"{profiles} checked, nothing to mend.", file=sys.stderr)
        return 0
    print(f"{profiles} checked, {len(problems)} finding" + ("s." if len(problems) != 1 else "."), file=sys.stderr)
    return 1


def check(name: str, folders: Sequence[Path]) -> list[Problem]:
    """All problems and findings of one profile, given by file or id."""
    try:
        return findings(profile_named(name, folders))
    except InputError as error:
        return list(error.problems)
