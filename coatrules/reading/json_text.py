"""JSON, quickly where nothing is wrong in it; token by token, with places, where something is or a place is asked for."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from functools import cache
from math import isfinite
from typing import Any, NoReturn

from coatrules.catalogue.message import message
from coatrules.problems import Path
from coatrules.reading.source import MAX_DEPTH, MAX_WHOLE, REFUSED, Entries, Entry, Frame, Source, path_of, typed

_JSON_TOKEN = re.compile(
    r"""[ \t\n]*(?:
      (?P<text>"[^"\\\x00-\x1f]*(?:\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4})[^"\\\x00-\x1f]*)*")
    | (?P<plain>(?:-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?(?:[eE][-+]?[0-9]+)?|true|false|null)(?![\w.+-]))
    | (?P<mark>[][{},:])
    | (?P<end>\Z))""",
    re.VERBOSE,
)

_CERTAIN_DIGITS = len(str(MAX_WHOLE)) - 1
"""An integer of so many digits is never too large; with one more it may be."""


def _distinct(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    data = dict(pairs)
    if len(data) < len(pairs):
        raise ValueError(pairs)
    return data


def _whole(number: str) -> int:
    if len(number.removeprefix("-")) > _CERTAIN_DIGITS + 1 or abs(value := int(number)) > MAX_WHOLE:
        raise ValueError(number)
    return value


def _finite(number: str) -> float:
    value = float(number)
    if not isfinite(value):
        raise ValueError(number)
    return value


_standard = json.JSONDecoder(
    object_pairs_hook=_distinct, parse_int=_whole, parse_float=_finite, parse_constant=_finite
).decode
_KEY = re.compile(r'"[ \t\n]*:')
_DIGITS = str.maketrans("123456789", "0" * 9)


def quick_json(text: str) -> Any:
    """The data of a text in which nothing is wrong, without places, 20 times as fast; otherwise ``REFUSED``."""
    if (decode := _msgspec()) is not None and (data := _by_msgspec(text, decode)) is not REFUSED:
        return data
    try:
        data = _standard(text)
    except (ValueError, RecursionError):
        return REFUSED
    return REFUSED if _keys(data) is None else data


@cache
def _msgspec() -> Callable[[str], Any] | None:
    """The decoder that comes with the extra ``fleet``."""
    try:
        from msgspec.json import decode
    except ImportError:
        return None
    return decode


def _by_msgspec(text: str, decode: Callable[[str], Any]) -> Any:
    """The data as the standard library reads them; ``REFUSED`` where that cannot be told, which is seldom."""
    if "0" * (_CERTAIN_DIGITS + 1) in text.translate(_DIGITS):
        return REFUSED
    try:
        data = decode(text)
    except (ValueError, RecursionError):
        return REFUSED
    # It lets the last of two equal keys win. Every key is followed by a colon: if no more look like one, none was lost.
    return data if _keys(data) == len(_KEY.findall(text)) else REFUSED


def _keys(data: Any) -> int | None:
    """How many keys there are, within and within; None for what lies too deep."""
    keys = 0
    containers: list[Any] = [[data]]
    for _ in range(MAX_DEPTH + 1):
        keys += sum([len(outer) for outer in containers if outer.__class__ is dict])
        containers = [
            inner
            for outer in containers
            for inner in (outer.values() if outer.__class__ is dict else outer)
            if inner.__class__ is dict or inner.__class__ is list
        ]
        if not containers:
            return keys
    return None


def json_entry(source: Source) -> tuple[Any, Entry]:
    """The data with their places, token by token."""
    text, next_token = source.text, _JSON_TOKEN.match
    stack: list[Frame] = []
    data: Any = []  # the document counts as a list of one
    entries: Entries = {}
    in_mapping = False
    key: str | None = None
    key_offset = position = nodes = 0
    expected = "value"
    while True:
        match = next_token(text, position)
        if match is None:
            _stop_at_json(source, expected, position)
        kind = match.lastgroup or ""
        token = match[kind]
        offset = match.start(kind)
        if kind == "text" or kind == "plain":
            nodes += 1
            source.check_bounds(0, nodes, offset)
            if expected == "first":
                expected = "key" if in_mapping else "value"
            if expected == "key":
                key_offset = offset
                key = token
                if kind == "plain":
                    source.report_key(token, offset, path_of(stack, data, token))
                else:
                    key = _json_text(source, token, offset, path_of(stack, data, None))
                if key in entries:
                    source.report_duplicate(key, offset, data, entries, path_of(stack, data, key))
                expected = "colon"
            elif expected == "value":
                where = len(data) if key is None else key
                value: Any
                if kind == "plain":
                    value = typed(token)
                    if value is REFUSED:
                        source.report_number(token, offset, path_of(stack, data, key))
                else:
                    value = _json_text(source, token, offset, path_of(stack, data, key))
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
        position = match.end()


def _json_text(source: Source, token: str, offset: int, path: Path) -> str:
    return source.checked_text(json.loads(token) if "\\" in token else token[1:-1], offset, path)


def _stop_at_json(source: Source, expected: str, position: int) -> NoReturn:
    """Ends the reading with what was expected after ``position`` and what stands there."""
    text = source.text
    offset = position + len(text[position:]) - len(text[position:].lstrip(" \t\n"))
    match = re.compile(r"[\w.+-]{1,24}|.?").match(text, offset)
    word = match[0] if match else ""
    if word in ("NaN", "Infinity", "-Infinity"):
        source.report_number(word, offset, ())
        source.raise_problems()
    params = {"expected": message(f"json-expected.{expected}"), "found": word}
    if not word:
        source.stop("json-end", offset, params)
    if word in "]}":
        fix = "comma" if expected in ("key", "value") else "brackets"
    elif word == '"':
        fix = "quote"
    elif word in "#/":
        fix = "comment"
    elif word[0] in "+-.0123456789":
        fix = "number"
    else:
        fix = "words"
    source.stop("json-syntax", offset, params, fix=message(f"json-syntax.fix-{fix}"))
