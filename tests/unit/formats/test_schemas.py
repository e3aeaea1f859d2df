"""The schemas themselves: valid, closed, described, within what both drafts of JSON Schema share; and the facts they name."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Iterator
from datetime import date, timedelta
from importlib.util import find_spec
from pathlib import Path
from shutil import which
from typing import Any

import pytest
from jsonschema import Draft7Validator, Draft202012Validator, FormatChecker
from referencing import Registry

from coatrules import work_order
from coatrules.conditions.condition import KEYWORDS as OF_A_TEST
from coatrules.formats.named_types import referred
from coatrules.formats.resources import fact_unit, folder, schema
from coatrules.profile.loading import load_profile
from coatrules.reading import read_yaml
from tests.generated import NOT_NAMES
from tests.generated_formats import OPEN, OUTPUTS
from tests.support.every_key import REGIMES
from tests.unit.formats.test_structure import DOCUMENTS

NAMES = sorted(file.name.removesuffix(".schema.json") for file in folder("schemas").glob("*.schema.json"))

# Keywords that draft 2020-12 and draft-07 both have, with one meaning. Sources: JSON Schema Core and JSON Schema
# Validation, draft 2020-12; of those that draft-07 lacks, only $defs (it ignores it, and follows references into it).
KEYWORDS = {
    *("$schema", "$id", "$ref", "$defs", "title", "description"),
    *("type", "enum", "const", "format", "pattern", "minLength", "maxLength"),
    *("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum"),
    *(
        "properties",
        "patternProperties",
        "required",
        "additionalProperties",
        "propertyNames",
        "minProperties",
        "maxProperties",
    ),
    *("items", "minItems", "maxItems", "allOf", "anyOf", "not", "if", "then", "else", "default", "examples"),
}
OPEN_ON_PURPOSE = {""}  # of a profile: it is judged as a whole, or as a part


def subschemas(node: Any, path: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every subschema, with the path to it; never what only looks like one (an enum's values, a key called 'not')."""
    if not isinstance(node, dict):
        return
    yield path, node
    for key in ("properties", "patternProperties", "$defs"):
        for name, inner in node.get(key, {}).items():
            yield from subschemas(inner, f"{path}/{key}/{name}")
    for key in ("additionalProperties", "propertyNames", "items", "not", "if", "then", "else"):
        yield from subschemas(node.get(key), f"{path}/{key}")
    for key in ("allOf", "anyOf"):
        for index, inner in enumerate(node.get(key, ())):
            yield from subschemas(inner, f"{path}/{key}/{index}")


def test_all_schemas_are_looked_at() -> None:
    assert {"facts", "history", "profile", "work-order"} <= set(NAMES)


@pytest.mark.parametrize("name", NAMES)
class TestSchema:
    def test_is_valid_in_both_drafts(self, name: str) -> None:
        # Source: the meta-schemas of draft 2020-12 and draft-07, as the jsonschema package carries them.
        Draft202012Validator.check_schema(schema(name))
        Draft7Validator.check_schema({**schema(name), "$schema": "http://json-schema.org/draft-07/schema#"})

    def test_uses_known_keywords_only(self, name: str) -> None:
        # A misspelt keyword is silently ignored by every validator.
        assert [(path, key) for path, node in subschemas(schema(name)) for key in node if key not in KEYWORDS] == []

    def test_describes_every_property(self, name: str) -> None:
        whole = schema(name)
        for path, node in subschemas(whole):
            for key, inner in node.get("properties", {}).items():
                to = referred(inner)
                target = {} if to is None else whole["$defs"][to]
                about = inner.get("description") or target.get("description", "")
                assert re.fullmatch(r"\S.+[.:]|\S.+\.\S*", about.strip(), re.DOTALL), f"{path}: {key}: {about!r}"

    def test_closes_every_object_that_is_read(self, name: str) -> None:
        if name in OUTPUTS:
            return
        for path, node in subschemas(schema(name)):
            kinds = node.get("type", [])
            if path.endswith("/not"):
                continue  # says only that there must be something; the definition beside it closes it
            if "object" in ([kinds] if isinstance(kinds, str) else kinds) and path not in OPEN_ON_PURPOSE:
                rest = node.get("additionalProperties")
                assert rest is False or (isinstance(rest, dict) and rest), path

    def test_leaves_open_what_is_written_and_says_so(self, name: str) -> None:
        # A later version may add keys: who validates with the schema of today must not break then.
        closed = [path for path, node in subschemas(schema(name)) if node.get("additionalProperties") is False]
        assert (closed == [] and schema(name)["description"].endswith(OPEN)) is (name in OUTPUTS)

    def test_names_every_object(self, name: str) -> None:
        # Else a generated type is called Item1, or has no name at all. Source: json-schema-to-typescript and
        # datamodel-code-generator call a type by its title, or by its key under $defs.
        named = re.compile(r"/\$defs/[^/]+(/anyOf/\d+)?")
        nameless = [
            path
            for path, node in subschemas(schema(name))
            if "properties" in node and "type" in node and "title" not in node and not named.fullmatch(path)
        ]
        assert [path for path in nameless if path] == []
        assert re.fullmatch("[A-Z][A-Za-z]+", schema(name)["title"])

    def test_names_every_set_of_words(self, name: str) -> None:
        # Else one is called Task1 beside Task.
        if name == "facts":
            return  # its titles are what people call a fact
        nameless = [path for path, node in subschemas(schema(name)) if "enum" in node and "title" not in node]
        assert [path for path in nameless if "/propertyNames" not in path] == []

    def test_has_no_words_beside_a_reference(self, name: str) -> None:
        # Else makers of types take it for another type, and draft-07 passes over them.
        beside = [path for path, node in subschemas(schema(name)) if "$ref" in node and len(node) > 1]
        assert beside == []

    def test_says_what_no_type_can_say_by_conditions(self, name: str) -> None:
        # 'anyOf' beside keys, or 'if' where a type should be chosen, made a profile an empty type.
        whole = schema(name)
        assert "if" not in whole
        assert [path for path, node in subschemas(whole) if {"anyOf", "properties"} <= node.keys()] == []

    def test_names_one_thing_by_one_name(self, name: str) -> None:
        # Else a generated type is called Region1.
        if name == "facts":
            return  # no document is of this form: it is the catalogue that others are made of
        known: dict[str, Any] = {}
        for path, node in subschemas(schema(name)):
            if "title" in node:
                assert re.fullmatch("[A-Z][A-Za-z]+", node["title"]), path
                assert known.setdefault(node["title"], node) == node, path

    def test_reaches_no_other_document(self, name: str) -> None:
        for path, node in subschemas(schema(name)):
            reference = node.get("$ref", "#")
            assert reference == "#" or reference.removeprefix("#/$defs/") in schema(name)["$defs"], path

    def test_carries_its_version(self, name: str) -> None:
        assert re.search(rf"/{name}-\d+\.schema\.json$", schema(name)["$id"])


@pytest.mark.parametrize("name", DOCUMENTS)
def test_both_drafts_give_one_verdict(name: str) -> None:
    # Editors know draft-07, the library draft 2020-12: the same references, with siblings or without, must reach as far.
    part = {key: DOCUMENTS["profile"][key] for key in ("format", "id", "label", "extends")}
    whole = {key: value for key, value in DOCUMENTS["profile"].items() if key != "extends"}
    right: dict[str, list[Any]] = {
        "profile": [
            whole,
            DOCUMENTS["profile"],
            part,
            {**part, "rules": {"a": {"then": {"take": None}}, "b": None}},
            {**part, "groups": {"body": {"back": True, "toes": None}}},
        ],
        "history": [DOCUMENTS["history"]],
    }
    broken: dict[str, list[Any]] = {
        "profile": [
            {},
            {**part, "extends": None, "visit": None},
            {**part, "label": None},
            {**part, "rules": {"a": {"because": 1}}},
            {**part, "groups": {"body": [None]}},
            {**whole, "rules": {"a": {"then": {}, "because": "So."}}},
            {**whole, "coats": None},
        ],
        "history": [{}, {**DOCUMENTS["history"], "visits": [{"visit": "2026-01-31", "work": {"a": {"pull": 2}}}]}],
    }
    for document in (*right[name], *broken[name]):
        assert (
            Draft202012Validator(schema(name), registry=Registry()).is_valid(document)
            == Draft7Validator(schema(name), registry=Registry()).is_valid(document)
            == (document in right[name])
        ), document


def test_words_of_conditions_are_the_same_in_schema_and_code() -> None:
    definitions = schema("profile")["$defs"]
    tests = [definitions[name]["anyOf"][-1]["properties"] for name in ("test_weeks", "test_groups")]
    assert {keyword for test in tests for keyword in test} == OF_A_TEST
    assert set(NOT_NAMES) == OF_A_TEST - {"anyOf", "allOf", "not"}


def test_the_example_documents_hold_every_key_there_is() -> None:
    # Else the damage done to them in test_structure leaves parts of the schemas out.
    for name, document in DOCUMENTS.items():
        for path, node in subschemas(schema(name)):
            if name == "profile" and path.startswith(("/$defs/history", "/$defs/visit")):
                continue  # of the document beside it
            if path.startswith(
                ("/$defs/condition", "/$defs/expectation", "/$defs/test_", "/$defs/part", "/$defs/regime")
            ):
                continue  # its keys are facts, words of conditions, or those of the whole once more
            for key in node.get("properties", {}):
                assert key in keys([document, {"regimes": REGIMES}]), (
                    f"put '{key}' ({name}{path}) into the document in tests/unit/formats/test_structure.py"
                )


def keys(value: Any) -> set[str]:
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return {*(value if isinstance(value, dict) else ()), *(key for one in inner for key in keys(one))}


# --- the catalogue of facts, and the facts --------------------------------------------------------------------------

CATALOGUE = schema("facts")["properties"]
DAY = date(2026, 3, 21)


def test_every_number_has_a_unit() -> None:
    for name, fact in CATALOGUE.items():
        assert (fact_unit(name) is not None) == (fact["type"] in ("number", "integer")), name


def test_the_kinds_of_facts_name_facts_and_each_number_once() -> None:
    kinds = {kind: about["enum"] for kind, about in schema("facts")["$defs"].items()}
    assert {name for names in kinds.values() for name in names} <= set(CATALOGUE)
    units = [name for kind, names in kinds.items() if kind != "dog" for name in names]
    assert len(units) == len(set(units))


def histories(profile: str) -> Iterator[dict[str, Any]]:
    """A dog never seen, and one of whom all is known."""
    yield {"format": 1, "dog": {"id": "new", "profile": profile}}
    regions = load_profile(profile).regions
    visits = []
    for weeks in range(24, 0, -3):
        visits.append(
            {
                "visit": (DAY - timedelta(weeks=weeks)).isoformat(),
                "work": {name: {"card": True, "pull": 0.2, "scissor": True} for name in regions},
                "reactions": dict.fromkeys(list(regions)[:3], "unsettled"),
                "health": ["bruises-easily"],
                "events": {"season": "2025-10-06"},
            }
        )
    seen = {"longest_mm": 20, "layers": 3, "see_through": False, "undercoat": "some", "skin": "sound"}
    seen |= {"comes": "mixed", "texture": "soft"}
    visits.append({"visit": DAY.isoformat(), "seen": dict.fromkeys(regions, seen)})
    dog = {"id": "old", "profile": profile, "born": "2023-03-04", "sex": "female", "neutered": True}
    dog |= {"show": "2026-06-01", "size": "miniature", "coat_type": "rough", "colour": "grizzle"}
    yield {"format": 1, "dog": dog, "visits": visits}


PROFILES = ["griffon-bruxellois-rough", "points-of-the-dog"]  # a breed, and the base that every breed shares


def computed(profile: str) -> list[dict[str, Any]]:
    return [
        dict(facts)
        for history in histories(profile)
        for facts in work_order(profile, history, date=DAY).all_facts.values()
    ]


@pytest.mark.parametrize("profile", PROFILES)
def test_every_fact_computed_is_as_the_catalogue_says(profile: str) -> None:
    comparisons = set(load_profile(profile).comparisons)
    judge = Draft202012Validator(schema("facts"), registry=Registry())
    for facts in computed(profile):
        assert set(facts) <= set(CATALOGUE) | comparisons
        written = {name: list(value) if isinstance(value, tuple) else value for name, value in facts.items()}
        assert [f"{'.'.join(map(str, e.path))}: {e.message}" for e in judge.iter_errors(written)] == []


def test_every_fact_of_the_catalogue_is_computed() -> None:
    assert {name for facts in computed(PROFILES[0]) for name in facts} >= set(CATALOGUE)


# --- what editors make of it ----------------------------------------------------------------------------------------

SHIPPED = sorted(folder("profiles").glob("*.yaml"))


@pytest.mark.parametrize("file", SHIPPED, ids=lambda file: file.stem)
def test_no_shipped_profile_has_a_fault(file: Path) -> None:
    # 52 of 53 had, when a file that extends another was judged as a whole one.
    judge = Draft202012Validator(schema("profile"), registry=Registry())
    (document,) = read_yaml(file.read_bytes(), str(file))
    assert [f"{'.'.join(map(str, e.absolute_path))}: {e.message}" for e in judge.iter_errors(document.data)] == []


CHILD = """
format: 2
id: mine
label: Mine
extends: points-of-the-dog
layer_targets:
  jacket: {regions: [jacket], layers: 4, take: {usual: 0.2, at_most: 0.3}}
methods:
  grips: {label: grips, does: pull, if: {longest_mm: {maximum: 30}}}
rules:
  away: {if: {weeks_since_visit: {minimum: 8}}, then: {take: {at_most: 0.2}}, because: So.}
cases:
  first:
    date: 2026-02-16
    history: {format: 1, dog: {id: fern}, visits: [{visit: 2026-01-05, work: {jacket: {pull: 0.25}}}]}
    expect: {regions: {back: {outcome: worked, share: 0.25}}}
"""
# What is changed, and to what. 25 of them went unseen when facts were untyped and a case's history was any mapping.
MISTAKES = [
    ("{minimum: 8}", "eight"),
    ("{minimum: 8}", "{minimum: '8'}"),
    ("{minimum: 8}", "{minimum: -1}"),
    ("{minimum: 8}", "{contains: 8}"),
    ("{minimum: 8}", "{enum: [a, b]}"),
    ("{maximum: 30}", "{maximum: 400}"),
    ("weeks_since_visit: {minimum: 8}", "skin: broken"),
    ("weeks_since_visit: {minimum: 8}", "skin: {not: fine}"),
    ("weeks_since_visit: {minimum: 8}", "neutered: 'no'"),
    ("weeks_since_visit: {minimum: 8}", "sex: bitch"),
    ("weeks_since_visit: {minimum: 8}", "cover: 20"),
    ("weeks_since_visit: {minimum: 8}", "health: in-whelp"),
    ("weeks_since_visit: {minimum: 8}", "health: {contains: whelping}"),
    ("weeks_since_visit: {minimum: 8}", "weeks since visit: 8"),
    ("weeks_since_visit: {minimum: 8}", "anyOf: [{last_reaction: {enum: [bad]}}]"),
    ("outcome: worked", "outcome: done"),
    ("share: 0.25}}}", "share: a quarter}}}"),
    ("share: 0.25}}}", "share: 25}}}"),
    ("{pull: 0.25}", "{pull: 25}"),
    ("{pull: 0.25}", "{pul: 0.25}"),
    ("{pull: 0.25}", "0.25"),
    ("visit: 2026-01-05", "day: 2026-01-05"),
    ("visit: 2026-01-05", "visit: 5 January"),
    ("dog: {id: fern}, ", ""),
    ("dog: {id: fern}", "dog: {id: fern, sex: bitch}"),
    ("history: {format: 1, ", "history: {format: 2, "),
    # and what was seen before, if among errors that were none
    ("layers: 4", "layers: four"),
    ("layers: 4", "layer: 4"),
    ("at_most: 0.3", "at_most: 30"),
    ("regions: [jacket]", "regions: jacket"),
    ("regions: [jacket]", "regions: [jacket, null]"),
    ("does: pull", "does: pluck"),
    ("because: So.", "because: 3"),
    ("label: Mine\n", ""),
    ("id: mine", "id: My Profile"),
    ("date: 2026-02-16", "date: 16.2.2026"),
]


@pytest.mark.parametrize(
    ("right", "wrong"), MISTAKES, ids=[wrong.strip() or f"no {right}" for right, wrong in MISTAKES]
)
def test_the_schema_alone_sees_a_mistake(right: str, wrong: str) -> None:
    judge = Draft202012Validator(schema("profile"), format_checker=FormatChecker(["date"]), registry=Registry())
    assert judge.is_valid(read_yaml(CHILD)[0].data)
    assert CHILD.count(right) == 1
    assert not judge.is_valid(read_yaml(CHILD.replace(right, wrong))[0].data)


# What Ajv refuses in strict mode, by its documentation ("Strict mode": https://ajv.js.org/strict-mode.html), looked for without it.
KINDS_OF = {
    "number": {"minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum"},
    "string": {"pattern", "minLength", "maxLength", "format"},
    "array": {"items", "minItems", "maxItems"},
    "object": {"properties", "required", "additionalProperties", "propertyNames", "minProperties", "maxProperties"},
}
SAME_VALUE = ("allOf", "anyOf", "not", "if", "then", "else")


def unstrict(node: Any, kinds: frozenset[str] = frozenset(), known: frozenset[str] = frozenset()) -> Iterator[str]:
    """What strict mode refuses in a schema; ``kinds`` and ``known`` are the types and properties of those around it."""
    named = node.get("type", [])
    named = {named} if isinstance(named, str) else set(named)
    if len(named) > 1 and not (len(named) == 2 and "null" in named):
        yield f"a union of types: {named}"
    kinds = frozenset(named | ({"number"} if "integer" in named else set())) or kinds
    known = known | set(node.get("properties", ()))
    for kind, keywords in KINDS_OF.items():
        if keywords & node.keys() and kind not in kinds:
            yield f"no type '{kind}' for {sorted(keywords & node.keys())}"
    yield from (f"required, but no property: {name}" for name in set(node.get("required", ())) - known)
    for key in SAME_VALUE:
        inner = node.get(key, [])
        for part in inner if isinstance(inner, list) else [inner]:
            yield from unstrict(part, kinds, known)
    below = [*node.get("properties", {}).values(), node.get("additionalProperties"), node.get("items")]
    for part in (*below, *node.get("$defs", {}).values()):
        if isinstance(part, dict):
            yield from unstrict(part)
    if "propertyNames" in node:
        yield from unstrict(node["propertyNames"], frozenset({"string"}))


@pytest.mark.parametrize("name", NAMES)
def test_a_strict_reader_of_schemas_has_nothing_against_it(name: str) -> None:
    assert list(unstrict(schema(name))) == []


def test_what_a_strict_reader_refuses_is_found() -> None:
    assert list(unstrict({"type": ["string", "number"]}))
    assert list(unstrict({"minimum": 3}))
    assert list(unstrict({"type": "object", "required": ["a"]}))
    assert not list(unstrict({"type": "object", "properties": {"a": {"type": ["string", "null"]}}, "required": ["a"]}))


@pytest.mark.skipif(not find_spec("check_jsonschema"), reason="check-jsonschema is not installed")
def test_check_jsonschema_has_nothing_against_the_shipped_profiles() -> None:
    judge = ["-m", "check_jsonschema", "--schemafile", str(folder("schemas") / "profile.schema.json")]
    ran = subprocess.run([sys.executable, *judge, *map(str, SHIPPED)], capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout


AJV = """
const {readFileSync} = require("fs");
const Ajv = require("ajv/dist/2020").default, formats = require("ajv-formats").default;
const {schemas, documents} = JSON.parse(readFileSync(0, "utf8"));
for (const text of schemas) { const ajv = new Ajv({strict: true}); formats(ajv); ajv.compile(text); }
const ajv = new Ajv({strict: true}); formats(ajv);
const judge = ajv.compile(schemas[0]);
console.log(JSON.stringify(documents.filter(one => !judge(one)).map(one => one.id)));
"""


TO_TYPES = """
const {readFileSync} = require("fs");
const {compile} = require("json-schema-to-typescript");
const types = schema => compile(schema, schema.title, {additionalProperties: false, format: false});
Promise.all(JSON.parse(readFileSync(0, "utf8")).map(types)).then(made => console.log(JSON.stringify(made)));
"""


def test_types_made_of_the_schemas_have_one_name_each() -> None:
    node = which("node")
    asked = [node or "", "-e", "require('json-schema-to-typescript')"]
    if node is None or subprocess.run(asked, capture_output=True, check=False).returncode:
        pytest.skip("node with json-schema-to-typescript is not installed (NODE_PATH says where)")
    given = json.dumps([schema(name) for name in NAMES])
    ran = subprocess.run([node, "-e", TO_TYPES], input=given, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    for name, types in zip(NAMES, json.loads(ran.stdout), strict=True):
        made = re.findall(r"^export (?:interface|type) (\w+)", types, re.MULTILINE)
        assert len(made) > 1, name
        assert [one for one in made if re.search(r"\d$", one)] == [], name


def test_ajv_compiles_every_schema_strictly_and_passes_the_shipped_profiles() -> None:
    node = which("node")
    if (
        node is None
        or subprocess.run([node, "-e", "require('ajv-formats')"], capture_output=True, check=False).returncode
    ):
        pytest.skip("node with ajv and ajv-formats is not installed (NODE_PATH says where)")
    schemas = [schema("profile"), *(schema(name) for name in NAMES if name != "profile")]
    documents = [read_yaml(file.read_bytes(), str(file))[0].data for file in SHIPPED]
    given = json.dumps({"schemas": schemas, "documents": documents})
    ran = subprocess.run([node, "-e", AJV], input=given, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    assert json.loads(ran.stdout) == []
