"""Where the packaged data is: inside the package in a wheel, at the top level in a clone or an editable install."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from coatrules.catalogue.speaking import say
from coatrules.disk import read
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
    """The JSON Schema of a document with all that it builds on merged in, or of the part of one that is defined under a name, as in
    ``profile#history``; do not change it."""
    document, _, part = name.partition("#")
    full = schema(document)
    definitions = full.get("$defs", {})
    part = part or "whole"
    return {**definitions[part], "$defs": definitions} if part in definitions else full


def fact_owner(fact: Mapping[str, Any]) -> str:
    """Whose a fact of the catalogue is: ``region`` or ``dog``."""
    return _named_by(fact)[0]


def fact_unit(fact: Mapping[str, Any]) -> str | None:
    """The unit of a fact of the catalogue, as in ``weeks``; None where it is no number."""
    return next(iter(_named_by(fact)[1:]), None)


def _named_by(fact: Mapping[str, Any]) -> list[str]:
    # The names of definitions say it, for a keyword that JSON Schema lacks is an error to strict readers.
    return [part["$ref"].rpartition("/")[2] for part in fact.get("allOf", ())]
