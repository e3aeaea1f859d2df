"""Sets what fits in one line into one: a mapping or a list of a profile, in braces or brackets.

A section keeps a line for each of its entries, what says why (``because``) a line for that, and what is nested deeper than one can
read at a glance its own lines. What has a comment inside, or a text over several lines, stays as it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain
from typing import Final

import yaml

WIDTH: Final = 120
"""Characters of a line."""
DEEPEST: Final = 3
"""Mappings within each other in one line."""
_UNQUOTED: Final = frozenset(",[]{}#")
"""What means something else within braces."""
_WHY: Final = frozenset(("because", "about"))


def in_one_line(text: str) -> str:
    """The text of a profile with each value in one line that fits there."""
    pieces, end = [], 0
    for start, stop, new in _edits(text, yaml.compose(text, Loader=yaml.SafeLoader), ()):
        pieces += [text[end:start], new]
        end = stop
    return "".join([*pieces, text[end:]])


def _edits(text: str, node: yaml.Node | None, path: tuple[str, ...]) -> Iterator[tuple[int, int, str]]:
    """What is to be set anew: from where to where, and how; in the order of the text."""
    if not isinstance(node, yaml.CollectionNode) or node.flow_style:
        return
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            inner = (*path, str(key.value))
            start, head = key.end_mark.index, ": "
            if not _is_section(inner, value) and (line := _line(text, key, value, head)) is not None:
                yield start, value_end(value), line
            else:
                yield from _edits(text, value, inner)
    else:
        for item in node.value:
            if (line := _line(text, item, item, "")) is not None:
                yield item.start_mark.index, value_end(item), line
            else:
                yield from _edits(text, item, path)


def _is_section(path: tuple[str, ...], value: yaml.Node) -> bool:
    """Whether a path leads to entries that each have a line of their own: those of the file, or of a regime."""
    at = path[2:] if path[0] == "regimes" else path
    return len(at) < 1 or (len(at) == 1 and isinstance(value, yaml.MappingNode) and at[0] not in ("visit", "breed"))


def _line(text: str, first: yaml.Node, value: yaml.Node, head: str) -> str | None:
    """A value in one line, after the ``head`` that stands between it and its key; None where it is in one, or cannot be."""
    start, end = first.start_mark.index, value_end(value)
    if "\n" not in text[start:end] or not isinstance(value, yaml.CollectionNode) or _depth(value) > DEEPEST:
        return None
    rest = text[end:].partition("\n")[0]
    if "#" in text[start:end] or rest.strip():
        return None
    flow = _flow(text, value)
    if flow is None:
        return None
    before = first.start_mark.column + (len(text[start : first.end_mark.index]) if head else 0)
    return f"{head}{flow}" if before + len(head) + len(flow) <= WIDTH else None


def _flow(text: str, node: yaml.Node) -> str | None:
    """A value as it is written within a line; None where it cannot be."""
    if isinstance(node, yaml.MappingNode):
        if any(key.value in _WHY for key, _ in node.value):
            return None
        pairs = [(_flow(text, key), _flow(text, value)) for key, value in node.value]
        if any(part is None for part in chain.from_iterable(pairs)):
            return None
        return "{" + ", ".join(f"{key}: {value}" for key, value in pairs) + "}"
    if isinstance(node, yaml.SequenceNode):
        items = [_flow(text, item) for item in node.value]
        return None if None in items else "[" + ", ".join(item or "" for item in items) + "]"
    written = text[node.start_mark.index : node.end_mark.index]
    plain = isinstance(node, yaml.ScalarNode) and node.style is None
    return None if "\n" in written or not written or (plain and not _UNQUOTED.isdisjoint(written)) else written


def _depth(node: yaml.Node) -> int:
    """How many mappings lie within each other."""
    if isinstance(node, yaml.MappingNode):
        return 1 + max((_depth(value) for _, value in node.value), default=0)
    if isinstance(node, yaml.SequenceNode):
        return max(map(_depth, node.value), default=0)
    return 0


def value_end(node: yaml.Node) -> int:
    """Returns where the text of a value ends; after one without braces its mark stands at the next key."""
    if isinstance(node, yaml.CollectionNode) and not node.flow_style and node.value:
        last = node.value[-1]
        return value_end(last[1] if isinstance(last, tuple) else last)
    end: int = node.end_mark.index
    return end
