"""What the commands share that rewrite files in place."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from pathlib import Path

from coatrules.catalogue.speaking import say
from coatrules.disk import read, write
from coatrules.problems import InputError, Problem, visible
from coatrules.reading import MAX_BYTES


def rewrite(files: Sequence[Path], change: Callable[[str, str], str], command: str, *, check_only: bool) -> int:
    """Rewrites each file as ``change`` (of its text and name) says; with ``check_only`` the exit code is 1 where any would be.

    ``command`` begins the codes of what is reported. A file that cannot be changed is left as it is and does not keep the others
    from being changed.
    """
    problems: list[Problem] = []
    changed = []
    for file in files:
        try:
            content = read(file, MAX_BYTES)
            rewritten = change(_text(content, file), str(file)).encode()
            if rewritten == content:
                continue
            if not check_only:
                write(file, rewritten, expected=content)
            changed.append(file)
        except InputError as error:
            problems += error.problems
    for file in changed:
        done = say(f"{command}.needed" if check_only else f"{command}.rewritten", file=file)
        print(visible(done), file=sys.stderr)
    if problems:
        raise InputError(problems)
    if not changed:
        print(say(f"{command}.none-needed", files=len(files)), file=sys.stderr)
    return 1 if check_only and changed else 0


def _text(content: bytes, file: Path) -> str:
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        raise InputError([Problem(code="not-utf-8", file=str(file))]) from error
