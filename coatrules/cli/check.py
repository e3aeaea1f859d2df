"""``coatrules check PROFILE...``: what a profile's mentor should mend or think about."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from pathlib import Path

from coatrules.check import findings
from coatrules.cli.common import add_folders
from coatrules.loading import load_profile
from coatrules.problems import InputError, Problem


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument(
        "profile", nargs="+", metavar="PROFILE", help="a profile's file, or the id of one in the library"
    )
    add_folders(parser)
    parser.set_defaults(run=run)


def run(chosen: Namespace) -> int:
    """Checks every profile named; a broken one does not hide the findings of the next."""
    found: list[Problem] = []
    for name in chosen.profile:
        found += check(name, chosen.profiles)
    for problem in found:
        print(problem)
    profiles = f"{len(chosen.profile)} profile" + ("s" if len(chosen.profile) != 1 else "")
    if not found:
        print(f"{profiles} checked, nothing to mend.", file=sys.stderr)
        return 0
    print(f"{profiles} checked, {len(found)} finding" + ("s." if len(found) != 1 else "."), file=sys.stderr)
    return 1


def check(name: str, folders: Sequence[Path]) -> list[Problem]:
    """All problems and findings of one profile, given by file or id."""
    source = Path(name) if name.endswith((".yaml", ".yml", ".json")) or "/" in name else name
    beside = [source.parent] if isinstance(source, Path) else []
    try:
        return findings(load_profile(source, folders=[*folders, *beside]))
    except InputError as error:
        return list(error.problems)
