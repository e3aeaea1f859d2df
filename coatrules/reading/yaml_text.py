"""YAML from its parse events, filled into plain data with the place of each value."""

from __future__ import annotations

import re
from typing import Any, NoReturn

from coatrules.catalogue.message import message
from coatrules.problems import InputError, Path
from coatrules.reading.characters import odd_structure
from coatrules.reading.places import Document, Places
from coatrules.reading.source import (
    FIRST_OF_TYPED,
    MAX_DEPTH,
    MAX_DOCUMENTS,
    MAX_NODES,
    NO_KEY,
    REFUSED,
    Entries,
    Frame,
    Source,
    path_of,
    shown_start,
    typed,
)

_DIRECTIVE = re.compile(r"(?:\A|\n)(?=%(?!YAML ))")  # looked for beforehand: the parser in C is quadratic in %TAG


def yaml_documents(source: Source) -> tuple[Document, ...]:
    import yaml  # slow to import, and not needed for JSON

    if "%" in source.text and (directive := _DIRECTIVE.search(source.text)):
        text = source.text[directive.end() :].partition("\n")[0]
        source.stop("directive", directive.end(), {"directive": shown_start(text)})

    scalar, alias, stream_end = yaml.ScalarEvent, yaml.AliasEvent, yaml.StreamEndEvent
    mapping_start, sequence_start = yaml.MappingStartEvent, yaml.SequenceStartEvent
    ends = (yaml.MappingEndEvent, yaml.SequenceEndEvent)
    next_event = getattr(yaml, "CSafeLoader", yaml.SafeLoader)(source.text).get_event
    questions = (
        "?" in source.text
    )  # within brackets the parser takes '?foo' for a key 'foo', YAML 1.2 (7.3.3) for '?foo'
    careful, most, deepest = source.careful, MAX_NODES, MAX_DEPTH

    documents: list[Document] = []
    stack: list[Frame] = []
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
                text = value = event.value
                if careful:
                    text = value = source.checked_text(value, offset, path_of(stack, data, key))
                if event.anchor is not None or event.tag is not None:
                    _report_properties(source, event, offset, path_of(stack, data, key))
                plain = not event.style
                if plain and value[:1] in FIRST_OF_TYPED:
                    value = typed(value)
                    if value is REFUSED and (key is not None or not in_mapping):
                        source.report_number(text, offset, path_of(stack, data, key))
                if in_mapping and key is None:
                    if questions and text and offset and source.text[offset - 1] == "?":
                        source.report("yaml-question-mark", offset - 1, path=path_of(stack, data, text))
                    if value.__class__ is not str or (plain and value == "<<"):
                        _report_key(source, text, value, offset, path_of(stack, data, text))
                        value = text
                    if value in entries:
                        source.report_duplicate(value, offset, data, entries, path_of(stack, data, value))
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
                    source.report("key-not-a-word", offset)
                    key, key_offset, after = NO_KEY, offset, NO_KEY
                if event.anchor is not None or event.tag is not None:
                    _report_properties(source, event, offset, path_of(stack, data, key))
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
                source.report("alias", offset, {"alias": shown_start(event.anchor)}, path=path_of(stack, data, key))
                value = None
                if in_mapping and key is None:
                    key, key_offset = NO_KEY, offset
                    continue
            elif kind is stream_end:
                return tuple(documents)
            else:
                if kind is yaml.DocumentEndEvent:
                    if len(documents) == MAX_DOCUMENTS:
                        source.stop("too-many-documents", offset, {"most": MAX_DOCUMENTS})
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
        source.stop("yaml-syntax", offset)


def _report_properties(source: Source, event: Any, offset: int, path: Path) -> None:
    if event.tag is not None:
        source.report("tag", offset, {"tag": shown_start(event.tag)}, path=path)
    if event.anchor is not None:
        source.report("anchor", offset, {"anchor": shown_start(event.anchor)}, path=path)


def _report_key(source: Source, text: str, value: Any, offset: int, path: Path) -> None:
    if value == "<<":
        source.report("merge-key", offset, path=path)
    elif text:
        source.report_key(text, offset, path)
    else:
        source.report("no-key", offset, path=path)


# What the YAML parsers say (the one in C, the one in Python) as a pattern of "context: problem", and the code of it.
# The first that is found counts.
_SYNTAX = (
    ("nesting depth", "too-deep"),
    ("undefined tag handle|scanning a tag|scanning a directive|YAML d|TAG d", "tag-or-directive"),
    ("scanning an a", "anchor-without-name"),
    ("quoted scalar: found unexpected", "yaml-quote"),
    ("scalar: .*(escape|hexdec)", "yaml-backslash"),
    ("block scalar", "yaml-block-text"),
    ("cannot start any token", "yaml-first-character"),
    ("values are not allowed", "yaml-colon"),
    ("entries are not allowed", "yaml-list-start"),
    ("could not find expected ':'", "yaml-no-colon"),
    ("parsing a flow|node content", "yaml-bracket"),
    ("parsing a block", "yaml-indentation"),
    ("document start", "yaml-after-end"),
)


def _stop_at_syntax(source: Source, error: Any) -> NoReturn:
    """Ends the reading with a parser's error, in plain words."""
    parser_message = f"{error.context}: {error.problem}"
    code = next((code for pattern, code in _SYNTAX if re.search(pattern, parser_message)), "yaml-syntax")
    mark = error.problem_mark
    if error.context_mark and (code == "yaml-quote" or "simple key" in parser_message):
        mark = error.context_mark  # it is to be fixed where it starts, not where the parser gave up
    if code == "yaml-bracket" and mark and error.context_mark and error.context_mark.line < mark.line:
        mark = error.context_mark  # the bracket that is left open
    index = mark.index if mark else 0
    _stop_at_typography(source, index)
    if code == "yaml-bracket":
        _stop_at_comment(source, index)
    if code == "yaml-colon":
        _stop_at_colon(source, index)
    if code in ("yaml-indentation", "yaml-bracket", "yaml-quote"):
        _stop_at_apostrophe(source, index)
    fix = None
    if code in ("yaml-first-character", "yaml-block-text") and (
        sign := _SIGN.search(source.text, max(0, index - 1), index + 20)
    ):
        keyword = "minimum" if sign[1] else "exclusiveMinimum"
        fix = message("yaml-comparison.fix", keyword=keyword, number=sign[2])
    source.stop(code, index, {"most": MAX_DEPTH} if code == "too-deep" else {}, fix=fix)


_JOINED = re.compile(r" *([a-z][a-z0-9_-]*):([^\s:/][^:]*)")


def _stop_at_colon(source: Source, index: int) -> None:
    """Ends the reading at a key that no space parts from its value, on the line above the one where a parser gave up."""
    last = source.line(min(index, len(source.text)))
    line = source.text.split("\n")[last - 2] if last > 1 else ""
    if (joined := _JOINED.fullmatch(line)) is not None:
        fix = message("fix.colon", key=joined[1], value=joined[2].strip())
        source.stop("yaml-colon-joined", source.line_starts[last - 2] + joined.start(1), {"key": joined[1]}, fix=fix)


_APOSTROPHE = re.compile(r": +'[^']*'(?=\w)")


def _stop_at_apostrophe(source: Source, index: int) -> None:
    """Ends the reading at an apostrophe that ends a text in single quotes before its time."""
    number = source.line(min(index, len(source.text)))
    text = _APOSTROPHE.search(source.text.split("\n")[number - 1])
    if text is not None:
        source.stop("yaml-apostrophe", source.line_starts[number - 1] + text.end() - 1)


_SIGN = re.compile(r">(=?) *(\d+(?:\.\d+)?)")


_LINES_BACK = 20
"""How far above the place where a parser gave up a bracket is looked for that a comment leaves open."""


def _stop_at_comment(source: Source, index: int) -> None:
    """Ends the reading at a '#' within brackets that are closed behind it: the rest of its line is a comment."""
    last = source.line(min(index, len(source.text)))
    lines = source.text.split("\n")
    for number in range(last, max(0, last - _LINES_BACK), -1):
        before, hash_sign, behind = lines[number - 1].partition(" #") if number <= len(lines) else ("", "", "")
        opened = sum(map(before.count, "[{")) - sum(map(before.count, "]}"))
        if hash_sign and opened > 0 and not {"'", '"'} & {*before} and {"]", "}"} & {*behind}:
            source.stop("yaml-comment-in-brackets", source.line_starts[number - 1] + len(before) + 1)


def _stop_at_typography(source: Source, index: int) -> None:
    """Ends the reading at a curled quote or an odd space on the line where a parser gave up, or on one of the few before it."""
    last = source.line(min(index, len(source.text)))
    lines = source.text.split("\n")
    for number in range(last, max(0, last - 3), -1):
        if number > len(lines) or (number < last and _reads_alone(lines[number - 1])):
            continue
        if (odd := odd_structure(lines[number - 1])) is not None:
            kind = odd.lastgroup or "space"
            offset = source.line_starts[number - 1] + odd.start(kind)
            code = {"quote": "curled-quote", "dash": "odd-dash"}.get(kind, "odd-space")
            source.stop(code, offset, {"character": odd[kind], "codepoint": f"U+{ord(odd[kind]):04X}"})


def _reads_alone(line: str) -> bool:
    """Whether a line can be read by itself, so that what ends the reading further down is not its doing."""
    import yaml

    try:
        return any(True for _ in yaml.parse(line.strip())) and line.count("{") == line.count("}")
    except yaml.YAMLError:
        return False
