"""Files and names that may stand before, between and behind a command's options, as people write them."""

from __future__ import annotations

from typing import Any

from coatrules.cli.parser import SpokenParser


class IntermixedParser(SpokenParser):
    """A parser that takes its positional arguments wherever they stand; a plain one takes them in one place only."""

    _options_only = False  # while it looks for the options, and then for what is left

    def parse_known_args(self, args: Any = None, namespace: Any = None) -> Any:
        if self._options_only:
            return super().parse_known_args(args, namespace)
        self._options_only = True
        try:
            return self.parse_known_intermixed_args(args, namespace)
        finally:
            self._options_only = False
