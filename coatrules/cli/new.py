"""``coatrules new dog|profile|case``: a file to start from; a case is made from a dog's history and its order today."""

from __future__ import annotations

import json
import os
from argparse import ArgumentParser, Namespace
from pathlib import Path

from coatrules.catalogue.speaking import say
from coatrules.cli.common import add_dog, profile_named, the_dog, today, write_result
from coatrules.formats.resources import folder
from coatrules.formats.values import ID_PATTERN, matches
from coatrules.problems import InputError, Problem
from coatrules.profile.model import Profile


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
    if args.id is not None and not matches(ID_PATTERN, args.id):
        raise InputError([Problem(code="schema-id", params={"value": args.id})])
    if args.out is not None and os.path.lexists(args.out):
        raise InputError([Problem(code="file-exists", file=str(args.out))])
    write_result(_text(args), args.out)
    return 0


def _id_key(placeholder: str, file: Path | None, width: int) -> str:
    """Returns the key ``id`` with the file's own name, if that can be an id: others find it by that."""
    named = file is not None and matches(ID_PATTERN, file.stem)
    return f"id: {file.stem if file is not None and named else placeholder}".ljust(width)


def _schema_for(file: Path | None) -> str:
    """Returns where an editor finds the schema: seen from the file where both are in one clone, else where it is installed."""
    schema = folder("schemas") / "profile.schema.json"
    if file is not None and schema.parent.parent in file.resolve().parents:
        return Path(os.path.relpath(schema, file.resolve().parent)).as_posix()
    return schema.as_uri()


def _text(args: Namespace) -> str:
    if args.what == "dog":
        return _dog(args)
    if args.what == "profile":
        return _profile(args)
    from coatrules.check.case_from_history import case_text  # the engine is not needed for the others

    history, profile = the_dog(args)
    return case_text(profile, history, today(args), args.minutes)


def _profile(args: Namespace) -> str:
    """Returns a profile to start from: whole on a base that asks for no coat, else of what it may change."""
    id_key = f"id: {args.id}".ljust(37) if args.id else _id_key("my-profile", args.out, 37)
    name = args.extends or "points-of-the-dog"
    base = profile_named(name, args.profiles)
    own = {"schema": _schema_for(args.out), "id_key": id_key}
    if not base.layer_targets:
        return say("new.profile", **own, extends_key=f"extends: {base.id}".ljust(37))
    target_id, target = next(iter(base.layer_targets.items()))
    figures = {"every_weeks": base.visit.every_weeks, "minutes": base.visit.minutes, "usual": target.take.usual}
    label = json.dumps(base.label, ensure_ascii=False)
    return say("new.profile-on", **own, base=base.id, label=label, target=target_id, **figures)


USUAL_PROFILE = "griffon-bruxellois-rough"
"""The profile of a new dog where none is named."""


def _dog(args: Namespace) -> str:
    """Returns a history without a visit, whose examples name parts that its profile has."""
    profile = profile_named(args.profile or USUAL_PROFILE, args.profiles)
    parts = [name for name in ("body", "legs", "head", *profile.groups, *profile.regions) if name in _names(profile)]
    first, second, third = [*dict.fromkeys(parts), *parts[:1] * 2][:3]
    return say(
        "new.dog",
        id_key=_id_key("my-dog", args.out, 35),
        profile_key=f"profile: {profile.id}".ljust(35),
        first=first,
        second=second,
        third=third,
        day=today(args).isoformat(),
    )


def _names(profile: Profile) -> set[str]:
    return {*profile.groups, *profile.regions}
