"""How a profile builds on another: JSON Merge Patch, held against the examples of its standard."""

from __future__ import annotations

import copy
import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatrules.formats.documents import merge_patch

# Source: RFC 7396, JSON Merge Patch, Appendix A, Example Test Cases: all of them, as original, patch, result.
APPENDIX_A = [
    ('{"a":"b"}', '{"a":"c"}', '{"a":"c"}'),
    ('{"a":"b"}', '{"b":"c"}', '{"a":"b","b":"c"}'),
    ('{"a":"b"}', '{"a":null}', "{}"),
    ('{"a":"b","b":"c"}', '{"a":null}', '{"b":"c"}'),
    ('{"a":["b"]}', '{"a":"c"}', '{"a":"c"}'),
    ('{"a":"c"}', '{"a":["b"]}', '{"a":["b"]}'),
    ('{"a":{"b":"c"}}', '{"a":{"b":"d","c":null}}', '{"a":{"b":"d"}}'),
    ('{"a":[{"b":"c"}]}', '{"a":[1]}', '{"a":[1]}'),
    ('["a","b"]', '["c","d"]', '["c","d"]'),
    ('{"a":"b"}', '["c"]', '["c"]'),
    ('{"a":"foo"}', "null", "null"),
    ('{"a":"foo"}', '"bar"', '"bar"'),
    ('{"e":null}', '{"a":1}', '{"e":null,"a":1}'),
    ("[1,2]", '{"a":"b","c":null}', '{"a":"b"}'),
    ("{}", '{"a":{"bb":{"ccc":null}}}', '{"a":{"bb":{}}}'),
]

KEYS = st.sampled_from("abc")  # few, so that patches meet what is there
VALUES = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(0, 3), st.sampled_from("xy")),
    lambda inner: st.one_of(st.lists(inner, max_size=2), st.dictionaries(KEYS, inner, max_size=3)),
    max_leaves=8,
)


def without_nulls(value: Any) -> Any:
    """A value whose mappings hold no null, as a patch can say it."""
    if not isinstance(value, dict):
        return value
    return {key: without_nulls(inner) for key, inner in value.items() if inner is not None}


@pytest.mark.parametrize(("original", "patch", "result"), APPENDIX_A)
def test_examples_of_the_standard(original: str, patch: str, result: str) -> None:
    assert merge_patch(json.loads(original), json.loads(patch)) == json.loads(result)


@given(VALUES, VALUES)
def test_a_patch_applied_twice_is_a_patch_applied_once(original: Any, patch: Any) -> None:
    once = merge_patch(original, patch)
    assert merge_patch(once, patch) == once


@given(VALUES, VALUES)
def test_neither_side_is_changed(original: Any, patch: Any) -> None:
    before = copy.deepcopy((original, patch))
    merge_patch(original, patch)
    assert (original, patch) == before


@given(VALUES)
def test_on_nothing_a_patch_is_itself_without_its_nulls(patch: Any) -> None:
    assert merge_patch(None, patch) == without_nulls(patch)


@given(st.dictionaries(KEYS, VALUES))
def test_an_empty_patch_changes_nothing(original: dict[str, Any]) -> None:
    assert merge_patch(original, {}) == original


@given(st.dictionaries(KEYS, VALUES.map(without_nulls)), st.dictionaries(KEYS, VALUES))
def test_what_a_patch_does_not_name_stays(original: dict[str, Any], patch: dict[str, Any]) -> None:
    merged = merge_patch(original, patch)
    assert {key: merged.get(key) for key in "abc" if key not in patch} == {
        key: original.get(key) for key in "abc" if key not in patch
    }
    assert not [key for key in patch if patch[key] is None and key in merged]
