"""Histories as text: a visit, or a dog with all visits, in the style people write them in. Deterministic; reads back equal."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from coatrules.dog.history import Visit
from coatrules.formats.unstructure import document_data

_PLAIN = re.compile(r"[A-Za-z][A-Za-z0-9 _.;()/'-]*(?<! )")
_WORDS = frozenset({"true", "false", "null", "nan", "inf", "y", "n", "yes", "no", "on", "off"})


def visit_data(visit: Visit) -> dict[str, Any]:
    """A visit as plain data by ``schemas/history.schema.json``, without what is as nothing said."""
    data: dict[str, Any] = document_data(visit)
    return data


def visit_text(visit: Mapping[str, Any]) -> str:
    """One visit as a YAML document, without the line of dashes before it. ``visit`` is plain data by the schema."""
    return "".join(_block(visit, open_up=("work", "seen")))


def history_text(history: Mapping[str, Any]) -> str:
    """A whole history as a YAML stream: the dog first, then a document for each visit. ``history`` is plain data."""
    head = {key: value for key, value in history.items() if key != "visits"}
    parts = ["".join(_block(head, open_up=()))] + [visit_text(visit) for visit in history.get("visits", ())]
    return "---\n".join(parts)


def _block(data: Mapping[str, Any], open_up: Sequence[str]) -> Iterator[str]:
    for key, value in data.items():
        if key in open_up and isinstance(value, Mapping) and value:
            yield f"{key}:\n"
            for name, part in value.items():
                yield f"  {_flow(name)}: {_flow(part)}\n"
        else:
            yield f"{key}: {_flow(value)}\n"


def _flow(value: Any) -> str:
    match value:
        case Mapping():
            return "{" + ", ".join(f"{_flow(key)}: {_flow(part)}" for key, part in value.items()) + "}"
        case list() | tuple():
            return "[" + ", ".join(map(_flow, value)) + "]"
        case str() if re.fullmatch(r"\d{4}-\d{2}-\d{2}", value, re.ASCII):
            return value
        case str() if _PLAIN.fullmatch(value) and value.lower() not in _WORDS:
            return value
        case float() if value.is_integer():
            return str(int(value))
    return json.dumps(value, ensure_ascii=False)
