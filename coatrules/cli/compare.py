"""``coatrules compare OLD NEW [DOG...]``: which orders two versions of a profile differ in, and because of which line."""

from __future__ import annotations

import json
from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from coatrules.catalogue.speaking import say
from coatrules.cli.common import add_folders, day, profile_named, source_named, today, write_result
from coatrules.dog.loading import load_history
from coatrules.formats.documents import Origin
from coatrules.mentor.comparison import Occasion, case_occasions, changes, compare
from coatrules.profile.loading import merged_profile
from coatrules.report.comparison import plain, text


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    for name in ("old", "new"):
        parser.add_argument(name, metavar=name.upper(), help=say(f"help.compare.{name.upper()}"))
    parser.add_argument("dog", nargs="*", default=[], metavar="DOG", type=Path, help=say("help.compare.DOG"))
    parser.add_argument("--date", type=day, metavar="DAY", help=say("help.compare.--date"))
    parser.add_argument("--format", choices=("text", "json"), default="text", help=say("help.--format"))
    parser.add_argument("--out", type=Path, metavar="FILE", help=say("help.--out"))
    add_folders(parser)
    parser.set_defaults(run=run)


def run(args: Namespace) -> int:
    """Compares and shows. That they differ is no fault: the exit code is 0."""
    profiles = [profile_named(name, args.profiles) for name in (args.old, args.new)]
    old, new = (_merged(name, args) for name in (args.old, args.new))
    occasions = list(_dogs(args)) if args.dog else case_occasions(*profiles)
    profile_changes = changes(old, new)
    comparisons = compare(old, new, occasions, profile_changes)
    json_text = json.dumps(plain(profile_changes, comparisons), indent=2, ensure_ascii=False) + "\n"
    write_result(json_text if args.format == "json" else text(profile_changes, comparisons), args.out)
    return 0


def _merged(name: str, args: Namespace) -> tuple[Any, Origin]:
    source, folders = source_named(name, args.profiles)
    return merged_profile(source, shelves=folders)


def _dogs(args: Namespace) -> Iterator[Occasion]:
    for file in args.dog:
        history = load_history(file)
        yield Occasion(history.dog.called, history, today(args))
