"""Problems beside the words they are about, and the changes of the text that fix them."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from typing import Final

from attrs import frozen

from coatrules.catalogue.message import Message, message
from coatrules.problems import Problem
from coatrules.reading.characters import ODD_SPACE
from coatrules.reading.tabs import with_spaces

_WORD = re.compile(r"""[^\s{}\[\],:"'#]+""")


@frozen(kw_only=True)
class Span:
    """A part of one line: the line and the columns from ``start`` up to ``end``, counted from 0."""

    line: int
    start: int
    end: int


@frozen(kw_only=True)
class Fix:
    """A change that fixes a problem: ``text`` instead of what stands at ``span``."""

    title: Message
    span: Span
    text: str


def span(text: str, problem: Problem, file: str) -> Span:
    """Returns what to mark of a text: the word at the problem's place; of a problem of another file, the line with ``extends``,
    or the first one."""
    lines = text.split("\n")
    if problem.file == file and problem.line:
        number = min(problem.line, len(lines)) - 1
        start = min(max(problem.column - 1, 0), len(lines[number]))
        quoted = lines[number][start : start + 1] in ('"', "'")
        match = _WORD.match(lines[number], start + quoted)
        return Span(
            line=number, start=start + quoted, end=match.end() if match else max(start + 1, len(lines[number].rstrip()))
        )
    number = next((index for index, line in enumerate(lines) if line.startswith("extends:")), 0)
    return Span(line=number, start=0, end=len(lines[number].rstrip()))


_SAFE: Final = frozenset(
    (
        "schema-unknown-key",
        "schema-enum",
        "schema-new-entry",
        "unknown-name",
        "unknown-fact",
        "fact-value",
        "unknown-profile",
        "no-value",
        "source-key",
    )
)
"""Problems of a misspelt name: it stands for one that is known and spelt alike."""
_TABS: Final = ("tab-indent", "tab")
_SPACE: Final = "odd-space"
_SPACE_IN_KEY: Final = "schema-unknown-key.fix-space"


def fixed(text: str, file: str, problems_of: Callable[[str], Sequence[Problem]]) -> str:
    """Returns a text with all that is safe to fix, misspelt names, odd spaces and tabs: each fix is kept where its problem goes
    and no error comes. ``problems_of`` returns the problems of a text."""
    found = list(problems_of(text))
    tried: set[tuple[str, int, int]] = set()
    while (chosen := next((one for one in found if one.file == file and _mark(one) not in tried), None)) is not None:
        tried.add(_mark(chosen))
        changed = _changed(text, chosen, file)
        if changed is None:
            continue
        left = list(problems_of(changed))
        new = _errors(left) - _errors(found)
        if not new and (chosen.code, chosen.path, chosen.line) not in {(one.code, one.path, one.line) for one in left}:
            text, found = changed, left
    return text


def _errors(problems: Sequence[Problem]) -> Counter[tuple[str, int]]:
    """How many errors there are of each code on each line: where a key is set right, the path of all within it is another."""
    return Counter((problem.code, problem.line) for problem in problems if problem.severity == "error")


def _mark(problem: Problem) -> tuple[str, int, int]:
    return problem.code, problem.line, problem.column


def _changed(text: str, problem: Problem, file: str) -> str | None:
    if problem.code in _TABS:
        return with_spaces(text)
    lines = text.split("\n")
    if problem.code == _SPACE or (problem.fix is not None and problem.fix.code == _SPACE_IN_KEY):
        lines[problem.line - 1] = ODD_SPACE.sub(" ", lines[problem.line - 1])
    elif problem.code in _SAFE and (change := fix(text, problem, file)) is not None:
        line = lines[change.span.line]
        lines[change.span.line] = line[: change.span.start] + change.text + line[change.span.end :]
    else:
        return None
    return "\n".join(lines)


def fix(text: str, problem: Problem, file: str) -> Fix | None:
    """Returns the change that uses the name that was meant; None where the problem knows of none, or is of another file."""
    if problem.file != file or not problem.line:
        return None
    name = meant(problem)
    at = span(text, problem, file)
    written = text.split("\n")[at.line][at.start : at.end]
    if name is None or not written or name == written:
        return None
    return Fix(title=message("fix.use-name", name=name), span=at, text=name)


def meant(problem: Problem) -> str | None:
    """Returns the one name that a problem's fix is to use."""
    known = problem.fix
    return str(known.params["name"]) if known is not None and known.code == "fix.use-name" else None


def fixes(text: str, problems: Sequence[Problem], file: str, first: int, last: int) -> list[tuple[Problem, Fix]]:
    """Returns the fixes of the problems on the lines from ``first`` to ``last``, counted from 0."""
    found = [(problem, fix(text, problem, file)) for problem in problems]
    return [(problem, change) for problem, change in found if change is not None and first <= change.span.line <= last]
