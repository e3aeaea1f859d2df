"""YAML from its parse events, filled into plain data with the place of each value."""

from __future__ import annotations

import re
from typing import Any, NoReturn

from coatrules.problems import InputError, Path
from coatrules.reading.places import Document, Places
from coatrules.reading.source import (
    DEEP,
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
        hint = "Leave it out; text that starts with % goes in quotes, not at the start of a line."
        source.stop("tag", "A directive stands here, which is not read", directive.end(), hint)

    scalar, alias, stream_end = yaml.ScalarEvent, yaml.AliasEvent, yaml.StreamEndEvent
    mapping_start, sequence_start = yaml.MappingStartEvent, yaml.SequenceStartEvent
    ends = (yaml.MappingEndEvent, yaml.SequenceEndEvent)
    next_event = getattr(yaml, "CSafeLoader", yaml.SafeLoader)(source.text).get_event
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
                    if value.__class__ is not str or (plain and value == "<<"):
                        _report_key(source, text, value, offset, path_of(stack, data, text))
                        value = text
                    if value in entries:
                        source.report_duplicate(value, offset, entries[value], path_of(stack, data, value))
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
                hint = "Write it out, or use a group or a coat; text that starts with * goes in quotes."
                message = f"'*{shown_start(event.anchor)}' repeats another place, which is not read"
                source.report("alias", message, offset, hint, path_of(stack, data, key))
                value = None
                if in_mapping and key is None:
                    key, key_offset = NO_KEY, offset
                    continue
            elif kind is stream_end:
                return tuple(documents)
            else:
                if kind is yaml.DocumentEndEvent:
                    if len(documents) == MAX_DOCUMENTS:
                        source.stop(
                            "too-large", f"More than {MAX_DOCUMENTS:,} documents stand here", offset, "Split it."
                        )
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


def _report_properties(source: Source, event: Any, offset: int, path: Path) -> None:
    if event.tag is not None:
        hint = "Leave it out; text that starts with ! goes in quotes."
        source.report("tag", f"'{shown_start(event.tag)}' is a tag, which is not read", offset, hint, path)
    if event.anchor is not None:
        hint = "Leave it out, and use a group or a coat to share; text that starts with & goes in quotes."
        source.report("alias", f"'&{shown_start(event.anchor)}' is an anchor, which is not read", offset, hint, path)


def _report_key(source: Source, text: str, value: Any, offset: int, path: Path) -> None:
    if value == "<<":
        hint = "Write the keys out, or use a group or a coat to share."
        source.report("merge-key", "'<<' is a merge key, which is not read", offset, hint, path)
    elif text:
        source.report_key(text, offset, path)
    else:
        source.report("key-not-text", "There is no key before the colon", offset, "Write a key, or quotes.", path)


_BACKSLASH = 'A backslash in "..." starts something unknown here'
_UNCLOSED = "A quote is opened here and never closed"
# What the YAML parsers say (the one in C, the one in Python), and the same in plain words: a pattern of
# "context: problem", the message, the likely mend. The first that is found counts.
_SYNTAX = (
    ("nesting depth", f"This lies more than {MAX_DEPTH} levels deep", DEEP),
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


def _stop_at_syntax(source: Source, error: Any) -> NoReturn:
    """Ends the reading with a parser's error, in plain words."""
    parser_message = f"{error.context}: {error.problem}"
    message, hint = "From here on this cannot be read as YAML", "Look for a missing quote, bracket or colon."
    for pattern, plain_message, mend in _SYNTAX:
        if re.search(pattern, parser_message):
            message, hint = plain_message, mend
            break
    mark = error.problem_mark
    if error.context_mark and (message == _UNCLOSED or "simple key" in parser_message):
        mark = error.context_mark  # the mend is where it starts, not where the parser gave up
    code = "too-deep" if "nesting depth" in parser_message else "tag" if message.startswith("A tag") else "yaml-syntax"
    source.stop(code, message, mark.index if mark else 0, hint)
