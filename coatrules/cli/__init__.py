"""The command line: one module a command. Results go to standard output, messages to standard error.

Exit 0: done. 1: the input has problems, all of them listed. 2: the command line is wrong. 130: stopped by Ctrl-C. 143: by SIGTERM.
Where JSON was asked for, all of these say so as JSON on standard output.
"""

from __future__ import annotations

import os
import sys
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Iterable, Sequence
from contextlib import ExitStack, suppress
from functools import partial
from importlib import import_module
from io import TextIOWrapper
from typing import TYPE_CHECKING, Any

from coatrules.catalogue.speaking import say, speaking
from coatrules.cli import language
from coatrules.cli.intermixed import IntermixedParser
from coatrules.cli.parser import Formatter, SpokenParser, asks_for_json
from coatrules.cli.spelling import ERRORS

if TYPE_CHECKING:
    from coatrules.problems import Problem

COMMANDS = (
    "order",
    "draw",
    "explain",
    "record",
    "due",
    "fleet",
    "import",
    "check",
    "rehearse",
    "compare",
    "tidy",
    "migrate",
    "plan",
    "profiles",
    "new",
)
MODULES = {"import": "import_"}
"""Commands whose module cannot be called as they are."""


class Terminated(KeyboardInterrupt):
    """SIGTERM, which ends a command as Ctrl-C does."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command and returns its exit code."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    with ExitStack() as spoken:
        try:
            return _main(words, spoken)
        except KeyboardInterrupt as stop:
            with suppress(OSError):
                _show_stopped(stop, as_json=asks_for_json(words))
            return 143 if isinstance(stop, Terminated) else 130


def _show_stopped(stop: KeyboardInterrupt, *, as_json: bool) -> None:
    if as_json:
        from coatrules.problems import Problem

        _show_problems([Problem(code="stopped")], as_json=True)
    else:
        print(str(stop) or say("stopped"), file=sys.stderr)


def _main(arguments: list[str], spoken: ExitStack) -> int:
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):  # a terminal may lack a letter
            stream.reconfigure(errors=ERRORS)
    try:
        catalogue, arguments = language.asked(arguments)
    except ArgumentTypeError as error:
        parser = _all_commands()
        parser.as_json = asks_for_json(arguments)
        parser.error(f"argument {language.OPTION}: {error}")
    spoken.enter_context(speaking(catalogue))  # to the last word, that of a command that is stopped too
    return _spoken(arguments)


def _spoken(arguments: list[str]) -> int:
    if arguments and arguments[0] in COMMANDS:
        return _run(parser_of(arguments[0]).parse_args(arguments[1:]))
    parser = _all_commands()
    if parser.parse_args(arguments).version:
        from importlib.metadata import version

        print(version("coatrules"))
        return 0
    parser.print_help(sys.stderr)
    return 2


def parser_of(name: str) -> ArgumentParser:
    """The parser of one command: only what is asked for is imported and set up."""
    parser = IntermixedParser(f"coatrules {name}", description=say(f"help.{name}"), formatter_class=_help())
    import_module(f"coatrules.cli.{MODULES.get(name, name)}").configure(parser)
    _add_language(parser)
    return parser


def _all_commands() -> SpokenParser:
    """The parser that lists the commands, and refuses what is none."""
    parser = SpokenParser("coatrules", description=say("help"), formatter_class=_help())
    parser.add_argument("--version", action="store_true", help=say("help.--version"))
    _add_language(parser)
    commands = parser.add_subparsers(metavar=say("metavar.COMMAND"), prog=parser.prog)
    for name in COMMANDS:
        commands.add_parser(name, help=say(f"help.{name}"))
    return parser


def _add_language(parser: ArgumentParser) -> None:
    """The option as the help shows it: it was read before, for the help too is put into words."""
    parser.add_argument(language.OPTION, metavar=say("metavar.TAG"), help=say("help.--lang"))


def _help() -> Any:
    return partial(Formatter, width=terminal_width(80) - 2)  # its own way to the width is slow to import


SPELT_LONGER = 4
"""So many letters more a line may have where ``±`` and ``…`` are spelt."""


def terminal_width(otherwise: int) -> int:
    """How many characters fit on a line of the terminal; ``otherwise`` where there is none. Fewer where it lacks letters, for some
    are spelt with several."""
    try:
        columns = os.get_terminal_size().columns
    except OSError:
        columns = otherwise
    try:
        "±".encode(sys.stdout.encoding or "utf-8")  # a stream in memory takes all letters
    except UnicodeEncodeError:
        return columns - SPELT_LONGER
    return columns


def _run(args: Namespace) -> int:
    from coatrules.disk import read_inputs
    from coatrules.problems import InputError

    try:
        with read_inputs():
            result: int = args.run(args)
        sys.stdout.flush()
    except InputError as error:
        return _refused(error.problems, as_json=getattr(args, "format", None) == "json")
    except OSError as error:  # of standard output: what has to do with files is a problem by now
        return lost_output(error)
    return result


def lost_output(error: OSError) -> int:
    """The exit code where standard output takes no more, after saying so; whoever reads through a pipe has seen enough."""
    from coatrules.disk import nowhere_to_write

    nowhere_to_write(sys.stdout)
    if isinstance(error, BrokenPipeError):
        return 0
    reason = (error.strerror or type(error).__name__).lower()
    with suppress(OSError):
        print(say("problem.error", what=say("cannot-show", reason=reason)), file=sys.stderr)
    return 1


def _refused(problems: Iterable[Problem], *, as_json: bool) -> int:
    try:
        _show_problems(problems, as_json=as_json)
    except OSError as error:
        lost_output(error)
    return 1


def _show_problems(problems: Iterable[Problem], *, as_json: bool) -> None:
    """Shows what is wrong with an input; a program that asked for JSON gets JSON, where it looks for the result."""
    if not as_json:
        for problem in problems:
            print(problem, file=sys.stderr)
        return
    from coatrules.cli.problems import problems_json  # only for mistakes

    sys.stdout.write(problems_json(problems))
    sys.stdout.flush()
