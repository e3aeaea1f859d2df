"""What the commands share that rewrite files in place."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from coatrules.catalogue.speaking import say
from coatrules.cli.common import write_result
from coatrules.formats.documents import cannot_read
from coatrules.problems import InputError, Problem


def rewrite(files: Sequence[Path], change: Callable[[str, str], str], command: str, *, check_only: bool) -> int:
    """Rewrites each file as ``change`` (of its text and name) says; with ``check_only`` the exit code is 1 where any would be.

    ``command`` begins the codes of what is reported. A file that cannot be changed is left as it is and does not keep the others
    from being changed.
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
        print(say(f"{command}.needed" if check_only else f"{command}.rewritten", file=file), file=sys.stderr)
    if problems:
        raise InputError(problems)
    if not changed:
        print(say(f"{command}.none-needed", files=len(files)), file=sys.stderr)
    return 1 if check_only and changed else 0


def _text(file: Path) -> str:
    try:
        with file.open(encoding="utf-8", newline="") as opened:
            return opened.read()
    except OSError as error:
        raise InputError([cannot_read(file, error)]) from error
    except UnicodeDecodeError as error:
        raise InputError([Problem(code="not-utf-8", file=str(file))]) from error
