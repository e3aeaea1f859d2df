"""Random but sound profiles and histories, as plain data, for property tests."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st

REGIONS = ("back", "loin", "ribs", "foreleg", "hindleg", "toes", "beard", "groin", "anus")
HAND = ("back", "loin", "ribs", "foreleg", "hindleg", "toes", "beard")
ANATOMY = {"foreleg": "none", "hindleg": "none", "toes": "none", "anus": "UBERON:0001245"}
"""Where those of them lie that are none of the points of the dog."""
GROUPS = {
    "body": ["back", "loin", "ribs"],
    "legs": ["foreleg", "hindleg", "toes"],
    "all-hand": ["body", "legs", "beard"],
}
START = date(2025, 1, 6)


def shares(low: float = 0.0, high: float = 1.0) -> st.SearchStrategy[float]:
    return st.integers(round(low * 100), round(high * 100)).map(lambda n: n / 100)


@st.composite
def coats(draw: st.DrawFn) -> dict[str, Any]:
    breakthrough = draw(st.integers(2, 6))
    rate = draw(st.sampled_from([1.5, 1.8, 2.1, 2.8, 3.5]))
    full = draw(st.integers(20, 80))
    coat: dict[str, Any] = {
        "lag_weeks": breakthrough,
        "mm_per_week": rate,
        "full_mm": full,
        "rests_weeks": draw(st.integers(1, 20)),
        "ready_mm": draw(st.integers(2, 12)),
        "cover_mm": draw(st.integers(3, 12)),
        "layer_gap_mm": 2,
    }
    if draw(st.booleans()):
        coat["undercoat_weeks"] = draw(st.integers(2, 8))
    return coat


CONDITIONS = st.sampled_from(
    [
        {},
        {"cover": {"minimum": 0.6}},
        {"blown_share": {"exclusiveMinimum": 0}},
        {"layers": {"maximum": 2}},
        {"groups": {"contains": "legs"}},
        {"last_reaction": {"enum": ["unsettled", "stop"]}},
        {"weeks_since_visit": {"minimum": 6}},
        {"skin": "unsound"},
        {"not": {"neutered": True}},
        {"anyOf": [{"undercoat": {"minimum": 0.5}}, {"longest_mm": {"minimum": 20}}]},
        {"legs_to_body": {"maximum": 1.2}},
        {"health": {"contains": "nursing"}},
    ]
)


@st.composite
def effects(draw: st.DrawFn) -> dict[str, Any]:
    effect: dict[str, Any] = {}
    if draw(st.booleans()):
        effect["take"] = draw(
            st.sampled_from([{"at_least": 0.3}, {"at_most": 0.1}, {"at_least": 0.5, "at_most": 0.25}, {"at_most": 0}])
        )
    if draw(st.integers(0, 3)) == 0:
        effect["leave"] = draw(st.sampled_from([["pull"], ["card"], ["card", "pull"], ["clip"]]))
    if draw(st.integers(0, 3)) == 0:
        effect["add"] = draw(st.sampled_from([{"comb": 2}, {"card": 3}, {"scissor": 1.5}, {"clip": 2}]))
    if draw(st.integers(0, 5)) == 0:
        effect["refer"] = "Have this looked at."
        if draw(st.integers(0, 3)) == 0:
            effect["whole_dog"] = True
    if draw(st.booleans()):
        effect["caution"] = "Mind this."
    effect["priority"] = draw(st.integers(-20, 20))
    return effect


@st.composite
def profiles(draw: st.DrawFn) -> dict[str, Any]:
    rules = {
        f"rule-{n}": {"if": draw(CONDITIONS), "then": draw(effects()), "because": f"Reason {n}."}
        | ({"regions": [draw(st.sampled_from([*REGIONS, *GROUPS]))]} if draw(st.booleans()) else {})
        for n in range(draw(st.integers(0, 6)))
    }

    def target(regions: list[str]) -> dict[str, Any]:
        usual = draw(shares(0.05, 0.4))
        section: dict[str, Any] = {
            "regions": regions,
            "layers": draw(st.integers(1, 5)),
            "take": {"usual": usual, "at_most": max(usual, draw(shares(0.2, 1.0))), "low_spot": min(usual, 0.05)},
        }
        if draw(st.booleans()):
            section["cover"] = {"at_least": draw(shares(0.2, 0.8))}
        if draw(st.booleans()):
            section["longest_mm"] = [5, draw(st.integers(15, 60))]
        if draw(st.integers(0, 4)) == 0:
            section["full_strip"] = True
        return section

    minutes = st.sampled_from([4, 8, 15, 30])
    return {
        "format": 2,
        "id": "random",
        "label": "Random",
        "visit": {"every_weeks": draw(st.integers(1, 6)), "minutes": draw(st.integers(10, 120)), "pace_spread": 0.15},
        "coats": {"jacket": draw(coats()), "leg": draw(coats())},
        "groups": GROUPS,
        "regions": {
            name: {
                "label": name.capitalize(),
                "coat": "leg" if name in ("foreleg", "hindleg", "toes") else "jacket",
                "minutes": {"pull": draw(minutes), "card": draw(minutes)} if name in HAND else {"clip": 2},
            }
            | ({"anatomy": ANATOMY[name]} if name in ANATOMY else {})
            for name in REGIONS
        },
        "layer_targets": {"body": target(["body", "beard"]), "legs": target(["legs"]), "groin": target(["groin"])},
        "sensitive_zones": {
            "toes": {
                "regions": ["toes"],
                "level": draw(st.sampled_from(["low", "medium", "high"])),
                "bout_minutes": draw(st.integers(1, 4)),
                "rest_minutes": draw(st.integers(0, 6)),
            },
            "beard": {"regions": ["beard"], "level": "medium", "bout_minutes": 3, "rest_minutes": 5},
            "hind": {"regions": ["groin", "anus"], "level": "high", "bout_minutes": 2, "rest_minutes": 3},
        },
        "clipper_only_zones": {"sanitary": {"regions": ["groin", "anus"], "leave_mm": 3, "every_weeks": 4}},
        "routines": {"comb-beard": {"regions": ["beard"], "task": "comb", "every_weeks": 1, "minutes": 2}},
        "methods": {
            "knife": {"label": "fine knife", "does": "pull", "if": {"longest_mm": {"maximum": 25}}, "rank": 2},
            "fingers": {"label": "fingers", "does": "pull"},
        },
        "comparisons": {"legs_to_body": {"fact": "outline_mm", "of": "legs", "to": "body"}},
        "rules": rules,
    }


@st.composite
def visits(draw: st.DrawFn, day: date) -> dict[str, Any]:
    visit: dict[str, Any] = {"visit": day.isoformat()}
    parts = st.lists(st.sampled_from([*HAND, "body", "legs", "all-hand"]), max_size=4, unique=True)
    work: dict[str, Any] = {}
    for part in draw(parts):
        work[part] = {"pull": draw(shares())}
        if draw(st.booleans()):
            work[part]["card"] = True
        if draw(st.integers(0, 4)) == 0:
            work[part]["pick"] = "even"
        if draw(st.integers(0, 6)) == 0:
            work[part]["scissor"] = draw(st.integers(5, 30))
    if draw(st.booleans()):
        work["sanitary"] = {"clip": draw(st.integers(1, 8))}
    if work:
        visit["work"] = work
    if draw(st.booleans()):
        seen = {"longest_mm": draw(st.integers(1, 60)), "skin": draw(st.sampled_from(["sound", "sound", "unsound"]))}
        visit["seen"] = {draw(st.sampled_from(HAND)): seen}
    if draw(st.booleans()):
        visit["reactions"] = {
            draw(st.sampled_from(["toes", "body", "groin"])): draw(st.sampled_from(["calm", "unsettled", "stop"]))
        }
    if draw(st.integers(0, 5)) == 0:
        visit["health"] = draw(
            st.lists(st.sampled_from(["nursing", "spot-on-treatment", "parasites"]), max_size=2, unique=True)
        )
    if draw(st.integers(0, 3)) == 0:
        visit["put_off"] = [draw(st.sampled_from(HAND))]
    return visit


@st.composite
def histories(draw: st.DrawFn) -> dict[str, Any]:
    day = START
    entries = []
    for _ in range(draw(st.integers(0, 8))):
        entries.append(draw(visits(day)))
        day += timedelta(days=draw(st.integers(1, 70)))
    arrival = draw(
        st.sampled_from(
            [{}, {"body": {"grown_weeks": 20}}, {"all-hand": {"longest_mm": 15}}, {"legs": {"clipped_mm": 4}}]
        )
    )
    return {"format": 1, "dog": {"id": "pip", "born": "2023-03-04"}, "arrival": arrival, "visits": entries}
