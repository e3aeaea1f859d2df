"""A small profile of five parts, with a little of everything, and orders by it."""

from __future__ import annotations

import copy
from datetime import date
from typing import Any

from coatrules import WorkOrder, load_history, load_profile, work_order
from coatrules.dog.state import DogState, state_on
from coatrules.order.decide import decide
from coatrules.order.facts import RegionFacts, all_facts
from coatrules.order.verdicts import Verdict
from coatrules.profile.compiled import compile_profile
from tests.support import small

PROFILE = small.profile(
    minutes=120,
    undercoat_weeks=4,
    groups={"body": ["back", "ribs"]},
    regions={
        "back": {"label": "Back", "coat": "jacket", "minutes": {"pull": 20, "card": 6}},
        "ribs": {"label": "Ribs", "coat": "jacket", "minutes": {"pull": 20, "card": 6}},
        "toes": {"label": "Toes", "coat": "jacket", "anatomy": "none", "minutes": {"pull": 20}},
        "anus": {"label": "Anus", "coat": "jacket", "anatomy": "none", "minutes": {"clip": 2}},
        "nose": {"label": "Nose", "coat": "jacket", "anatomy": "none"},
    },
    layer_targets={
        "body": {
            "regions": ["body", "toes"],
            "layers": 4,
            "take": {"usual": 0.2, "at_most": 0.35, "low_spot": 0.05},
            "cover": {"at_least": 0.5},
            "longest_mm": [15, 35],
        }
    },
    sensitive_zones={"toes": {"regions": ["toes"], "level": "high", "bout_minutes": 3, "rest_minutes": 4}},
    clipper_only_zones={"anus": {"regions": ["anus"], "leave_mm": 3, "every_weeks": 4}},
    methods={
        "knife": {"label": "fine knife", "does": "pull", "if": {"longest_mm": {"maximum": 30}}, "rank": 2},
        "fingers": {"label": "fingers", "does": "pull"},
        "stone": {"label": "stone", "does": "pull", "rank": -1},
        "rake": {"label": "coarse rake", "does": "card", "rank": 1, "then": "fine"},
        "fine": {"label": "fine rake", "does": "card", "until": "it comes up clean"},
    },
)


DAY = date(2026, 6, 1)


def visit(day: str, **entries: Any) -> dict[str, Any]:
    return {"visit": day, **entries}


def ordered(
    *visits: dict[str, Any],
    rules: dict[str, Any] | None = None,
    minutes: float = 180,
    by: dict[str, Any] | None = None,
    **dog: Any,
) -> WorkOrder:
    """The order by the small profile, with these rules and with the parts ``by`` in its own parts' place."""
    profile = copy.deepcopy(PROFILE) | (by or {})
    profile["rules"] = {name: {"because": f"Rule {name}.", **rule} for name, rule in (rules or {}).items()}
    arrival = dog.pop("arrival", {"body": {"grown_weeks": 15}, "toes": {"grown_weeks": 15}})
    history = {"format": 1, "dog": {"id": "pip", **dog}, "arrival": arrival, "visits": list(visits)}
    return work_order(profile, history, date=DAY, minutes=minutes)


def share(order: WorkOrder, region: str = "back") -> float | None:
    return next((step.share for step in order.steps if step.region == region and step.share is not None), None)


def reasons(order: WorkOrder, region: str = "back") -> list[str]:
    return [reason.rule for step in order.steps if step.region == region for reason in step.because]


ROLLED = [
    visit(day, work={"body": {"pull": 0.2, "card": True}})
    for day in ("2026-03-09", "2026-03-30", "2026-04-20", "2026-05-11")
]


DONE = visit("2026-05-25", work={"body": {"card": True}, "anus": {"clip": 3}})


def measured(day: str, **mm: float) -> tuple[DogState, dict[str, RegionFacts], dict[str, Verdict]]:
    """A dog that came that day with 10 weeks of hair and was measured then."""
    compiled = compile_profile(load_profile(PROFILE))
    data = {
        "format": 1,
        "dog": {"id": "pip"},
        "arrival": {name: {"grown_weeks": 10} for name in mm},
        "visits": [visit(day, seen={name: {"longest_mm": length} for name, length in mm.items()})],
    }
    history = load_history(data)
    state = state_on(compiled, history, DAY)
    facts, _ = all_facts(compiled, history.dog, state, 240)
    return state, facts, decide(compiled, state, facts)[0]
