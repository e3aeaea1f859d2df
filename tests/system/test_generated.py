"""What is generated and checked in is fresh."""

from __future__ import annotations

import json

import pytest

from tests.generated import SCHEMAS, profile_schema
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
