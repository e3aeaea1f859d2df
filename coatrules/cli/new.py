"""``coatrules new dog|profile|case``: a file to start from; a case is made from a dog's history and its order today."""

from __future__ import annotations

import os
from argparse import ArgumentParser, Namespace
from pathlib import Path

from coatrules.catalogue.speaking import say
from coatrules.cli.common import add_dog, engine_of, profile_named, the_dog, today, write_result
from coatrules.formats.resources import folder
from coatrules.formats.values import ID_PATTERN, id_from_name, matches
from coatrules.problems import InputError, Problem


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    kinds = ("dog", "profile", "case")
    parser.add_argument("what", choices=kinds, metavar=f"{{{','.join(kinds)}}}", help=say("help.new.WHAT"))
    add_dog(parser, optional=True)
    parser.add_argument("--extends", metavar=say("metavar.ID"), help=say("help.new.--extends"))
    parser.add_argument("--id", metavar=say("metavar.ID"), help=say("help.new.--id"))
    parser.add_argument("--out", type=Path, metavar=say("metavar.FILE"), help=say("help.new.--out"))
    parser.set_defaults(run=run, error=parser.error)


def run(args: Namespace) -> int:
    """Writes the file to start from."""
    if (args.dog is None) == (args.what == "case"):
        args.error(say("usage.case-dog" if args.dog is None else "usage.no-dog"))
    if args.what != "profile" and (args.extends is not None or args.id is not None):
        args.error(say("usage.no-extends"))
    if args.out is not None and os.path.lexists(args.out):
        raise InputError([Problem(code="file-exists", file=str(args.out))])
    write_result(_text(args), args.out)
    return 0


def _text(args: Namespace) -> str:
    engine = engine_of(args)
    if args.what == "profile":
        base_engine, base = profile_named(args.extends or "points-of-the-dog", args.profiles)
        name = args.id or _name(args.out, "my-profile")
        return base_engine.new_profile(base, id=name, schema=_schema_for(args.out))
    if args.what == "dog":
        profile_engine, profile = engine, None
        if args.profile:
            profile_engine, profile = profile_named(args.profile, args.profiles)
        dog, name = _dog(args.out)
        return profile_engine.new_history(profile, date=today(args), id=dog, name=name)
    history = the_dog(args, engine)
    return engine.new_case(history, date=today(args), minutes=args.minutes, profile=args.profile)


def _name(file: Path | None, otherwise: str) -> str:
    """Returns the file's own name, if that can be an id: others find it by that."""
    return file.stem if file is not None and matches(ID_PATTERN, file.stem) else otherwise


def _dog(file: Path | None) -> tuple[str, str]:
    """Returns the id and the name of a dog by its file's: ``Old Thimble.yaml`` is of old-thimble, called Old Thimble."""
    stem = "" if file is None else file.stem
    dog = id_from_name(stem)
    if not matches(ID_PATTERN, dog):
        return "my-dog", ""
    return dog, "" if stem == dog else stem


def _schema_for(file: Path | None) -> str:
    """Returns where an editor finds the schema, seen from the file, where both are in one clone; empty where it is installed."""
    schema = folder("schemas") / "profile.schema.json"
    if file is not None and schema.parent.parent in file.resolve().parents:
        return Path(os.path.relpath(schema, file.resolve().parent)).as_posix()
    return ""
