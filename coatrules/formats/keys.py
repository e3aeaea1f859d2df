"""What the profile's schema says at a path: the keys that can be written there, what they mean, which values they take."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

from coatrules.formats.resources import whole_schema
from coatrules.problems import Path

_SHARED = ("description", "default", "examples")


def nodes(path: Path) -> tuple[Mapping[str, Any], ...]:
    """The schemas of the value at a path: one for each kind of value that can be written there; none for an unknown path."""
    found = tuple(_kinds({"$ref": "#/$defs/whole"}))
    for step in path:
        found = tuple(inner for node in found for inner in _below(node, step))
    return found


def about(path: Path) -> Mapping[str, Any]:
    """What the schema says of the value at a path: description, default, examples, bounds; empty for an unknown path."""
    found = nodes(path)
    return found[0] if found else {}


def keys(path: Path) -> dict[str, Mapping[str, Any]]:
    """The keys that the mapping at a path can have, each with what the schema says of it; ids are not among them."""
    return {key: about((*path, key)) for node in nodes(path) for key in node.get("properties", ())}


def values(path: Path) -> list[str]:
    """The words that can be written at a path, as they are written."""
    found: list[str] = []
    for node in nodes(path):
        found += map(str, node.get("enum", ()))
        if node.get("type") == "boolean":
            found += ["true", "false"]
        elif "const" in node:
            found.append(str(node["const"]))
    return list(dict.fromkeys(found))


def _kinds(node: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    """A schema without references, once for each kind of value."""
    texts = {key: node[key] for key in _SHARED if key in node}
    if "$ref" in node:
        name = node["$ref"].rpartition("/")[2]
        yield from ({**inner, **texts} for inner in _definition(name))
    elif "anyOf" in node and "properties" not in node:
        yield from ({**inner, **texts} for branch in node["anyOf"] for inner in _kinds(branch))
        for part in node.get("allOf", ()):
            yield from _kinds(part)
    else:
        yield node


@cache
def _definition(name: str) -> tuple[Mapping[str, Any], ...]:
    full = whole_schema("profile")
    node = full if name == "whole" else full["$defs"][name]
    return tuple(_kinds({key: value for key, value in node.items() if key != "$defs"}))


def _below(node: Mapping[str, Any], step: str | int) -> Iterator[Mapping[str, Any]]:
    known = node.get("properties", {})
    inner = node.get("items") if isinstance(step, int) else known.get(step, node.get("additionalProperties"))
    if isinstance(inner, Mapping):
        yield from _kinds(inner)
