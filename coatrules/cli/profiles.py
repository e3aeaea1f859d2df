"""``coatrules profiles [ID]``: what profiles there are, one shown whole, or what its numbers rest on."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import yaml

from coatrules.catalogue.speaking import say
from coatrules.check.provenance import KINDS, shares, sourced_numbers
from coatrules.cli.common import add_folders, source_named, write_result
from coatrules.formats.documents import read_file
from coatrules.problems import InputError, Problem, nearest_fix
from coatrules.profile.loading import chain_of, load_profile, merged_chain, merged_profile
from coatrules.profile.model import Profile
from coatrules.profile.shelves import library


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("id", nargs="?", metavar=say("metavar.ID"), help=say("help.profiles.ID"))
    parser.add_argument("--sources", action="store_true", help=say("help.profiles.--sources"))
    parser.add_argument("--where", metavar=say("metavar.KEY"), help=say("help.profiles.--where"))
    add_folders(parser)
    parser.set_defaults(run=run, error=parser.error)


def run(args: Namespace) -> int:
    """Lists the library, shows one profile, what the numbers of one or of all rest on, or where a value comes from."""
    if args.sources:
        for name in [args.id] if args.id is not None else sorted(library(args.profiles)):
            write_result(_sources(load_profile(name, shelves=args.profiles)), None)
        return 0
    if args.where is not None and args.id is None:
        args.error(say("usage.where-id"))
    if args.where is not None:
        write_result("".join(f"{line}\n" for line in _where(args.id, args.where, args.profiles)), None)
        return 0
    if args.id is not None:
        source, folders = source_named(args.id, args.profiles)
        data = merged_profile(source, shelves=folders)[0]
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


def _where(name: str, key: str, folders: Sequence[Path]) -> Iterator[str]:
    """The value that holds at a key, and every place where it was written or removed, the one that wins first."""
    source, searched = source_named(name, folders)
    chain = chain_of(source, shelves=searched)
    steps = tuple(int(step) if step.isdecimal() else step for step in key.replace("[", ".").replace("]", "").split("."))
    merged, _ = merged_chain(chain)
    value, known = _at(merged, steps)
    written = [(one, *_at(one.data, steps)) for one in chain]
    if not known and not any(there for _, _, there in written):
        keys = merged.keys() if len(steps) == 1 else ()
        around, _ = _at(merged, steps[:-1])
        fix = nearest_fix(str(steps[-1]), map(str, around if isinstance(around, dict) else keys))
        raise InputError([Problem(code="where.unknown", params={"profile": name, "path": key}, fix=fix)])
    yield say("where.value", path=key, value=_shown(value)) if known else say("where.nothing", path=key, profile=name)
    first = True
    for document, here, there in written:
        if not there:
            continue
        line, _ = document.places.place(steps, key=True)
        place = f"  {document.file}:{line}" if document.file else "  -"
        overridden = not first and not isinstance(here, dict)
        code = "where.removed" if here is None else "where.overridden" if overridden else "where.set"
        yield say(code, place=place, value=_shown(here))
        first = False


def _at(data: Any, steps: Sequence[str | int]) -> tuple[Any, bool]:
    """What is at a path, and whether anything is."""
    for step in steps:
        try:
            data = data[step]
        except (LookupError, TypeError):
            return None, False
    return data, True


def _shown(value: Any) -> str:
    return (
        yaml.safe_dump(value, default_flow_style=True, allow_unicode=True, width=1000).removesuffix("\n...\n").strip()
    )
