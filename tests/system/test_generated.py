"""What is generated and checked in is fresh."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

import attrs
import pytest
from jsonschema import Draft202012Validator
from referencing import Registry

from coatrules.conditions.condition import Condition
from coatrules.dog.history import History
from coatrules.formats.resources import schema, whole_schema
from coatrules.formats.structure import hook, written
from coatrules.profile.model import Profile
from coatrules.reading import read_yaml
from tests.generated import SCHEMAS, WORDS, history_schema, profile_schema
from tests.generated_formats import OUTPUTS, schemas


def test_the_profile_schema_is_as_generated_from_the_facts() -> None:
    written = (SCHEMAS / "profile.schema.json").read_text(encoding="utf-8")
    assert written == profile_schema(), "run: python -m tests.generated"


@pytest.mark.parametrize("name", OUTPUTS)
def test_the_schemas_of_what_is_written_are_as_generated(name: str) -> None:
    written = (SCHEMAS / f"{name}.schema.json").read_text(encoding="utf-8")
    assert written == schemas()[name], "run: python -m tests.generated_formats"


def test_the_generated_condition_names_every_fact() -> None:
    facts = json.loads((SCHEMAS / "facts.schema.json").read_text(encoding="utf-8"))["properties"]
    known = json.loads(profile_schema())["$defs"]["condition"]["properties"]
    assert set(known) - {"anyOf", "allOf", "not"} == set(facts)
    assert all(known[name]["description"].startswith(fact["description"]) for name, fact in facts.items())


def test_the_history_schema_is_as_generated_from_the_annotations() -> None:
    written_now = (SCHEMAS / "history.schema.json").read_text(encoding="utf-8")
    assert written_now == history_schema(), "run: python -m tests.generated"


Key = tuple[str, Any, Any, Mapping[str, Any]]


def keys_of(kind: Any, node: Mapping[str, Any], definitions: Mapping[str, Any], path: str = "") -> Iterator[Key]:
    """Every key of a document: its path, its annotation, its default, and its node in the schema."""
    while "$ref" in node:
        node = definitions[node["$ref"].rpartition("/")[2]]
    origin, parts = get_origin(kind), get_args(kind)
    if origin is Annotated:
        yield from keys_of(parts[0], node, definitions, path)
    elif origin in (Union, UnionType):
        kinds = [part for part in parts if part is not type(None)]
        if len(kinds) == 1:
            yield from keys_of(kinds[0], node, definitions, path)
    elif origin is tuple:
        yield from keys_of(parts[0], node.get("items", {}), definitions, f"{path}[]")
    elif origin is Mapping and isinstance(node.get("additionalProperties"), dict):
        yield from keys_of(parts[1], node["additionalProperties"], definitions, f"{path}.*")
    elif attrs.has(kind):
        fields = attrs.fields_dict(kind)
        for key, (name, meant) in written(kind).items():
            inner = node["properties"][key]
            yield f"{path}.{key}", meant, fields[name].default, inner
            yield from keys_of(meant, inner, definitions, f"{path}.{key}")


ALL = {"profile": (Profile, whole_schema("profile")), "history": (History, schema("history"))}
KEYS = [(name, *key) for name, (kind, whole) in ALL.items() for key in keys_of(kind, whole, whole["$defs"])]


def test_every_key_is_looked_at() -> None:
    paths = {path for _, path, *_ in KEYS}
    assert {".coats.*.full_mm", ".rules.*.then.take.at_most", ".cases.*.expect.next_visit.best"} <= paths
    assert {".arrival.*.grown_weeks", ".visits[].work.*.pull"} <= paths


WORKED_OUT = (".coats.*.grows_weeks", ".coats.*.full_mm")
"""Each follows from the other; their defaults only say that it was not written."""


@pytest.mark.parametrize(("name", "path", "kind", "default", "node"), KEYS, ids=[f"{n}{p}" for n, p, *_ in KEYS])
def test_a_key_has_examples_that_its_annotation_takes_and_the_default_that_it_has(
    name: str, path: str, kind: Any, default: Any, node: Mapping[str, Any]
) -> None:
    take = hook(kind)
    for example in node.get("examples", ()):
        take(example)  # raises what it does not take
    worked_out = name == "profile" and path in WORKED_OUT
    if isinstance(default, str | bool | int | float) and not worked_out:
        assert node["default"] == default
        assert type(take(node["default"])) is type(default)
    else:
        assert "default" not in node
    holds_more = "$ref" in node or node.get("type") == "object" or node.get("items", {}).get("$ref")
    if not holds_more and get_origin(kind) is not Literal:
        assert node.get("examples"), "put the key into tests/support/every_key.py, and run: python -m tests.generated"


@pytest.mark.parametrize("word", WORDS)
def test_an_example_of_a_condition_is_one(word: str) -> None:
    (document,) = read_yaml("{" + WORDS[word] + "}")
    ((fact, asked),) = document.data.items()
    assert fact in schema("facts")["properties"]
    assert word in asked
    judge = {"$ref": "#/$defs/condition", "$defs": schema("profile")["$defs"]}
    assert Draft202012Validator(judge, registry=Registry()).is_valid(document.data)
    Condition.parse(document.data)
