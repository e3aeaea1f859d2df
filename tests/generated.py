"""Writes what is generated from the catalogues of facts and findings: ``python -m tests.generated``. A test holds it fresh."""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from coatrules.check.catalogue import ERRORS, FINDINGS, described
from coatrules.profile.references import OUTCOME_FACTS

SCHEMAS = Path(__file__).parent.parent / "schemas"
PROFILES = Path(__file__).parent.parent / "profiles"
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


def reference() -> str:
    """The mentor's reference page: facts, effects and findings, as Markdown."""
    facts = json.loads((SCHEMAS / "facts.schema.json").read_text(encoding="utf-8"))["properties"]
    effects = json.loads((SCHEMAS / "profile.schema.json").read_text(encoding="utf-8"))["$defs"]["effect"]["properties"]
    of = {"region": "Facts of a region", "dog": "Facts of the dog"}
    parts = ["# Reference\n\nWritten by `python -m tests.generated`; do not edit.\n"]
    for which, title in of.items():
        rows = [
            (f"`{name}`", _range(fact), fact["description"]) for name, fact in facts.items() if fact["x-of"] == which
        ]
        parts.append(f"## {title}\n\n{_table(('fact', 'value', 'what it says'), rows)}")
    rows = [(f"`{name}`", "", "Of a worked case only.") for name in OUTCOME_FACTS]
    parts.append(f"## What a worked case may expect besides\n\n{_table(('fact', 'value', 'what it says'), rows)}")
    told = [(f"`{name}`", effect["description"]) for name, effect in effects.items()]
    parts.append(f"## Effects of a rule\n\n{_table(('effect', 'what it does'), told)}")
    for title, found in (("Findings of `check`", FINDINGS), ("What makes a profile unusable", ERRORS)):
        parts.append(
            f"## {title}\n\n{_table(('code', 'what it says'), [(f'`{code}`', described(code)) for code in found])}"
        )
    return "\n".join(parts)


def _range(fact: dict[str, Any]) -> str:
    if "enum" in fact:
        return ", ".join(fact["enum"])
    if fact["type"] == "array":
        return f"list of {', '.join(fact['items']['enum'])}" if "enum" in fact["items"] else "list of names"
    if fact["type"] in ("number", "integer"):
        unit = "" if fact["x-unit"] == "share" else f" {fact['x-unit']}"
        return f"{fact['minimum']} to {fact['maximum']}{unit}"
    return {"boolean": "true or false", "string": "a name"}[fact["type"]]


def _table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    lines = [head, tuple("---" for _ in head), *rows]
    return "".join(f"| {' | '.join(line)} |\n" for line in lines)


if __name__ == "__main__":
    (SCHEMAS / "profile.schema.json").write_text(profile_schema(), encoding="utf-8")
    (PROFILES / "reference.md").write_text(reference(), encoding="utf-8")
