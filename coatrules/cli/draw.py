"""``coatrules draw DOG``: pictures of the dog, of one region's coat through time, and of the book."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from pathlib import Path

from coatrules.cli.common import add_folders, day, minutes, profile_of, put, today
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
    parser.set_defaults(run=run, wrong=parser.error)


def run(chosen: Namespace) -> int:
    """Draws the picture."""
    require_extra("report", "matplotlib")
    form = _form(chosen)
    if form == "png" and chosen.out is None and sys.stdout.isatty():
        chosen.wrong("a PNG picture cannot be shown in a terminal; say --out FILE")
    if chosen.what == "book":
        return _book(chosen, form)
    if len(chosen.dog) > 1:
        chosen.wrong(f"{len(chosen.dog)} dogs are named, and this picture shows one; or say --what book")
    if chosen.what == "coat" and chosen.region is None:
        chosen.wrong("say whose coat to draw, with --region, as in --region back")
    put(_one(chosen, form), output_file(chosen))
    return 0


def _form(chosen: Namespace) -> Form:
    """The kind of picture; a file named like another kind is a wrong command line."""
    named = chosen.out.suffix.lower().removeprefix(".") if chosen.out is not None else ""
    form: Form = chosen.format or ("png" if named == "png" else "svg")
    if named != form and (named in ("svg", "png") or (named and chosen.format is None)):
        chosen.wrong(
            f"{chosen.out.name} is not the name of a picture in {form.upper()}; name it {chosen.out.stem}.{form}"
        )
    return form


def _one(chosen: Namespace, form: Form) -> bytes:
    history = load_history(chosen.dog[0])
    profile = profile_of(chosen, history)
    asked = today(chosen)
    if chosen.what == "body":
        from coatrules.report.body import body_chart

        return body_chart(work_order(profile, history, date=asked, minutes=chosen.minutes), form, chosen.fact)
    from coatrules.report.timeline import coat_chart

    return coat_chart(compile_profile(profile), history, asked, chosen.region, form, chosen.minutes)


def _book(chosen: Namespace, form: Form) -> int:
    """The book's picture; what cannot be read is said on standard error and stops nothing."""
    from coatrules.cli.due import dues
    from coatrules.report.bookchart import book_chart

    asked = today(chosen)
    found, problems = dues(chosen, asked)
    put(book_chart(found, asked, form), output_file(chosen))
    for problem in problems:
        print(problem, file=sys.stderr)
    return 1 if any(problem.severity == "error" for problem in problems) else 0
