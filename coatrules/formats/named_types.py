"""Schemas whose types have names: a type that several places share stands under ``$defs`` by its title, for programs that make types
of schemas; here it is read as if it were written in each of them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

Schema = dict[str, Any]
_KEYED = ("properties", "patternProperties", "$defs")
_SINGLE = ("additionalProperties", "propertyNames", "items", "not", "if", "then", "else")
_SEVERAL = ("allOf", "anyOf")


def within(node: Schema, change: Callable[[Schema], Schema]) -> Schema:
    """Returns a schema with ``change`` made of every schema directly in it, but true and false."""
    made = dict(node)
    for key in node:
        if key in _KEYED:
            made[key] = {name: _changed(inner, change) for name, inner in node[key].items()}
        elif key in _SINGLE:
            made[key] = _changed(node[key], change)
        elif key in _SEVERAL:
            made[key] = [change(inner) for inner in node[key]]
    return made


def _changed(node: Any, change: Callable[[Schema], Schema]) -> Any:
    return change(node) if isinstance(node, dict) else node


def in_place(full: Schema) -> Schema:
    """Returns a schema in which no reference leads to a titled type, as every one is written where it is used."""
    types = {name: node for name, node in full.get("$defs", {}).items() if name[:1].isupper()}

    def change(node: Schema) -> Schema:
        to = referred(node)
        if to is None:
            return within(node, change)
        here = {key: inner for key, inner in node.items() if key not in ("$ref", "allOf")}
        return {**change(types[to]), **here} if to in types else {"$ref": f"#/$defs/{to}", **here}

    made = within(full, change)
    if types:
        made["$defs"] = {name: node for name, node in made["$defs"].items() if name not in types}
    return made


def referred(node: Schema) -> str | None:
    """The name of the definition that a schema refers to, with words of its own or without; None where it is written out."""
    parts = node.get("allOf", [node])
    to: str | None = parts[0].get("$ref") if len(parts) == 1 else None
    return None if to is None else to.rpartition("/")[2]
