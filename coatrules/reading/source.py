"""The text being read: its bounds, its places, the problems found in it, and what a plain scalar stands for."""

from __future__ import annotations

import math
import re
import unicodedata
from bisect import bisect_right
from collections.abc import Mapping
from functools import cache
from itertools import accumulate
from typing import Any, NoReturn

from coatrules.catalogue.message import Message, message
from coatrules.problems import MAX_PROBLEMS, InputError, Path, Problem
from coatrules.read_only import NOTHING

MAX_BYTES = 1_000_000
MAX_DEPTH = 64
MAX_NODES = 100_000
MAX_DOCUMENTS = 2_000  # of one stream: a dog and its visits, and to spare
MAX_SCALAR = 65_536  # characters of one text
MAX_WHOLE = 2**63 - 1  # of an integer, either side of zero: 64 bits
MAX_MARKS = 30  # combining marks in a row: Unicode Standard Annex 15, 13 (Stream-Safe Text Format); normalising is quadratic in them

# An entry of a container: where its key, and where its value starts, in characters from the start of the text, and the
# entries of the value when it is itself a container. In a list, key and value start together.
Entries = dict[str | int, "Entry"]
Entry = tuple[int, int, Entries | None]


def line_and_column(line_starts: tuple[int, ...], offset: int) -> tuple[int, int]:
    line = bisect_right(line_starts, offset)
    return line, offset - line_starts[line - 1] + 1


_HIDDEN = "\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\ufffe\uffff\ud800-\udfff"
_ESCAPE = re.compile(r"\\[^n\"\\/]")  # may stand for any character; those left out stand for harmless ones


INDENT_WITH_TAB = re.compile(r"^ *\t[ \t]*", re.MULTILINE)
_MAYBE_MARKS = re.compile(f"[^\x00-\u02ff]{{{MAX_MARKS + 1},}}")  # there is no combining mark below U+0300


def too_many_marks(text: str) -> int | None:
    """Where more than ``MAX_MARKS`` combining marks stand in a row; None where they do not."""
    for match in _MAYBE_MARKS.finditer(text):
        marks = 0
        for offset, character in enumerate(match[0], match.start()):
            marks = marks + 1 if unicodedata.combining(character) else 0
            if marks > MAX_MARKS:
                return offset
    return None


@cache  # slow to compile, and seldom needed
def _forbidden(tabs: bool = False) -> re.Pattern[str]:
    """What may not stand in a text; with ``tabs``, tabs may."""
    return re.compile(f"[{_HIDDEN}]" if tabs else f"[\t{_HIDDEN}]")


def hidden_character(text: str) -> str | None:
    """The first character of a text that no file may hold; None where there is none."""
    if text.replace("\n", " ").isprintable():  # quick, and never true of such a character
        return None
    match = _forbidden().search(text)
    return None if match is None else match[0]


class Source:
    """The text being read, and the problems found in it so far."""

    def __init__(self, text: str, file: str, line_starts: tuple[int, ...]) -> None:
        self.text = text
        self.file = file
        self.line_starts = line_starts
        self.careful = True
        self.is_indented_with_tabs = False
        self.problems: list[Problem] = []
        self.doubled: list[tuple[Any, Entries, str, Any, Entries]] = []

    @classmethod
    def of(cls, text: str, file: str) -> Source:
        text = text.removeprefix("\ufeff")
        if "\r" in text:
            text = text.replace("\r\n", "\n").replace("\r", "\n")
        return cls(text, file, (0, *accumulate(len(line) + 1 for line in text.split("\n")[:-1])))

    @classmethod
    def checked(cls, raw: str | bytes, file: str, *, tabs: bool) -> Source:
        size = len(raw) if isinstance(raw, bytes) else len(raw.encode("utf-8", "surrogatepass"))
        if size > MAX_BYTES:
            cls.of("", file).stop("too-large", 0, {"most": MAX_BYTES})
        source = cls.of(_decoded(raw, file) if isinstance(raw, bytes) else raw, file)
        text = source.text
        if not text.replace("\n", " ").isprintable():  # quick, and never true of a forbidden character
            indents = [] if tabs else [match.span() for match in INDENT_WITH_TAB.finditer(text)]
            if indents:
                source.report("tab-indent", indents[0][0], {"lines": len(indents)})
            within = {offset for start, end in indents for offset in range(start, end)}
            for match in _forbidden(tabs).finditer(text):
                if match.start() not in within:
                    source.report_character(match[0], match.start())
            if source.problems and _forbidden(tabs=True).search(text):
                source.raise_problems()  # what it was meant to be changes all that follows
            source.is_indented_with_tabs = bool(indents)
            source.text = text = text if tabs or indents else text.replace("\t", " ")
        if not text.isascii() and (offset := too_many_marks(text)) is not None:
            source.stop("combining-marks", offset, {"most": MAX_MARKS})
        # Only then can a value differ from what was checked above, or be too long: most files skip the look at each.
        source.careful = (
            bool(_ESCAPE.search(text)) or len(text) > MAX_SCALAR or not unicodedata.is_normalized("NFC", text)
        )
        return source

    def report(
        self,
        code: str,
        offset: int,
        params: Mapping[str, Any] = NOTHING,
        *,
        path: Path = (),
        fix: Message | None = None,
    ) -> None:
        """Keeps a problem; raises ``InputError`` with all of them once there are ``MAX_PROBLEMS``."""
        line, column = line_and_column(self.line_starts, offset)
        self.problems.append(
            Problem(code=code, params=params, file=self.file, line=line, column=column, path=path, fix=fix)
        )
        if len(self.problems) >= MAX_PROBLEMS:
            self.raise_problems()

    def stop(
        self, code: str, offset: int, params: Mapping[str, Any] = NOTHING, *, fix: Message | None = None
    ) -> NoReturn:
        """Raises ``InputError`` with a problem after which nothing can be read, and all before it."""
        self.report(code, offset, params, fix=fix)
        raise InputError(self.problems)

    def raise_problems(self) -> None:
        if self.problems:
            raise InputError(self.problems)

    def line(self, offset: int) -> int:
        return line_and_column(self.line_starts, offset)[0]

    def report_character(self, character: str, offset: int, path: Path = ()) -> None:
        if character == "\t":
            self.report("tab", offset, path=path)
        elif "\ud800" <= character <= "\udfff":
            self.report("broken-character", offset, path=path)
        else:
            params = {"codepoint": f"U+{ord(character):04X}"}
            fix = message("control-character.fix-line-break") if character == "\r" else None
            self.report("control-character", offset, params, path=path, fix=fix)

    def checked_text(self, value: str, offset: int, path: Path) -> str:
        """A value's text in NFC, once it is known to be short enough and to hide nothing behind an escape."""
        if len(value) > MAX_SCALAR:
            self.report("text-too-long", offset, {"length": len(value), "most": MAX_SCALAR}, path=path)
            return value
        if match := _forbidden().search(value):
            self.report_character(match[0], offset, path)
        elif too_many_marks(value) is not None:
            self.report("combining-marks", offset, {"most": MAX_MARKS}, path=path)
            return value
        return unicodedata.normalize("NFC", value)

    def report_number(self, text: str, offset: int, path: Path) -> None:
        self.report("number", offset, {"number": shown_start(text), "most": MAX_WHOLE}, path=path)

    def report_key(self, text: str, offset: int, path: Path) -> None:
        params = {"key": shown_start(text)}
        fix = (
            message("key-not-text.fix-decimal", **params) if text.isdecimal() else None
        )  # '{pull: 0,2}' is two entries
        self.report("key-not-text", offset, params, path=path, fix=fix)

    def report_duplicate(self, key: str, offset: int, data: Any, entries: Entries, path: Path) -> None:
        first = entries[key]
        if isinstance(data[key], dict):
            self.doubled.append((data, entries, key, data[key], first[2] or {}))
        self.report("duplicate-key", offset, {"key": shown_start(key), "line": self.line(first[0])}, path=path)

    def join_doubled(self) -> None:
        """Adds to each mapping whose key is there for the second time what only the first one has: no more of it is lost than must
        be."""
        for data, entries, key, first, inner in self.doubled:
            if isinstance(data[key], dict):
                data[key].update((name, value) for name, value in first.items() if name not in data[key])
                last = entries[key][2] or {}
                last.update((name, entry) for name, entry in inner.items() if name not in last)

    def check_bounds(self, depth: int, nodes: int, offset: int) -> None:
        if depth > MAX_DEPTH:
            self.stop("too-deep", offset, {"most": MAX_DEPTH})
        if nodes > MAX_NODES:
            self.stop("too-many-values", offset, {"most": MAX_NODES})


def shown_start(text: str) -> str:
    """The start of what is written, on one line."""
    return " ".join((text if len(text) <= 40 else f"{text[:36]}...").split())


def _decoded(raw: bytes, file: str) -> str:
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        Source.of("", file).stop("encoding-utf-16", 0)
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        before = Source.of(raw[: error.start].decode("utf-8"), file)
        before.stop("encoding", len(before.text))


# -- plain scalars ----------------------------------------------------------------------------------------------------

_WORDS = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL")),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
}
FIRST_OF_TYPED = "tTfFnN~.0123456789+-"  # every scalar that is not text starts with one of these, or is empty
_NUMBER = re.compile(
    r"[-+]?(?P<decimal>[0-9]+)|0o(?P<octal>[0-7]+)|0x(?P<hexadecimal>[0-9a-fA-F]+)"
    r"|(?P<float>[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?)"
    r"|(?P<none>[-+]?\.(?:inf|Inf|INF)|\.(?:nan|NaN|NAN))"
)
_LONGEST_WHOLE = len(f"{MAX_WHOLE:o}")  # in octal digits; no longer text is made a number of
REFUSED = object()


def typed(plain: str) -> Any:
    """What a scalar without quotes stands for in the YAML 1.2 core schema; ``REFUSED`` for a number out of bounds."""
    if plain in _WORDS:
        return _WORDS[plain]
    match = _NUMBER.fullmatch(plain)
    if match is None:
        return plain
    kind = match.lastgroup
    if kind == "float":
        number = float(plain)
        return number if math.isfinite(number) else REFUSED
    if kind == "none" or len(match[kind or 0]) > _LONGEST_WHOLE:
        return REFUSED
    number = int(plain) if kind == "decimal" else int(plain, 0)
    return number if abs(number) <= MAX_WHOLE else REFUSED


# -- containers being filled ------------------------------------------------------------------------------------------

# A container being filled, while one inside it is: its data, its entries, the key of the one inside, and the key that
# waits for a value once the one inside is done (only where a container stands for a key).
Frame = tuple[Any, Entries, str | int, str | None]
NO_KEY = "?"  # takes the place of a key that cannot be one


def path_of(stack: list[Frame], data: Any, key: str | None) -> Path:
    """The path of the value to come; of the container where its key is still to come."""
    if not stack:
        return ()
    outer = (frame[2] for frame in stack[1:])
    if key is not None:
        return (*outer, key)
    return (*outer, len(data)) if data.__class__ is list else tuple(outer)
