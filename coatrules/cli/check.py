"""``coatrules check PROFILE...``: what a profile's mentor should fix or think about."""

from __future__ import annotations

import os
import sys
from argparse import ArgumentParser, Namespace
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from attrs import evolve

from coatrules import Engine
from coatrules.catalogue.message import message
from coatrules.catalogue.speaking import say
from coatrules.cli.common import add_folders, source_named, write_result
from coatrules.cli.progress import progress, tracked
from coatrules.disk import read, write
from coatrules.problems import InputError, Problem, visible
from coatrules.profile.graph import Graph, bound, folders_of, graph_of, id_of, profiles_in
from coatrules.reading import MAX_BYTES

FORMS = ("text", "json", "github", "sarif")


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument(
        "profile", nargs="*", default=[], metavar=say("metavar.PROFILE"), help=say("help.check.PROFILE")
    )
    add_folders(parser)
    parser.add_argument("--fix", action="store_true", help=say("help.check.--fix"))
    parser.add_argument("--mutate", action="store_true", help=say("help.check.--mutate"))
    parser.add_argument("--explain", metavar=say("metavar.CODE"), help=say("help.check.--explain"))
    parser.add_argument("--alone", action="store_true", help=say("help.check.--alone"))
    parser.add_argument("--format", choices=FORMS, default="text", help=say("help.--format"))
    parser.add_argument("--out", type=Path, metavar=say("metavar.FILE"), help=say("help.--out"))
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
    asked = tracked(checked, say("progress.mutation")) if args.mutate else checked
    named = {source: engine.check(source, mutate=args.mutate) for source, _, engine in asked}
    dependent = [] if args.alone else list(_dependent(named, checked))
    builders = {
        file: engine.check(file, after_a_change=True) for file, engine in tracked(dependent, say("progress.dependants"))
    }
    rules_bind = {} if args.alone else _bound(named, checked, builders)
    laid = [_laid_over(engine, names) for engine, names in rules_bind.items()]
    problems = list(dict.fromkeys(one for found in (*named.values(), *builders.values(), *laid) for one in found))
    shown = map(_from_here, problems) if args.format in ("github", "sarif") else problems
    write_result(Engine(locale=say.locale).findings(shown, form=args.format), args.out)
    count = message("check.profiles", profiles=len(checked))
    others = {id_of(file) for file in builders} | {name for names in rules_bind.values() for name in names}
    if others:
        count = message("check.with-dependants", profiles=count, dependants=len(others))
    code = "check.findings" if problems else "check.no-findings"
    print(say(code, profiles=count, findings=message("check.count", findings=len(problems))), file=sys.stderr)
    return 1 if problems else 0


def _explain(code: str, out: Path | None) -> int:
    write_result("".join(f"{line}\n" for line in Engine(locale=say.locale).explained(code)), out)
    return 0


def _fix(checked: Sequence[Source]) -> None:
    """Fixes what is safe in each file, and says which were rewritten; raises ``InputError`` where one cannot be."""
    for source, _, engine in checked:
        if not isinstance(source, Path):
            continue
        try:
            content = read(source, MAX_BYTES)
            text = content.decode()
            better = engine.fixed(text, str(source))
        except (InputError, UnicodeDecodeError):  # said when it is checked
            continue
        if better != text:
            write(source, better.encode(), expected=content)
            print(visible(say("check.fixed", file=source)), file=sys.stderr)


class Source(NamedTuple):
    """A profile's file or id, the folders in which what it builds on is found, and the engine that does."""

    profile: Path | str
    folders: tuple[Path, ...]
    engine: Engine


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
                shelves = (*searched, *(folder for folder in inside if folder not in searched))
                yield Source(source, shelves, Engine(shelves=shelves, locale=say.locale))


def _dependent(
    named: Mapping[Path | str, Sequence[Problem]], checked: Sequence[Source]
) -> Iterator[tuple[Path, Engine]]:
    """The profiles that build on one that is named and sound, but for those that are named themselves."""
    known = {os.path.abspath(source) if isinstance(source, Path) else source for source in named}
    graphs: dict[tuple[Path, ...], Graph] = {}
    for source, folders, engine in checked:
        if folders not in graphs:
            graphs[folders] = graph_of(folders)
        dependants = graphs[folders].dependants(id_of(source) if isinstance(source, Path) else source)
        others = {os.path.abspath(file): file for name, file in dependants.items() if name not in known}
        others = {place: file for place, file in others.items() if place not in known}
        if not others:
            continue
        try:
            engine.profile(source)
        except InputError:
            continue  # of what is broken nothing can be said to build on it
        known.update(others)
        yield from ((file, engine) for file in others.values())


def _bound(
    named: Iterable[Path | str], checked: Sequence[Source], dependants: Iterable[Path]
) -> dict[Engine, list[str]]:
    """The profiles that house rules bind, by the engine that finds both: all of them where the house rules are named, else those that
    are named or build on one that is."""
    ids = {id_of(source) if isinstance(source, Path) else source for source in (*named, *dependants)}
    by_folders = {folders: engine for _, folders, engine in checked}
    found = {engine: bound(folders, ids) for folders, engine in by_folders.items()}
    return {engine: names for engine, names in found.items() if names}


def _laid_over(engine: Engine, names: Sequence[str]) -> list[Problem]:
    label = say("progress.dependants")
    with progress(1.0, label) as tell:
        return engine.check_house_rules(names, tell=lambda done: tell(done, label))


def _from_here(problem: Problem) -> Problem:
    """The problem with its file as seen from the working folder, where it lies in it: a hosted check knows no place of a machine."""
    file = Path(problem.file)
    inside = problem.file and file.is_absolute() and file.is_relative_to(Path.cwd())
    return evolve(problem, file=str(file.relative_to(Path.cwd()))) if inside else problem
