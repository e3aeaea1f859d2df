"""``coatrules draw DOG``: pictures of the dog, of one region's coat through time, and of the book."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from pathlib import Path

from coatrules.cli.common import add_folders, day, minutes, profile_of, today, write_result
from coatrules.cli.output import output_file
from coatrules.dog.loading import load_history
from coatrules.extras import require_extra
from coatrules.order.engine import work_order
from coatrules.profile.compiled import compile_profile
from coatrules.report.chart import Form


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    about = "the dog's history; for a picture of the book any number of files, folders and JSON Lines"
    parser.add_argument("dog", nargs="+", metavar="DOG", type=Path, help=about)
    parser.add_argument("--date", type=day, metavar="DAY", help="the day of the picture (default: today)")
    parser.add_argument("--minutes", type=minutes, metavar="N", help="minutes there are (default: the profile's visit)")
    parser.add_argument("--profile", metavar="ID", help="work by this profile instead of the one the history names")
    add_folders(parser)
    kinds = ("body", "coat", "book")
    about = "the dog from both sides, the coat of one region through time, or the next visits of several dogs"
    parser.add_argument("--what", choices=kinds, default="body", help=f"{about} (default: body)")
    parser.add_argument("--region", metavar="R", help="the region whose coat is drawn")
    parser.add_argument("--fact", metavar="F", help="shade the body by this fact instead of by what is asked")
    parser.add_argument(
        "--format", choices=("svg", "png"), help="the kind of picture (default: as FILE is named, or svg)"
    )
    parser.add_argument("--out", type=Path, metavar="FILE", help="write the picture to this file")
    parser.set_defaults(run=run, error=parser.error)


def run(args: Namespace) -> int:
    """Draws the picture."""
    require_extra("report", "matplotlib")
    form = _form(args)
    if form == "png" and args.out is None and sys.stdout.isatty():
        args.error("a PNG picture cannot be shown in a terminal; say --out FILE")
    if args.what == "book":
        return _book_picture(args, form)
    if len(args.dog) > 1:
        args.error(f"{len(args.dog)} dogs are named, and this picture shows one; or say --what book")
    if args.what == "coat" and args.region is None:
        args.error("say whose coat to draw, with --region, as in --region back")
    write_result(_picture(args, form), output_file(args))
    return 0


def _form(args: Namespace) -> Form:
    """The kind of picture; a file named like another kind is a wrong command line."""
    suffix = args.out.suffix.lower().removeprefix(".") if args.out is not None else ""
    form: Form = args.format or ("png" if suffix == "png" else "svg")
    if suffix != form and (suffix in ("svg", "png") or (suffix and args.format is None)):
        args.error(f"{args.out.name} is not the name of a picture in {form.upper()}; name it {args.out.stem}.{form}")
    return form


def _picture(args: Namespace, form: Form) -> bytes:
    history = load_history(args.dog[0])
    profile = profile_of(args, history)
    as_of = today(args)
    if args.what == "body":
        from coatrules.report.body import body_chart

        return body_chart(work_order(profile, history, date=as_of, minutes=args.minutes), form, args.fact)
    from coatrules.report.timeline import coat_chart

    return coat_chart(compile_profile(profile), history, as_of, args.region, form, args.minutes)


def _book_picture(args: Namespace, form: Form) -> int:
    """The book's picture; what cannot be read is said on standard error and stops nothing."""
    from coatrules.cli.due import dues
    from coatrules.report.bookchart import book_chart

    as_of = today(args)
    due_dogs, problems = dues(args, as_of)
    write_result(book_chart(due_dogs, as_of, form), output_file(args))
    for problem in problems:
        print(problem, file=sys.stderr)
    return 1 if any(problem.severity == "error" for problem in problems) else 0
