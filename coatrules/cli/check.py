"""``coatrules check PROFILE...``: what a profile's mentor should fix or think about."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Sequence
from pathlib import Path

from attrs import evolve

from coatrules.catalogue.message import message
from coatrules.catalogue.speaking import say
from coatrules.check import examine
from coatrules.cli.common import add_folders, source_named, write_result
from coatrules.problems import Problem
from coatrules.report.findings import FORMATS


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("profile", nargs="+", metavar="PROFILE", help=say("help.PROFILE"))
    add_folders(parser)
    parser.add_argument("--format", choices=tuple(FORMATS), default="text", help=say("help.--format"))
    parser.add_argument("--out", type=Path, metavar="FILE", help=say("help.--out"))
    parser.set_defaults(run=run)


def run(args: Namespace) -> int:
    """Checks every profile named; a broken one does not hide the findings of the next."""
    problems: list[Problem] = []
    for name in args.profile:
        problems += check(name, args.profiles)
    shown = map(_from_here, problems) if args.format in ("github", "sarif") else problems
    write_result(FORMATS[args.format](shown), args.out)
    profiles = len(args.profile)
    if not problems:
        print(say("check.no-findings", profiles=profiles), file=sys.stderr)
        return 0
    checked, count = message("check.profiles", profiles=profiles), message("check.count", findings=len(problems))
    print(say("check.findings", profiles=checked, findings=count), file=sys.stderr)
    return 1


def _from_here(problem: Problem) -> Problem:
    """The problem with its file as seen from the working folder, where it lies in it: a hosted check knows no place of a machine."""
    file = Path(problem.file)
    inside = problem.file and file.is_absolute() and file.is_relative_to(Path.cwd())
    return evolve(problem, file=str(file.relative_to(Path.cwd()))) if inside else problem


def check(name: str, folders: Sequence[Path]) -> list[Problem]:
    """All problems and findings of one profile, given by file or id."""
    return examine(*source_named(name, folders))
