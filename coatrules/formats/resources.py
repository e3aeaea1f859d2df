"""Where the packaged data is: inside the package in a wheel, at the top level in a clone or an editable install."""

from __future__ import annotations

import json
import os
from functools import cache
from pathlib import Path
from typing import Any

from coatrules.catalogue.speaking import say
from coatrules.disk import read
from coatrules.formats.named_types import in_place
from coatrules.reading import MAX_BYTES

_PACKAGE = Path(__file__).parent.parent


def folder(name: str) -> Path:
    """The packaged folder ``profiles`` or ``schemas``.

    Raises ``FileNotFoundError`` where the installation is incomplete.
    """
    for place in (_PACKAGE / name, _PACKAGE.parent / name):
        if os.path.isdir(place):
            return place
    raise FileNotFoundError(say("installation-incomplete", folder=name))


@cache
def schema(name: str) -> Any:
    """The JSON Schema ``profile``, ``history``, ``work-order`` or ``facts``, as plain data; do not change it."""
    return json.loads(read(folder("schemas") / f"{name}.schema.json", MAX_BYTES))


@cache
def whole_schema(name: str) -> Any:
    """The JSON Schema of a document with all that it builds on merged in, each type written in its place; of what is defined in it
    under a name, as in ``profile#history``, the schema of that. Do not change it."""
    document, _, part = name.partition("#")
    full = in_place(schema(document))
    if part:
        return {**full["$defs"][part], "$defs": full["$defs"]}
    return whole_of(full) if "whole" in full.get("$defs", {}) else full


def whole_of(full: Any) -> Any:
    """Returns the schema of a profile with all that it builds on merged in: it still says on what."""
    definitions = full["$defs"]
    whole, part = definitions["whole"], definitions["part"]["properties"]
    return {**whole, "properties": {key: whole["properties"].get(key, part[key]) for key in part}, "$defs": definitions}


def fact_unit(name: str) -> str | None:
    """The unit of a fact of the catalogue, as in ``weeks``; None where it is no number."""
    # Definitions list the facts of a kind: a keyword that JSON Schema lacks would be an error to strict readers.
    kinds: dict[str, Any] = schema("facts")["$defs"]
    return next((kind for kind, facts in kinds.items() if kind != "dog" and name in facts["enum"]), None)
