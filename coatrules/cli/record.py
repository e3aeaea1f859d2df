"""``coatrules record DOG``: after the work, writes down the visit; later, corrects it or takes it back."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any, get_args

from attrs import evolve

from coatrules import Engine, History, load_history
from coatrules.catalogue.message import Message
from coatrules.catalogue.speaking import say
from coatrules.cli import lost_output
from coatrules.cli.common import (
    add_folders,
    add_regime,
    add_salon,
    add_show_lengths,
    add_way,
    day,
    engine_of,
    minutes,
    profile_name,
    salon_of,
    today,
    understood,
    write_result,
)
from coatrules.cli.dialog import ask, drop_draft, keep_draft, offered_draft
from coatrules.cli.verify_record import verify
from coatrules.dog.history import Health
from coatrules.formats.documents import read_one, without_file
from coatrules.formats.values import Reaction
from coatrules.problems import InputError, Problem, visible
from coatrules.profile.compiled import CompiledProfile, compile_profile
from coatrules.reading import Document
from coatrules.recording import typed
from coatrules.recording.answered import Answered
from coatrules.recording.answers import left, react_typed, see_typed, seen_in, take_items, take_minutes
from coatrules.recording.append import append_visit
from coatrules.recording.draft import Draft, Plan, done_though_refused, plan_leaves
from coatrules.recording.entry import as_planned, check_minutes, note_asked
from coatrules.recording.lines import is_as_planned, items
from coatrules.recording.text import visit_data, visit_text
from coatrules.recording.visits import ask_back, with_visit


def configure(parser: ArgumentParser) -> None:
    """The options of this command."""
    parser.add_argument("dog", metavar=say("metavar.DOG"), type=Path, help=say("help.DOG"))
    parser.add_argument("--date", type=day, metavar=say("metavar.DAY"), help=say("help.record.--date"))
    parser.add_argument("--profile", metavar=say("metavar.ID"), help=say("help.record.--profile"))
    add_regime(parser)
    add_folders(parser)
    base = parser.add_mutually_exclusive_group()
    base.add_argument("--as-planned", action="store_true", help=say("help.record.--as-planned"))
    base.add_argument("--from", dest="source", type=Path, metavar=say("metavar.FILE"), help=say("help.record.--from"))
    base.add_argument("--verify", action="store_true", help=say("help.record.--verify"))
    base.add_argument("--withdraw", type=day, metavar=say("metavar.DAY"), help=say("help.record.--withdraw"))
    parser.add_argument("--correct", type=day, metavar=say("metavar.DAY"), help=say("help.record.--correct"))
    parser.add_argument("--minutes", type=_minutes_there, metavar=say("metavar.N"), help=say("help.record.--minutes"))
    add_salon(parser)
    add_show_lengths(parser)
    _add_what_was_done(parser)
    add_way(parser)
    parser.add_argument("--again", action="store_true", help=say("help.record.--again"))
    parser.add_argument("--anyway", action="store_true", help=say("help.record.--anyway"))
    parser.add_argument("--dry-run", action="store_true", help=say("help.record.--dry-run"))
    parser.set_defaults(run=run, error=parser.error)


def _add_what_was_done(parser: ArgumentParser) -> None:
    group = parser.add_argument_group(say("help.record.what-was-done"))

    def add(option: str, metavar: str, help_text: str, **more: Any) -> None:
        group.add_argument(
            option, action="append", default=[], metavar=say(f"metavar.{metavar}"), help=help_text, **more
        )

    add("--seen", "PART:WORDS", say("help.record.--seen"))
    add("--did", "PART=WHAT", say("record.work").replace("%", "%%"))
    add("--left", "PART", say("help.record.--left"))
    add("--reaction", "PART=HOW", ", ".join(typed.keys_shown("typed.reaction", get_args(Reaction))))
    add("--took", "[PART=]N", say("help.record.--took"))
    names = typed.keys_shown("typed.health", ("none", *get_args(Health)))
    about = say("help.record.--health", names=names, none=names[0])
    add("--health", "HEALTH", about, type=understood(_health_or_none))
    add("--note", "TEXT", say("help.record.--note"))


def _health_or_none(text: str) -> str:
    return typed.key_typed(text, "typed.health", ("none",)) or typed.health_typed(text)


def run(args: Namespace) -> int:
    """Puts the visit together, writes it, and shows what was written."""
    if args.verify:
        return verify(args.dog)
    _check_usage(args)
    history = load_history(args.dog)
    engine = engine_of(args, salon_of(args, [args.dog]))
    kept = engine.history(history, regime=args.regime, show_mm=dict(args.show_mm))
    profile = profile_name(args, kept)
    worked = engine.profile_of(kept, date=today(args), profile=profile, strip_whole=args.strip_whole)
    compiled = compile_profile(worked)
    document, asked = _visit_document(args, history, compiled, _plan(args, engine, kept))
    try:
        _apply_options(args, document.data, compiled)
        _check_says_something(args, document.data)
        check_minutes(document.data, compiled)
        of_strip = (args.strip_whole and not args.as_planned) or (worked.strip_whole and args.source is None)
        if document.data.get("work") and of_strip:
            document.data["strip_whole"] = True
        new = _recorded(args, history, document, compiled)
    except InputError:
        if asked:
            keep_draft(args.dog, today(args), document.data)
        raise
    if asked and not args.dry_run:
        drop_draft(args.dog, today(args))
    return _show(args, new)


def _check_usage(args: Namespace) -> None:
    if args.minutes is not None and not args.as_planned and (args.source or args.withdraw or _otherwise(args)):
        args.error(say("usage.minutes-as-planned"))
    if args.withdraw is not None and any(value for option, value in vars(args).items() if option in _NOT_WITHDRAWN):
        args.error(say("usage.withdraw-alone"))
    if args.correct is not None and args.date is not None:
        args.error(say("usage.correct-date"))
    args.date = args.correct or args.withdraw or args.date


_NOT_WITHDRAWN = ("correct", "date", "did", "left", "seen", "reaction", "took", "health", "again")


def _recorded(args: Namespace, history: History, document: Document, compiled: CompiledProfile) -> History:
    if not args.dry_run:
        return append_visit(args.dog, document, compiled=compiled, again=args.again, anyway=args.anyway)
    new = with_visit(history, document, compiled, again=args.again)
    ask_back(compiled, new, anyway=args.anyway)
    return new


def _show(args: Namespace, new: History) -> int:
    visit = new.visits[-1]
    if not args.dry_run:
        print(visible(say("record.done", file=args.dog, visits=len(new.until(date.max)))), file=sys.stderr)
    try:
        write_result(visit_text(visit_data(visit)), None)
        sys.stdout.flush()
    except OSError as error:  # it is recorded nevertheless: only a dry run has failed
        failed = lost_output(error)
        return failed if args.dry_run else 0
    if visit.day > date.today() and not visit.withdrawn:
        print(visible(say("record.to-come", day=visit.day, iso=visit.day.isoformat(), file=args.dog)), file=sys.stderr)
    return 0


def _visit_document(args: Namespace, history: History, compiled: CompiledProfile, plan: Plan) -> tuple[Document, bool]:
    """Returns the visit before the options change it, and whether it was asked for in the terminal."""
    if args.source is not None:
        document = read_one(args.source, "not-one-visit", piped=True)
        if args.correct is not None and isinstance(document.data, dict):
            document.data["corrects"] = True
        # What is wrong in it is reported before anything is added to it.
        with_visit(history, document, compiled, again=True)
        return document, False
    visit: dict[str, Any] = {"visit": today(args).isoformat()}
    if args.withdraw is not None:
        return without_file(visit | {"withdrawn": True}), False
    if args.correct is not None:
        visit["corrects"] = True
    if args.as_planned:
        visit |= _planned(args, compiled, plan)
    elif args.correct is not None:
        visit |= _on_record(args, history)
        if not _otherwise(args):
            raise InputError([Problem(code="nothing-corrected")])
    elif not _otherwise(args):
        return _asked(args, compiled, visit, plan), True
    return without_file(visit), False


def _otherwise(args: Namespace) -> bool:
    """Whether an option says what was done, or what went otherwise than planned."""
    return any((args.did, args.left, args.seen, args.reaction, args.took, args.health, args.note))


def _plan(args: Namespace, engine: Engine, history: History) -> Plan:
    """Returns what gives the work of the day's order, by what was seen before it, as 'order --seen' does; what a correction replaces
    was never done."""
    if args.correct is not None:
        history = evolve(history, visits=tuple(visit for visit in history.visits if visit.day != args.correct))

    def planned(seen: Mapping[str, Any]) -> Mapping[str, Any]:
        day, profile = today(args), args.profile
        before = engine.with_seen(history, seen, date=day, profile=profile) if seen else history
        return as_planned(
            engine.order(before, date=day, minutes=args.minutes, profile=profile, strip_whole=args.strip_whole)
        )

    return planned


def _planned(args: Namespace, compiled: CompiledProfile, plan: Plan) -> Mapping[str, Any]:
    """Returns the work as planned by what the options say was seen, and tells what that leaves."""
    exceptions = [item for text in args.did for item in items(text, compiled)]
    seen: dict[str, Any] = {"seen": seen_in(exceptions, compiled)}
    for text in args.seen:
        see_typed(seen, text, compiled)
    planned = plan(seen["seen"])
    if not planned.get("work") and any(map(is_as_planned, exceptions)):
        raise InputError([Problem(code="nothing-planned", params={"day": today(args)}, file=str(args.dog))])
    if seen["seen"]:
        _tell(plan_leaves(plan({}), planned, compiled))
    return planned


def _on_record(args: Namespace, history: History) -> dict[str, Any]:
    """Returns the visit to correct as plain data, without its day."""
    visits = [visit for _, visit in history.until(args.correct) if visit.day == args.correct]
    if len(visits) != 1:
        code = "correct-several" if visits else "nothing-to-correct"
        raise InputError([Problem(code=code, params={"day": args.correct, "visits": len(visits)}, file=str(args.dog))])
    return {key: value for key, value in visit_data(visits[0]).items() if key not in ("visit", "corrects")}


def _asked(args: Namespace, compiled: CompiledProfile, visit: dict[str, Any], plan: Plan) -> Document:
    """Returns the visit asked for in a terminal; an end before the last question leaves a draft."""
    if not sys.stdin.isatty():
        raise InputError([Problem(code="nothing-said")])
    draft, before = Draft(visit, plan, compiled), None
    try:
        kept = offered_draft(args, today(args))
        if kept is not None:
            draft = Draft(visit | kept, lambda _: {}, compiled)
        before = visit_text(draft.visit)
        print(say("prompt.begin", day=today(args)), file=sys.stderr)
        answered = ask(draft, compiled)
    except (KeyboardInterrupt, EOFError) as end:
        print(file=sys.stderr)
        if before is not None and visit_text(draft.visit) != before:
            keep_draft(args.dog, today(args), draft.visit)
        if isinstance(end, KeyboardInterrupt):
            raise
        raise InputError([Problem(code="not-finished")]) from None
    if not answered and kept is None:
        raise InputError([Problem(code="nothing-answered")])
    note_asked(draft.visit, plan(draft.visit.get("seen", {})))
    return without_file(draft.visit)


def _apply_options(args: Namespace, visit: dict[str, Any], compiled: CompiledProfile) -> None:
    planned: Mapping[str, Any] = {"work": dict(visit.get("work", {}))} if args.as_planned else {}
    earlier = Answered()
    exceptions = [item for text in args.did for item in items(text, compiled)]
    _tell(take_items(visit, [*exceptions, *(left(part, compiled) for part in args.left)], compiled, earlier))
    for text in args.seen:
        _tell(see_typed(visit, text, compiled, earlier))
    for text in args.reaction:
        _tell(react_typed(visit, text, compiled, earlier))
    if args.as_planned:
        _tell(done_though_refused(visit, visit.get("reactions", {}), exceptions, compiled))
    for text in args.took:
        take_minutes(visit, text, compiled, earlier)
    if args.health:
        _check_health(args.health)
        visit["health"] = [name for name in args.health if name != "none"]
    if args.note:
        visit["note"] = " ".join([*filter(None, [visit.get("note")]), *args.note])
    note_asked(visit, planned)


def _check_says_something(args: Namespace, visit: Mapping[str, Any]) -> None:
    if args.source is not None or visit.keys() - {"visit", "corrects"}:
        return
    if args.as_planned:
        raise InputError([Problem(code="nothing-planned", params={"day": today(args)}, file=str(args.dog))])
    raise InputError([Problem(code="nothing-said")])


def _check_health(named: Sequence[str]) -> None:
    if "none" in named and (others := [name for name in named if name != "none"]):
        first, second = typed.keys_shown("typed.health", ("none", others[0]))
        params = {"part": "--health", "first": first, "second": second}
        raise InputError([Problem(code="typed.seen-twice", params=params)])


def _tell(messages: Iterable[Message]) -> None:
    for one in messages:
        print(visible(one.text), file=sys.stderr)


def _minutes_there(text: str) -> float:
    if "=" in text:
        raise ArgumentTypeError(say("argument.minutes-took", text=text))
    return minutes(text)
