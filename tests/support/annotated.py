"""JSON Schemas from the annotations of documents: ranges, patterns, words, what is required, defaults; texts are kept as written."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from copy import deepcopy
from datetime import date
from functools import reduce
from operator import or_
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

import attrs

from coatrules.formats.structure import hook, written
from coatrules.formats.values import ID_PATTERN, NAMES, IdPattern, Length, Matches, Millimetres, NotBoth, Range

Node = dict[str, Any]
TEXTS = ("title", "description")
SCALARS = (str, bool, int, float)
BINDING = (Length, Matches, NotBoth, Range)
DIFFERS = {"properties", "additionalProperties"}
"""Keywords of what is another type in a file that builds on another: any key of it may be null."""
ITEMS = {IdPattern: "IdPattern", Millimetres: "Millimetres"}
"""What entries of a list are called as a type; ids and sets of words have their name everywhere."""
FEW_LEAVES = 4
"""A mapping with no more single values than this is its own example; a larger one has examples within."""


def shape(kind: Any, old: Node, samples: list[Any], references: Mapping[Any, str]) -> Node:
    """Returns the schema of an annotation. ``old`` is the node as it was, of which texts, examples and the order of keys are
    kept; ``samples`` are values of a right document at this place, the examples where nobody wrote better ones;
    ``references`` name the definitions that are shared."""
    kind = _plain(kind)
    if kind in references:
        reference = old.get("$ref", f"#/$defs/{references[kind]}")  # expectations are conditions of a kind of their own
        return {key: old[key] for key in TEXTS if key in old} | {"$ref": reference}
    made = _constraints(kind, old, samples, references)
    node = {key: made.get(key) or old[key] for key in TEXTS if key in made or key in old} | made
    if examples := old.get("examples") or examples_of(samples):
        node["examples"] = examples
    return node


def _plain(kind: Any) -> Any:
    """Returns an annotation without None, and without marks that bind no value."""
    if get_origin(kind) in (Union, UnionType):
        kinds = tuple(part for part in get_args(kind) if part is not type(None))
        return _plain(kinds[0]) if len(kinds) == 1 else reduce(or_, kinds)
    if get_origin(kind) is Annotated and not any(
        isinstance(mark, BINDING) or mark == NAMES for mark in get_args(kind)[1:]
    ):
        return get_args(kind)[0]
    return kind


def examples_of(samples: list[Any]) -> list[Any]:
    """Returns the first two of the samples that differ and are small."""
    distinct: list[Any] = []
    for sample in samples:
        if sample not in distinct and 0 < len(list(_leaves(sample))) <= FEW_LEAVES:
            distinct.append(sample)
    return deepcopy(distinct[:2])


def _leaves(value: Any) -> Iterator[Any]:
    if isinstance(value, Mapping):
        for inner in value.values():
            yield from _leaves(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _leaves(inner)
    else:
        yield value


def _constraints(kind: Any, old: Node, samples: list[Any], references: Mapping[Any, str]) -> Node:
    origin, parts = get_origin(kind), get_args(kind)
    if origin is Annotated:
        listed = old["anyOf"][0] if NAMES in parts and "anyOf" in old else old
        node = _constraints(parts[0], listed, samples, references)
        for mark in parts[1:]:
            node |= _not_both(mark, old) if isinstance(mark, NotBoth) else _marked(mark, node)
        return _named(node) if NAMES in parts else node
    if origin is Literal:
        return {"type": "string", "enum": list(parts)}
    if origin in (Union, UnionType):
        kinds = [part for part in parts if part is not type(None)]
        if len(kinds) == 1:
            return _constraints(kinds[0], old, samples, references)
        branches = old.get("anyOf", [{}] * len(kinds))
        return {"anyOf": [shape(part, branch, [], references) for part, branch in zip(kinds, branches, strict=True)]}
    if origin is tuple:
        inner = [item for sample in samples if isinstance(sample, list) for item in sample]
        items = _without_examples(shape(parts[0], old.get("items", {}), inner, references))
        return {"type": "array", "items": items | ({"title": ITEMS[parts[0]]} if parts[0] in ITEMS else {})}
    if origin is Mapping:
        return _mapping(parts[0], parts[1], old, samples, references)
    simple = {str: "string", bool: "boolean", int: "integer", float: "number"}
    if kind in simple:
        return {"type": simple[kind]}
    if kind is date:
        return {"type": "string", "format": "date"}
    return _record(kind, old, samples, references)


def _without_examples(node: Node) -> Node:
    return {key: value for key, value in node.items() if key != "examples"} if node.get("type") in _SIMPLE else node


_SIMPLE = ("string", "boolean", "integer", "number")


_TRUE = {"type": "boolean", "const": True}


def _named(listed: Node) -> Node:
    """A list of names, which may also be written as a mapping from each name to true."""
    names = {word: listed["items"][word] for word in ("pattern", "enum") if word in listed["items"]}
    least = {"minProperties": listed["minItems"]} if "minItems" in listed else {}
    kind = (
        "Tasks"
        if "enum" in names
        else "Places"
        if names["pattern"] != ID_PATTERN
        else "Names"
        if least
        else "NamesOrNone"
    )
    return {
        "title": kind,
        "anyOf": [listed, {"type": "object", "propertyNames": names, "additionalProperties": _TRUE, **least}],
    }


def _marked(mark: Any, node: Node) -> Node:
    match mark:
        case Range(low=low, high=high) if low == high:
            return {"const": low}
        case Range(low=low, high=high, above=above):
            return {"exclusiveMinimum" if above else "minimum": low} | (
                {"maximum": high} if high != float("inf") else {}
            )
        case Matches(pattern=pattern):
            return {"pattern": pattern}
        case Length(least=least, most=most):
            unit = {"string": "Length", "array": "Items", "object": "Properties"}[node["type"]]
            return {f"min{unit}": least} | ({f"max{unit}": most} if most < 1_000_000 else {})
    return {}


def _not_both(mark: NotBoth, old: Node) -> Node:
    both = [mark.one, mark.other]
    texts = {key: old["not"][key] for key in TEXTS if key in old.get("not", {})}
    return {"not": texts | {"required": both, "properties": {key: {"description": "One of the two."} for key in both}}}


def _mapping(key: Any, value: Any, old: Node, samples: list[Any], references: Mapping[Any, str]) -> Node:
    inner = [item for sample in samples if isinstance(sample, Mapping) for item in sample.values()]
    if get_origin(key) is Literal and "properties" in old:
        known = {
            name: shape(value, old["properties"].get(name, {}), _at(samples, name), references)
            for name in get_args(key)
        }
        return {"type": "object", "properties": known, "required": [], "additionalProperties": False}
    names = _constraints(key, {}, [], references)
    return {
        "type": "object",
        "propertyNames": {word: names[word] for word in ("pattern", "enum") if word in names},
        "additionalProperties": shape(value, old.get("additionalProperties", {}), inner, references),
    }


def _at(samples: list[Any], key: str) -> list[Any]:
    return [sample[key] for sample in samples if isinstance(sample, Mapping) and key in sample]


def _record(kind: Any, old: Node, samples: list[Any], references: Mapping[Any, str]) -> Node:
    fields = {field.name: field for field in attrs.fields(kind)}
    keys = written(kind)
    before = old.get("properties", {})
    order = [*(key for key in before if key in keys), *(key for key in keys if key not in before)]
    properties, required = {}, [key for key in order if fields[keys[key][0]].default is attrs.NOTHING]
    for key in order:
        name, meant = keys[key]
        properties[key] = node = shape(meant, before.get(key, {}), _at(samples, key), references)
        default = fields[name].default
        if isinstance(default, SCALARS) and taken(meant, default):
            node["default"] = int(default) if isinstance(default, float) and default.is_integer() else default
    # Keys of other programs, for which there is no field, and keys of which one must be there: no annotation says so.
    others = {key: old[key] for key in ("patternProperties",) if key in old}
    either = one_of(tuple(old["else"]["properties"])) if "else" in old else {}
    return {
        "title": kind.__name__,
        "type": "object",
        "properties": properties,
        **others,
        "required": required,
        "additionalProperties": False,
        **either,
    }


def one_of(keys: tuple[str, str]) -> Node:
    """Of two keys at least one. Said by a condition, which is no type: ``anyOf`` would make two types of one."""
    known = {key: {"description": "One of the two."} for key in keys}
    first, second = keys
    return {
        "if": {"required": [first], "properties": {first: known[first]}},
        "else": {"required": [second], "properties": known},
    }


def taken(kind: Any, value: Any) -> bool:
    """Whether a value can be written where a field is of such a kind: a default that stands for 'worked out' cannot."""
    try:
        hook(kind)(value)
    except (TypeError, ValueError):
        return False
    return True


# --- a file that builds on another ----------------------------------------------------------------------------------


def part_of(definitions: dict[str, Node], root: Node) -> dict[str, Node]:
    """Returns the definitions of a document that is merged into another (RFC 7396): nothing is required, any key may be null,
    and so on inwards; within lists, which replace, all is as in a whole document."""
    parts: dict[str, Node] = {}

    def reference(name: str) -> Node:
        if name not in parts:
            parts[name] = {}  # before its own inside is looked at, which may lead back to it
            parts[name] = part(definitions[name])
        return {"$ref": f"#/$defs/{name}_patch" if parts[name] != definitions[name] else f"#/$defs/{name}"}

    def nullable(node: Node) -> Node:
        inner = part(node)
        shared = definitions[node["$ref"].rpartition("/")[2]] if "$ref" in node else {}
        texts = {"description": shared["description"]} if "description" in shared else {}
        texts |= {"title": "Member"} if node == _TRUE else {}
        texts |= {key: inner.pop(key) for key in ("description", "examples") if key in inner}
        if "anyOf" in inner:
            return (
                texts
                | {"anyOf": [{"type": "null"}, *inner["anyOf"]]}
                | {k: v for k, v in inner.items() if k != "anyOf"}
            )
        return texts | {"anyOf": [{"type": "null"}, inner]}

    def part(node: Node) -> Node:
        if "$ref" in node:
            return {k: node[k] for k in TEXTS if k in node} | reference(node["$ref"].rpartition("/")[2])
        new = {
            key: deepcopy(value) for key, value in node.items() if key not in ("required", "default", "minProperties")
        }
        if "properties" in node:
            new["properties"] = {key: nullable(inner) for key, inner in node["properties"].items()}
        if isinstance(node.get("additionalProperties"), dict):
            new["additionalProperties"] = nullable(node["additionalProperties"])
        if "properties" in node:
            new = {
                key: value for key, value in new.items() if key not in ("if", "else")
            }  # what is taken over may have them
        for key in ("anyOf", "allOf"):
            if key in new:
                new[key] = [part(inner) for inner in node[key]]
        if "title" in node and (DIFFERS & node.keys() or new.get("anyOf") != node.get("anyOf")):
            new["title"] = f"{node['title']}Patch"
        return new

    whole = part(root)
    return {f"{name}_patch": node for name, node in parts.items() if node != definitions[name]} | {"part": whole}
