"""What the parser of a command line says of itself, in the language in force."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, HelpFormatter
from collections.abc import Iterable
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
    """A parser whose help and errors are put into words by the catalogue."""

    def __init__(self, *args: Any, **settings: Any) -> None:
        super().__init__(*args, **{"formatter_class": Formatter, **settings, "add_help": False})
        self._positionals.title, self._optionals.title = say("help.arguments"), say("help.options")
        self.add_argument("-h", "--help", action="help", help=say("help.--help"))

    def error(self, message: str) -> NoReturn:
        from coatrules.cli.complaints import in_words  # only for mistakes

        self.print_usage(sys.stderr)
        self.exit(2, say("usage.error", prog=self.prog, message=in_words(message)) + "\n")
