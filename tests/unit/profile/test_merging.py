"""A profile merged into the one it extends: lists of names that add and remove, and regions that leave what they were in."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatrules import load_profile
from coatrules.problems import InputError
from coatrules.profile.merging import merge_profile
from tests.support.small import profile

MINUTES = {"pull": 10}
PARENT = profile(
    groups={"body": ["back", "loin"], "ends": ["tail"], "dog": ["body", "ends"]},
    regions={
        name: {"label": name, "coat": "jacket", "minutes": MINUTES, "anatomy": "none"}
        for name in ("back", "loin", "tail", "belly")
    },
    layer_targets={
        "body": {"regions": ["body"], "layers": 2, "take": {"usual": 0.3}},
        "tail": {"regions": ["tail"], "layers": 2, "take": {"usual": 0.3}},
    },
    sensitive_zones={
        "under": {"regions": ["belly"], "level": "high", "bout_minutes": 2, "rest_minutes": 5},
    },
    routines={"tidy": {"regions": ["tail", "belly"], "task": "scissor", "every_weeks": 3, "minutes": 2}},
    stations={
        "side": {"regions": ["body", "belly"], "next_door": ["behind"]},
        "behind": {"regions": ["tail"], "next_door": ["side"]},
    },
    methods={"fingers": {"label": "fingers", "does": "pull", "regions": ["back", "tail"]}},
    comparisons={"tail_to_back": {"fact": "outline_mm", "of": "tail", "to": "back"}},
    rules={
        "easy": {"then": {"leave": ["card", "comb"]}, "because": "An example.", "regions": ["back", "belly"]},
        "tail-only": {"then": {"leave": ["card"]}, "because": "An example.", "regions": ["ends"]},
    },
)


def child(**own: Any) -> dict[str, Any]:
    return {"format": 2, "id": "child", "label": "Child", "extends": "small", **own}


def loaded(**own: Any) -> Any:
    return load_profile(child(**own), shelves=[{"small": PARENT}])


def test_a_mapping_adds_names_to_an_inherited_list_and_takes_names_out() -> None:
    made = loaded(
        groups={"body": {"belly": True, "loin": None}},
        rules={"easy": {"then": {"leave": {"comb": None, "pull": True}}, "regions": {"loin": True}}},
        stations={"side": {"regions": {"tail": True}, "next_door": {"side": True}}},
    )
    assert made.groups["body"] == ("back", "belly")
    assert made.rules["easy"].then.leave == ("card", "pull")
    assert made.rules["easy"].regions == ("back", "belly", "loin")
    assert made.stations["side"].regions == ("body", "belly", "tail")
    assert made.stations["side"].next_door == ("behind", "side")


def test_a_list_still_replaces() -> None:
    assert loaded(groups={"body": ["belly"]}).groups["body"] == ("belly",)


def test_a_mapping_is_a_list_in_a_profile_that_extends_none() -> None:
    assert load_profile({**PARENT, "groups": {**PARENT["groups"], "ends": {"tail": True}}}).groups["ends"] == ("tail",)


def test_a_grandchild_merges_into_what_the_child_made() -> None:
    first = child(groups={"body": {"belly": True}})
    second = {"format": 2, "id": "grandchild", "label": "G", "extends": "child", "groups": {"body": {"back": None}}}
    made = load_profile(second, shelves=[{"small": PARENT, "child": first}])
    assert made.groups["body"] == ("loin", "belly")


NAMES = st.lists(st.sampled_from("abcdef"), unique=True, max_size=6)


@given(NAMES, st.dictionaries(st.sampled_from("abcdef"), st.sampled_from([True, None]), max_size=6))
def test_names_merge_as_sets_do(names: list[str], changes: dict[str, bool | None]) -> None:
    """Against set arithmetic."""
    merged = list(merge_profile({"groups": {"g": names}}, {"groups": {"g": changes}})["groups"]["g"])
    added, removed = ({name for name, said in changes.items() if said is kind} for kind in (True, None))
    assert set(merged) == (set(names) | added) - removed
    assert [name for name in names if name in merged] == merged[: len(set(names) - removed)]


def test_a_region_taken_out_leaves_all_that_it_was_in() -> None:
    made = loaded(regions={"tail": None})
    assert made.groups == {"body": ("back", "loin"), "dog": ("body",)}
    assert list(made.layer_targets) == ["body"]
    assert made.routines["tidy"].regions == ("belly",)
    assert made.methods["fingers"].regions == ("back",)
    assert list(made.stations) == ["side"]
    assert not made.comparisons
    assert list(made.rules) == ["easy"]


def test_a_region_taken_out_may_leave_lists_by_hand_as_well() -> None:
    made = loaded(regions={"tail": None}, layer_targets={"tail": None}, routines={"tidy": {"regions": {"tail": None}}})
    assert list(made.layer_targets) == ["body"]
    assert made.routines["tidy"].regions == ("belly",)


def test_an_own_list_that_names_a_removed_region_is_an_error_on_its_own_line() -> None:
    with pytest.raises(InputError) as refused:
        loaded(regions={"tail": None}, groups={"body": {"tail": True}})
    assert [(p.code, p.path) for p in refused.value.problems] == [("removed-name", ("groups", "body", "tail"))]


@pytest.mark.parametrize("names", [{"tail": False}, {"tail": "yes"}, {"Tail": True}, {}, {"tail": 1}])
def test_a_mapping_of_names_holds_nothing_but_true(names: Any) -> None:
    with pytest.raises(InputError) as refused:
        load_profile({**PARENT, "groups": {**PARENT["groups"], "ends": names}})
    assert {p.path[:2] for p in refused.value.problems} == {("groups", "ends")}


def test_a_name_to_remove_that_is_not_inherited_is_told() -> None:
    with pytest.raises(InputError) as refused:
        loaded(groups={"body": {"loinn": None}})
    assert ("no-value", ("groups", "body", "loinn")) in [(p.code, p.path) for p in refused.value.problems]


def regions_of(name: str) -> list[str]:
    return list(load_profile(name).regions)


@pytest.mark.parametrize("region", regions_of("wire-fox-terrier-pet"))
def test_any_region_of_a_breed_can_be_taken_out_with_one_line(region: str) -> None:
    overlay = {
        "format": 2,
        "id": "salon",
        "label": "Salon",
        "extends": "wire-fox-terrier-pet",
        "regions": {region: None},
    }
    made = load_profile(overlay)
    assert region not in made.regions
    assert not any(region in members for members in made.groups.values())
