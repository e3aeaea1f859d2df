"""``coatrules draw DOG``: pictures of the dog, of one region's coat through time, and of the book."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from pathlib import Path

from coatrules import load_history
from coatrules.catalogue.speaking import say
from coatrules.cli.common import (
    add_folders,
    add_regime,
    add_salon,
    day,
    engine_of,
    minutes,
    profile_name,
    salon_of,
    today,
    write_result,
)
from coatrules.engine.speaking import Form
from coatrules.extras import require_extra


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("dog", nargs="+", metavar=say("metavar.DOG"), type=Path, help=say("help.draw.DOG"))
    parser.add_argument("--date", type=day, metavar=say("metavar.DAY"), help=say("help.draw.--date"))
    parser.add_argument("--minutes", type=minutes, metavar=say("metavar.N"), help=say("help.--minutes"))
    parser.add_argument("--profile", metavar=say("metavar.ID"), help=say("help.--profile"))
    add_regime(parser)
    add_folders(parser)
    add_salon(parser)
    kinds = ("body", "coat", "book")
    parser.add_argument("--what", choices=kinds, default="body", help=say("help.draw.--what"))
    parser.add_argument("--region", metavar=say("metavar.REGION"), help=say("help.draw.--region"))
    parser.add_argument("--fact", metavar=say("metavar.FACT"), help=say("help.draw.--fact"))
    parser.add_argument("--format", choices=("svg", "png"), help=say("help.draw.--format"))
    parser.add_argument("--out", type=Path, metavar=say("metavar.FILE"), help=say("help.draw.--out"))
    parser.set_defaults(run=run, error=parser.error)


def run(args: Namespace) -> int:
    """Draws the picture."""
    require_extra("report", "matplotlib")
    form = _form(args)
    if form == "png" and args.out is None and sys.stdout.isatty():
        args.error(say("usage.png-in-terminal"))
    if args.what == "book":
        return _book_picture(args, form)
    if len(args.dog) > 1:
        args.error(say("usage.one-dog", dogs=len(args.dog)))
    if args.what == "coat" and args.region is None:
        args.error(say("usage.coat-region"))
    write_result(_picture(args, form), args.out)
    return 0


def _form(args: Namespace) -> Form:
    """The kind of picture; a file named like another kind is a wrong command line."""
    suffix = args.out.suffix.lower().removeprefix(".") if args.out is not None else ""
    form: Form = args.format or ("png" if suffix == "png" else "svg")
    if suffix != form and (suffix in ("svg", "png") or (suffix and args.format is None)):
        better = f"{args.out.stem}.{form}"
        args.error(say("usage.picture-name", name=args.out.name, form=form.upper(), better=better))
    return form


def _picture(args: Namespace, form: Form) -> bytes:
    engine = engine_of(args)
    history = engine.history(load_history(args.dog[0]), regime=args.regime)
    options = {"date": today(args), "minutes": args.minutes, "profile": profile_name(args, history)}
    if args.what == "body":
        return engine.picture(engine.order(history, **options), form=form, fact=args.fact)
    region, *others = engine.regions(history, args.region, profile=args.profile)
    if others:
        print(say("draw.first-of-group", group=args.region, region=region, others=tuple(others)), file=sys.stderr)
    return engine.coat_picture(history, region, form=form, **options)


def _book_picture(args: Namespace, form: Form) -> int:
    """The book's picture; what cannot be read is said on standard error and stops nothing."""
    from coatrules.cli.due import dues

    engine = engine_of(args, salon_of(args, args.dog))
    due_dogs, problems = dues(args, engine)
    write_result(engine.book_picture(due_dogs, date=today(args), form=form), args.out)
    for problem in problems:
        print(problem, file=sys.stderr)
    return 1 if any(problem.severity == "error" for problem in problems) else 0
