"""The schema of profiles for those who make types of it: ``python -m tests.support.for_types > profile.json``.

The schema as it is shipped says more than types can: which keys must stand together, and that no condition is empty. All that is
left out here, and a profile is one of two types: a whole one, or one that builds on another.
"""

from __future__ import annotations

import json
from typing import Any

from coatrules.formats.resources import schema

SOME = "_some"
"""What definitions of the same that is not empty are called after."""
NO_TYPE = ("if", "then", "else", "not", "propertyNames")


def for_types(whole: dict[str, Any]) -> dict[str, Any]:
    """Returns a schema in which nothing stands that is no type, and each type is defined once."""
    kinds = {"anyOf": [whole["then"], whole["else"]]} if "then" in whole else {}
    definitions: dict[str, Any] = {}
    made: dict[str, Any] = _typed(
        {key: value for key, value in whole.items() if key != "$defs"} | kinds, definitions, named=True
    )
    for name, inner in whole.get("$defs", {}).items():
        if not name.endswith(SOME):
            definitions[name] = _typed(inner, definitions, named=True)
    return made | {"$defs": definitions}


def _typed(node: Any, definitions: dict[str, Any], *, named: bool = False) -> Any:
    """The node as a type. ``named``: it is a definition already; any other with a title becomes one."""
    if isinstance(node, list):
        return [_typed(inner, definitions) for inner in node]
    if not isinstance(node, dict):
        return node
    if "$ref" in node:
        return {"$ref": node["$ref"].removesuffix(SOME)}
    made = {key: _typed(value, definitions) for key, value in node.items() if key not in (*NO_TYPE, "properties")}
    if "properties" in node:
        made["properties"] = {name: _typed(inner, definitions) for name, inner in node["properties"].items()}
    branches = made.get("anyOf")
    if isinstance(branches, list) and not any({"type", "$ref", "anyOf"} & branch.keys() for branch in branches):
        del made["anyOf"]  # only what must be there
    if named or "title" not in node:
        return made
    name = node["title"]
    assert definitions.setdefault(name, made) == made, name
    return {"$ref": f"#/$defs/{name}"}


if __name__ == "__main__":
    print(json.dumps(for_types(schema("profile")), indent=2))
