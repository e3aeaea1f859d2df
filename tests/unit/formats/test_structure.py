"""The strict structuring and the JSON Schema, two ways to judge a document, held to the same verdict on damaged documents."""

from __future__ import annotations

import copy
from datetime import date, datetime
from math import inf, nan
from types import MappingProxyType
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from coatrules import InputError, work_order
from coatrules.dog.history import History
from coatrules.dog.loading import load_history
from coatrules.formats.schema_faults import validator
from coatrules.formats.structure import structure
from coatrules.problems import Problem, path_text
from coatrules.profile.loading import load_profile
from coatrules.profile.model import Profile
from tests.support.paths import BAD

KINDS: dict[str, type] = {"profile": Profile, "history": History}

# Small, with every key there is, so that every part of the schemas can be damaged.
PROFILE: dict[str, Any] = {
    "format": 2,
    "id": "every-key",
    "label": "Every key",
    "about": "For tests.",
    "outline": "spaniel",
    "extends": "another",
    "breed": {"fci": 80, "vbo": "VBO:0200642", "variety": "rough", "source": "practice"},
    "visit": {
        "every_weeks": 3,
        "minutes": 60,
        "pace_spread": 0.15,
        "region_spread": 0.1,
        "measure_mm": 2.0,
        "tender_in_a_row": 2,
        "first_coat_weeks": 17,
    },
    "sources": {
        "practice": {"common_practice": True, "from_memory": False, "derived": False},
        "guide": {"title": "A guide", "publisher": "A club", "year": 2003, "note": "Short."},
    },
    "coats": {
        "jacket": {
            "lag_weeks": 4,
            "mm_per_week": 2.1,
            "full_mm": 42,
            "rests_weeks": 2,
            "grows_weeks": 20,
            "spread": 0.35,
            "ranges": {"lag_weeks": [1, 5]},
            "ready_mm": 6,
            "cover_mm": 6,
            "layer_gap_mm": 2,
            "undercoat_weeks": 4,
            "source": {"full_mm": "guide", "ready_mm": "practice"},
        }
    },
    "groups": {"body": ["back", "toes"]},
    "regions": {
        "back": {
            "label": "Back",
            "coat": "jacket",
            "minutes": {"pull": 20, "card": 6, "clip": 2, "scissor": 3, "comb": 1},
            "source": ["guide", "practice"],
        },
        "toes": {"label": "Toes", "coat": "jacket", "paired": True, "visible": False, "uberon": "UBERON:0001137"},
    },
    "layer_targets": {
        "body": {
            "regions": ["body"],
            "layers": 4,
            "take": {"usual": 0.2, "at_most": 0.35, "low_spot": 0.05},
            "cover": {"at_least": 0.5},
            "longest_mm": [15, 35],
            "show_mm": [20, 30],
            "leads": True,
            "full_strip": False,
            "because": "So.",
        }
    },
    "sensitive_zones": {"toes": {"regions": ["toes"], "level": "high", "bout_minutes": 3, "rest_minutes": 4}},
    "clipper_only_zones": {
        "pads": {"regions": ["toes"], "leave_mm": 3, "every_weeks": 4, "soiled": 1, "because": "So."}
    },
    "routines": {"feet": {"regions": ["toes"], "task": "scissor", "every_weeks": 3, "minutes": 4, "finish": True}},
    "stations": {
        "front": {"regions": ["toes"], "next_door": ["back"], "source": "practice"},
        "back": {"regions": ["back"]},
    },
    "methods": {
        "fingers": {
            "label": "Fingers",
            "does": "pull",
            "regions": ["toes"],
            "if": {"cover": 1},
            "rank": -2,
            "pass": 4.5,
            "tool": "rake",
            "how": "So.",
        },
        "rake": {"label": "Rake", "does": "card", "then": "fine-rake", "until": "it comes up clean"},
    },
    "comparisons": {"legs_to_body": {"fact": "outline_mm", "of": "toes", "to": "body"}},
    "rules": {
        "all": {
            "regions": ["back"],
            "if": {
                "cover": {"minimum": 0.1, "exclusiveMaximum": 0.9},
                "skin": "sound",
                "legs_to_body": {},
                "health": {"contains": {"const": "unwell"}},
                "layers": {"not": {"enum": [1, 2]}, "anyOf": [{"maximum": 9}, 12], "allOf": [{"exclusiveMinimum": 0}]},
                "anyOf": [{"see_through": True}, {"not": {"region": "back"}}],
                "allOf": [{"groups": {"const": ["body"]}}],
            },
            "then": {
                "take": {"at_least": 0.1, "at_most": 0.2},
                "leave": ["card"],
                "add": {"comb": 5},
                "use": "fingers",
                "priority": -3,
                "caution": "Mind.",
                "refer": "See a veterinary surgeon.",
                "whole_dog": True,
            },
            "because": "So.",
        }
    },
    "cases": {
        "one": {
            "history": {"format": 1},
            "date": "2026-03-21",
            "minutes": 40,
            "because": "So.",
            "expect": {
                "regions": {"back": {"layers": 2}},
                "rules": ["all"],
                "not_rules": [],
                "steps": ["back"],
                "refer": False,
                "next_visit": {"earliest": "2026-04-01", "best": "2026-04-11", "latest": "2026-05-01"},
            },
        }
    },
}
HISTORY: dict[str, Any] = {
    "format": 1,
    "dog": {
        "id": "pip",
        "name": "Pip",
        "profile": "mini",
        "born": "2023-03-04",
        "sex": "male",
        "neutered": False,
        "show": "2026-06-01",
        "note": "Keen.",
    },
    "arrival": {"body": {"grown_weeks": 20}, "toes": {"longest_mm": 30}, "legs": {"clipped_mm": 6, "clipped_weeks": 3}},
    "visits": [
        {
            "visit": "2026-01-31",
            "minutes": 95,
            "work": {
                "body": {
                    "card": True,
                    "pull": 0.6,
                    "pick": "even",
                    "asked": 0.7,
                    "minutes": 55,
                    "scissor": True,
                    "comb": False,
                },
                "anus": {"clip": 3, "scissor": 12.5},
                "toes": {"clip": True},
            },
            "seen": {
                "toes": {"longest_mm": {"minimum": 30}, "comes": "mixed", "texture": "soft", "at_end": False},
                "back": {"longest_mm": 8, "layers": 2, "see_through": False, "undercoat": "some", "skin": "sound"},
            },
            "reactions": {"toes": "stop"},
            "health": ["in-whelp"],
            "put_off": ["toes"],
            "events": {"season": "2026-01-02", "whelped": "2026-01-20"},
            "show": "2026-06-01",
            "note": "Fine.",
        },
        {"visit": "2026-02-28"},
        {"visit": "2026-02-28", "corrects": True},
        {"visit": "2026-02-28", "withdrawn": True},
    ],
}
DOCUMENTS = {"profile": PROFILE, "history": HISTORY}

SMALL = [None, True, False, 0, -1, 1, 1.0, 2.5, 20, 300.1, -0.0, 1e9, 2**53, 2**53 + 1, 10**400, -(2**60), "", " ", "x"]
TEXTS = [
    "Bad Id",
    "back",
    "a-b",
    "a_b",
    "2026-03-21",
    "2026-02-30",
    "20260321",
    "VBO:0200642",
    "high",
    "pull",
    "y" * 2001,
]
NESTED: list[Any] = [[], {}, [[]], [{}], ["back"], [1, 2], [None], {"a": {}}, {"a": None}, {"pull": 3}, {"minimum": 1}]
CONDITIONS: list[Any] = [
    {"enum": []},
    {"const": [["x"], 1]},
    {"not": {}},
    {"anyOf": [{}]},
    {"Odd name": 1},
    {"cover": {}},
]
VALUES: list[Any] = [*SMALL, *TEXTS, *NESTED, *CONDITIONS]
KEYS = ["x", "Bad Id", "a_b", "", "if", "not", "anyOf", "minimum", "const", "cover", "source", "minutes", "because"]


def containers(value: Any) -> list[Any]:
    """All mappings and lists of a document that hold anything, itself first."""
    if not isinstance(value, dict | list):
        return []
    inner = value.values() if isinstance(value, dict) else value
    return [*([value] if value else []), *(found for one in inner for found in containers(one))]


def values(value: Any) -> list[Any]:
    """All values in a document."""
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return [value, *(found for one in inner for found in values(one))]


@st.composite
def damage_to(draw: st.DrawFn, name: str, sound: dict[str, Any]) -> tuple[str, Any]:
    """A document with one to three things changed: dropped, added, renamed, wrapped, replaced, exchanged."""
    document = copy.deepcopy(sound)
    for _ in range(draw(st.integers(1, 3))):
        places = containers(document)
        if not places:
            break
        place = draw(st.sampled_from(places))
        key = draw(st.sampled_from(sorted(place) if isinstance(place, dict) else range(len(place))))
        match draw(st.sampled_from(["drop", "add", "rename", "wrap", "value", "value", "exchange"])):
            case "drop":
                del place[key]
            case "add" if isinstance(place, dict):
                place[draw(st.sampled_from(KEYS))] = copy.deepcopy(draw(st.sampled_from(VALUES)))
            case "add":
                place.append(copy.deepcopy(draw(st.sampled_from(VALUES))))
            case "rename" if isinstance(place, dict):
                place[draw(st.sampled_from(KEYS))] = place.pop(key)
            case "wrap":
                place[key] = [place[key]] if draw(st.booleans()) else {"a": place[key]}
            case "exchange":
                place[key] = copy.deepcopy(draw(st.sampled_from(values(sound))))
            case _:
                place[key] = copy.deepcopy(draw(st.sampled_from(VALUES)))
    return name, document


def damaged() -> st.SearchStrategy[tuple[str, Any]]:
    return st.one_of(*(damage_to(name, document) for name, document in DOCUMENTS.items()))


def fits(name: str, document: object) -> bool:
    try:
        structure(document, KINDS[name])
    except Exception:
        return False
    return True


@pytest.mark.parametrize("name", DOCUMENTS)
def test_both_accept_what_is_right(name: str) -> None:
    assert fits(name, DOCUMENTS[name])
    assert validator(name).is_valid(DOCUMENTS[name])


def rule(condition: Any) -> tuple[str, Any]:
    document = copy.deepcopy(PROFILE)
    document["rules"]["all"]["if"] = condition
    return "profile", document


# The reference: JSON Schema draft 2020-12, by the jsonschema package.
@settings(max_examples=400, derandomize=True)
@given(damaged())
@example(rule({"minimum": 3}))
@example(rule({"cover": {"const": ["a", ["b"]]}}))
@example(rule({"cover": {"enum": [["a"], 1]}}))
@example(rule({"cover": {}}))
@example(rule({}))
@example(rule({"not": {}}))
@example(rule({"anyOf": []}))
@example(rule({"anyOf": [{}]}))
@example(rule({"cover": {"not": {}}}))
@example(rule({"groups": {"contains": {}}}))
@example(rule({"cover": 2**53}))
@example(rule({"cover": 2**53 + 1}))
@example(rule({"cover": {"minimum": -(2**53) - 1}}))
@example(rule({"cover": {"const": [[2**60]]}}))
@example(rule({"cover": {"minimum": True}}))
@example(rule({"cover": [1]}))
@example(rule({" ": 1}))
@example(rule({"Any name": 1}))
def test_both_ways_give_the_same_verdict(case: tuple[str, Any]) -> None:
    name, document = case
    assert fits(name, document) == validator(name).is_valid(document)


def test_the_damage_leaves_right_documents_and_makes_wrong_ones() -> None:
    # A comparison of verdicts shows nothing where the verdict is always the same.
    verdicts = {True: 0, False: 0}

    @settings(max_examples=100, derandomize=True, database=None)
    @given(damaged())
    def count(case: tuple[str, Any]) -> None:
        verdicts[fits(*case)] += 1

    count()
    assert min(verdicts.values()) >= 5, verdicts


def test_what_is_structured_keeps_what_was_written() -> None:
    history = structure(HISTORY, History)
    assert history.dog.name == "Pip"
    assert history.visits[0].work["anus"].scissor == 12.5
    assert history.visits[0].work["body"].scissor is True
    assert history.visits[0].work["anus"].clip == 3
    assert history.visits[0].work["toes"].clip is True
    assert history.visits[0].day.isoformat() == "2026-01-31"
    profile = structure(PROFILE, Profile)
    assert profile.rules["all"].when.facts() >= {"cover", "skin", "legs_to_body", "see_through", "region", "groups"}
    assert profile.layer_targets["body"].longest_mm == (15.0, 35.0)
    assert profile.coats["jacket"].source == {"full_mm": "guide", "ready_mm": "practice"}


SOUND = load_profile(BAD / "known" / "sound.yaml")


def profile_that_loads() -> dict[str, Any]:
    """The document with every key, with what it names in place."""
    document = {key: value for key, value in copy.deepcopy(PROFILE).items() if key != "extends"}
    document["methods"]["fine-rake"] = {"label": "Fine rake", "does": "card"}
    document["cases"]["one"]["history"] = {"format": 1, "dog": {"id": "pip"}}
    return document


def history_that_loads() -> dict[str, Any]:
    document = copy.deepcopy(HISTORY)
    document["arrival"] = {"body": {"grown_weeks": 20}, "toes": {"clipped_mm": 6, "clipped_weeks": 3}}
    return document


@settings(max_examples=150, derandomize=True)
@given(st.one_of(damage_to("profile", profile_that_loads()), damage_to("history", history_that_loads())))
def test_a_damaged_document_ends_in_an_order_or_in_problems_with_a_mend(case: tuple[str, Any]) -> None:
    name, document = case
    if not isinstance(document, dict):
        return  # files of another kind are in tests/bad
    profile, history = (document, HISTORY_OF_SOUND) if name == "profile" else (SOUND, document)
    problems: tuple[Problem, ...] = ()
    try:
        work_order(profile, history, date=date(2026, 3, 21))
    except InputError as error:
        problems = error.problems
    assert all(problem.message and problem.hint for problem in problems), problems


HISTORY_OF_SOUND: dict[str, Any] = {
    "format": 1,
    "dog": {"id": "pip"},
    "visits": [{"visit": "2026-01-31", "work": {"back": {"pull": 0.2, "card": True}}, "reactions": {"back": "stop"}}],
}


@pytest.mark.parametrize(
    ("said", "message", "path"),
    [
        ({"dog": {"id": "a", "born": datetime(2020, 1, 1)}}, "expected text, found 2020-01-01 00:00:00", "dog.born"),
        ({"arrival": {"back": {"grown_weeks": nan}}}, "unusable number: 'nan'", "arrival.back.grown_weeks"),
        ({"visits": ({"visit": "2026-01-31", "work": {"back": {"pull": inf}}},)}, "'inf'", "visits[0].work.back.pull"),
        ({"visits": ({"visit": "31.1.2026"},)}, "invalid date", "visits[0].visit"),
        ({"arrival": {3: {"grown_weeks": 2}}}, "key must be text: 3", "arrival"),
        ({1: 2}, "key must be text: 1", ""),
    ],
)
def test_data_that_no_file_can_hold_is_refused_in_words(said: dict[Any, Any], message: str, path: str) -> None:
    with pytest.raises(InputError) as refused:
        load_history({"format": 1, "dog": {"id": "a"}} | said)
    (problem,) = refused.value.problems
    assert message in problem.message
    assert path_text(problem.path) == path
    assert problem.hint


@pytest.mark.parametrize(
    ("path", "said"),
    [
        ((), ""),
        (("visits", 2, "work"), "visits[2].work"),
        (
            ("cases", "a", "expect", "regions", "back", "anyOf", 0, "not", "allOf", 1, "cover", "minimum"),
            "cases.a.expect.regions.back.anyOf[0].not.allOf[1].cover.minimum",
        ),
        (("rules", "a", "if", *["not"] * 20), "rules.a.if.not.not.not.not … not.not.not"),
        (("rules", "a", "if", *["anyOf", 0] * 20), "rules.a.if.anyOf[0].anyOf[0] … [0].anyOf[0]"),
        (("x" * 500,), "x" * 59 + "…"),
    ],
)
def test_a_path_is_said_in_a_line_however_deep_it_lies(path: tuple[str | int, ...], said: str) -> None:
    assert path_text(path) == said
    assert Problem(code="amount.yes", path=path).path == path, "programs get it whole"
    assert len(str(Problem(code="amount.yes", path=path))) < 90


def test_a_very_long_key_is_not_said_whole() -> None:
    with pytest.raises(InputError) as refused:
        load_history({"format": 1, "dog": {"id": "a"}, "x" * 500: 1})
    assert len(str(refused.value)) < 300


def test_mappings_and_tuples_of_any_kind_are_taken() -> None:
    visits = (MappingProxyType({"visit": "2026-01-31", "put_off": ("back",)}),)
    assert load_history({"format": 1, "dog": {"id": "a"}, "visits": visits}).visits[0].put_off == ("back",)


def test_what_is_damaged_here_makes_orders_when_whole() -> None:
    for profile, history in ((profile_that_loads(), HISTORY_OF_SOUND), (SOUND, history_that_loads())):
        assert work_order(profile, history, date=date(2026, 3, 21)).left_alone is not None
