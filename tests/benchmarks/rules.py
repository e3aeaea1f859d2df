"""Sixty rules on twenty regions: coatrules' conditions against ifs written by hand, and against a general rule engine.

Run as ``python -m tests.benchmarks.rules``. Ratios below 1 are faster than the thing compared with. The rules and the
facts are invented; all ways must give the same answer, or there is no result.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from math import inf
from random import Random
from statistics import median
from time import process_time
from typing import Any

from coatrules.conditions.compiling import compile_all, holding_indices
from coatrules.conditions.condition import Condition
from coatrules.profile.compiled import always_of_a_kind

RULES: tuple[dict[str, object], ...] = (
    {"outline_mm": {"maximum": 22}, "cover": {"minimum": 0.69}, "ready_share": {"exclusiveMinimum": 0.57}},
    {"coat": "furnishing", "longest_mm": {"minimum": 13}},
    {"skin": {"enum": ["broken", "sound"]}, "longest_mm": {"minimum": 32}},
    {
        "health": {"contains": "in-whelp"},
        "undercoat": {"minimum": 0.86},
        "legs_to_body": {"minimum": 1.3, "maximum": 1.6},
    },
    {"layers": {"minimum": 6}, "cover": {"minimum": 0.37, "maximum": 0.72}},
    {"neutered": True, "weeks_since_card": {"minimum": 5}},
    {"groups": {"contains": "feet"}, "legs_to_body": {"maximum": 0.9}, "undercoat": {"maximum": 0.46}},
    {"groups": {"contains": "feet"}, "age_weeks": {"minimum": 234}},
    {"undercoat": {"maximum": 0.55}, "weeks_since_card": {"exclusiveMaximum": 6}},
    {
        "groups": {"contains": "legs"},
        "anyOf": [{"weeks_since_pull": {"minimum": 6, "maximum": 11}}, {"longest_mm": {"maximum": 38}}],
    },
    {"health": {"contains": "in-whelp"}, "undercoat": {"exclusiveMinimum": 0.57}},
    {"sensitivity": {"not": {"const": "some"}}, "age_weeks": {"exclusiveMaximum": 129}},
    {
        "ready_share": {"minimum": 0.51},
        "blown_share": {"exclusiveMinimum": 0.12},
        "weeks_since_pull": {"exclusiveMaximum": 2},
    },
    {"groups": {"contains": "body"}, "weeks_to_show": {"minimum": 7, "maximum": 11}},
    {"groups": {"contains": "head"}, "outline_mm": {"exclusiveMinimum": 28}},
    {"coat": "furnishing", "weeks_to_show": {"exclusiveMaximum": 2}, "ready_share": {"exclusiveMinimum": 0.48}},
    {"legs_to_body": {"minimum": 0.8}, "age_weeks": {"exclusiveMinimum": 266}},
    {"health": {"contains": "tick-treatment"}, "weeks_since_pull": {"exclusiveMinimum": 9}},
    {"sensitivity": {"not": {"const": "some"}}, "cover": {"exclusiveMaximum": 0.41}, "undercoat": {"minimum": 0.55}},
    {
        "groups": {"contains": "jacket"},
        "anyOf": [{"longest_mm": {"exclusiveMinimum": 15}}, {"longest_mm": {"exclusiveMaximum": 26}}],
    },
    {"ready_share": {"maximum": 0.46}, "weeks_since_card": {"exclusiveMinimum": 7}},
    {
        "groups": {"contains": "jacket"},
        "weeks_since_card": {"exclusiveMinimum": 6},
        "outline_mm": {"exclusiveMaximum": 39},
    },
    {"coat": "jacket", "ready_share": {"maximum": 0.22}},
    {"skin": {"enum": ["dry", "sound"]}, "weeks_since_pull": {"minimum": 4, "maximum": 5}},
    {
        "blown_share": {"exclusiveMaximum": 0.29},
        "undercoat": {"minimum": 0.29, "maximum": 0.42},
        "weeks_since_card": {"minimum": 6, "maximum": 7},
    },
    {"sensitivity": {"not": {"const": "some"}}, "weeks_to_show": {"minimum": 5, "maximum": 6}},
    {"neutered": True, "weeks_since_pull": {"exclusiveMaximum": 3}},
    {
        "groups": {"contains": "body"},
        "longest_mm": {"exclusiveMaximum": 16},
        "outline_mm": {"minimum": 10, "maximum": 12},
    },
    {"blown_share": {"minimum": 0.1, "maximum": 0.21}, "cover": {"minimum": 0.72}},
    {
        "groups": {"contains": "jacket"},
        "anyOf": [{"undercoat": {"exclusiveMaximum": 0.3}}, {"oldest_weeks": {"exclusiveMinimum": 21}}],
    },
    {
        "skin": {"enum": ["sound", "broken"]},
        "weeks_since_pull": {"exclusiveMaximum": 7},
        "oldest_weeks": {"minimum": 11},
    },
    {"health": {"contains": "tick-treatment"}, "outline_mm": {"exclusiveMinimum": 24}},
    {"age_weeks": {"maximum": 216}, "longest_mm": {"minimum": 24, "maximum": 38}},
    {"neutered": True, "weeks_to_show": {"minimum": 4, "maximum": 8}, "ready_share": {"exclusiveMinimum": 0.51}},
    {"groups": {"contains": "legs"}, "outline_mm": {"maximum": 26}},
    {"groups": {"contains": "feet"}, "outline_mm": {"maximum": 28}},
    {"weeks_to_show": {"maximum": 10}, "layers": {"maximum": 2}, "weeks_since_pull": {"exclusiveMinimum": 9}},
    {"skin": {"enum": ["sound", "dry"]}, "weeks_since_pull": {"exclusiveMinimum": 4}},
    {"health": {"contains": "tick-treatment"}, "outline_mm": {"exclusiveMaximum": 34}},
    {
        "groups": {"contains": "legs"},
        "anyOf": [{"age_weeks": {"exclusiveMinimum": 383}}, {"outline_mm": {"minimum": 17}}],
    },
    {"weeks_since_pull": {"maximum": 5}},
    {"groups": {"contains": "body"}, "weeks_since_pull": {"exclusiveMinimum": 10}},
    {"groups": {"contains": "body"}, "legs_to_body": {"minimum": 1.5}, "weeks_to_show": {"maximum": 6}},
    {"coat": "jacket", "layers": {"exclusiveMinimum": 1}},
    {"age_weeks": {"exclusiveMaximum": 196}},
    {"health": {"contains": "in-whelp"}, "blown_share": {"minimum": 0.12}, "weeks_since_pull": {"maximum": 8}},
    {"sensitivity": {"not": {"const": "some"}}, "legs_to_body": {"exclusiveMinimum": 0.9}},
    {"neutered": True, "cover": {"minimum": 0.68}},
    {"age_weeks": {"minimum": 220}, "blown_share": {"exclusiveMaximum": 0.49}, "longest_mm": {"maximum": 11}},
    {
        "groups": {"contains": "legs"},
        "anyOf": [{"longest_mm": {"exclusiveMinimum": 30}}, {"weeks_to_show": {"minimum": 5, "maximum": 7}}],
    },
    {"coat": "jacket", "age_weeks": {"exclusiveMinimum": 361}},
    {
        "skin": {"enum": ["broken", "sore"]},
        "blown_share": {"minimum": 0.12, "maximum": 0.28},
        "weeks_since_pull": {"maximum": 8},
    },
    {"weeks_to_show": {"maximum": 3}, "weeks_since_pull": {"minimum": 8, "maximum": 9}},
    {"sensitivity": {"not": {"const": "some"}}, "legs_to_body": {"minimum": 1.2, "maximum": 2.2}},
    {"neutered": True, "weeks_since_card": {"minimum": 3}, "oldest_weeks": {"minimum": 25}},
    {"groups": {"contains": "feet"}, "weeks_since_pull": {"minimum": 2, "maximum": 11}},
    {"ready_share": {"exclusiveMaximum": 0.36}, "weeks_since_card": {"minimum": 5, "maximum": 6}},
    {"coat": "leg", "weeks_since_card": {"minimum": 5, "maximum": 7}, "longest_mm": {"minimum": 45, "maximum": 48}},
    {"skin": {"enum": ["sore", "broken"]}, "longest_mm": {"exclusiveMaximum": 15}},
    {
        "groups": {"contains": "legs"},
        "anyOf": [{"ready_share": {"exclusiveMaximum": 0.45}}, {"ready_share": {"maximum": 0.44}}],
    },
)


def by_hand(facts: Mapping[str, Any]) -> list[int]:
    """The same rules as a person would write them in Python, a rule an ``if``."""
    found: list[int] = []
    if facts["outline_mm"] <= 22 and facts["cover"] >= 0.69 and facts["ready_share"] > 0.57:
        found.append(0)
    if facts["coat"] == "furnishing" and facts["longest_mm"] >= 13:
        found.append(1)
    if facts.get("skin") in ("broken", "sound") and facts["longest_mm"] >= 32:
        found.append(2)
    if (
        "in-whelp" in facts["health"]
        and facts.get("undercoat", -inf) >= 0.86
        and 1.3 <= facts.get("legs_to_body", inf) <= 1.6
    ):
        found.append(3)
    if facts["layers"] >= 6 and 0.37 <= facts["cover"] <= 0.72:
        found.append(4)
    if facts.get("neutered") is True and facts.get("weeks_since_card", -inf) >= 5:
        found.append(5)
    if "feet" in facts["groups"] and facts.get("legs_to_body", inf) <= 0.9 and facts.get("undercoat", inf) <= 0.46:
        found.append(6)
    if "feet" in facts["groups"] and facts["age_weeks"] >= 234:
        found.append(7)
    if facts.get("undercoat", inf) <= 0.55 and facts.get("weeks_since_card", inf) < 6:
        found.append(8)
    if "legs" in facts["groups"] and (6 <= facts.get("weeks_since_pull", inf) <= 11 or facts["longest_mm"] <= 38):
        found.append(9)
    if "in-whelp" in facts["health"] and facts.get("undercoat", -inf) > 0.57:
        found.append(10)
    if facts["sensitivity"] != "some" and facts["age_weeks"] < 129:
        found.append(11)
    if facts["ready_share"] >= 0.51 and facts["blown_share"] > 0.12 and facts.get("weeks_since_pull", inf) < 2:
        found.append(12)
    if "body" in facts["groups"] and 7 <= facts.get("weeks_to_show", inf) <= 11:
        found.append(13)
    if "head" in facts["groups"] and facts["outline_mm"] > 28:
        found.append(14)
    if facts["coat"] == "furnishing" and facts.get("weeks_to_show", inf) < 2 and facts["ready_share"] > 0.48:
        found.append(15)
    if facts.get("legs_to_body", -inf) >= 0.8 and facts["age_weeks"] > 266:
        found.append(16)
    if "tick-treatment" in facts["health"] and facts.get("weeks_since_pull", -inf) > 9:
        found.append(17)
    if facts["sensitivity"] != "some" and facts["cover"] < 0.41 and facts.get("undercoat", -inf) >= 0.55:
        found.append(18)
    if "jacket" in facts["groups"] and (facts["longest_mm"] > 15 or facts["longest_mm"] < 26):
        found.append(19)
    if facts["ready_share"] <= 0.46 and facts.get("weeks_since_card", -inf) > 7:
        found.append(20)
    if "jacket" in facts["groups"] and facts.get("weeks_since_card", -inf) > 6 and facts["outline_mm"] < 39:
        found.append(21)
    if facts["coat"] == "jacket" and facts["ready_share"] <= 0.22:
        found.append(22)
    if facts.get("skin") in ("dry", "sound") and 4 <= facts.get("weeks_since_pull", inf) <= 5:
        found.append(23)
    if (
        facts["blown_share"] < 0.29
        and 0.29 <= facts.get("undercoat", inf) <= 0.42
        and 6 <= facts.get("weeks_since_card", inf) <= 7
    ):
        found.append(24)
    if facts["sensitivity"] != "some" and 5 <= facts.get("weeks_to_show", inf) <= 6:
        found.append(25)
    if facts.get("neutered") is True and facts.get("weeks_since_pull", inf) < 3:
        found.append(26)
    if "body" in facts["groups"] and facts["longest_mm"] < 16 and 10 <= facts["outline_mm"] <= 12:
        found.append(27)
    if 0.1 <= facts["blown_share"] <= 0.21 and facts["cover"] >= 0.72:
        found.append(28)
    if "jacket" in facts["groups"] and (facts.get("undercoat", inf) < 0.3 or facts["oldest_weeks"] > 21):
        found.append(29)
    if (
        facts.get("skin") in ("sound", "broken")
        and facts.get("weeks_since_pull", inf) < 7
        and facts["oldest_weeks"] >= 11
    ):
        found.append(30)
    if "tick-treatment" in facts["health"] and facts["outline_mm"] > 24:
        found.append(31)
    if facts["age_weeks"] <= 216 and 24 <= facts["longest_mm"] <= 38:
        found.append(32)
    if facts.get("neutered") is True and 4 <= facts.get("weeks_to_show", inf) <= 8 and facts["ready_share"] > 0.51:
        found.append(33)
    if "legs" in facts["groups"] and facts["outline_mm"] <= 26:
        found.append(34)
    if "feet" in facts["groups"] and facts["outline_mm"] <= 28:
        found.append(35)
    if facts.get("weeks_to_show", inf) <= 10 and facts["layers"] <= 2 and facts.get("weeks_since_pull", -inf) > 9:
        found.append(36)
    if facts.get("skin") in ("sound", "dry") and facts.get("weeks_since_pull", -inf) > 4:
        found.append(37)
    if "tick-treatment" in facts["health"] and facts["outline_mm"] < 34:
        found.append(38)
    if "legs" in facts["groups"] and (facts["age_weeks"] > 383 or facts["outline_mm"] >= 17):
        found.append(39)
    if facts.get("weeks_since_pull", inf) <= 5:
        found.append(40)
    if "body" in facts["groups"] and facts.get("weeks_since_pull", -inf) > 10:
        found.append(41)
    if "body" in facts["groups"] and facts.get("legs_to_body", -inf) >= 1.5 and facts.get("weeks_to_show", inf) <= 6:
        found.append(42)
    if facts["coat"] == "jacket" and facts["layers"] > 1:
        found.append(43)
    if facts["age_weeks"] < 196:
        found.append(44)
    if "in-whelp" in facts["health"] and facts["blown_share"] >= 0.12 and facts.get("weeks_since_pull", inf) <= 8:
        found.append(45)
    if facts["sensitivity"] != "some" and facts.get("legs_to_body", -inf) > 0.9:
        found.append(46)
    if facts.get("neutered") is True and facts["cover"] >= 0.68:
        found.append(47)
    if facts["age_weeks"] >= 220 and facts["blown_share"] < 0.49 and facts["longest_mm"] <= 11:
        found.append(48)
    if "legs" in facts["groups"] and (facts["longest_mm"] > 30 or 5 <= facts.get("weeks_to_show", inf) <= 7):
        found.append(49)
    if facts["coat"] == "jacket" and facts["age_weeks"] > 361:
        found.append(50)
    if (
        facts.get("skin") in ("broken", "sore")
        and 0.12 <= facts["blown_share"] <= 0.28
        and facts.get("weeks_since_pull", inf) <= 8
    ):
        found.append(51)
    if facts.get("weeks_to_show", inf) <= 3 and 8 <= facts.get("weeks_since_pull", inf) <= 9:
        found.append(52)
    if facts["sensitivity"] != "some" and 1.2 <= facts.get("legs_to_body", inf) <= 2.2:
        found.append(53)
    if facts.get("neutered") is True and facts.get("weeks_since_card", -inf) >= 3 and facts["oldest_weeks"] >= 25:
        found.append(54)
    if "feet" in facts["groups"] and 2 <= facts.get("weeks_since_pull", inf) <= 11:
        found.append(55)
    if facts["ready_share"] < 0.36 and 5 <= facts.get("weeks_since_card", inf) <= 6:
        found.append(56)
    if facts["coat"] == "leg" and 5 <= facts.get("weeks_since_card", inf) <= 7 and 45 <= facts["longest_mm"] <= 48:
        found.append(57)
    if facts.get("skin") in ("sore", "broken") and facts["longest_mm"] < 15:
        found.append(58)
    if "legs" in facts["groups"] and (facts["ready_share"] < 0.45 or facts["ready_share"] <= 0.44):
        found.append(59)
    return found


def twenty_regions() -> list[dict[str, object]]:
    """Facts of twenty invented regions; some facts are not known of some regions."""
    draw = Random(20)
    regions: list[dict[str, object]] = []
    for number in range(20):
        facts: dict[str, object] = {
            "region": f"region-{number}",
            "groups": draw.choice((["body", "jacket"], ["legs"], ["head"], ["legs", "feet"])),
            "coat": draw.choice(("jacket", "leg", "furnishing")),
            "sensitivity": draw.choice(("high", "some", "none")),
            "health": draw.choice(([], ["after-bathing"])),
            "cover": draw.random(),
            "ready_share": draw.random(),
            "blown_share": draw.random() / 2,
            "longest_mm": 50 * draw.random(),
            "oldest_weeks": 30 * draw.random(),
            "outline_mm": 40 * draw.random(),
            "layers": draw.randrange(7),
            "age_weeks": 160.0,
            "skin": draw.choice(("sound", "dry", "sore")),
            "neutered": True,
            "legs_to_body": 1.1,
            "undercoat": draw.random(),
            "see_through": draw.random() < 0.2,
            "through_share": draw.random(),
            "next_layer_weeks": 4 * draw.random(),
            "weeks_since_visit": 3.0,
            "visits": 12,
            "minutes": 120,
            "sex": "male",
            "last_reaction": "calm",
        }
        if draw.random() < 0.7:
            facts["weeks_since_pull"] = 12 * draw.random()
            facts["weeks_since_card"] = 8 * draw.random()
        regions.append(facts)
    return regions


def ratio(ours: Callable[[], object], theirs: Callable[[], object], *, rounds: int = 9) -> float:
    """Our time over theirs: the middle of rounds that ask both in turn, so that a busy machine slows both alike."""
    return median(seconds(ours) / seconds(theirs) for _ in range(rounds))


def seconds(work: Callable[[], object]) -> float:
    """The processor time of one run, over as many runs as take a fiftieth of a second."""
    runs = 1
    while True:
        start = process_time()
        for _ in range(runs):
            work()
        taken = process_time() - start
        if taken >= 0.02:
            return taken / runs
        runs *= 2


def measure() -> list[tuple[str, float, float]]:
    """Name, ratio and the ratio it should not pass."""
    regions = twenty_regions()
    conditions = [Condition.parse(rule) for rule in RULES]
    compiled = compile_all(conditions, always_of_a_kind() | {"legs_to_body"})
    right = [by_hand(facts) for facts in regions]
    for facts, want in zip(regions, right, strict=True):
        if not holding_indices(conditions, facts) == compiled(facts) == want:
            raise AssertionError("the ways to answer do not agree: no result")

    def hand() -> object:
        return [by_hand(facts) for facts in regions]

    def tuned() -> object:
        return [compiled(facts) for facts in regions]

    def one_by_one() -> object:
        return [holding_indices(conditions, facts) for facts in regions]

    results = [
        ("compiled / ifs by hand", ratio(tuned, hand), 0.7),
        # Guards against growing worse, no more: what is asked often is compiled.
        ("one by one / ifs by hand", ratio(one_by_one, hand), 15.0),
        ("compiling / one by one", ratio(lambda: compile_all(conditions), one_by_one), 4.0),
    ]
    general = general_engine(regions, right)
    return [*results, ("compiled / general rule engine", ratio(tuned, general), 0.1)] if general else results


def general_engine(regions: Sequence[dict[str, object]], right: Sequence[list[int]]) -> Callable[[], object] | None:
    """The work of zen-engine with one expression, an array of all rules; None where it is not installed."""
    try:
        import zen
    except ImportError:
        return None
    rules = [_expression(rule) for rule in RULES]
    expression = zen.compile_expression(f"[{', '.join(rules)}]")
    for facts, want in zip(regions, right, strict=True):
        if [index for index, holds in enumerate(expression.evaluate(facts)) if holds] != want:
            raise AssertionError("the general rule engine answers something else: no result")
    return lambda: [expression.evaluate(facts) for facts in regions]


def _expression(rule: Mapping[str, Any]) -> str:
    tests = [_fact_expression(name, schema) for name, schema in rule.items() if name != "anyOf"]
    if "anyOf" in rule:
        tests.append(f"({' or '.join(map(_expression, rule['anyOf']))})")
    return f"({' and '.join(tests)})"


def _fact_expression(name: str, schema: Any) -> str:
    if not isinstance(schema, Mapping):
        return f"{name} == {json.dumps(schema)}"
    signs = {"minimum": ">=", "maximum": "<=", "exclusiveMinimum": ">", "exclusiveMaximum": "<"}
    tests = [f"{name} != null"]
    for key, value in schema.items():
        if key == "contains":
            tests.append(f"{json.dumps(value)} in {name}")
        elif key == "enum":
            tests.append(f"{name} in {json.dumps(value)}")
        elif key == "not":
            tests.append(f"{name} != {json.dumps(value['const'])}")
        else:
            tests.append(f"{name} {signs[key]} {value}")
    return " and ".join(tests)


if __name__ == "__main__":
    for name, got, target in measure():
        print(f"{name:35} {got:8.3f}   at most {target:g}   {'' if got <= target else 'MISSED'}")
