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

from coatrules.catalogue.message import Message, message
from coatrules.catalogue.speaking import say
from coatrules.cli import lost_output
from coatrules.cli.common import add_folders, day, profile_of, today, write_result
from coatrules.cli.verify_record import verify
from coatrules.dog.history import Health, History, Seen
from coatrules.dog.loading import load_history
from coatrules.formats.documents import read_file, without_file
from coatrules.formats.values import Reaction
from coatrules.order.engine import order
from coatrules.problems import InputError, Problem, nearest_fix
from coatrules.profile.compiled import CompiledProfile, compile_profile
from coatrules.reading import Document
from coatrules.recording.append import append_visit, ask_back, with_visit
from coatrules.recording.entry import as_planned, put_off, set_work
from coatrules.recording.text import visit_data, visit_text

T = TypeVar("T")


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("dog", metavar="DOG", type=Path, help=say("help.DOG"))
    parser.add_argument("--date", type=day, metavar="DAY", help=say("help.record.--date"))
    parser.add_argument("--profile", metavar="ID", help=say("help.record.--profile"))
    add_folders(parser)
    base = parser.add_mutually_exclusive_group()
    base.add_argument("--as-planned", action="store_true", help=say("help.record.--as-planned"))
    base.add_argument("--from", dest="source", type=Path, metavar="FILE", help=say("help.record.--from"))
    again = parser.add_argument_group(say("help.record.what-was-done"))
    again.add_argument(
        "--did", type=_part_work, action="append", default=[], metavar="PART=WHAT", help=say("record.work")
    )
    again.add_argument("--left", action="append", default=[], metavar="PART", help=say("help.record.--left"))
    again.add_argument(
        "--seen",
        type=_seen,
        action="append",
        default=[],
        metavar="PART:KEY=VALUE",
        help=say("help.record.--seen"),
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
        help=say("help.record.--minutes"),
    )
    again.add_argument(
        "--health",
        action="append",
        choices=("none", *get_args(Health)),
        help=say("help.record.--health"),
    )
    again.add_argument("--note", action="append", default=[], metavar="TEXT", help=say("help.record.--note"))
    base.add_argument("--verify", action="store_true", help=say("help.record.--verify"))
    parser.add_argument("--again", action="store_true", help=say("help.record.--again"))
    parser.add_argument("--anyway", action="store_true", help=say("help.record.--anyway"))
    parser.add_argument("--dry-run", action="store_true", help=say("help.record.--dry-run"))
    parser.set_defaults(run=run, error=parser.error)


def run(args: Namespace) -> int:
    """Puts the visit together, writes it, and shows what was written."""
    if args.verify:
        return verify(args.dog)
    if not args.as_planned and any(part is None for part, _ in args.minutes):
        args.error(say("usage.minutes-as-planned"))
    history, compiled = _history_and_profile(args)
    document = _visit_document(args, history, compiled)
    _apply_options(args, document.data, compiled)
    if args.dry_run:
        new = with_visit(history, document, compiled, again=args.again)
        ask_back(compiled, new, anyway=args.anyway)
    else:
        new = append_visit(args.dog, document, compiled=compiled, again=args.again, anyway=args.anyway)
    if not args.dry_run:
        print(say("record.done", file=args.dog, visits=len(new.visits)), file=sys.stderr)
    try:
        write_result(visit_text(visit_data(new.visits[-1])), None)
        sys.stdout.flush()
    except OSError as error:  # it is recorded nevertheless: only a dry run has failed
        failed = lost_output(error)
        return failed if args.dry_run else 0
    if new.visits[-1].day > date.today():
        print(say("record.to-come", day=new.visits[-1].day), file=sys.stderr)
    return 0


def _history_and_profile(args: Namespace) -> tuple[History, CompiledProfile]:
    history = load_history(args.dog)
    return history, compile_profile(profile_of(args, history))


def _visit_document(args: Namespace, history: History, compiled: CompiledProfile) -> Document:
    if args.source is not None:
        documents = read_file(args.source, piped=True)
        if len(documents) != 1:
            params = {"documents": len(documents)}
            raise InputError([Problem(code="not-one-visit", params=params, file=str(args.source))])
        with_visit(
            history, documents[0], compiled, again=True
        )  # what is wrong in it is reported before anything is added to it
        return documents[0]
    visit: dict[str, Any] = {"visit": today(args).isoformat()}
    options = (args.did, args.left, args.seen, args.reaction, args.minutes, args.health, args.note)
    if args.as_planned:
        available = next((number for part, number in args.minutes if part is None), None)
        visit |= as_planned(order(compiled, history, today(args), available))
    elif not any(options):
        answers = ask(compiled, today(args)) if sys.stdin.isatty() else {}
        if not answers:
            raise InputError([Problem(code="nothing-said")])
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
        params = {"profile": compiled.profile.id, "name": part}
        raise InputError([Problem(code="unknown-part", params=params, fix=nearest_fix(part, compiled.names))])
    return part


# -- the words of the command line ------------------------------------------------------------------------------------


def _pair(text: str) -> tuple[str, str]:
    part, sign, what = (word.strip() for word in text.partition("="))
    if not part or not sign or not what:
        raise ArgumentTypeError(say("argument.part-what", text=text))
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
                work[task] = _number(figure, message("argument.length", text=word, task=task))
            case "pull", _:
                work["pull"] = _number(figure, message("argument.share", text=word))
            case _:
                work["pull"] = _number(
                    word, _percent(word) or message("argument.work", text=word, work=message("record.work"))
                )
    return work


def _percent(word: str) -> Message | None:
    """Returns how to write a share in per cent or with a comma; None for anything else."""
    matched = re.fullmatch(r"(\d{1,3}(?:[.,]\d{1,3})?) ?(%?)", word.strip())
    share = float(matched[1].replace(",", ".")) / (100 if matched[2] else 1) if matched else 0
    return message("argument.share-not-percent", text=word, share=share) if 0 < share <= 1 else None


def _seen(text: str) -> tuple[str, str, object]:
    part, colon, assignment = text.partition(":")
    key, value = _pair(assignment) if colon else ("", "")
    keys = tuple(fields_dict(Seen))
    if key not in keys:
        raise ArgumentTypeError(say("argument.seen", text=text, keys=keys))
    typed: object = (
        {"true": True, "yes": True, "false": False, "no": False}.get(value) if key == "see_through" else None
    )
    if key in ("longest_mm", "layers"):
        typed = _number(value, message("argument.number", text=value))
    return part, key, value if typed is None else typed


def _minutes(text: str) -> tuple[str | None, float]:
    part, sign, figure = text.rpartition("=")
    return (part if sign else None), _number(figure, message("argument.part-minutes", text=text))


def _number(text: str, otherwise: Message) -> float:
    try:
        number = float(text)
    except ValueError:
        raise ArgumentTypeError(otherwise.text) from None
    return int(number) if number.is_integer() else number


# -- question by question ---------------------------------------------------------------------------------------------


def ask(compiled: CompiledProfile, when: date, prompt: Callable[[str], str] | None = None) -> Mapping[str, Any]:
    """The visit of a day, asked for in a terminal. ``prompt`` shows a question and gives the answer."""
    prompt = prompt or input
    visit: dict[str, Any] = {}
    print(say("prompt.begin", day=when), file=sys.stderr)
    print(say("prompt.parts", parts=tuple(compiled.names)), file=sys.stderr)
    health_names = get_args(Health)
    while part := _answer(prompt, say("prompt.part"), lambda text: checked_part(compiled, text)):
        work = _answer(prompt, say("prompt.work", part=part, work=message("record.work")), tasks)
        minutes = _answer(
            prompt,
            say("prompt.minutes", part=part),
            lambda text: _number(text, message("argument.number", text=text)),
        )
        reaction = _answer(prompt, say("prompt.reaction", part=part, names=get_args(Reaction)), _one_of(Reaction))
        set_work(visit, part, (work or {}) | ({} if minutes is None else {"minutes": minutes}), compiled)
        if reaction:
            visit.setdefault("reactions", {})[part] = reaction
    while seen := _answer(prompt, say("prompt.seen"), _seen):
        visit.setdefault("seen", {}).setdefault(checked_part(compiled, seen[0]), {})[seen[1]] = seen[2]
    while left := _answer(prompt, say("prompt.put-off"), lambda text: checked_part(compiled, text)):
        put_off(visit, left, compiled)
    while health := _answer(prompt, say("prompt.health", names=health_names), _one_of(Health)):
        visit.setdefault("health", []).append(health)
    if note := prompt(say("prompt.note")).strip():
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
            raise ArgumentTypeError(say("argument.one-of", text=text, names=get_args(kind)))
        return text

    return parse
