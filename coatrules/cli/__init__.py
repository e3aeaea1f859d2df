"""The command line: one module a command. Results go to standard output, messages to standard error.

Exit 0: done. 1: the input has problems, all of them listed. 2: the command line is wrong.
"""

from __future__ import annotations

import os
import sys
from argparse import ArgumentParser, HelpFormatter, Namespace
from collections.abc import Sequence
from functools import partial
from importlib import import_module
from io import TextIOWrapper
from typing import Any

from coatrules.cli.intermixed import IntermixedParser

COMMANDS = {
    "order": "today's work order for a dog",
    "draw": "pictures of the dog, of a coat through time, and of the book",
    "explain": "what was decided in one region, and why, and why not",
    "record": "after the work, write the visit down",
    "due": "who of your dogs must come, soonest first",
    "fleet": "a work order for every dog of a book, from JSON Lines to JSON Lines",
    "import": "bring old records in from a spreadsheet's export",
    "check": "check profiles as their mentor would",
    "rehearse": "what two years of a profile's own orders make of a coat",
    "compare": "which orders two versions of a profile differ in, and because of which line",
    "tidy": "set profiles out alike, comments and all",
    "migrate": "bring profiles to the newest format, comments and all",
    "plan": "the visits ahead, the way back from a show day, or which interval to keep",
    "profiles": "what profiles there are, or one shown whole",
    "new": "a commented file to start from",
}
MODULES = {"import": "import_"}
"""Commands whose module cannot be called as they are."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command and returns its exit code."""
    arguments = list(sys.argv[1:] if arguments is None else arguments)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):  # a terminal may lack a letter of a dog's name
            stream.reconfigure(errors="replace")
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
    about = COMMANDS[name]
    parser = IntermixedParser(
        f"coatrules {name}", description=about[0].upper() + about[1:] + ".", formatter_class=_help()
    )
    import_module(f"coatrules.cli.{MODULES.get(name, name)}").configure(parser)
    return parser


def _all_commands() -> ArgumentParser:
    """The parser that lists the commands, and refuses what is none."""
    about = "From a hand-stripped dog's history to today's work order."
    parser = ArgumentParser("coatrules", description=about, formatter_class=_help())
    parser.add_argument("--version", action="store_true", help="say which version this is, and end")
    commands = parser.add_subparsers(metavar="COMMAND", prog=parser.prog)
    for name, what in COMMANDS.items():
        commands.add_parser(name, help=what)
    return parser


def _help() -> Any:
    return partial(HelpFormatter, width=terminal_width(80) - 2)  # its own way to the width is slow to import


def terminal_width(otherwise: int) -> int:
    """How many characters fit on a line of the terminal; ``otherwise`` where there is none."""
    try:
        return os.get_terminal_size().columns
    except OSError:
        return otherwise


def _run(args: Namespace) -> int:
    from coatrules.problems import InputError

    try:
        result: int = args.run(args)
        sys.stdout.flush()
    except InputError as error:
        for problem in error.problems:
            print(problem, file=sys.stderr)
        return 1
    except BrokenPipeError:  # whoever read has seen enough; nothing may be left to write when Python ends
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    return result
