"""Writes what is generated from the facts catalogue: ``python -m tests.generated``. A test holds it fresh."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

SCHEMAS = Path(__file__).parent.parent / "schemas"
SCALAR = {"description": "Short for const: the fact must be just this.", "type": ["string", "number", "boolean"]}
TEST = {"$ref": "#/$defs/test"}
CONDITION = {"$ref": "#/$defs/condition"}


def definitions_of_test() -> dict[str, Any]:
    """What may stand against a fact: a bare value, or keywords of JSON Schema."""
    scalar = {"type": ["string", "number", "boolean"]}
    keywords = {
        "const": {"description": "The fact must be just this.", **scalar},
        "enum": {"description": "The fact must be one of these.", "type": "array", "items": scalar, "minItems": 1},
        "minimum": {"description": "The fact must be at least this.", "type": "number"},
        "maximum": {"description": "The fact must be at most this.", "type": "number"},
        "exclusiveMinimum": {"description": "The fact must be more than this.", "type": "number"},
        "exclusiveMaximum": {"description": "The fact must be less than this.", "type": "number"},
        "contains": {"description": "The fact is a list, and one of its items must be this.", **TEST},
        "not": {"description": "The fact must not be this.", **TEST},
        "anyOf": {"description": "One of these must hold.", "type": "array", "items": TEST, "minItems": 1},
        "allOf": {"description": "All of these must hold.", "type": "array", "items": TEST, "minItems": 1},
    }
    about = "What the fact must be: a bare value, or limits."
    limits = {"type": "object", "properties": keywords, "additionalProperties": False, "minProperties": 1}
    return {"test": {"description": about, "anyOf": [SCALAR, limits]}}


def condition(facts: dict[str, Any]) -> dict[str, Any]:
    """A condition over the catalogue's facts and a profile's comparisons."""
    unit = {name: f" In {fact['x-unit']}." for name, fact in facts.items() if fact.get("x-unit") not in (None, "share")}
    known = {name: {"description": fact["description"] + unit.get(name, ""), **TEST} for name, fact in facts.items()}
    combined = {
        "anyOf": {
            "description": "One of these conditions must hold.",
            "type": "array",
            "items": CONDITION,
            "minItems": 1,
        },
        "allOf": {
            "description": "All of these conditions must hold.",
            "type": "array",
            "items": CONDITION,
            "minItems": 1,
        },
        "not": {"description": "This condition must not hold.", **CONDITION},
    }
    return {
        "description": "When it holds: facts, and what each must be. All must hold; a fact that is absent never does.",
        "type": "object",
        "properties": known | combined,
        "propertyNames": {"pattern": "^([a-z][a-z0-9_]*|anyOf|allOf)$"},
        "additionalProperties": {"description": "A comparison of this profile.", **TEST},
    }


def profile_schema() -> str:
    """The profile schema with its generated definitions in place, as text."""
    facts = json.loads((SCHEMAS / "facts.schema.json").read_text(encoding="utf-8"))["properties"]
    schema = json.loads((SCHEMAS / "profile.schema.json").read_text(encoding="utf-8"))
    schema["$defs"] |= definitions_of_test() | {"condition": condition(facts)}
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    (SCHEMAS / "profile.schema.json").write_text(profile_schema(), encoding="utf-8")
