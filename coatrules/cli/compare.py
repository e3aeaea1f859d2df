"""``coatrules compare OLD NEW [DOG...]``: which orders two versions of a profile differ in, and because of which line."""

from __future__ import annotations

import json
import os
from argparse import ArgumentParser, Namespace
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from coatrules import Engine, ProfileComparison, load_history
from coatrules.catalogue.speaking import say
from coatrules.cli.common import add_folders, day, source_named, today, write_result
from coatrules.cli.progress import tracked
from coatrules.formats.documents import read_file
from coatrules.problems import InputError, Problem
from coatrules.profile.graph import folders_of, graph_of, id_of, laid_over, profiles_in


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    for name in ("old", "new"):
        parser.add_argument(name, metavar=say(f"metavar.{name.upper()}"), help=say(f"help.compare.{name.upper()}"))
    parser.add_argument(
        "dog", nargs="*", default=[], metavar=say("metavar.DOG"), type=Path, help=say("help.compare.DOG")
    )
    parser.add_argument("--date", type=day, metavar=say("metavar.DAY"), help=say("help.compare.--date"))
    parser.add_argument("--format", choices=("text", "json"), default="text", help=say("help.--format"))
    parser.add_argument("--out", type=Path, metavar=say("metavar.FILE"), help=say("help.--out"))
    add_folders(parser)
    parser.set_defaults(run=run, error=parser.error)


class _Version(NamedTuple):
    """A profile in one of the two versions, and where what it builds on is found: beside it before anywhere else."""

    source: Path | str
    shelves: tuple[Path | Mapping[str, Any], ...]

    @property
    def engine(self) -> Engine:
        """The engine that finds it."""
        return Engine(shelves=self.shelves, locale=say.locale)


def run(args: Namespace) -> int:
    """Compares and shows, of a base all that build on it. That they differ is no fault: the exit code is 0."""
    pairs, only = _pairs(args)
    dogs = list(map(load_history, args.dog))
    found = []
    for name, (old, new) in tracked(list(pairs.items()), say("progress.comparison")):
        compared = old.engine.compare(old.source, new.source, dogs=dogs, date=today(args), new_in=new.engine)
        found.append(compared.of_profile(name) if name else compared)
    engine, comparison = Engine(locale=say.locale), ProfileComparison.together(found, only)
    json_text = json.dumps(engine.data(comparison), indent=2, ensure_ascii=False) + "\n"
    write_result(json_text if args.format == "json" else engine.text(comparison), args.out)
    return 0


def _pairs(args: Namespace) -> tuple[dict[str, tuple[_Version, _Version]], list[str]]:
    """The profiles to compare by id, in both versions; the one that was named has the empty name. And those of one version only."""
    roots = [os.path.isdir(name) for name in (args.old, args.new)]
    if all(roots):
        return _of_roots(Path(args.old), Path(args.new), tuple(args.profiles))
    if any(roots):
        args.error(say("compare.roots"))
    old, new = (_version(name, args.profiles) for name in (args.old, args.new))
    pairs = {"": (old, new)}
    name = _id(old)
    if name == _id(new) and not args.dog:
        # What builds on it may stand beside either version; each takes the base that stands beside its own.
        folders = [_on_shelves(one, other) for one, other in ((old, new), (new, old))]
        for dependant in graph_of([one for one in folders[1] if isinstance(one, Path)]).dependants(name):
            pairs[dependant] = (_Version(dependant, folders[0]), _Version(dependant, folders[1]))
    return pairs, []


def _of_roots(
    old: Path, new: Path, folders: tuple[Path, ...]
) -> tuple[dict[str, tuple[_Version, _Version]], list[str]]:
    shelves = [(*folders_of(profiles_in(root)), *folders) for root in (old, new)]
    ids = [{file.stem for file in profiles_in(root)} for root in (old, new)]
    if not ids[0] | ids[1]:
        raise InputError([Problem(code="no-profiles", params={"folder": str(old)})])
    both = ids[0] & ids[1]
    graph = graph_of(shelves[1])
    within = {name for one in both for name in graph.dependants(one)} | laid_over(*shelves)
    names = sorted(both | (within - ids[0] - ids[1]))
    pairs = {name: (_Version(name, shelves[0]), _Version(name, shelves[1])) for name in names}
    return pairs, sorted(ids[0] ^ ids[1])


def _version(name: str, folders: Sequence[Path]) -> _Version:
    source, searched = source_named(name, folders)
    return _Version(source, (*searched[len(folders) :], *folders))


def _id(version: _Version) -> str:
    return id_of(version.source) if isinstance(version.source, Path) else version.source


def _on_shelves(version: _Version, other: _Version) -> tuple[Path | Mapping[str, Any], ...]:
    """The folders of a version, then those of the other; before them the version itself, where its file is not named by its id."""
    folders = tuple(dict.fromkeys((*version.shelves, *other.shelves)))
    if not isinstance(version.source, Path) or version.source.stem == _id(version):
        return folders
    return {_id(version): read_file(version.source)[0].data}, *folders
