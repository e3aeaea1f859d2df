"""Neighbouring parts stay within their limit of each other: as a property of orders, long and short, and against another way to
work it out."""

from __future__ import annotations

from datetime import date
from itertools import combinations, product
from math import inf
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import load_history, load_profile, work_order
from coatrules.check import findings
from coatrules.coat.measures import mass_longer, surface
from coatrules.coat.queue import longest_pulled, mass_of
from coatrules.dog.state import state_on
from coatrules.order.blending import Held, evened
from coatrules.plan import plan_ahead
from coatrules.profile.compiled import compile_profile
from coatrules.profile.model import Profile
from tests.support.small import profile

NAMES = ("neck", "shoulder", "foreleg", "flank")
MASSES = st.dictionaries(st.sampled_from(NAMES), st.integers(1, 1_000_000))
HELD = st.lists(
    st.builds(
        Held,
        st.lists(st.sampled_from(NAMES), min_size=1, max_size=4, unique=True).map(tuple),
        st.integers(0, 300_000),
        st.just(inf),
    ),
    max_size=4,
)


@given(MASSES, HELD)
def test_each_part_gets_the_most_that_all_limits_allow(pulled: dict[str, int], held: list[Held]) -> None:
    """By shortest paths between parts (Floyd and Warshall): no more than any other part and the way from there."""
    far = 10**9
    way = {pair: 0 if pair[0] == pair[1] else far for pair in product(NAMES, NAMES)}
    for regions, within, _ in held:
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


IN_LENGTH = blended({"neck-to-shoulder": {"regions": ["neck", "shoulder", "foreleg"], "within_mm": 12}})


@settings(max_examples=40)
@given(ARRIVALS)
def test_no_outline_is_left_shorter_than_a_neighbour_by_more_than_the_limit(arrival: dict[str, Any]) -> None:
    """Unless nothing, or only what is loose, is pulled of the shorter; of no part more goes than without the blend, and of what is held
    a little more would break the limit."""
    history = load_history({"format": 1, "dog": {"id": "pip", "born": "2020-03-01"}, "arrival": arrival})
    state = state_on(compile_profile(IN_LENGTH), history, date(2026, 3, 21))
    shares, plain = (pulled(loaded, history.to_dict(), 240) for loaded in (IN_LENGTH, PLAIN))

    def left(name: str, more: int = 0) -> float:
        coat, growth, pace = state.regions[name].coat, state.regions[name].growth, state.pace.of(name)
        mass = mass_of(shares.get(name, 0.0)) + more
        return surface(longest_pulled(coat, growth, pace, state.day, mass), growth, pace, state.day).outline_mm

    longest = max(left(name) for name in ("neck", "shoulder", "foreleg"))
    for name in ("neck", "shoulder", "foreleg"):
        own = state.regions[name]
        loose = mass_longer(own.coat, own.growth, state.pace.of(name), state.day, inf)
        assert shares.get(name, 0.0) <= plain.get(name, 0.0)
        if mass_of(shares.get(name, 0.0)) > loose:
            assert left(name) >= longest - 12
            if shares[name] < plain[name]:
                assert left(name, 1) < longest - 12


def test_the_shorter_of_two_is_held_until_its_hair_is_as_long() -> None:
    arrival = {"neck": {"grown_weeks": 9}, "shoulder": {"grown_weeks": 9}, "foreleg": {"grown_weeks": 20}}
    history = {"format": 1, "dog": {"id": "pip", "born": "2020-03-01"}, "arrival": arrival}
    assert pulled(PLAIN, history, 240).keys() == {"neck", "shoulder", "foreleg", "flank"}
    assert pulled(IN_LENGTH, history, 240).keys() == {"foreleg", "flank"}


@pytest.mark.parametrize("blends", [BLENDS, {"all": {"regions": ["neck", "shoulder", "foreleg"], "within_mm": 12}}])
def test_a_plan_holds_neighbours_as_its_orders_do(blends: dict[str, Any]) -> None:
    """At each visit of a plan; what is loose goes in any case."""
    pytest.importorskip("scipy")
    arrival = {"neck": {"grown_weeks": 9}, "foreleg": {"grown_weeks": 20}, "flank": {"grown_weeks": 30}}
    history = {"format": 1, "dog": {"id": "pip", "born": "2020-03-01"}, "arrival": arrival}
    plan = plan_ahead(blended(blends), history, date=date(2026, 3, 21), visits=8, minutes=120)
    free = plan_ahead(PLAIN, history, date=date(2026, 3, 21), visits=8, minutes=120)
    apart = []
    for one in plan.visits:
        for blend in blends.values():
            for a, b in combinations([one.regions[name] for name in blend["regions"]], 2):
                if a.share and b.share and "within" in blend:
                    assert abs(a.share - b.share) <= blend["within"] + 1e-6
                shorter = min(a, b, key=lambda visit: visit.outline_mm)
                if "within_mm" in blend and shorter.share > shorter.late_share:
                    assert abs(a.outline_mm - b.outline_mm) <= blend["within_mm"] + 1e-6
    for visit in free.visits:
        for blend in blends.values():
            two = [visit.regions[name] for name in blend["regions"] if visit.regions[name].share]
            for a, b in combinations(two, 2):
                apart.append(
                    abs(a.share - b.share) > blend.get("within", 1)
                    or abs(a.outline_mm - b.outline_mm) > blend.get("within_mm", inf)
                )
    assert any(apart)  # without the blend they are not


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
        ({"near": {"regions": ["shoulder", "foreleg"]}}, "blend-idle"),
    ],
)
def test_a_blend_that_cannot_be_kept_or_holds_nothing_is_found(blends: dict[str, Any], code: str | None) -> None:
    codes = [problem.code for problem in findings(blended(blends)) if problem.code.startswith("blend")]
    assert codes == ([code] if code else [])


@pytest.mark.parametrize(("wanted", "code"), [([40, 60], "blend-lengths"), ([20, 60], None)])
def test_a_blend_of_lengths_that_no_two_targets_have_is_found(wanted: list[int], code: str | None) -> None:
    """The neck is to be 40 to 60 mm long and the foreleg 10 to 25: 15 mm apart where they are nearest."""
    targets = {
        "upper": TARGETS["upper"] | {"longest_mm": wanted},
        "lower": TARGETS["lower"] | {"longest_mm": [10, 25]},
        "side": TARGETS["side"],
    }
    near = {"near": {"regions": ["neck", "foreleg"], "within_mm": 10}}
    loaded = load_profile(profile(regions=REGIONS, layer_targets=targets, blends=near))
    assert [one.code for one in findings(loaded) if one.code.startswith("blend")] == ([code] if code else [])
