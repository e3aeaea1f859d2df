"""Where to write a result, so that no command writes over what it reads: a dog's record cannot be had again."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterator
from pathlib import Path

from coatrules.problems import InputError, Problem

INPUT_ARGUMENTS = ("dog", "profile", "old", "new")
"""The arguments that name what is read, in the commands that have '--out'."""


def output_file(args: Namespace) -> Path | None:
    """The file of '--out'; raises ``InputError`` where it is one that the command reads."""
    out: Path | None = args.out
    if out is None or not out.exists():
        return out
    if any(out.samefile(file) for file in _input_files(args) if file.is_file()):
        raise InputError([Problem(code="out-is-input", file=str(out))])
    return out


def _input_files(args: Namespace) -> Iterator[Path]:
    """Yields the files that are read, those of folders too."""
    from coatrules.book.entries import files  # seldom needed

    for argument in INPUT_ARGUMENTS:
        value = getattr(args, argument, None)
        yield from files(map(Path, filter(None, value if isinstance(value, list) else [value])))
