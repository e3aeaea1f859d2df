"""``coatrules record DOG``: after the work, writes down the visit."""

from __future__ import annotations

import re
import sys
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from typing import Any, TypeVar, get_args

from attrs import fields_dict

from coatrules.catalogue.english.amounts import date_words
from coatrules.catalogue.message import message
from coatrules.cli.common import add_folders, day, profile_of, today, write_result
from coatrules.dog.history import Health, History, Seen
from coatrules.formats.documents import read_file, without_file
from coatrules.formats.values import Reaction
from coatrules.order.engine import order
from coatrules.problems import InputError, Problem, nearest
from coatrules.profile.compiled import CompiledProfile, compile_profile
from coatrules.reading import Document
from coatrules.recording.append import append_visit, ask_back, read_history, with_visit
from coatrules.recording.entry import as_planned, put_off, set_work
from coatrules.recording.text import visit_data, visit_text

T = TypeVar("T")
DID = "a share from 0 to 1, card, comb, scissor, scissor:MM or clip:MM; several joined by +"


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("dog", metavar="DOG", type=Path, help="the dog's history: a YAML or JSON file")
    parser.add_argument("--date", type=day, metavar="DAY", help="the day of the visit (default: today)")
    parser.add_argument("--profile", metavar="ID", help="the profile worked by, if not the one the history names")
    add_folders(parser)
    base = parser.add_mutually_exclusive_group()
    base.add_argument("--as-planned", action="store_true", help="the work was done as that day's order says")
    base.add_argument("--from", dest="source", type=Path, metavar="FILE", help="the visit as a small YAML file")
    again = parser.add_argument_group("what was done, or done otherwise than planned (each may be given again)")
    again.add_argument("--did", type=_part_work, action="append", default=[], metavar="PART=WHAT", help=DID)
    again.add_argument("--left", action="append", default=[], metavar="PART", help="nothing was done here: put off")
    again.add_argument(
        "--seen",
        type=_seen,
        action="append",
        default=[],
        metavar="PART:KEY=VALUE",
        help="for example back:longest_mm=14",
    )
    again.add_argument(
        "--reaction", type=_pair, action="append", default=[], metavar="PART=HOW", help=", ".join(get_args(Reaction))
    )
    again.add_argument(
        "--minutes",
        type=_minutes,
        action="append",
        default=[],
        metavar="[PART=]N",
        help="how long a part took; without a part: the minutes there were, as said to 'order'",
    )
    again.add_argument(
        "--health",
        action="append",
        choices=("none", *get_args(Health)),
        help="what must be minded from now on; none: nothing",
    )
    again.add_argument("--note", action="append", default=[], metavar="TEXT", help="anything to remember")
    parser.add_argument("--again", action="store_true", help="the dog was worked twice that day")
    parser.add_argument("--anyway", action="store_true", help=message("help.record.--anyway").text)
    parser.add_argument("--dry-run", action="store_true", help="show what would be written, and write nothing")
    parser.set_defaults(run=run, error=parser.error)


def run(args: Namespace) -> int:
    """Puts the visit together, writes it, and shows what was written."""
    if not args.as_planned and any(part is None for part, _ in args.minutes):
        args.error("--minutes N goes with --as-planned; say --minutes PART=N for how long a part took")
    history, compiled = _history_and_profile(args)
    document = _visit_document(args, history, compiled)
    _apply_options(args, document.data, compiled)
    if args.dry_run:
        new = with_visit(history, document, compiled, again=args.again)
        ask_back(compiled, new, anyway=args.anyway)
    else:
        new = append_visit(args.dog, document, compiled=compiled, again=args.again, anyway=args.anyway)
    write_result(visit_text(visit_data(new.visits[-1])), None)
    if not args.dry_run:
        print(f"Recorded in {args.dog}; it now holds {len(new.visits)} visits.", file=sys.stderr)
    if new.visits[-1].day > date.today():
        print(f"warning: {date_words(new.visits[-1].day)} is still to come; is the date right?", file=sys.stderr)
    return 0


def _history_and_profile(args: Namespace) -> tuple[History, CompiledProfile]:
    try:
        history = read_history(args.dog.read_bytes(), args.dog)
    except OSError as error:
        message = f"cannot read this file: {(error.strerror or 'unknown').lower()}"
        raise InputError([Problem(code="cannot-read", message=message, file=str(args.dog))]) from error
    return history, compile_profile(profile_of(args, history))


def _visit_document(args: Namespace, history: History, compiled: CompiledProfile) -> Document:
    if args.source is not None:
        documents = read_file(args.source)
        if len(documents) != 1:
            message = f"expected one visit, found {len(documents)} documents"
            raise InputError([Problem(code="not-a-visit", message=message, file=str(args.source))])
        with_visit(
            history, documents[0], compiled, again=True
        )  # what is wrong in it is said before anything is added to it
        return documents[0]
    visit: dict[str, Any] = {"visit": today(args).isoformat()}
    options = (args.did, args.left, args.seen, args.reaction, args.minutes, args.health, args.note)
    if args.as_planned:
        available = next((number for part, number in args.minutes if part is None), None)
        visit |= as_planned(order(compiled, history, today(args), available))
    elif not any(options):
        answers = ask(compiled, today(args)) if sys.stdin.isatty() else {}
        if not answers:
            hint = (
                "Say --as-planned, --from FILE, or --did PART=WHAT; in a terminal you are asked question by question."
            )
            raise InputError([Problem(code="nothing-said", message="nothing is said of this visit", hint=hint)])
        visit |= answers
    return without_file(visit)


def _apply_options(args: Namespace, visit: dict[str, Any], compiled: CompiledProfile) -> None:
    for part, what in args.did:
        set_work(visit, checked_part(compiled, part), what, compiled)
    for part in args.left:
        put_off(visit, checked_part(compiled, part), compiled)
    for part, key, value in args.seen:
        visit.setdefault("seen", {}).setdefault(checked_part(compiled, part), {})[key] = value
    for part, how in args.reaction:
        visit.setdefault("reactions", {})[checked_part(compiled, part)] = how
    for part, number in args.minutes:
        if part is not None:
            set_work(visit, checked_part(compiled, part), {"minutes": number}, compiled)
    if args.health:
        visit["health"] = [name for name in args.health if name != "none"]
    if args.note:
        visit["note"] = " ".join([*filter(None, [visit.get("note")]), *args.note])


def checked_part(compiled: CompiledProfile, part: str) -> str:
    """Returns a part of the dog that the profile names; raises ``InputError`` for any other."""
    if part not in compiled.names:
        message = f"the profile '{compiled.profile.id}' has no region, group or zone '{part}'"
        raise InputError([Problem(code="unknown-name", message=message, hint=nearest(part, compiled.names))])
    return part


# -- the words of the command line ------------------------------------------------------------------------------------


def _pair(text: str) -> tuple[str, str]:
    part, sign, what = (word.strip() for word in text.partition("="))
    if not part or not sign or not what:
        raise ArgumentTypeError(f"'{text}': write it as PART=WHAT")
    return part, what


def _part_work(text: str) -> tuple[str, dict[str, Any]]:
    part, what = _pair(text)
    return part, tasks(what)


def tasks(what: str) -> dict[str, Any]:
    """What was done, from words such as ``0.2+card`` or ``clip:3``; raises ``ArgumentTypeError``."""
    work: dict[str, Any] = {}
    for word in what.split("+"):
        task, _, figure = word.strip().partition(":")
        match task, figure:
            case "card" | "comb" | "scissor", "":
                work[task] = True
            case "clip" | "scissor", _:
                work[task] = _number(figure, f"'{word}': say the length left in millimetres, as {task}:3")
            case "pull", _:
                work["pull"] = _number(figure, f"'{word}': say the share pulled, as pull:0.2")
            case _:
                work["pull"] = _number(word, _percent(word) or f"'{word}' is not {DID}")
    return work


def _percent(word: str) -> str:
    """Returns how to fix a share in per cent or with a comma; empty for anything else."""
    matched = re.fullmatch(r"(\d{1,3}(?:[.,]\d{1,3})?) ?(%?)", word.strip())
    share = float(matched[1].replace(",", ".")) / (100 if matched[2] else 1) if matched else 0
    return f"'{word}': write the share as {share:g}" if 0 < share <= 1 else ""


def _seen(text: str) -> tuple[str, str, object]:
    part, colon, assignment = text.partition(":")
    key, value = _pair(assignment) if colon else ("", "")
    keys = tuple(fields_dict(Seen))
    if key not in keys:
        raise ArgumentTypeError(f"'{text}': write it as PART:KEY=VALUE; the keys are {', '.join(keys)}")
    typed: object = (
        {"true": True, "yes": True, "false": False, "no": False}.get(value) if key == "see_through" else None
    )
    if key in ("longest_mm", "layers"):
        typed = _number(value, f"'{value}' is not a number")
    return part, key, value if typed is None else typed


def _minutes(text: str) -> tuple[str | None, float]:
    part, sign, figure = text.rpartition("=")
    return (part if sign else None), _number(figure, f"'{text}': write it as PART=N, or N")


def _number(text: str, message: str) -> float:
    try:
        number = float(text)
    except ValueError:
        raise ArgumentTypeError(message) from None
    return int(number) if number.is_integer() else number


# -- question by question ---------------------------------------------------------------------------------------------


def ask(compiled: CompiledProfile, when: date, prompt: Callable[[str], str] | None = None) -> Mapping[str, Any]:
    """The visit of a day, asked for in a terminal. ``prompt`` shows a question and gives the answer."""
    prompt = prompt or input
    visit: dict[str, Any] = {}
    print(f"The visit of {when.isoformat()}. An empty answer ends a question.", file=sys.stderr)
    print(f"The parts of this dog: {', '.join(compiled.names)}.", file=sys.stderr)
    while part := _answer(prompt, "Worked on which part? ", lambda text: checked_part(compiled, text)):
        work = _answer(prompt, f"{part}: what was done ({DID})? ", tasks)
        minutes = _answer(
            prompt, f"{part}: how many minutes? ", lambda text: _number(text, f"'{text}' is not a number")
        )
        reaction = _answer(
            prompt, f"{part}: how did the dog take it ({', '.join(get_args(Reaction))})? ", _one_of(Reaction)
        )
        set_work(visit, part, (work or {}) | ({} if minutes is None else {"minutes": minutes}), compiled)
        if reaction:
            visit.setdefault("reactions", {})[part] = reaction
    while seen := _answer(prompt, "Seen before the work (for example back:longest_mm=14)? ", _seen):
        visit.setdefault("seen", {}).setdefault(checked_part(compiled, seen[0]), {})[seen[1]] = seen[2]
    while left := _answer(prompt, "Put off to next time? ", lambda text: checked_part(compiled, text)):
        put_off(visit, left, compiled)
    while health := _answer(prompt, f"To be minded ({', '.join(get_args(Health))})? ", _one_of(Health)):
        visit.setdefault("health", []).append(health)
    if note := prompt("Anything to remember? ").strip():
        visit["note"] = note
    return visit


def _answer(prompt: Callable[[str], str], question: str, parse: Callable[[str], T]) -> T | None:
    """Returns the answer to one question, asked again until it is understood; None for an empty one."""
    while answer := prompt(question).strip():
        try:
            return parse(answer)
        except (ArgumentTypeError, InputError) as error:
            print(error, file=sys.stderr)
    return None


def _one_of(kind: Any) -> Callable[[str], str]:
    def parse(text: str) -> str:
        if text not in get_args(kind):
            raise ArgumentTypeError(f"'{text}' is not one of {', '.join(get_args(kind))}")
        return text

    return parse
