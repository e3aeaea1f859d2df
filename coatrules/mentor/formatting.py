"""Sets a profile out in one way, and loses nothing: keys in the schema's order, one blank line at most, plain numbers.

Works on the text, not on the data, so that comments, quotes and line breaks inside values stay as they were written. A
comment above a key goes with the key, one behind a value with the value; what stands above the first key stays on top. The
ids of a profile (its regions, rules, cases ...) keep their order: it is the author's, and that of regions is the walk.
What comes out is read again and compared with what went in: same data, same comments, or nothing is changed.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any, Final

import yaml

from coatrules.formats.resources import whole_schema
from coatrules.mentor.one_line import in_one_line
from coatrules.mentor.shorter_cases import shortened, shorter
from coatrules.problems import InputError, Problem
from coatrules.reading import read_yaml

_DECIMAL: Final = re.compile(r"-?\d+\.\d+")
_COMMENT: Final = re.compile(r"#[^\n]*")


def tidied(text: str, file: str = "<text>") -> str:
    """The text of a profile set out alike, its lines ended as most of them were; ``InputError`` where it cannot be read, or not be
    set out without loss."""
    before = read_yaml(text, file)
    if len(before) != 1:
        raise InputError([Problem(code="not-one-document", params={"count": len(before)}, file=file)])
    windows = text.count("\r\n") * 2 > text.count("\n")
    text = text.removeprefix("\ufeff").replace("\r\n", "\n")
    text = text if text.endswith("\n") else text + "\n"
    if _composed(text) is None:
        return text.replace("\n", "\r\n") if windows else text
    # What is set in one line has its keys put in order then; and a plain number may be what lets it fit.
    output = _blocks(_inline(in_one_line(_inline(shorter(text, before[0].data)))))
    if not _same(before[0].data, read_yaml(output, file)[0].data) or comments(output) != comments(text):
        raise InputError([Problem(code="not-tidied", file=file)])
    return output.replace("\n", "\r\n") if windows else output


def comments(text: str) -> Counter[str]:
    """All comments of a YAML text, trailing spaces aside. What lies between two tokens is space and comments only."""
    tokens = list(yaml.scan(text, Loader=yaml.SafeLoader))
    gaps = (text[before.end_mark.index : after.start_mark.index] for before, after in pairwise(tokens))
    last = text[tokens[-1].end_mark.index :] if tokens else text
    return Counter(comment.rstrip() for gap in (*gaps, last) for comment in _COMMENT.findall(gap))


def _composed(text: str) -> yaml.Node | None:
    node: yaml.Node | None = yaml.compose(text, Loader=yaml.SafeLoader)
    return node if isinstance(node, yaml.MappingNode) and node.value and not node.flow_style else None


def _same(first: Any, second: Any) -> bool:
    """Whether data are the same, the order of keys counting only where a profile has ids."""
    first, second = (shortened(data) for data in (first, second))
    return bool(first == second) and repr(_ordered(first, whole_schema("profile"))) == repr(
        _ordered(second, whole_schema("profile"))
    )


def _ordered(data: Any, about: Any) -> Any:
    if isinstance(data, Mapping):
        keys = sorted(data) if _is_closed(about) else list(data)
        return {key: _ordered(data[key], _below(about, key)) for key in keys}
    return data


# --- the order of keys ----------------------------------------------------------------------------------------------


def _resolved(about: Any) -> Any:
    while isinstance(about, Mapping) and "$ref" in about:
        about = whole_schema("profile")["$defs"][about["$ref"].rpartition("/")[2]]
    return about if isinstance(about, Mapping) else {}


def _is_closed(about: Any) -> bool:
    return _resolved(about).get("additionalProperties") is False


def _below(about: Any, key: Any) -> Any:
    about = _resolved(about)
    return about.get("properties", {}).get(key, about.get("additionalProperties", {}))


def _key_order(node: yaml.MappingNode, about: Any) -> list[int]:
    """The entries of a mapping in the order in which they should stand."""
    if not _is_closed(about):
        return list(range(len(node.value)))
    schema_keys = list(_resolved(about)["properties"])
    keys = [key.value for key, _ in node.value]
    return sorted(
        range(len(keys)),
        key=lambda index: schema_keys.index(keys[index]) if keys[index] in schema_keys else len(schema_keys),
    )


# --- within lines: numbers, and mappings in braces ------------------------------------------------------------------


def _inline(text: str) -> str:
    root, pieces, end = yaml.compose(text, Loader=yaml.SafeLoader), [], 0
    assert root is not None  # it has been read
    for node, about in _outermost(root, whole_schema("profile")):
        pieces += [text[end : node.start_mark.index], _render(text, node, about)]
        end = node.end_mark.index
    return "".join([*pieces, text[end:]])


def _outermost(node: yaml.Node, about: Any) -> Iterator[tuple[yaml.Node, Any]]:
    """The values that stand within lines: scalars and what is in brackets, in the order of the text."""
    if isinstance(node, yaml.CollectionNode) and not node.flow_style:
        if isinstance(node, yaml.MappingNode):
            for key, value in node.value:
                yield from _outermost(value, _below(about, key.value))
        else:
            for item in node.value:
                yield from _outermost(item, {})
    else:
        yield node, about


def _render(text: str, node: yaml.Node, about: Any) -> str:
    node_text = text[node.start_mark.index : node.end_mark.index]
    if isinstance(node, yaml.ScalarNode):
        if node.style is None and _DECIMAL.fullmatch(node_text):
            whole, _, decimals = node_text.partition(".")
            return f"{whole}.{decimals.rstrip('0') or '0'}"
        return node_text
    if not node.value or ("#" in node_text and comments(node_text)):
        return node_text
    if isinstance(node, yaml.MappingNode):
        spans = [(key.start_mark.index, value.end_mark.index) for key, value in node.value]
        parts = [
            text[key.start_mark.index : value.start_mark.index] + _render(text, value, _below(about, key.value))
            for key, value in node.value
        ]
        order = _key_order(node, about)
    else:
        spans = [(item.start_mark.index, item.end_mark.index) for item in node.value]
        parts = [_render(text, item, {}) for item in node.value]
        order = list(range(len(parts)))
    between = [text[before[1] : after[0]] for before, after in pairwise(spans)]
    pieces = [text[node.start_mark.index : spans[0][0]]]
    for index, gap in zip(order, [*between, text[spans[-1][1] : node.end_mark.index]], strict=True):
        pieces += [parts[index], gap]
    return "".join(pieces)


# --- whole lines: the entries of mappings without braces ------------------------------------------------------------


def _blocks(text: str) -> str:
    root = _composed(text)
    assert isinstance(root, yaml.MappingNode)  # it was one before, and no value has changed its kind
    lines = text.split("\n")
    for line in set(range(len(lines))) - set(_within_values(root)):
        lines[line] = lines[line].rstrip()
    first = root.value[0][0].start_mark.line
    output = _trimmed(lines[:first])
    for entry in _entries(lines, root, whole_schema("profile"), first):
        output += entry
    output += _trimmed(lines[_last_line(root, lines) + 1 :])
    return "\n".join(output).rstrip() + "\n"


def _entries(lines: list[str], node: yaml.MappingNode, about: Any, start: int) -> Iterator[list[str]]:
    """The lines of each entry, what stands above it included, in the order in which they should stand."""
    entries = []
    for key, value in node.value:
        first, last = key.start_mark.line, _last_line(value, lines)
        entry_lines = lines[first : last + 1]
        inside = isinstance(value, yaml.MappingNode) and not value.flow_style and value.value
        if inside and value.value[0][0].start_mark.line > first:
            below = _entries(lines, value, _below(about, key.value), first + 1)
            entry_lines = [lines[first], *(line for entry in below for line in entry)]
        entries.append([*_trimmed(lines[start:first]), *entry_lines])
        start = last + 1
    for index in _key_order(node, about):
        yield entries[index]


def _trimmed(above: list[str]) -> list[str]:
    """Comments and blank lines with no two blank ones in a row."""
    return [line for index, line in enumerate(above) if line or not index or above[index - 1]]


def _last_line(node: yaml.Node, lines: list[str]) -> int:
    if isinstance(node, yaml.CollectionNode) and not node.flow_style:
        last = node.value[-1]
        return _last_line(last[1] if isinstance(last, tuple) else last, lines)
    line: int = node.end_mark.line
    if isinstance(node, yaml.ScalarNode) and node.style in ("|", ">") and node.end_mark.column == 0:
        line -= 1
        keeps_blanks = (
            "+" in lines[node.start_mark.line][node.start_mark.column :].partition("#")[0]
        )  # blank lines at its end count
        while not keeps_blanks and line > node.start_mark.line and not lines[line].strip():
            line -= 1
    return line


def _within_values(node: yaml.Node) -> Iterator[int]:
    """The lines on which a text goes on to the next: spaces at their ends may belong to it."""
    if isinstance(node, yaml.ScalarNode):
        yield from range(node.start_mark.line, node.end_mark.line)
    elif isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            yield from _within_values(key)
            yield from _within_values(value)
    elif isinstance(node, yaml.SequenceNode):
        for item in node.value:
            yield from _within_values(item)
