"""The schemas themselves: valid, closed, described, within what both drafts of JSON Schema share; and the facts they name."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import pytest
from jsonschema import Draft7Validator, Draft202012Validator
from referencing import Registry

from coatrules import work_order
from coatrules.conditions.condition import _KEYWORDS
from coatrules.formats.resources import folder, schema
from coatrules.profile.loading import load_profile
from tests.generated import NOT_NAMES
from tests.generated_formats import OPEN, OUTPUTS
from tests.unit.formats.test_structure import DOCUMENTS

NAMES = sorted(file.name.removesuffix(".schema.json") for file in folder("schemas").glob("*.schema.json"))

# Keywords that draft 2020-12 and draft-07 both have, with one meaning. Sources: JSON Schema Core and JSON Schema
# Validation, draft 2020-12; of those that draft-07 lacks, only $defs (it ignores it, and follows references into it).
KEYWORDS = {
    *("$schema", "$id", "$ref", "$defs", "title", "description"),
    *("type", "enum", "const", "format", "pattern", "minLength", "maxLength"),
    *("minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum"),
    *("properties", "required", "additionalProperties", "propertyNames", "minProperties", "maxProperties"),
    *("items", "minItems", "maxItems", "allOf", "anyOf", "not"),
}
OWN_KEYWORDS = {
    "facts": {"x-unit", "x-of"},  # units, for the documentation; JSON Schema ignores what begins with x-
    "history": {"patternProperties"},  # keys of other programs
}
OPEN_ON_PURPOSE = {
    "/properties/cases/additionalProperties/properties/history",  # the history's own schema checks it
}


def subschemas(node: Any, path: str = "") -> Iterator[tuple[str, dict[str, Any]]]:
    """Every subschema, with the path to it; never what only looks like one (an enum's values, a key called 'not')."""
    if not isinstance(node, dict):
        return
    yield path, node
    for key in ("properties", "$defs"):
        for name, inner in node.get(key, {}).items():
            yield from subschemas(inner, f"{path}/{key}/{name}")
    for key in ("additionalProperties", "propertyNames", "items", "not"):
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
        known = KEYWORDS | OWN_KEYWORDS.get(name, set())
        assert [(path, key) for path, node in subschemas(schema(name)) for key in node if key not in known] == []

    def test_describes_every_property(self, name: str) -> None:
        whole = schema(name)
        for path, node in subschemas(whole):
            for key, inner in node.get("properties", {}).items():
                target = whole["$defs"][inner["$ref"].rsplit("/", 1)[1]] if "$ref" in inner else {}
                about = inner.get("description") or target.get("description", "")
                assert re.fullmatch(r"\S.+[.:]|\S.+\.\S*", about.strip(), re.DOTALL), f"{path}: {key}: {about!r}"

    def test_closes_every_object_that_is_read(self, name: str) -> None:
        if name in OUTPUTS:
            return
        for path, node in subschemas(schema(name)):
            kinds = node.get("type", [])
            if "object" in ([kinds] if isinstance(kinds, str) else kinds) and path not in OPEN_ON_PURPOSE:
                rest = node.get("additionalProperties")
                assert rest is False or (isinstance(rest, dict) and rest), path

    def test_leaves_open_what_is_written_and_says_so(self, name: str) -> None:
        # A later version may add keys: who validates with the schema of today must not break then.
        closed = [path for path, node in subschemas(schema(name)) if node.get("additionalProperties") is False]
        assert (closed == [] and schema(name)["description"].endswith(OPEN)) is (name in OUTPUTS)

    def test_names_every_object_that_is_written(self, name: str) -> None:
        # Else a generated type is called Item1, or has no name at all.
        if name in OUTPUTS:
            nameless = [path for path, node in subschemas(schema(name)) if "properties" in node and "title" not in node]
            assert [path for path in nameless if "/allOf/" not in path] == []

    def test_reaches_no_other_document(self, name: str) -> None:
        for path, node in subschemas(schema(name)):
            reference = node.get("$ref", "#")
            assert reference == "#" or reference.removeprefix("#/$defs/") in schema(name)["$defs"], path

    def test_carries_its_version(self, name: str) -> None:
        assert re.search(rf"/{name}-\d+\.schema\.json$", schema(name)["$id"])


@pytest.mark.parametrize("name", DOCUMENTS)
def test_both_drafts_give_one_verdict(name: str) -> None:
    # Editors know draft-07, the library draft 2020-12: the same references, with siblings or without, must reach as far.
    broken: dict[str, list[Any]] = {
        "profile": [{}, {**DOCUMENTS["profile"], "rules": {"a": {"then": {}, "because": "So."}}}],
        "history": [{}, {**DOCUMENTS["history"], "visits": [{"visit": "2026-01-31", "work": {"a": {"pull": 2}}}]}],
    }
    for document in (DOCUMENTS[name], *broken[name]):
        assert (
            Draft202012Validator(schema(name), registry=Registry()).is_valid(document)
            == Draft7Validator(schema(name), registry=Registry()).is_valid(document)
            == (document is DOCUMENTS[name])
        )


def test_words_of_conditions_are_the_same_in_schema_and_code() -> None:
    assert set(schema("profile")["$defs"]["test"]["properties"]) == _KEYWORDS
    assert set(NOT_NAMES) == _KEYWORDS - {"anyOf", "allOf", "not"}


def test_the_example_documents_hold_every_key_there_is() -> None:
    # Else the damage done to them in test_structure leaves parts of the schemas out.
    for name, document in DOCUMENTS.items():
        for path, node in subschemas(schema(name)):
            if path.startswith("/$defs/condition"):
                continue  # its keys are facts
            for key in node.get("properties", {}):
                assert key in keys(document), (
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
        assert ("x-unit" in fact) == (fact["type"] in ("number", "integer")), name
        assert fact["x-of"] in ("region", "dog")


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
            }
        )
    seen = {"longest_mm": 20, "layers": 3, "see_through": False, "undercoat": "some", "skin": "sound"}
    visits.append({"visit": DAY.isoformat(), "seen": dict.fromkeys(regions, seen)})
    dog = {"id": "old", "profile": profile, "born": "2023-03-04", "sex": "male", "neutered": True, "show": "2026-06-01"}
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
