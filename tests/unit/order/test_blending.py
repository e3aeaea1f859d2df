"""Neighbouring parts stay within their limit of each other: as a property of orders, long and short, and against another way to
work it out."""

from __future__ import annotations

from datetime import date
from itertools import combinations, product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import load_history, load_profile, work_order
from coatrules.check import findings
from coatrules.order.blending import Held, evened
from coatrules.profile.model import Profile
from tests.support.small import profile

NAMES = ("neck", "shoulder", "foreleg", "flank")
MASSES = st.dictionaries(st.sampled_from(NAMES), st.integers(1, 1_000_000))
HELD = st.lists(
    st.builds(
        Held,
        st.lists(st.sampled_from(NAMES), min_size=1, max_size=4, unique=True).map(tuple),
        st.integers(0, 300_000),
    ),
    max_size=4,
)


@given(MASSES, HELD)
def test_each_part_gets_the_most_that_all_limits_allow(pulled: dict[str, int], held: list[Held]) -> None:
    """By shortest paths between parts (Floyd and Warshall): no more than any other part and the way from there."""
    far = 10**9
    way = {pair: 0 if pair[0] == pair[1] else far for pair in product(NAMES, NAMES)}
    for regions, within in held:
        for one, other in product([name for name in regions if name in pulled], repeat=2):
            if one != other:
                way[one, other] = min(way[one, other], within)
    for over, one, other in product(NAMES, NAMES, NAMES):
        way[one, other] = min(way[one, other], way[one, over] + way[over, other])
    assert evened(pulled, held) == {name: min(pulled[other] + way[other, name] for other in pulled) for name in pulled}


REGIONS: dict[str, Any] = {
    name: {"label": name.title(), "coat": "jacket", "minutes": {"pull": 12}, "anatomy": "none"} for name in NAMES
}
TARGETS: dict[str, Any] = {
    "upper": {"regions": ["neck", "shoulder"], "layers": 2, "take": {"usual": 0.3, "at_most": 0.5}},
    "lower": {"regions": ["foreleg"], "layers": 2, "take": {"usual": 0.2, "at_most": 0.2}},
    "side": {"regions": ["flank"], "layers": 2, "take": {"usual": 0.3, "at_most": 0.5}},
}
BLENDS: dict[str, dict[str, Any]] = {
    "shoulder-to-foreleg": {"regions": ["shoulder", "foreleg"], "within": 0.1},
    "neck-to-shoulder": {"regions": ["neck", "shoulder"], "within": 0.05},
}


def blended(blends: dict[str, Any], **more: Any) -> Profile:
    return load_profile(profile(regions=REGIONS, layer_targets=TARGETS, blends=blends, **more))


BLENDED, PLAIN = blended(BLENDS), blended({})


def pulled(loaded: Profile, history: dict[str, Any], minutes: float) -> dict[str, float]:
    found = work_order(loaded, load_history(history), date=date(2026, 3, 21), minutes=minutes)
    return {step.region: step.share for step in found.steps if step.region is not None and step.share is not None}


ARRIVALS = st.dictionaries(
    st.sampled_from(NAMES), st.integers(1, 60).map(lambda weeks: {"grown_weeks": weeks}), max_size=4
)


@settings(max_examples=60)
@given(ARRIVALS, st.sampled_from([8, 15, 25, 40, 120]))
def test_no_two_neighbours_in_an_order_lie_further_apart_and_none_gets_more(
    arrival: dict[str, Any], minutes: float
) -> None:
    history = {"format": 1, "dog": {"id": "pip", "born": "2020-03-01"}, "arrival": arrival}
    shares = pulled(BLENDED, history, minutes)
    for blend in BLENDS.values():
        for one, other in combinations([name for name in blend["regions"] if name in shares], 2):
            assert abs(shares[one] - shares[other]) <= blend["within"] + 1e-6
    if minutes == 120:  # with time enough
        plain = pulled(PLAIN, history, minutes)
        assert shares.keys() == plain.keys()
        assert all(shares[name] <= plain[name] for name in shares)


def test_a_part_that_is_held_says_so_and_its_neighbours_neighbour_follows() -> None:
    history = {"format": 1, "dog": {"id": "pip", "born": "2020-03-01"}}
    assert pulled(PLAIN, history, 120) == {"neck": 0.5, "shoulder": 0.5, "foreleg": 0.2, "flank": 0.5}
    assert pulled(BLENDED, history, 120) == pytest.approx({"neck": 0.35, "shoulder": 0.3, "foreleg": 0.2, "flank": 0.5})
    found = work_order(BLENDED, load_history(history), date=date(2026, 3, 21), minutes=120)
    reasons = {step.region: [reason.rule for reason in step.because] for step in found.steps}
    assert "coat.blended" in reasons["neck"]
    assert "coat.blended" not in reasons["flank"]


def test_where_the_dog_said_stop_nothing_is_held() -> None:
    """Else a sore spot would keep the whole coat from its share."""
    visit = {"visit": "2026-02-20", "work": {"neck": {"pull": 0.05}}, "reactions": {"foreleg": "stop"}}
    history = {"format": 1, "dog": {"id": "pip", "born": "2020-03-01"}, "visits": [visit]}
    shares = pulled(BLENDED, history, 120)
    assert shares["foreleg"] == 0.1
    assert shares["shoulder"] == 0.5


@pytest.mark.parametrize(
    ("blends", "code"),
    [
        ({"near": {"regions": ["shoulder", "foreleg"], "within": 0.05}}, "blend-holds-back"),
        ({"near": {"regions": ["shoulder", "foreleg"], "within": 0.1}}, None),  # the usual shares lie as far apart
        ({"near": {"regions": ["shoulder"], "within": 0.1}}, "blend-idle"),
    ],
)
def test_a_blend_that_cannot_be_kept_or_holds_nothing_is_found(blends: dict[str, Any], code: str | None) -> None:
    codes = [problem.code for problem in findings(blended(blends)) if problem.code.startswith("blend")]
    assert codes == ([code] if code else [])
