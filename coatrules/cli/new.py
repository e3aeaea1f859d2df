"""``coatrules new dog|profile|case``: a file to start from; a case is made from a dog's history and its order today."""

from __future__ import annotations

import os
from argparse import ArgumentParser, Namespace
from datetime import date
from pathlib import Path

from coatrules.cli.common import add_dog, the_dog, today, write_result
from coatrules.formats.resources import folder
from coatrules.formats.values import ID_PATTERN, matches
from coatrules.problems import InputError, Problem

DOG = """\
# One dog's history. The first part says who the dog is; every visit is added below, after a line of three dashes.
format: 1
dog:
  id: my-dog                          # a short name: small letters, digits, dashes
  name: My dog
  profile: griffon-bruxellois-rough   # 'coatrules profiles' lists them
  # born: 2023-03-04
  # sex: female                       # or male
  # neutered: false
# How the coat was when the dog first came, by region or group. Say one of these for each part; where nothing is said
# the coat counts as grown out.
arrival:
  body: {grown_weeks: 20}             # weeks since it was last stripped
  # legs: {longest_mm: 40}            # or how long the longest hair is
  # head: {clipped_mm: 6, clipped_weeks: 5}   # or clipped: to what length, how many weeks ago
---
visit: TODAY
work:                                 # region or group: what was done
  body: {card: true, pull: 0.2, minutes: 40}   # a fifth of the whole coat
  # genitals: {clip: 6}               # clipped, left at 6 mm; true where only the outline was tidied
# seen:                               # what you saw before the work
#   back: {longest_mm: 8, layers: 2, skin: sound}
# reactions: {toes: unsettled}        # calm, unsettled or stop
# health: []                          # what must be minded, for example [spot-on-treatment]
# put_off: [tail]                     # left for next time
# events: {season: TODAY}             # or whelped: what can blow the coat weeks later, with its day
# note: anything to remember
"""

PROFILE = """\
# yaml-language-server: $schema=SCHEMA
# A profile of your own. It takes over everything of the profile it extends, except what you write here.
# Try it with: coatrules check THIS-FILE
format: 1
id: my-profile                        # the same as the file's name without .yaml
label: My breed, rough coat
extends: points-of-the-dog            # 'coatrules profiles' lists what you can build on
visit: {every_weeks: 3, minutes: 90, pace_spread: 0.15, source: practice}

sources:                              # where your numbers come from
  practice: {common_practice: true}
  # standard: {title: Breed standard, publisher: FCI, year: 2003}

layer_targets:                        # what is wanted of the rolling coat
  body:
    regions: [back]
    layers: 4                         # lengths that stand at once, just before a visit
    take: {usual: 0.2, at_most: 0.35, low_spot: 0.05}   # shares of the whole coat pulled at a visit
    cover: {at_least: 0.5}            # how much of the skin must stay hidden: 0 to 1
    longest_mm: [10, 40]              # shortest and longest silhouette
    source: practice

rules:                                # what to do differently, and when
  long-away:
    if: {weeks_since_visit: {minimum: 8}}
    then: {take: {at_most: 0.25}, caution: "The dog was away for long: tell the owner that it takes several visits."}
    because: A coat that was left is brought back in stages.
    source: practice
"""


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("what", choices=("dog", "profile", "case"), help="what to start")
    add_dog(parser, optional=True)
    parser.add_argument("--out", type=Path, metavar="FILE", help="write it to this file, which must not exist yet")
    parser.set_defaults(run=run, error=parser.error)


def run(args: Namespace) -> int:
    """Writes the file to start from."""
    if (args.dog is None) == (args.what == "case"):
        args.error("a case is made from a dog's history: new case DOG" if args.dog is None else "only 'case' takes DOG")
    if args.out is not None and args.out.exists():
        hint = "Choose another name; nothing was written."
        raise InputError([Problem(code="exists", message="this file is there already", file=str(args.out), hint=hint)])
    write_result(_text(args), args.out)
    return 0


def _named_after(text: str, placeholder: str, file: Path | None) -> str:
    """Returns a file to start from with its own name as the id, if that can be one: others find it by that."""
    if file is None or not matches(ID_PATTERN, file.stem):
        return text
    return text.replace(
        f"id: {placeholder}".ljust(len(placeholder) + 14), f"id: {file.stem}".ljust(len(placeholder) + 14), 1
    )


def _schema_for(file: Path | None) -> str:
    """Returns where an editor finds the schema: seen from the file where both are in one clone, else where it is installed."""
    schema = folder("schemas") / "profile.schema.json"
    if file is not None and schema.parent.parent in file.resolve().parents:
        return Path(os.path.relpath(schema, file.resolve().parent)).as_posix()
    return schema.as_uri()


def _text(args: Namespace) -> str:
    if args.what == "dog":
        return _named_after(DOG.replace("TODAY", date.today().isoformat()), "my-dog", args.out)
    if args.what == "profile":
        return _named_after(PROFILE.replace("SCHEMA", _schema_for(args.out)), "my-profile", args.out)
    from coatrules.check.case_from_history import case_text  # the engine is not needed for the others

    history, profile = the_dog(args)
    return case_text(profile, history, today(args), args.minutes)
