"""Conditions, held against the jsonschema package: the reference for what each keyword means."""

from __future__ import annotations

import copy
import pickle
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from jsonschema import Draft7Validator, Draft202012Validator

from coatrules.catalogue.message import message
from coatrules.catalogue.speaking import say
from coatrules.conditions.compiling import compile_all, holding_indices
from coatrules.conditions.condition import Condition, ConditionError, Miss, in_words
from coatrules.conditions.evaluation import is_number

# Few names, texts and numbers, so that random facts meet random conditions often.
NAMES = st.sampled_from(["cover", "layers", "skin", "groups", 'it\'s "odd"\n'])
SCALARS = st.one_of(
    st.booleans(),
    st.integers(-2, 3),
    st.sampled_from([-0.0, 0.0, 0.5, 1.0, 1.5, 2.0, 0.1 + 0.2]),
    st.sampled_from(["sound", "legs", "", "1", "true"]),
)
VALUES = st.recursive(SCALARS, lambda inner: st.lists(inner, max_size=3), max_leaves=4)
NUMBERS = st.one_of(st.integers(-2, 3), st.sampled_from([-0.0, 0.5, 1.0, 1.5, 0.1 + 0.2]))
BOUND_KEYS = ["minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum"]
COMBINE_KEYS = ["not", "anyOf", "allOf"]


@st.composite
def subschemas(draw: st.DrawFn, depth: int = 2, at_fact: bool = True) -> Any:
    """What a fact must be: short forms, every keyword, and combinations up to the depth."""
    if draw(st.integers(0, 3)) == 0:
        return draw(SCALARS)
    keywords = ["const", "enum", *BOUND_KEYS, *(["contains", *COMBINE_KEYS] if depth else [])]
    schema: dict[str, Any] = {}
    for key in draw(st.lists(st.sampled_from(keywords), min_size=0 if at_fact else 1, max_size=3, unique=True)):
        if key in BOUND_KEYS:
            schema[key] = draw(NUMBERS)
        elif key == "const":
            schema[key] = draw(VALUES)
        elif key == "enum":
            schema[key] = draw(st.lists(VALUES, min_size=1, max_size=3))
        else:
            part = subschemas(depth - 1, key == "contains")
            schema[key] = draw(part if key in ("not", "contains") else st.lists(part, min_size=1, max_size=2))
    return schema


@st.composite
def raw_conditions(draw: st.DrawFn, depth: int = 2, least: int = 0) -> dict[str, Any]:
    """Whole conditions as they are written, combined up to the depth."""
    keys = draw(st.lists(st.sampled_from(COMBINE_KEYS), max_size=2, unique=True)) if depth else []
    least = 0 if keys else least
    raw: dict[str, Any] = draw(st.dictionaries(NAMES, subschemas(min(depth + 1, 2)), min_size=least, max_size=3))
    for key in keys:
        part = raw_conditions(depth - 1, 1)
        raw[key] = draw(part if key == "not" else st.lists(part, min_size=1, max_size=2))
    return raw


RAW = raw_conditions(1)
PLAIN = raw_conditions(0, 1)
ANY_VALUE = st.one_of(VALUES, st.none(), st.dictionaries(st.text(max_size=2), SCALARS, max_size=1))
FACTS = st.dictionaries(NAMES, ANY_VALUE, max_size=5)


def with_tuples(value: Any) -> Any:
    return tuple(map(with_tuples, value)) if isinstance(value, list) else value


@given(raw_conditions(), FACTS)
@settings(max_examples=80)
def test_holds_as_the_jsonschema_package_says(raw: dict[str, Any], facts: dict[str, Any]) -> None:
    # Source: JSON Schema draft 2020-12 and draft-07, by the jsonschema package.
    condition = Condition.parse(raw)
    schema = condition.schema()
    valid = Draft202012Validator(schema).is_valid(facts)
    assert Draft7Validator(schema).is_valid(facts) is valid
    assert condition.holds(facts) is valid
    assert compile_all([condition])(facts) == ([0] if valid else [])
    # Python has two kinds of list and JSON one.
    assert condition.holds({name: with_tuples(value) for name, value in facts.items()}) is valid


@given(RAW)
@settings(max_examples=30)
def test_what_it_stands_for_is_a_json_schema_of_both_drafts(raw: dict[str, Any]) -> None:
    # Source: the meta-schemas of draft 2020-12 and draft-07.
    Draft202012Validator.check_schema(Condition.parse(raw).schema())
    Draft7Validator.check_schema(Condition.parse(raw).schema())


@given(st.lists(st.one_of(PLAIN, RAW), max_size=5), st.lists(FACTS, min_size=1, max_size=4))
def test_compiled_together_they_hold_as_one_by_one(raws: list[dict[str, Any]], many: list[dict[str, Any]]) -> None:
    conditions = [Condition.parse(raw) for raw in raws]
    compiled = compile_all(conditions)
    values = {name: [facts[name] for facts in many if name in facts] for facts in many for name in facts}
    of_a_kind = {
        name
        for name, present in values.items()
        if all(map(is_number, present)) or all(isinstance(value, list) for value in present)
    }
    trusting = compile_all(conditions, of_a_kind)
    for facts in many:
        reference = [i for i, c in enumerate(conditions) if Draft202012Validator(c.schema()).is_valid(facts)]
        assert holding_indices(conditions, facts) == reference
        assert compiled(facts) == trusting(facts) == reference
        assert compiled({name: with_tuples(value) for name, value in facts.items()}) == reference


@given(RAW, FACTS)
def test_there_are_misses_exactly_when_it_does_not_hold(raw: dict[str, Any], facts: dict[str, Any]) -> None:
    condition = Condition.parse(raw)
    misses = condition.misses(facts)
    assert (not misses) is condition.holds(facts)
    assert len(set(map(repr, misses))) == len(misses)
    for miss in misses:
        assert miss.fact in condition.facts()
        assert miss.absent is (miss.fact not in facts)
        assert miss.absent or miss.value is facts[miss.fact]
        assert miss.expected


@given(PLAIN, FACTS)
def test_without_what_it_missed_a_plain_condition_holds(raw: dict[str, Any], facts: dict[str, Any]) -> None:
    missed = {miss.fact for miss in Condition.parse(raw).misses(facts)}
    assert Condition.parse({name: schema for name, schema in raw.items() if name not in missed}).holds(facts)


@given(RAW, FACTS)
def test_what_it_reads_is_all_that_counts(raw: dict[str, Any], facts: dict[str, Any]) -> None:
    condition = Condition.parse(raw)
    met = condition.met(facts)
    assert met == {name: value for name, value in facts.items() if name in condition.facts()}
    assert condition.holds(met) is condition.holds(facts)


@given(RAW)
@settings(max_examples=40)
def test_copies_are_equal_and_hold_the_same(raw: dict[str, Any]) -> None:
    condition = Condition.parse(raw)
    condition.holds({})  # so that there is something cached
    for other in (pickle.loads(pickle.dumps(condition)), copy.deepcopy(condition)):
        assert other == condition
        assert hash(other) == hash(condition)
    condition.schema().clear()
    assert other.schema() == condition.schema()


@given(RAW)
@settings(max_examples=40)
def test_written_otherwise_it_is_the_same_condition(raw: dict[str, Any]) -> None:
    assert Condition.parse(written_otherwise(raw)) == Condition.parse(raw)


def written_otherwise(raw: Any) -> Any:
    """Numbers as decimals, lists as tuples, keys backwards."""
    if isinstance(raw, dict):
        return {key: written_otherwise(value) for key, value in reversed(raw.items())}
    if isinstance(raw, list):
        return tuple(map(written_otherwise, raw))
    return float(raw) if type(raw) is int else raw


@pytest.mark.parametrize(
    ("first", "second", "same"),
    [
        ({"layers": 1}, {"layers": 1.0}, True),
        ({"layers": 1}, {"layers": {"const": 1}}, True),
        ({"layers": 1}, {"layers": True}, False),
        ({"layers": 1}, {"layers": "1"}, False),
        ({"layers": -0.0}, {"layers": 0}, True),
        ({"groups": {"const": [1]}}, {"groups": {"const": [True]}}, False),
        ({"a": 1, "b": 2}, {"b": 2, "a": 1}, True),
    ],
)
def test_equality_is_of_meaning(first: Any, second: Any, same: bool) -> None:
    assert (Condition.parse(first) == Condition.parse(second)) is same


MANY: list[Any] = ["sound", "legs", True, 2, ["legs", 1]]

CASES: list[tuple[dict[str, Any], list[Any], list[Any]]] = [
    # what the fact must be, values for which it holds, and values for which it does not
    ({}, [0, "", False, []], []),
    ({"const": "sound"}, ["sound"], ["", "soun", 1, True, ["sound"]]),
    ({"const": True}, [True], [False, 1, 1.0, "true"]),
    ({"const": 1}, [1, 1.0], [True, 2, "1", [1]]),
    (
        {"const": ["legs", 1]},
        [["legs", 1], ["legs", 1.0]],
        [["legs"], ["legs", 1, 1], ["legs", True], ["legs", 2], "legs"],
    ),
    ({"const": [[1]]}, [[[1]]], [[[True]], [[1, 1]], [1]]),
    ({"enum": ["sound", "legs"]}, ["sound", "legs"], ["", "soundlegs", 1]),
    ({"enum": MANY}, [*MANY, 2.0, ["legs", 1.0]], ["so", False, 1, ["legs"], ["legs", True]]),
    ({"enum": [0, False]}, [0, 0.0, False], [1, True, ""]),
    ({"minimum": 2}, [2, 2.5, "1", True, [1]], [1, 1.9]),
    ({"maximum": 2}, [2, 1.5, "3", True, [3]], [2.1, 3]),
    ({"exclusiveMinimum": 2}, [2.1, "1", False], [2, 2.0, 1]),
    ({"exclusiveMaximum": 2}, [1.9, "3", True], [2, 2.0, 3]),
    ({"contains": "legs"}, [["legs"], ["body", "legs"], "body", 3], [[], ["body"], ["leg", "s"], [["legs"]]]),
    ({"contains": {"minimum": 2}}, [[1, 2], [3], ["x"], 1], [[], [1]]),
    ({"contains": {}}, [["body"], "body"], [[]]),
    ({"contains": {"const": True}}, [[0, True]], [[1], []]),
    ({"not": {"minimum": 2}}, [1, 0], [2, 3, "x"]),
    ({"not": {"contains": "legs"}}, [[], ["body"]], [["legs"], "body"]),
    ({"anyOf": [{"const": "x"}, {"minimum": 3}]}, ["x", 3, "y"], [2, 0]),
    ({"allOf": [{"minimum": 1}, {"maximum": 2}], "not": {"const": 2}}, [1, 1.5], [0, 2, 3]),
    ({"minimum": 1, "maximum": 3, "enum": [1, 2, 5]}, [1, 2], [5, 3, 0]),
]


@pytest.mark.parametrize(("subschema", "holds", "fails"), CASES)
def test_every_word_by_hand(subschema: dict[str, Any], holds: list[Any], fails: list[Any]) -> None:
    condition = Condition.parse({"fact": subschema})
    reference = Draft202012Validator(condition.schema())
    other = Condition.parse({"layers": 4, "skin": {"enum": ["sound", "sore"]}})
    both = compile_all([condition, other])
    for value, expected in [*((value, True) for value in holds), *((value, False) for value in fails)]:
        for facts in ({"fact": value}, {"fact": with_tuples(value)}):
            assert condition.holds(facts) is expected, value
            assert compile_all([condition])(facts) == [0] * expected, value
            assert both({**facts, "layers": 4, "skin": "sore"}) == [0] * expected + [1], value
            assert [miss.fact for miss in condition.misses(facts)] == ["fact"] * (not expected), value
        assert reference.is_valid({"fact": value}) is expected, value
    # What is absent never is as wanted.
    assert not condition.holds({})
    assert compile_all([condition])({}) == []
    assert both({"layers": 4, "skin": "sound"}) == [1]
    assert [miss.absent for miss in condition.misses({"other": 1})] == [True]


COMBINED: list[tuple[dict[str, Any], dict[str, Any], bool]] = [
    ({"anyOf": [{"a": 1}, {"b": 1}]}, {"b": 1}, True),
    ({"anyOf": [{"a": 1}, {"b": 1}]}, {"a": 2, "b": 2}, False),
    ({"allOf": [{"a": 1}, {"b": 1}]}, {"a": 1, "b": 1}, True),
    ({"allOf": [{"a": 1}, {"b": 1}]}, {"a": 1}, False),
    ({"not": {"a": 1}}, {}, True),
    ({"not": {"a": 1}}, {"a": 1}, False),
    ({"not": {"a": {"minimum": 1}}}, {}, True),
    ({"not": {"a": {"not": {"const": 1}}}}, {}, True),
    ({"c": 1, "anyOf": [{"a": 1}], "allOf": [{"b": 1}], "not": {"d": 1}}, {"a": 1, "b": 1, "c": 1}, True),
    ({"c": 1, "anyOf": [{"a": 1}], "allOf": [{"b": 1}], "not": {"d": 1}}, {"a": 1, "b": 1, "c": 1, "d": 1}, False),
    ({"c": 1, "anyOf": [{"a": 1}], "allOf": [{"b": 1}], "not": {"d": 1}}, {"a": 1, "c": 1}, False),
]


@pytest.mark.parametrize(("raw", "facts", "holds"), COMBINED)
def test_whole_conditions_combined_by_hand(raw: dict[str, Any], facts: dict[str, Any], holds: bool) -> None:
    condition = Condition.parse(raw)
    assert Draft202012Validator(condition.schema()).is_valid(facts) is holds
    assert condition.holds(facts) is holds
    assert compile_all([condition])(facts) == [0] * holds
    assert (condition.misses(facts) == ()) is holds


def test_what_a_combined_condition_reads_stands_for_and_misses() -> None:
    condition = Condition.parse({"c": 1, "anyOf": [{"a": 1}], "allOf": [{"b": {"minimum": 2}}], "not": {"d": "x"}})
    assert condition.facts() == {"a", "b", "c", "d"}

    def of(name: str, must: dict[str, Any]) -> dict[str, Any]:
        return {"type": "object", "required": [name], "properties": {name: must}}

    assert condition.schema() == {
        **of("c", {"const": 1}),
        "anyOf": [of("a", {"const": 1})],
        "allOf": [of("b", {"minimum": 2})],
        "not": of("d", {"const": "x"}),
    }
    assert {in_plain(miss) for miss in condition.misses({"a": 2, "b": 1, "c": 1, "d": "x"})} == {
        ("a", 2, "1", False),
        ("b", 1, "at least 2", False),
        ("d", "x", "not x", False),
    }


def in_plain(miss: Miss) -> tuple[str, object, str, bool]:
    return miss.fact, miss.value, miss.expected, miss.absent


def test_an_error_says_its_place_only_where_there_is_one() -> None:
    with pytest.raises(ConditionError) as whole:
        Condition.parse("sound")
    with pytest.raises(ConditionError) as part:
        Condition.parse({"a": {"enum": []}})
    assert str(whole.value) == whole.value.message
    assert str(part.value) == "a.enum: expected a list with at least one entry"
    with pytest.raises(ConditionError) as large:
        Condition.parse({"a": 2**53 + 1})
    assert large.value.message == "implausibly large number"
    assert (part.value.says, part.value.fix) == (message("condition-list"), None)


def test_a_nan_meets_no_bound() -> None:
    # JSON has no NaN (RFC 8259, section 6), so the reference package is not asked.
    for key in BOUND_KEYS:
        condition = Condition.parse({"cover": {key: 0.5}})
        assert not condition.holds({"cover": float("nan")})
        assert compile_all([condition])({"cover": float("nan")}) == []


def test_threads_may_share_a_condition() -> None:
    either = {"anyOf": [{"skin": "sound"}, {"cover": 1}]}
    conditions = [Condition.parse({"layers": {"minimum": least}, **either}) for least in range(50)]
    with ThreadPoolExecutor(4) as pool:
        answers = pool.map(lambda layers: holding_indices(conditions, {"layers": layers, "skin": "sound"}), range(50))
    assert [len(answer) for answer in answers] == list(range(1, 51))


def test_misses_say_what_was_wanted() -> None:
    not_in_whelp = {"not": {"health": {"contains": "in-whelp"}}}
    condition = Condition.parse({"legs_to_body": {"maximum": 1.2}, "skin": "sound", **not_in_whelp})
    assert [in_plain(miss) for miss in condition.misses({"legs_to_body": 1.34, "health": ["in-whelp"]})] == [
        ("legs_to_body", 1.34, "at most 1.2", False),
        ("skin", None, "sound", True),
        ("health", ["in-whelp"], "not a list with in-whelp in it", False),
    ]
    assert condition.misses({"legs_to_body": 1, "skin": "sound"}) == ()


def test_of_any_of_every_way_missed_is_told_and_none_where_one_holds() -> None:
    condition = Condition.parse({"anyOf": [{"layers": {"minimum": 3}}, {"not": {"skin": "sound"}}]})
    assert [miss.expected for miss in condition.misses({"layers": 2, "skin": "sound"})] == ["at least 3", "not sound"]
    assert condition.misses({"layers": 4, "skin": "sound"}) == ()


@pytest.mark.parametrize(
    ("subschema", "expected"),
    [
        ({"minimum": 0.5}, "at least 0.5"),
        ({"minimum": 3, "maximum": 8.0}, "between 3 and 8"),
        ({"exclusiveMinimum": 3}, "more than 3"),
        ({"exclusiveMaximum": 3}, "less than 3"),
        ("sound", "sound"),
        (True, "yes"),
        (False, "no"),
        ("", "blank"),
        ({"maximum": 1.2, "not": {"const": 0}}, "at most 1.2 and not 0"),
        ({"enum": ["high", "some"]}, "one of high and some"),
        ({"const": ["a", 1]}, "the list of a and 1"),
        ({"contains": "in-whelp"}, "a list with in-whelp in it"),
        ({"contains": {}}, "a list with entries"),
        ({"anyOf": [{"minimum": 3, "maximum": 8}, "sound"]}, "(between 3 and 8) or sound"),
        ({"allOf": [{"minimum": 3}, {"not": {"enum": [4, 5]}}]}, "at least 3 and not (one of 4 and 5)"),
        ({"not": {"not": {"const": 1}}}, "1"),
        ({"not": {"minimum": 1, "maximum": 2}}, "not (between 1 and 2)"),
        ({}, "known"),
    ],
)
def test_in_words(subschema: object, expected: str) -> None:
    assert in_words(subschema).text == expected


def deep(levels: int) -> dict[str, Any]:
    raw: dict[str, Any] = {"a": 1}
    for _ in range(levels):
        raw = {"not": raw}
    return raw


def nested(levels: int) -> list[Any]:
    value: list[Any] = []
    for _ in range(levels):
        value = [value]
    return value


BAD: list[tuple[object, tuple[str | int, ...], str]] = [
    (None, (), "condition-empty"),
    ("sound", (), "condition-not-facts"),
    ([{"a": 1}], (), "condition-not-facts"),
    ({"a": None}, ("a",), "condition-empty"),
    ({"a": ["x"]}, ("a",), "condition-bare-list"),
    ({"a": {"minimun": 1}}, ("a", "minimun"), "condition-keyword"),
    ({"a": {"pattern": "x"}}, ("a", "pattern"), "condition-keyword"),
    ({"a": {"minimum": "1"}}, ("a", "minimum"), "condition-bound"),
    ({"a": {"minimum": True}}, ("a", "minimum"), "condition-bound"),
    ({"a": {"maximum": None}}, ("a", "maximum"), "condition-bound"),
    ({"a": {"maximum": float("nan")}}, ("a", "maximum"), "number-not-finite"),
    ({"a": float("inf")}, ("a",), "number-not-finite"),
    ({"a": 2**53 + 1}, ("a",), "number-too-large"),
    ({"a": 10**5000}, ("a",), "number-too-large"),
    ({"a": {"const": None}}, ("a", "const"), "condition-value"),
    ({"a": {"const": {"b": 1}}}, ("a", "const"), "condition-value"),
    ({"a": {"enum": []}}, ("a", "enum"), "condition-list"),
    ({"a": {"enum": "x"}}, ("a", "enum"), "condition-list"),
    ({"a": {"enum": ["x", None]}}, ("a", "enum", 1), "condition-value"),
    ({"a": {"contains": {"not": {"enum": [[1, None]]}}}}, ("a", "contains", "not", "enum", 0, 1), "condition-value"),
    ({"a": {"not": {}}}, ("a", "not"), "condition-empty-part"),
    ({"a": {"anyOf": [1, {}]}}, ("a", "anyOf", 1), "condition-empty-part"),
    ({"a": {"allOf": []}}, ("a", "allOf"), "condition-list"),
    ({"minimum": 3}, ("minimum",), "condition-without-fact"),
    ({"anyOf": {"a": 1}}, ("anyOf",), "condition-list"),
    ({"anyOf": []}, ("anyOf",), "condition-list"),
    ({"anyOf": [{"a": 1}, {"b": {"oneOf": [1]}}]}, ("anyOf", 1, "b", "oneOf"), "condition-keyword"),
    ({"allOf": ["a"]}, ("allOf", 0), "condition-not-facts"),
    ({"not": [{"a": 1}]}, ("not",), "condition-not-facts"),
    ({"not": {}}, ("not",), "condition-empty-part"),
    ({1: "a"}, (), "condition-name"),
    ({"a": {True: "a"}}, ("a",), "condition-name"),
    ({10**5000: 1}, (), "condition-name"),
    ({"a": {"const": nested(25)}}, ("a", "const", *(0,) * 20), "condition-list-too-deep"),
    ({"": 1}, (), "condition-name"),
    (deep(21), ("not",) * 21, "condition-too-deep"),
    ({"a": deep(25)}, ("a", *("not",) * 20), "condition-too-deep"),
]


@pytest.mark.parametrize(("raw", "path", "code"), BAD)
def test_what_is_outside_is_refused_at_its_place(raw: object, path: tuple[str | int, ...], code: str) -> None:
    with pytest.raises(ConditionError) as caught:
        Condition.parse(raw)
    assert caught.value.path == path
    assert caught.value.says.code == code
    assert caught.value.fix or say.knows(f"{code}.fix")
    assert caught.value.message in str(caught.value)
    again = pickle.loads(pickle.dumps(caught.value))
    assert (again.path, again.message) == (path, caught.value.message)


def test_in_words_refuses_what_is_outside() -> None:
    with pytest.raises(ConditionError):
        in_words({"minimun": 1})


def paths(raw: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """The places of all parts of a condition, its own first."""
    parts = raw.items() if isinstance(raw, dict) else enumerate(raw) if isinstance(raw, list) else ()
    return [path, *(inner for key, value in parts for inner in paths(value, (*path, key)))]


def changed(raw: Any, path: tuple[str | int, ...], change: Callable[[Any], Any]) -> Any:
    if not path:
        return change(raw)
    raw = copy.copy(raw)
    raw[path[0]] = changed(raw[path[0]], path[1:], change)
    return raw


@given(RAW, st.data(), st.sampled_from([None, float("nan"), float("inf"), object(), b"x", {1: 1}]))
def test_what_cannot_be_is_refused_wherever_it_stands(raw: dict[str, Any], data: st.DataObject, bad: object) -> None:
    path = data.draw(st.sampled_from(paths(raw)))
    with pytest.raises(ConditionError) as caught:
        Condition.parse(changed(raw, path, lambda _: bad))
    assert caught.value.path == path


@given(PLAIN, st.data(), st.sampled_from(["pattern", "type", "minimun", "oneOf", "$ref", "if"]))
def test_an_unknown_word_is_refused_in_every_subschema(raw: dict[str, Any], data: st.DataObject, word: str) -> None:
    values = {"const", "enum"}  # below these stand values, not subschemas
    inside = [path for path in paths(raw) if path and not values & set(path) and isinstance(at(raw, path), dict)]
    assume(inside)
    path = data.draw(st.sampled_from(inside))
    with pytest.raises(ConditionError) as caught:
        Condition.parse(changed(raw, path, lambda part: {**part, word: 1}))
    assert caught.value.path == (*path, word)


def at(raw: Any, path: tuple[str | int, ...]) -> Any:
    return at(raw[path[0]], path[1:]) if path else raw
