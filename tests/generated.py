"""Writes what is generated from the facts catalogue: ``python -m tests.generated``. A test holds it fresh."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

SCHEMAS = Path(__file__).parent.parent / "schemas"
LARGEST = 2**53  # whole numbers beyond it are not told apart everywhere (RFC 8259, section 6)
NUMBER = {"type": "number", "minimum": -LARGEST, "maximum": LARGEST}
VALUE = {"$ref": "#/$defs/value"}
TEST = {"$ref": "#/$defs/test"}
CONDITION = {"$ref": "#/$defs/condition"}
NOT_NAMES = ["const", "contains", "enum", "exclusiveMaximum", "exclusiveMinimum", "maximum", "minimum"]
"""Words that say what a fact must be, so that they cannot be facts themselves."""


def definitions_of_test() -> dict[str, Any]:
    """What may stand against a fact: a bare value, or keywords of JSON Schema."""
    value = {
        "description": "What a fact can be: text, a number, true or false, or a list of these.",
        **NUMBER,
        "type": ["string", "number", "boolean", "array"],
        "items": VALUE,
    }
    keywords = {
        "const": {"description": "The fact must be just this.", **VALUE},
        "enum": {"description": "The fact must be one of these.", "type": "array", "items": VALUE, "minItems": 1},
        "minimum": {"description": "The fact must be at least this.", **NUMBER},
        "maximum": {"description": "The fact must be at most this.", **NUMBER},
        "exclusiveMinimum": {"description": "The fact must be more than this.", **NUMBER},
        "exclusiveMaximum": {"description": "The fact must be less than this.", **NUMBER},
        "contains": {"description": "The fact is a list, and one of its items must be this.", **TEST},
    }
    test = {
        "description": "What the fact must be: a bare value, or limits such as {minimum: 0.5}; {} for anything known.",
        **NUMBER,
        "type": ["string", "number", "boolean", "object"],
        "properties": keywords | combined(TEST),
        "additionalProperties": False,
    }
    return {"value": value, "test": test}


def combined(part: dict[str, Any]) -> dict[str, Any]:
    """The keywords that combine parts, none of which may be empty: it would hold always, which nobody sees."""
    some = {"allOf": [part], "minProperties": 1}
    parts = {"type": "array", "items": some, "minItems": 1}
    return {
        "anyOf": {"description": "At least one of these must hold.", **parts},
        "allOf": {"description": "All of these must hold.", **parts},
        "not": {"description": "This must not hold.", **some},
    }


def condition(facts: dict[str, Any]) -> dict[str, Any]:
    """A condition over the catalogue's facts and a profile's comparisons."""
    unit = {name: f" In {fact['x-unit']}." for name, fact in facts.items() if fact.get("x-unit") not in (None, "share")}
    known = {name: {"description": fact["description"] + unit.get(name, ""), **TEST} for name, fact in facts.items()}
    return {
        "description": "When it holds: facts, and what each must be. All must hold; a fact that is absent never does.",
        "type": "object",
        "properties": known | combined(CONDITION),
        "propertyNames": {"pattern": "\\S", "not": {"enum": NOT_NAMES}},
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
