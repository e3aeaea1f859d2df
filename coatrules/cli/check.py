"""``coatrules check PROFILE...``: what a profile's mentor should fix or think about."""

from __future__ import annotations

import os
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from pathlib import Path

from attrs import evolve

from coatrules.catalogue.message import message
from coatrules.catalogue.speaking import say
from coatrules.check import broken, examine, examine_text
from coatrules.check.catalogue import ERRORS, FINDINGS, explained
from coatrules.check.fixes import fixed
from coatrules.cli.common import add_folders, source_named, write_result
from coatrules.cli.progress import tracked
from coatrules.disk import read, write
from coatrules.problems import InputError, Problem, nearest_fix, visible
from coatrules.profile.graph import dependants, folders_of, id_of, profiles_in
from coatrules.reading import MAX_BYTES
from coatrules.report.findings import FORMATS


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("profile", nargs="*", default=[], metavar="PROFILE", help=say("help.check.PROFILE"))
    add_folders(parser)
    parser.add_argument("--fix", action="store_true", help=say("help.check.--fix"))
    parser.add_argument("--explain", metavar="CODE", help=say("help.check.--explain"))
    parser.add_argument("--alone", action="store_true", help=say("help.check.--alone"))
    parser.add_argument("--format", choices=tuple(FORMATS), default="text", help=say("help.--format"))
    parser.add_argument("--out", type=Path, metavar="FILE", help=say("help.--out"))
    parser.set_defaults(run=run, error=parser.error)


def run(args: Namespace) -> int:
    """Checks every profile named and what builds on it; a broken one does not hide the findings of the next."""
    if args.explain is not None:
        return _explain(args.explain, args.out)
    if not args.profile:
        args.error(say("usage.no-profile"))
    checked = list(_sources(args.profile, args.profiles))
    if args.fix:
        _fix(checked)
    named = {source: examine(source, shelves) for source, shelves in checked}
    dependent = [] if args.alone else list(_dependent(named, checked))
    builders = [broken(file, shelves) for file, shelves in tracked(dependent, say("progress.dependants"))]
    problems = list(dict.fromkeys(one for found in (*named.values(), *builders) for one in found))
    shown = map(_from_here, problems) if args.format in ("github", "sarif") else problems
    write_result(FORMATS[args.format](shown), args.out)
    count = message("check.profiles", profiles=len(checked))
    if builders:
        count = message("check.with-dependants", profiles=count, dependants=len(builders))
    code = "check.findings" if problems else "check.no-findings"
    print(say(code, profiles=count, findings=message("check.count", findings=len(problems))), file=sys.stderr)
    return 1 if problems else 0


def _explain(code: str, out: Path | None) -> int:
    lines = explained(code)
    if lines is None:
        raise InputError(
            [Problem(code="no-such-code", params={"code": code}, fix=nearest_fix(code, (*ERRORS, *FINDINGS)))]
        )
    write_result("".join(f"{line}\n" for line in lines), out)
    return 0


def _fix(checked: Sequence[Source]) -> None:
    """Fixes what is safe in each file, and says which were rewritten; raises ``InputError`` where one cannot be."""
    for source, shelves in checked:
        if not isinstance(source, Path):
            continue
        try:
            content = read(source, MAX_BYTES)
            text = content.decode()
            better = fixed(text, str(source), partial(_problems, str(source), shelves))
        except (InputError, UnicodeDecodeError):  # said when it is checked
            continue
        if better != text:
            write(source, better.encode(), expected=content)
            print(visible(say("check.fixed", file=source)), file=sys.stderr)


def _problems(file: str, shelves: Sequence[Path], text: str) -> list[Problem]:
    return examine_text(text, file, shelves)


Source = tuple[Path | str, tuple[Path, ...]]
"""A profile's file or id, and the folders in which what it builds on is looked for."""


def _sources(names: Sequence[str], folders: Sequence[Path]) -> Iterator[Source]:
    """The profiles named, a folder standing for all that are in it, each once."""
    seen = set()
    for name in names:
        files = profiles_in(Path(name)) if os.path.isdir(name) else []
        if os.path.isdir(name) and not files:
            raise InputError([Problem(code="no-profiles", params={"folder": name})])
        inside = folders_of(files)
        for source, searched in [source_named(str(file), folders) for file in files] or [source_named(name, folders)]:
            if source not in seen:
                seen.add(source)
                yield source, (*searched, *(folder for folder in inside if folder not in searched))


def _dependent(
    named: Mapping[Path | str, Sequence[Problem]], checked: Sequence[Source]
) -> Iterator[tuple[Path, tuple[Path, ...]]]:
    """The profiles that build on one that is named and sound, but for those that are named themselves."""
    known = {os.path.abspath(source) if isinstance(source, Path) else source for source in named}
    for source, shelves in checked:
        if any(problem.severity == "error" and problem.code not in FINDINGS for problem in named[source]):
            continue
        for name, file in dependants(id_of(source) if isinstance(source, Path) else source, shelves).items():
            if os.path.abspath(file) not in known and name not in known:
                known.add(os.path.abspath(file))
                yield file, shelves


def _from_here(problem: Problem) -> Problem:
    """The problem with its file as seen from the working folder, where it lies in it: a hosted check knows no place of a machine."""
    file = Path(problem.file)
    inside = problem.file and file.is_absolute() and file.is_relative_to(Path.cwd())
    return evolve(problem, file=str(file.relative_to(Path.cwd()))) if inside else problem
