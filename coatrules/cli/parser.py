"""What the parser of a command line says of itself, in the language in force."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, HelpFormatter
from collections.abc import Iterable, Sequence
from contextlib import suppress
from typing import Any, NoReturn

from coatrules.catalogue.speaking import say


class Formatter(HelpFormatter):
    """The help, with the words before the usage in the language in force."""

    def add_usage(self, usage: Any, actions: Iterable[Any], groups: Iterable[Any], prefix: str | None = None) -> None:
        if (
            usage is not None
        ):  # cut out of a usage put together before, as if the words before it were always seven letters long
            usage = self._prog + usage.partition(self._prog)[2]
        super().add_usage(usage, actions, groups, f"{say('help.usage')} " if prefix is None else prefix)


class SpokenParser(ArgumentParser):
    """A parser whose help and errors are put into words by the catalogue; ``as_json``: errors as plain data, on standard output."""

    as_json = False

    def __init__(self, *args: Any, **settings: Any) -> None:
        super().__init__(*args, **{"formatter_class": Formatter, **settings, "add_help": False})
        self._positionals.title, self._optionals.title = say("help.arguments"), say("help.options")
        self.add_argument("-h", "--help", action="help", help=say("help.--help"))

    def parse_args(self, args: Any = None, namespace: Any = None) -> Any:
        self.as_json = asks_for_json(args or ())
        return super().parse_args(args, namespace)

    def error(self, message: str) -> NoReturn:
        """Shows what is wrong with the command line, with nothing in it that a terminal would obey, and ends with exit code 2."""
        from coatrules.cli.complaints import spoken  # only for mistakes
        from coatrules.cli.problems import problems_json
        from coatrules.problems import Problem, visible

        says = spoken(visible(message))
        if self.as_json:
            with suppress(OSError):
                print(problems_json([Problem(code=says.code, params=says.params)]), end="", flush=True)
            self.exit(2)
        self.print_usage(sys.stderr)
        self.exit(2, say("usage.error", prog=self.prog, message=says.text) + "\n")


def asks_for_json(arguments: Sequence[str]) -> bool:
    """Whether a command line that cannot be read asks for JSON."""
    words = [word.partition("=") for word in arguments]
    named = [n for n, (name, _, _) in enumerate(words) if len(name) > len("--") and "--format".startswith(name)]
    return any((words[n][2] or "".join(arguments[n + 1 : n + 2])) == "json" for n in named)
