"""Writes what is generated from the catalogues of facts and findings: ``python -m tests.generated``. A test holds it fresh."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Annotated, Any

from coatrules.catalogue.english import files, problems
from coatrules.check.catalogue import ERRORS, FINDINGS, described
from coatrules.check.catalogue import written as sentence_of
from coatrules.conditions.condition import Condition
from coatrules.dog.history import History, Visit
from coatrules.formats.named_types import in_place
from coatrules.formats.resources import fact_unit, whole_of
from coatrules.formats.values import FACT_PATTERN, ID_PATTERN, Length, SourceOf
from coatrules.profile.case_history import Series
from coatrules.profile.model import Effect, Profile
from coatrules.profile.regimes import NOT_IN_REGIME
from tests.support.annotated import one_of, part_of, shape
from tests.support.every_key import HISTORY, PROFILE, REGIMES
from tests.support.named_types import named

SCHEMAS = Path(__file__).parent.parent / "schemas"
PROFILES = Path(__file__).parent.parent / "profiles"
LARGEST = 2**53  # whole numbers beyond it are not told apart everywhere (RFC 8259, section 6)
NUMBER = {"type": "number", "minimum": -LARGEST, "maximum": LARGEST}
SHARE = {"type": "number", "minimum": 0, "maximum": 1}
MINUTES = {"type": "number", "minimum": 0, "maximum": 600}
WHOLE = ("title", "description", "type", "properties", "patternProperties", "required", "additionalProperties")
MUST = {"format", "id", "label"}
"""What a profile that builds on another says of itself all the same."""
EFFECT = Annotated[Effect, Length(1)]
AnyHistory = Mapping[str, object]
NOT_NAMES = ["const", "contains", "enum", "exclusiveMaximum", "exclusiveMinimum", "maximum", "minimum"]
"""Words that say what a fact must be, so that they cannot be facts themselves."""


def fact_value(fact: dict[str, Any]) -> dict[str, Any]:
    """What one fact can be, as a schema."""
    if fact["type"] == "array":
        return {"type": "array", "items": {key: fact["items"][key] for key in ("type", "enum") if key in fact["items"]}}
    return {key: fact[key] for key in ("type", "enum", "minimum", "maximum") if key in fact}


def test_name(name: str, fact: dict[str, Any]) -> str:
    """The definition of what may stand against a fact: one for all facts that can be the same."""
    if "enum" in fact or fact["type"] == "array":
        return f"test_{name}"
    return f"test_{_unit(name) or {'boolean': 'true_or_false', 'string': 'name'}[fact['type']]}"


def definitions_of_test(name: str, value: dict[str, Any]) -> dict[str, Any]:
    """What may stand against a fact that can be such a value: the value, or keywords of JSON Schema."""
    listed, word = value["type"] == "array", _title(name.removeprefix("test_"))
    number = {"title": f"{word}Value", "description": _possible(value), **value}
    made = {f"{word.lower()}_value": number} if "minimum" in value else {}
    known = {"$ref": f"#/$defs/{next(iter(made))}"} if made else value
    keywords: dict[str, Any] = {
        "const": {"description": "The fact must be just this.", **known},
        "enum": {"description": "The fact must be one of these.", "type": "array", "items": known, "minItems": 1},
    }
    if made:
        keywords |= {
            "minimum": {"description": "The fact must be at least this.", **known},
            "maximum": {"description": "The fact must be at most this.", **known},
            "exclusiveMinimum": {"description": "The fact must be more than this.", **known},
            "exclusiveMaximum": {"description": "The fact must be less than this.", **known},
        }
    if listed:
        keywords["contains"] = {"description": "One entry of the list must be this.", "$ref": f"#/$defs/{name}_entry"}
    limits = {
        "title": f"{word}Limits",
        "type": "object",
        "properties": keywords | combined(name),
        "additionalProperties": False,
    }
    test = {
        "title": f"Test{word}",
        "description": "What the fact must be: a bare value, or limits such as {minimum: 0.5}; {} for anything known.",
        "anyOf": [limits] if listed else [value, limits],
    }
    return {name: test} | made | (definitions_of_test(f"{name}_entry", value["items"]) if listed else {})


def _title(name: str) -> str:
    return "".join(part.capitalize() for part in re.split("[_-]", name))


def _possible(value: dict[str, Any]) -> str:
    """What a fact that is a number can be, in words."""
    if value.get("maximum") in (None, LARGEST):
        return "A number."
    whole = "A whole number" if value["type"] == "integer" else "A number"
    return f"{whole} from {value['minimum']} to {value['maximum']}."


EMPTY = {"type": "object", "maxProperties": 0}
"""What a part of a condition must not be: it would hold always, which nobody sees."""


def combined(name: str) -> dict[str, Any]:
    """The keywords that combine parts, of each of which this is the definition."""
    part = {"$ref": f"#/$defs/{name}", "not": EMPTY}
    parts = {"type": "array", "items": part, "minItems": 1}
    return {
        "anyOf": {"description": "At least one of these must hold.", **parts},
        "allOf": {"description": "All of these must hold.", **parts},
        "not": {"description": "This must not hold.", **part},
    }


TITLES = {"condition": "Condition", "expectation": "ExpectedFacts"}


def definitions_of_condition(name: str, about: str, facts: dict[str, Any]) -> dict[str, Any]:
    """A condition over the catalogue's facts and a profile's comparisons."""
    known = {
        fact: {"description": said["description"] + _in_unit(fact), "$ref": f"#/$defs/{test_name(fact, said)}"}
        for fact, said in facts.items()
    }
    whole = {
        "title": TITLES[name],
        "description": about,
        "type": "object",
        "properties": known | combined(name),
        "propertyNames": {"pattern": "^([a-z][a-z0-9_]*|anyOf|allOf)$", "not": {"enum": NOT_NAMES}},
        "additionalProperties": {"description": "A comparison of this profile.", "$ref": "#/$defs/test_comparison"},
    }
    return {name: whole}


def _unit(name: str) -> str | None:
    return OF_OUTCOMES.get(name) or fact_unit(name)


def _in_unit(name: str) -> str:
    unit = _unit(name)
    return "" if unit in (None, "share") else f" In {unit}."


OUTCOMES: dict[str, Any] = {
    "outcome": {
        "description": "What is decided of the region.",
        "type": "string",
        "enum": ["worked", "deferred", "left-alone", "not-to-be-touched"],
    },
    "share": {"description": "How much is pulled, of the region's whole coat.", **SHARE},
    "minutes_planned": {"description": "How long the work takes. In minutes.", **MINUTES},
    "method": {"description": "The id of the method of its main work.", "type": "string"},
}
"""What a worked case may expect of a region besides its facts."""
OF_OUTCOMES = {"share": "share", "minutes_planned": "minutes"}
"""Their units."""


def definitions_of_conditions(facts: dict[str, Any]) -> dict[str, Any]:
    """Conditions, expectations, and what may stand against each fact."""
    holds = "All must hold; a fact that is absent never does."
    made = definitions_of_condition("condition", f"When it holds: facts, and what each must be. {holds}", facts)
    made |= definitions_of_condition("expectation", f"Facts and results that must hold. {holds}", facts | OUTCOMES)
    made |= definitions_of_test("test_comparison", NUMBER)
    for name, fact in (facts | OUTCOMES).items():
        made |= definitions_of_test(test_name(name, fact), fact_value(fact))
    return made


def _read(name: str) -> dict[str, Any]:
    schema: dict[str, Any] = in_place(json.loads((SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8")))
    return schema


def _by_type(source_of: dict[str, Any]) -> dict[str, Any]:
    return source_of if "anyOf" in source_of else {"description": source_of["description"]}


def _written(schema: dict[str, Any]) -> str:
    return json.dumps(named(schema), indent=2, ensure_ascii=False) + "\n"


def history_schema() -> str:
    """The history schema by the annotations of ``History``, as text; descriptions, examples and what excludes each other are
    those that are written in it now."""
    old = _read("history")
    visit = shape(Visit, old["$defs"]["visit"], HISTORY["visits"], {})
    about = {key: old[key] for key in ("$schema", "$id", "title", "description")}
    whole = shape(History, old, [HISTORY], {Visit: "visit"})
    return _written(about | {key: whole[key] for key in WHOLE[2:] if key in whole} | {"$defs": {"visit": visit}})


def definitions_of_case_history(history: dict[str, Any], old: dict[str, Any]) -> dict[str, Any]:
    """The history of a case: as the schema of histories has it, but that it needs no format and that a visit may begin a series."""
    visits = [visit for case in PROFILE["cases"].values() for visit in case["history"]["visits"]]
    visit, whole = history["$defs"]["visit"], {key: history[key] for key in WHOLE if key in history}
    series = shape(Series, old["visit"]["properties"]["series"], [one["series"] for one in visits], {})
    day, *others = visit["properties"].items()
    return {
        "visit": visit
        | {"description": old["visit"]["description"], "properties": dict([day, ("series", series), *others])},
        "history": whole
        | {
            "description": old["history"]["description"],
            "required": [key for key in whole["required"] if key != "format"],
        },
    }


def profile_schema() -> str:
    """The profile schema by the annotations of ``Profile`` and the catalogue of facts, as text; its descriptions and examples
    are those that are written in it now."""
    old = _read("profile")
    whole = whole_of(old)
    references: dict[Any, str] = {Condition: "condition", AnyHistory: "history"}
    effects = [rule["then"] for rule in PROFILE["rules"].values()]
    definitions = {
        "source_of": shape(
            SourceOf, _by_type(old["$defs"]["source_of"]), ["practice", {"full_mm": "guide"}], references
        ),
        "effect": shape(EFFECT, old["$defs"]["effect"], effects, references),
    }
    references |= {SourceOf: "source_of", EFFECT: "effect"}
    history = in_place(json.loads(history_schema()))
    definitions |= definitions_of_conditions(_read("facts")["properties"])
    definitions |= definitions_of_case_history(history, old["$defs"])
    about = {key: old[key] for key in ("title", "description")}
    definitions["whole"] = {"description": "A profile that builds on no other."} | {
        key: value for key, value in shape(Profile, whole, [PROFILE], references).items() if key in WHOLE
    }
    parts = part_of(
        definitions,
        {k: v for k, v in definitions["whole"].items() if k != "properties"}
        | {
            "description": "A profile that builds on another: it says what is different.",
            "properties": {
                k: v for k, v in definitions["whole"]["properties"].items() if k not in MUST | {"cases", "extends"}
            },
        },
    )
    known = definitions["whole"]["properties"]
    parts["part"]["properties"] = {
        key: parts["part"]["properties"].get(key, {k: v for k, v in known[key].items() if k != "default"})
        for key in known
    }
    parts["part"]["required"] = ["format", "id", "extends"]
    # A file that only puts its parent in a regime takes over what the regime is called.
    parts["part"] |= one_of(("regime", "label"))
    del known["extends"]
    definitions["regime"] = {
        "title": "Regime",
        "description": "What is different in this regime.",
        "type": "object",
        "properties": {key: value for key, value in parts["part"]["properties"].items() if key not in NOT_IN_REGIME},
        "additionalProperties": False,
    }
    for node, inner in ((definitions["whole"], _REGIME), (parts["part"], {"anyOf": [{"type": "null"}, _REGIME]})):
        properties = node["properties"]
        properties["regimes"] = _REGIMES | {"additionalProperties": {"description": "One regime.", **inner}}
    return _written(
        {"$schema": old["$schema"], "$id": old["$id"], **about, "type": "object"}
        | {"anyOf": [{"$ref": "#/$defs/whole"}, {"$ref": "#/$defs/part"}]}
        | {"$defs": {"whole": definitions.pop("whole"), **definitions, **parts}}
    )


_REGIME = {"$ref": "#/$defs/regime"}
_REGIMES = {
    "description": "Ways to keep this coat, by name, each saying what is different from the rest of the file; a dog's history "
    "chooses one with 'regime'.",
    "type": "object",
    "propertyNames": {"pattern": ID_PATTERN},
    "examples": [REGIMES],
}


def reference() -> str:
    """The mentor's reference page: facts, effects and findings, as Markdown."""
    facts, kinds = (_read("facts")[key] for key in ("properties", "$defs"))
    of = {False: "Facts of a region", True: "Facts of the dog"}
    parts = ["# Reference\n\nWritten by `python -m tests.generated`; do not edit.\n", *_every_key()]
    for of_dog, title in of.items():
        rows = [
            (f"`{name}`", _range(name, fact), fact["description"])
            for name, fact in facts.items()
            if (name in kinds["dog"]["enum"]) is of_dog
        ]
        parts.append(f"## {title}\n\n{_table(('fact', 'value', 'what it says'), rows)}")
    rows = [(f"`{name}`", _range(name, fact), fact["description"]) for name, fact in OUTCOMES.items()]
    parts.append(f"## What a worked case may expect besides\n\n{_table(('fact', 'value', 'what it says'), rows)}")
    parts.append(_words_of_conditions())
    for title, found in (("Findings of `check`", FINDINGS), ("What makes a profile unusable", ERRORS)):
        parts.append(
            f"## {title}\n\n{_table(('code', 'what it says'), [(f'`{code}`', described(code)) for code in found])}"
        )
    for title, area in (("What makes a file unreadable", files), ("What a value or a name can have wrong", problems)):
        rows = [(f"`{code}`", _sentence(code), _sentence(f"{code}.fix")) for code in _reported(area.SENTENCES)]
        parts.append(f"## {title}\n\n{_table(('code', 'message', 'fix'), rows)}")
    return "\n".join(parts)


def _reported(sentences: Mapping[str, object]) -> list[str]:
    """The codes of whole problems: those that have a fix of their own."""
    return [code for code in sentences if "." not in code and f"{code}.fix" in sentences]


def _sentence(code: str) -> str:
    """A sentence for a table, an ellipsis in each place that is filled in."""
    return re.sub(r"<\w+>", "…", sentence_of(code)).replace("|", "\\|")


def _words_of_conditions() -> str:
    """What can stand against a fact, with an example each that the tests read."""
    definitions = _read("profile")["$defs"]
    known = [definitions[name]["anyOf"][-1]["properties"] for name in ("test_weeks", "test_groups")]
    rows = [(f"`{word}`", f"`{WORDS[word]}`", about["description"]) for word, about in (known[0] | known[1]).items()]
    bare = "A bare word, number, true or false is short for `const`; `{}` holds where the fact is known at all."
    return f"## What a condition can ask of a fact\n\n{bare}\n\n{_table(('word', 'example', 'meaning'), rows)}"


WORDS = {
    "const": "sex: {const: female}",
    "enum": "last_reaction: {enum: [unsettled, stop]}",
    "minimum": "weeks_since_visit: {minimum: 8}",
    "maximum": "cover: {maximum: 0.4}",
    "exclusiveMinimum": "layers: {exclusiveMinimum: 2}",
    "exclusiveMaximum": "age_weeks: {exclusiveMaximum: 26}",
    "contains": "groups: {contains: legs}",
    "anyOf": "cover: {anyOf: [{maximum: 0.3}, {minimum: 0.9}]}",
    "allOf": "layers: {allOf: [{minimum: 2}, {not: 4}]}",
    "not": "skin: {not: unsound}",
}
"""An example of each word of conditions."""
LISTS_OF = {"an id": "ids", "text": "texts"}
HEAD = ("key", "value", "default", "example", "meaning")


def _every_key() -> Iterator[str]:
    """A table of keys for every kind of mapping in a profile, in the order of the schema."""
    schema = _read("profile")
    definitions = schema["$defs"]
    yield "## Every key of a profile\n\nA key in **bold** must be there, unless the profile takes it over from the one it extends.\n"
    todo: list[tuple[str, dict[str, Any]]] = [("", definitions["whole"])]
    told = set()
    while todo:
        path, node = todo.pop(0)
        rows, inner = [], []
        for key, written in node["properties"].items():
            about = definitions[written["$ref"].rpartition("/")[2]] | written if "$ref" in written else written
            rows.append(_row(key, about, key in node["required"]))
            below, at = about, f"{path}.{key}".strip(".")
            while "properties" not in below:
                if isinstance(below.get("additionalProperties"), dict):
                    below, at = below["additionalProperties"], f"{at}.ID"
                elif below.get("items", {}).get("$ref") == "#/$defs/visit":
                    below, at = definitions["visit"], f"{at}.N"
                else:
                    break
                if "$ref" in below:
                    break
            name = written.get("$ref", "").rpartition("/")[2]
            if "properties" in below and name != "condition" and name not in told:
                inner.append((at, below))
                told |= {name} - {""}
        yield f"### `{path or 'profile'}`\n\n{_table(HEAD, rows)}"
        todo = [*inner, *todo]


def _row(key: str, about: dict[str, Any], needed: bool) -> tuple[str, ...]:
    default = f"`{_inline(about['default'])}`" if "default" in about else ""
    example = f"`{_inline(about['examples'][0])}`" if about.get("examples") else ""
    return (f"**`{key}`**" if needed else f"`{key}`", _value(about), default, example, about["description"])


def _value(about: dict[str, Any]) -> str:
    """What can be written, in words."""
    if "anyOf" in about:
        return ", or ".join(map(_value, about["anyOf"]))
    if "const" in about:
        return str(about["const"])
    if "enum" in about:
        return ", ".join(about["enum"])
    if about["type"] == "integer" and about["maximum"] > LARGEST:
        return "a whole number"
    if about["type"] in ("number", "integer"):
        low = f"more than {about['exclusiveMinimum']}" if "exclusiveMinimum" in about else f"{about['minimum']}"
        whole = "whole, " if about["type"] == "integer" else ""
        return f"{whole}{low}{' up' if 'exclusiveMinimum' in about else ''} to {about['maximum']}"
    if about["type"] == "array":
        inner = _value(about["items"]) if "$ref" not in about["items"] else "visits"
        return f"two, each {inner}" if about.get("maxItems") == 2 else f"list of {LISTS_OF.get(inner, inner)}"
    names = {ID_PATTERN: "an id", FACT_PATTERN: "a name with underscores"}
    if about.get("additionalProperties") == {"type": "boolean", "const": True}:
        return "each with true"
    words = {"boolean": "true or false", "object": "keys with values"}
    if about["type"] == "string":
        return "a date" if "format" in about else names.get(about.get("pattern", ""), "text")
    return words[about["type"]]


def _inline(value: Any) -> str:
    """A value as a mentor would write it within a line."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key}: {_inline(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_inline, value)) + "]"
    return value if isinstance(value, str) else json.dumps(value)


def _range(name: str, fact: dict[str, Any]) -> str:
    if "enum" in fact:
        return ", ".join(fact["enum"])
    if fact["type"] == "array":
        return f"list of {', '.join(fact['items']['enum'])}" if "enum" in fact["items"] else "list of names"
    if fact["type"] in ("number", "integer"):
        unit = "" if _unit(name) == "share" else f" {_unit(name)}"
        return f"{fact['minimum']} to {fact['maximum']}{unit}"
    return {"boolean": "true or false", "string": "a name"}[fact["type"]]


def _table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    lines = [head, tuple("---" for _ in head), *rows]
    return "".join(f"| {' | '.join(line)} |\n" for line in lines)


if __name__ == "__main__":
    (SCHEMAS / "history.schema.json").write_text(history_schema(), encoding="utf-8")
    (SCHEMAS / "profile.schema.json").write_text(profile_schema(), encoding="utf-8")
    (PROFILES / "reference.md").write_text(reference(), encoding="utf-8")
