"""Strict YAML and JSON, read into plain data that remembers where each value stood.

The data are those of the YAML 1.2 core schema (https://yaml.org/spec/1.2.2/#103-core-schema) and of JSON (RFC 8259),
less what hides meaning or can harm a reader: tags, anchors, aliases, merge keys, duplicate keys (YAML 1.2.2, 3.2.1.3),
keys that are not text, control and bidirectional characters (Unicode Standard Annex 9, 2.1 to 2.6), infinities, NaN.
Text is given in Unicode Normalization Form C (Unicode Standard Annex 15), places in characters as they were written.
"""

from __future__ import annotations

import json
import math
import re
import unicodedata
from bisect import bisect_right
from collections.abc import Sequence
from itertools import accumulate
from typing import Any, NoReturn

from attrs import Factory, define, frozen

from coatrules.problems import InputError, Path, Problem

MAX_BYTES = 4_000_000
MAX_DEPTH = 64
MAX_NODES = 500_000
MAX_SCALAR = 65_536  # characters of one text
MAX_DIGITS = 18  # of an integer, so that it fits 64 bits
MAX_PROBLEMS = 200  # reading stops there: more would bury the first

_DEEP = "Look for brackets that are never closed, or dashes too many."

# An entry of a container: where its key, and where its value starts, in characters from the start of the text, and the
# entries of the value when it is itself a container. In a list, key and value start together.
Entries = dict[str | int, "Entry"]
Entry = tuple[int, int, Entries | None]


@define(eq=False)
class Places:
    """Where each value, and each key, of a document starts; in JSON looked for only once a place is asked for."""

    _line_starts: tuple[int, ...]
    _root: Entry | _Source

    def place(self, path: Sequence[str | int], key: bool = False) -> tuple[int, int]:
        """The line and column, counted from 1, of the value at ``path``, or of its key.

        Where the document has no such path, the place of the nearest ancestor that it has.
        """
        if isinstance(self._root, _Source):
            self._root = _json_entry(self._root)[1]
        entry = self._root
        for part in path:
            found = entry[2].get(part) if entry[2] else None
            if found is None:
                break
            entry = found
        return _line_and_column(self._line_starts, entry[0] if key else entry[1])


@frozen
class Document:
    """One document: ``data`` is made of dict (keys are text), list, str, int, float, bool and None only."""

    data: Any
    places: Places
    file: str


def read_yaml(text: str | bytes, file: str = "<text>") -> tuple[Document, ...]:
    """The documents of a YAML stream; none for an empty one.

    Raises InputError with all problems that were found; the first mistake of syntax, and an
    overstepped bound, end the search.
    """
    source = _Source.checked(text, file, tabs=False)
    documents = _yaml_documents(source)
    source.raise_problems()
    return documents


def read_json(text: str | bytes, file: str = "<text>") -> Document:
    """The one document of a JSON text, as strictly as ``read_yaml``; raises InputError likewise."""
    source = _Source.checked(text, file, tabs=True)  # between JSON's tokens a tab is harmless, and usual
    data = _REFUSED if source.careful else _quick_json(source.text)
    if data is not _REFUSED:
        return Document(data, Places(source.line_starts, source), file)
    data, entry = _json_entry(source)
    source.raise_problems()
    return Document(data, Places(source.line_starts, entry), file)


def _line_and_column(line_starts: tuple[int, ...], offset: int) -> tuple[int, int]:
    line = bisect_right(line_starts, offset)
    return line, offset - line_starts[line - 1] + 1


# -- the text, before it is YAML or JSON ------------------------------------------------------------------------------

_HIDDEN = "\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\ufffe\uffff\ud800-\udfff"
_FORBIDDEN_BUT_TABS = re.compile(f"[{_HIDDEN}]")
_FORBIDDEN = re.compile(f"[\t{_HIDDEN}]")
_ESCAPE = re.compile(r"\\[^n\"\\/]")  # may stand for any character; those left out stand for harmless ones


@define
class _Source:
    """The text being read, and the problems found in it so far."""

    text: str
    file: str
    line_starts: tuple[int, ...]
    careful: bool = True
    problems: list[Problem] = Factory(list)

    @classmethod
    def of(cls, text: str, file: str) -> _Source:
        text = text.removeprefix("\ufeff")
        if "\r" in text:
            text = text.replace("\r\n", "\n").replace("\r", "\n")
        return cls(text, file, (0, *accumulate(len(line) + 1 for line in text.split("\n")[:-1])))

    @classmethod
    def checked(cls, raw: str | bytes, file: str, *, tabs: bool) -> _Source:
        size = len(raw) if isinstance(raw, bytes) else len(raw.encode("utf-8", "surrogatepass"))
        if size > MAX_BYTES:
            cls.of("", file).stop(
                "too-large", f"The file has {size:,} bytes; at most {MAX_BYTES:,} are read", 0, "Split it."
            )
        source = cls.of(_decoded(raw, file) if isinstance(raw, bytes) else raw, file)
        text = source.text
        if not text.replace("\n", " ").isprintable():  # quick, and never true of a forbidden character
            for found in (_FORBIDDEN_BUT_TABS if tabs else _FORBIDDEN).finditer(text):
                source.report_character(found[0], found.start())
            source.raise_problems()
        # Only then can a value differ from what was checked above, or be too long: most files skip the look at each.
        source.careful = (
            bool(_ESCAPE.search(text)) or len(text) > MAX_SCALAR or not unicodedata.is_normalized("NFC", text)
        )
        return source

    def report(self, code: str, message: str, offset: int, hint: str = "", path: Path = ()) -> None:
        line, column = _line_and_column(self.line_starts, offset)
        self.problems.append(Problem(code, message, file=self.file, line=line, column=column, path=path, hint=hint))
        if len(self.problems) >= MAX_PROBLEMS:
            self.raise_problems()

    def stop(self, code: str, message: str, offset: int, hint: str = "", path: Path = ()) -> NoReturn:
        """Reports a problem after which nothing can be read."""
        self.report(code, message, offset, hint, path)
        raise InputError(self.problems)

    def raise_problems(self) -> None:
        if self.problems:
            raise InputError(self.problems)

    def line(self, offset: int) -> int:
        return _line_and_column(self.line_starts, offset)[0]

    def report_character(self, character: str, offset: int, path: Path = ()) -> None:
        if character == "\t":
            self.report("control-character", "A tab stands here", offset, "Use spaces instead.", path)
        elif "\ud800" <= character <= "\udfff":
            self.report("encoding", "Half of a character stands here", offset, "Write the character itself.", path)
        else:
            name = unicodedata.name(character, "a control character")
            message = f"A character that cannot be seen stands here: U+{ord(character):04X}, {name.lower()}"
            hint = "Write a line break as \\n." if character == "\r" else "Delete it; it often comes with pasted text."
            self.report("control-character", message, offset, hint, path)

    def checked_text(self, value: str, offset: int, path: Path) -> str:
        """A value's text in NFC, once it is known to be short enough and to hide nothing behind an escape."""
        if len(value) > MAX_SCALAR:
            message = f"This text has {len(value):,} characters; at most {MAX_SCALAR:,} are read"
            self.report("too-large", message, offset, "Shorten it.", path)
        elif found := _FORBIDDEN.search(value):
            self.report_character(found[0], offset, path)
        return unicodedata.normalize("NFC", value)

    def report_number(self, written: str, offset: int, path: Path) -> None:
        hint = f"Give a finite number, a whole one with at most {MAX_DIGITS} digits; put text in quotes."
        self.report("number", f"'{_shown(written)}' is not a number that can be used", offset, hint, path)

    def report_key(self, written: str, offset: int, path: Path) -> None:
        shown = _shown(written)
        hint = f'Put it in quotes: "{shown}".'
        if written.isdecimal():  # '{pull: 0,2}' is two entries
            hint += " A number has a point and no comma, as in 0.2."
        self.report("key-not-text", f"The key '{shown}' is not text", offset, hint, path)

    def report_duplicate(self, key: str, offset: int, first: Entry, path: Path) -> None:
        message = f"'{_shown(key)}' stands here for the second time; the first is on line {self.line(first[0])}"
        self.report("duplicate-key", message, offset, "Keep one of the two, or give one another name.", path)

    def check_bounds(self, depth: int, nodes: int, offset: int) -> None:
        if depth > MAX_DEPTH:
            self.stop("too-deep", f"This lies more than {MAX_DEPTH} levels deep", offset, _DEEP)
        if nodes > MAX_NODES:
            self.stop("too-large", f"The file holds more than {MAX_NODES:,} keys and values", offset, "Split it.")


def _shown(written: str) -> str:
    """The start of what is written, on one line."""
    return " ".join((written if len(written) <= 40 else f"{written[:36]}...").split())


def _decoded(raw: bytes, file: str) -> str:
    hint = "Save the file as UTF-8."
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        _Source.of("", file).stop("encoding", "The file is written in UTF-16", 0, hint)
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        before = _Source.of(raw[: error.start].decode("utf-8"), file)
        before.stop("encoding", "The file is not UTF-8 from here on", len(before.text), hint)


# -- plain scalars ----------------------------------------------------------------------------------------------------

_WORDS = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL")),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
}
_FIRST_OF_TYPED = "tTfFnN~.0123456789+-"  # every scalar that is not text starts with one of these, or is empty
_NUMBER = re.compile(
    r"[-+]?(?P<decimal>[0-9]+)|0o(?P<octal>[0-7]+)|0x(?P<hexadecimal>[0-9a-fA-F]+)"
    r"|(?P<float>[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?)"
    r"|(?P<none>[-+]?\.(?:inf|Inf|INF)|\.(?:nan|NaN|NAN))"
)
_REFUSED = object()


def _typed(plain: str) -> Any:
    """What a scalar without quotes stands for in the YAML 1.2 core schema; ``_REFUSED`` for a number out of bounds."""
    if plain in _WORDS:
        return _WORDS[plain]
    found = _NUMBER.fullmatch(plain)
    if found is None:
        return plain
    kind = found.lastgroup
    if kind == "float":
        number = float(plain)
        return number if math.isfinite(number) else _REFUSED
    if kind == "none" or len(found[kind or 0]) > MAX_DIGITS:
        return _REFUSED
    return int(plain) if kind == "decimal" else int(plain, 0)


# -- YAML -------------------------------------------------------------------------------------------------------------

# A container being filled, while one inside it is: its data, its entries, the key of the one inside, and the key that
# waits for a value once the one inside is done (only where a container stands for a key).
_Frame = tuple[Any, Entries, str | int, str | None]
_NO_KEY = "?"  # takes the place of a key that cannot be one


def _path(stack: list[_Frame], data: Any, key: str | None) -> Path:
    """The path of the value to come; of the container where its key is still to come."""
    if not stack:
        return ()
    outer = (frame[2] for frame in stack[1:])
    if key is not None:
        return (*outer, key)
    return (*outer, len(data)) if data.__class__ is list else tuple(outer)


_DIRECTIVE = re.compile(r"(?:\A|\n)(?=%(?!YAML ))")  # looked for beforehand: the parser in C is quadratic in %TAG


def _yaml_documents(source: _Source) -> tuple[Document, ...]:
    import yaml  # slow to import, and not needed for JSON

    if "%" in source.text and (directive := _DIRECTIVE.search(source.text)):
        hint = "Leave it out; text that starts with % goes in quotes, not at the start of a line."
        source.stop("tag", "A directive stands here, which is not read", directive.end(), hint)

    scalar, alias, stream_end = yaml.ScalarEvent, yaml.AliasEvent, yaml.StreamEndEvent
    mapping_start, sequence_start = yaml.MappingStartEvent, yaml.SequenceStartEvent
    ends = (yaml.MappingEndEvent, yaml.SequenceEndEvent)
    next_event = getattr(yaml, "CSafeLoader", yaml.SafeLoader)(source.text).get_event
    careful, most, deepest = source.careful, MAX_NODES, MAX_DEPTH

    documents: list[Document] = []
    stack: list[_Frame] = []
    data: Any = []  # a document counts as a list of one
    entries: Entries = {}
    in_mapping = False
    key: str | None = None
    key_offset = offset = nodes = 0
    try:
        while True:
            event = next_event()
            kind = event.__class__
            if kind is scalar:
                nodes += 1
                offset = event.start_mark.index
                if nodes > most:
                    source.check_bounds(0, nodes, offset)
                written = value = event.value
                if careful:
                    written = value = source.checked_text(value, offset, _path(stack, data, key))
                if event.anchor is not None or event.tag is not None:
                    _report_properties(source, event, offset, _path(stack, data, key))
                plain = not event.style
                if plain and value[:1] in _FIRST_OF_TYPED:
                    value = _typed(value)
                    if value is _REFUSED and (key is not None or not in_mapping):
                        source.report_number(written, offset, _path(stack, data, key))
                if in_mapping and key is None:
                    if value.__class__ is not str or (plain and value == "<<"):
                        _report_key(source, written, value, offset, _path(stack, data, written))
                        value = written
                    if value in entries:
                        source.report_duplicate(value, offset, entries[value], _path(stack, data, value))
                    key = value
                    key_offset = offset
                    continue
            elif kind is mapping_start or kind is sequence_start:
                nodes += 1
                offset = event.start_mark.index
                if nodes > most or len(stack) >= deepest:
                    source.check_bounds(len(stack) + 1, nodes, offset)
                after = None
                if in_mapping and key is None:
                    hint = "A key is one word or one line of text."
                    source.report("key-not-text", "A list or mapping stands where a key belongs", offset, hint)
                    key, key_offset, after = _NO_KEY, offset, _NO_KEY
                if event.anchor is not None or event.tag is not None:
                    _report_properties(source, event, offset, _path(stack, data, key))
                value = {} if kind is mapping_start else []
                inner: Entries = {}
                if in_mapping:
                    stack.append((data, entries, key or "", after))
                    data[key] = value
                    entries[key or ""] = (key_offset, offset, inner)
                else:
                    stack.append((data, entries, len(data), None))
                    entries[len(data)] = (offset, offset, inner)
                    data.append(value)
                data, entries, in_mapping, key = value, inner, kind is mapping_start, None
                continue
            elif kind in ends:
                data, entries, _, key = stack.pop()
                in_mapping = data.__class__ is dict
                continue
            elif kind is alias:
                offset = event.start_mark.index
                hint = "Write it out, or use a group or a coat; text that starts with * goes in quotes."
                message = f"'*{_shown(event.anchor)}' repeats another place, which is not read"
                source.report("alias", message, offset, hint, _path(stack, data, key))
                value = None
                if in_mapping and key is None:
                    key, key_offset = _NO_KEY, offset
                    continue
            elif kind is stream_end:
                return tuple(documents)
            else:
                if kind is yaml.DocumentEndEvent:
                    documents.append(Document(data[0], Places(source.line_starts, entries[0]), source.file))
                    data, entries = [], {}
                continue
            if key is not None:
                data[key] = value
                entries[key] = (key_offset, offset, None)
                key = None
            else:
                entries[len(data)] = (offset, offset, None)
                data.append(value)
    except yaml.MarkedYAMLError as error:
        _stop_at_syntax(source, error)
    except (yaml.YAMLError, ValueError, OverflowError) as error:
        if isinstance(error, InputError):
            raise
        source.stop("yaml-syntax", "From here on this cannot be read as YAML", offset)


def _report_properties(source: _Source, event: Any, offset: int, path: Path) -> None:
    if event.tag is not None:
        hint = "Leave it out; text that starts with ! goes in quotes."
        source.report("tag", f"'{_shown(event.tag)}' is a tag, which is not read", offset, hint, path)
    if event.anchor is not None:
        hint = "Leave it out, and use a group or a coat to share; text that starts with & goes in quotes."
        source.report("alias", f"'&{_shown(event.anchor)}' is an anchor, which is not read", offset, hint, path)


def _report_key(source: _Source, written: str, value: Any, offset: int, path: Path) -> None:
    if value == "<<":
        hint = "Write the keys out, or use a group or a coat to share."
        source.report("merge-key", "'<<' is a merge key, which is not read", offset, hint, path)
    elif written:
        source.report_key(written, offset, path)
    else:
        source.report("key-not-text", "There is no key before the colon", offset, "Write a key, or quotes.", path)


_BACKSLASH = 'A backslash in "..." starts something unknown here'
_UNCLOSED = "A quote is opened here and never closed"
# What the YAML parsers say (the one in C, the one in Python), and the same in plain words: a pattern of
# "context: problem", the message, the likely mend. The first that is found counts.
_SYNTAX = (
    ("nesting depth", f"This lies more than {MAX_DEPTH} levels deep", _DEEP),
    (
        "undefined tag handle|scanning a tag|scanning a directive|YAML d|TAG d",
        "A tag or directive stands here, which is not read",
        "Leave it out; put text that starts with ! or % in quotes.",
    ),
    (
        "scanning an a",
        "'*' or '&' stands here without a name, and neither is read",
        "Put text that starts with * or & in quotes.",
    ),
    (
        "quoted scalar: found unexpected",
        _UNCLOSED,
        "Close it; within '...' an apostrophe is written twice, as in 'it''s'.",
    ),
    ("scalar: .*(escape|hexdec)", _BACKSLASH, "Write the backslash twice, or use '...' instead of \"...\"."),
    ("block scalar", "Only a line break may follow '|' or '>' here", "Start the text on the next line, set in."),
    ("cannot start any token", "Text without quotes cannot start with this character", "Put the text in quotes."),
    (
        "values are not allowed",
        "A colon stands where no key can",
        "Put text with a colon in quotes; on the line before, look at the colon, the space after it, the indent.",
    ),
    ("entries are not allowed", "A list cannot start here", "Start the list on the next line, each item with '- '."),
    (
        "could not find expected ':'",
        "This line has no colon after its key",
        "Write 'key: value', with a space after the colon; indent the further lines of a text.",
    ),
    (
        "parsing a flow|node content",
        "A bracket is not closed, or a comma is missing or too many",
        "Every [ needs its ], every { its }, with commas between.",
    ),
    (
        "parsing a block",
        "This does not line up with what stands above it",
        "Indent all keys of a mapping, or all items of a list, by equally many spaces; quote a text as a whole.",
    ),
    (
        "document start",
        "Something is left over after the end of the document",
        "Delete it, or start a new document with a line '---'.",
    ),
)


def _stop_at_syntax(source: _Source, error: Any) -> NoReturn:
    """Ends the reading with a parser's error, in plain words."""
    said = f"{error.context}: {error.problem}"
    message, hint = "From here on this cannot be read as YAML", "Look for a missing quote, bracket or colon."
    for pattern, plain_message, mend in _SYNTAX:
        if re.search(pattern, said):
            message, hint = plain_message, mend
            break
    mark = error.problem_mark
    if error.context_mark and (message == _UNCLOSED or "simple key" in said):
        mark = error.context_mark  # the mend is where it starts, not where the parser gave up
    code = "too-deep" if "nesting depth" in said else "tag" if message.startswith("A tag") else "yaml-syntax"
    source.stop(code, message, mark.index if mark else 0, hint)


# -- JSON -------------------------------------------------------------------------------------------------------------

_JSON_TOKEN = re.compile(
    r"""[ \t\n]*(?:
      (?P<text>"[^"\\\x00-\x1f]*(?:\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4})[^"\\\x00-\x1f]*)*")
    | (?P<plain>(?:-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][-+]?[0-9]+)?|true|false|null)(?![\w.+-]))
    | (?P<mark>[][{},:])
    | (?P<end>\Z))""",
    re.VERBOSE,
)
_EXPECTED = {
    "value": "a value",
    "first": "a value or the closing bracket",
    "key": "a key in double quotes",
    "colon": "a colon",
    "more": "a comma or the closing bracket",
    "end": "nothing more",
}


def _distinct(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    data = dict(pairs)
    if len(data) < len(pairs):
        raise ValueError("a key stands twice")
    return data


def _usable(number: str) -> int | float:
    value = _typed(number)
    if isinstance(value, int | float):
        return value
    raise ValueError("a number out of bounds, or NaN")


_QUICK = json.JSONDecoder(object_pairs_hook=_distinct, parse_int=_usable, parse_float=_usable, parse_constant=_usable)


def _quick_json(text: str) -> Any:
    """The data of a text in which nothing is wrong, without places, 20 times as fast; otherwise ``_REFUSED``."""
    try:
        data = _QUICK.decode(text)
    except (ValueError, RecursionError):
        return _REFUSED
    containers: list[Any] = [[data]]
    for _ in range(MAX_DEPTH + 1):
        containers = [
            inner
            for outer in containers
            for inner in (outer.values() if outer.__class__ is dict else outer)
            if inner.__class__ is dict or inner.__class__ is list
        ]
    return _REFUSED if containers else data


def _json_entry(source: _Source) -> tuple[Any, Entry]:
    """The data with their places, token by token."""
    text, match = source.text, _JSON_TOKEN.match
    stack: list[_Frame] = []
    data: Any = []  # the document counts as a list of one
    entries: Entries = {}
    in_mapping = False
    key: str | None = None
    key_offset = position = nodes = 0
    expected = "value"
    while True:
        found = match(text, position)
        if found is None:
            _stop_at_json(source, expected, position)
        kind = found.lastgroup or ""
        token = found[kind]
        offset = found.start(kind)
        if kind == "text" or kind == "plain":
            nodes += 1
            source.check_bounds(0, nodes, offset)
            if expected == "first":
                expected = "key" if in_mapping else "value"
            if expected == "key":
                key_offset = offset
                key = token
                if kind == "plain":
                    source.report_key(token, offset, _path(stack, data, token))
                else:
                    key = _json_text(source, token, offset, _path(stack, data, None))
                if key in entries:
                    source.report_duplicate(key, offset, entries[key], _path(stack, data, key))
                expected = "colon"
            elif expected == "value":
                where = len(data) if key is None else key
                value: Any
                if kind == "plain":
                    value = _typed(token)
                    if value is _REFUSED:
                        source.report_number(token, offset, _path(stack, data, key))
                else:
                    value = _json_text(source, token, offset, _path(stack, data, key))
                entries[where] = (offset if key is None else key_offset, offset, None)
                if key is None:
                    data.append(value)
                else:
                    data[key] = value
                    key = None
                expected = "more" if stack else "end"
            else:
                _stop_at_json(source, expected, position)
        elif token in ("{", "[") and (expected == "value" or (expected == "first" and not in_mapping)):
            nodes += 1
            source.check_bounds(len(stack) + 1, nodes, offset)
            where = len(data) if key is None else key
            inner: Entries = {}
            child: Any = {} if token == "{" else []
            entries[where] = (offset if key is None else key_offset, offset, inner)
            if key is None:
                data.append(child)
            else:
                data[key] = child
            stack.append((data, entries, where, None))
            data, entries, in_mapping, key = child, inner, token == "{", None
            expected = "first"
        elif token == ("}" if in_mapping else "]") and stack and expected in ("first", "more"):
            data, entries, _, key = stack.pop()
            in_mapping = data.__class__ is dict
            expected = "more" if stack else "end"
        elif token == "," and expected == "more":
            expected = "key" if in_mapping else "value"
        elif token == ":" and expected == "colon":
            expected = "value"
        elif kind == "end" and expected == "end":
            return data[0], entries[0]
        else:
            _stop_at_json(source, expected, position)
        position = found.end()


def _json_text(source: _Source, token: str, offset: int, path: Path) -> str:
    return source.checked_text(json.loads(token) if "\\" in token else token[1:-1], offset, path)


def _stop_at_json(source: _Source, expected: str, position: int) -> NoReturn:
    """Ends the reading with what was expected after ``position`` and what stands there."""
    text = source.text
    offset = position + len(text[position:]) - len(text[position:].lstrip(" \t\n"))
    found = re.compile(r"[\w.+-]{1,24}|.?").match(text, offset)
    word = found[0] if found else ""
    if word in ("NaN", "Infinity", "-Infinity"):
        source.report_number(word, offset, ())
        source.raise_problems()
    if not word:
        hint = "Every [ needs its ], every { its }."
    elif word in "]}":
        hint = "Delete the comma before it." if expected in ("key", "value") else "Every [ needs its ], every { its }."
    elif word == '"':
        hint = 'Close the text with " on the same line; write a line break in it as \\n, a backslash as \\\\.'
    elif word in "#/":
        hint = "JSON has no comments: delete it."
    elif word[0] in "+-.0123456789":
        hint = "Write numbers as 10, -3 or 0.5."
    else:
        hint = "Put text and keys in double quotes; write true, false and null in small letters."
    shown = f"'{word}' stands here" if word else "the file ends here"
    source.stop("json-syntax", f"Expected {_EXPECTED[expected]}, but {shown}", offset, hint)
