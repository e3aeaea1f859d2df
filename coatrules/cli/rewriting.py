"""What the commands share that rewrite files in place."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from coatrules.cli.common import write_result
from coatrules.problems import InputError, Problem


def rewrite(files: Sequence[Path], change: Callable[[str, str], str], already: str, *, check_only: bool) -> int:
    """Rewrites each file as ``change`` (of its text and name) says; with ``check_only`` the exit code is 1 where any would be.

    A file that cannot be changed is left as it is and does not keep the others from being changed.
    """
    problems: list[Problem] = []
    changed = []
    for file in files:
        try:
            text = _text(file)
            rewritten = change(text, str(file))
            if rewritten == text:
                continue
            if not check_only:
                write_result(rewritten, file)
            changed.append(file)
        except InputError as error:
            problems += error.problems
    for file in changed:
        print(f"{file}: {f'not {already}' if check_only else 'rewritten'}", file=sys.stderr)
    if problems:
        raise InputError(problems)
    if not changed:
        print(f"{len(files)} file{'s' if len(files) != 1 else ''}, all {already}.", file=sys.stderr)
    return 1 if check_only and changed else 0


def _text(file: Path) -> str:
    try:
        with file.open(encoding="utf-8", newline="") as opened:
            return opened.read()
    except (OSError, UnicodeDecodeError) as error:
        reason = (getattr(error, "strerror", None) or "it is not text in UTF-8").lower()
        raise InputError(
            [Problem(code="cannot-read", message=f"cannot read this file: {reason}", file=str(file))]
        ) from error
