"""What is being written at a place of a YAML text, also while the text is broken: the path to it, and whether it is a key or a value.

A text under the cursor is seldom whole. So it is not parsed: indents and brackets before the cursor tell where it stands.
"""

from __future__ import annotations

import re
from typing import Literal, NamedTuple

from coatrules.problems import Path

_ENTRY = re.compile(
    r"""("[^"]*"|'[^']*'|[^\s#'"{}\[\],&*!|>%@`-][^:#{}\[\],]*?|-[^\s:#{}\[\],][^:#{}\[\],]*?)\s*:(?=\s|$)"""
)
_DASH = re.compile(r"-(\s+|$)")
_BLOCK_TEXT = re.compile(r"[|>][+-]?\d*\s*(#.*)?$")
_FLOW = re.compile(
    r"""(?P<text>"(?:[^"\\]|\\.)*"?|'[^']*'?)|(?P<mark>[][{},]|:(?=\s|$))|(?P<plain>(?:[^][{},:\s"']|:(?=\S))[^][{},:]*(?::(?=\S)[^][{},:]*)*)|\s+"""
)
_WORD = re.compile(r"[\w.:/-]*")


class Context(NamedTuple):
    """``path`` leads to the mapping in which a key is written, or to the value, or to an entry of a list, which may
    become either; ``prefix`` is what is written of it so far, and
    ``start`` its column, counted from 0."""

    path: Path
    kind: Literal["key", "value", "item"]
    prefix: str
    start: int


class _Frame:
    """A bracket that is open."""

    def __init__(self, mapping: bool) -> None:
        self.mapping = mapping
        self.key: str | None = None
        self.index = 0

    def step(self) -> str | int | None:
        return self.key if self.mapping else self.index


def context(text: str, line: int, column: int) -> Context:
    """Returns what is written at a line and column, both counted from 0."""
    lines = text.split("\n")[: line + 1]
    lines[line:] = [lines[line][:column]] if line < len(lines) else [""]
    stack: list[tuple[int, str | int]] = []
    frames: list[_Frame] = []
    text_indent: int | None = None
    for number, content in enumerate(lines):
        last = number == len(lines) - 1
        indent = len(content) - len(content.lstrip(" "))
        if frames and content.strip() and stack and indent <= stack[-1][0]:
            frames.clear()  # a bracket was never closed: what it was opened in is over
        if frames:
            word = _flow(content, frames)
            if last:
                return _in_brackets(stack, frames, *word)
            continue
        if (
            text_indent is not None
            and (indent > text_indent or not content.strip())
            and not (last and indent <= text_indent)
        ):
            if last:
                return Context(_steps(stack), "value", content.strip(), indent)
            continue
        text_indent = None
        if not content.strip() or content.lstrip().startswith("#"):
            if last:
                _leave(stack, len(content), item=False)
                return Context(_steps(stack), "key", "", len(content))
            continue
        found = _line(content, indent, stack)
        if found is None:
            if last:
                start = max(indent, len(content) - len(_last_word(content)))
                return Context(_steps(stack), "item" if _is_item(content) else "key", content[start:], start)
            continue
        rest = content[found:]
        value = rest.lstrip()
        if value[:1] in ("{", "["):
            word = _flow(rest, frames)
            if last and frames:
                return _in_brackets(stack, frames, word[0], found + word[1])
        elif _BLOCK_TEXT.match(value):
            text_indent = stack[-1][0]
        if last:
            return Context(_steps(stack), "value", value, len(content) - len(value))
    return Context((), "key", "", 0)


def word_at(text: str, line: int, column: int) -> tuple[Path, int, int]:
    """Returns the path to the word at a place, and its first column and the one after it; for a key, the path to its value."""
    content = (text.split("\n") + [""] * (line + 1))[line]
    end = column + len((_WORD.match(content, column) or [""])[0].rstrip(":"))
    here = context(text, line, end)
    start = end - len(_last_word(content[:end]))
    path = here.path
    if here.prefix and (here.kind == "key" or (here.kind == "item" and content[end : end + 1] == ":")):
        path = (*path, here.prefix.strip("\"'"))
    return path, start, end


def _last_word(content: str) -> str:
    return (
        content[len(content.rstrip()) - len(re.split(r"[\s{}\[\],]", content.rstrip())[-1]) :]
        if content.strip()
        else ""
    )


def _is_item(content: str) -> bool:
    return bool(_DASH.match(content.lstrip()))


def _steps(stack: list[tuple[int, str | int]]) -> Path:
    return tuple(step for _, step in stack)


def _leave(stack: list[tuple[int, str | int]], indent: int, *, item: bool) -> int:
    """Leaves what ends at this indent; returns the index of the list's last entry there, -1 where a list begins."""
    index = -1
    while stack and (stack[-1][0] > indent or (stack[-1][0] == indent and (not item or isinstance(stack[-1][1], int)))):
        level, step = stack.pop()
        if item and level == indent and isinstance(step, int):
            index = step
            break
    return index


def _line(content: str, indent: int, stack: list[tuple[int, str | int]]) -> int | None:
    """Enters the entries that a line begins; returns where the value starts, None where there is no key."""
    at = indent
    while match := _DASH.match(content, at):
        index = _leave(stack, at, item=True)
        stack.append((at, index + 1))
        at = match.end()
    entry = _ENTRY.match(content, at)
    if entry is None:
        if at == indent:
            _leave(stack, at, item=False)
        return at if stack and content[at : at + 1] in ("{", "[") else None  # maybe the value of the key above
    _leave(stack, at, item=False)
    stack.append((at, entry[1].strip("\"'")))
    return entry.end()


def _flow(content: str, frames: list[_Frame]) -> tuple[str, int]:
    """Follows the brackets of a line; returns the word that it ends with, and where that starts."""
    word, start, at = "", len(content), 0
    while at < len(content):
        if content[at] == "#" and (at == 0 or content[at - 1].isspace()):
            return "", len(content)
        match = _FLOW.match(content, at)
        if match is None or match.end() == at:
            at += 1
            continue
        at = match.end()
        mark = match["mark"]
        if mark in ("{", "["):
            frames.append(_Frame(mark == "{"))
        elif mark in ("}", "]"):
            if frames:
                frames.pop()
            if not frames:
                return "", len(content)
        elif mark == ",":
            frames[-1].key = None
            frames[-1].index += 1
        elif mark == ":":
            if frames:
                frames[-1].key = word.strip().strip("\"'")
        elif match["text"] or match["plain"]:
            word, start = match[0], match.start()
            continue
        if mark:
            word, start = "", len(content)
    return word, start


def _in_brackets(stack: list[tuple[int, str | int]], frames: list[_Frame], word: str, start: int) -> Context:
    if not frames:
        return Context(_steps(stack), "value", word, start)
    steps = [frame.step() for frame in frames]
    inner = [step for step in steps if step is not None]
    is_key = frames[-1].mapping and frames[-1].key is None
    return Context((*_steps(stack), *inner), "key" if is_key else "value", word, start)
