"""How much, with what and why: one small profile, one thing at a time (the agreed mathematics is in DEVELOPERS.md)."""

from __future__ import annotations

import copy
from datetime import date
from itertools import islice, product
from typing import Any

import pytest

from coatrules import WorkOrder, load_history, load_profile, work_order
from coatrules.compiled import MOST_READY, _ready, compiled, most_specific
from coatrules.decide import Verdict, decide
from coatrules.facts import RegionFacts, all_facts
from coatrules.guards import CAUTIONS, HEALTH, UNSOUND_SKIN
from coatrules.record import Record, recorded
from tests import small

PROFILE = small.profile(
    minutes=120,
    undercoat_weeks=4,
    groups={"body": ["back", "ribs"]},
    regions={
        "back": {"label": "Back", "coat": "jacket", "minutes": {"pull": 20, "card": 6}},
        "ribs": {"label": "Ribs", "coat": "jacket", "minutes": {"pull": 20, "card": 6}},
        "toes": {"label": "Toes", "coat": "jacket", "minutes": {"pull": 20}},
        "anus": {"label": "Anus", "coat": "jacket", "minutes": {"clip": 2}},
        "nose": {"label": "Nose", "coat": "jacket"},
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


def visit(day: str, **said: Any) -> dict[str, Any]:
    return {"visit": day, **said}


def ordered(
    *visits: dict[str, Any],
    rules: dict[str, Any] | None = None,
    minutes: float = 240,
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


def test_an_ordinary_visit_takes_the_usual_share() -> None:
    order = ordered(*ROLLED)
    assert share(order) == 0.2
    assert reasons(order)[:2] == ["coat.undercoat", "coat.carded-first"]
    assert "coat.usual" in reasons(order)


def test_blown_hair_raises_the_share_and_the_cap_holds_it() -> None:
    order = ordered(arrival={"body": {"grown_weeks": 40}})
    assert share(order) == 0.35
    assert [r for r in reasons(order) if r in ("coat.usual", "coat.overgrown", "coat.cap")] == [
        "coat.usual",
        "coat.overgrown",
        "coat.cap",
    ]


def test_the_largest_floor_and_the_smallest_cap_hold_and_the_cap_wins() -> None:
    rules = {
        "floor-one": {"then": {"take": {"at_least": 0.25}}},
        "floor-two": {"then": {"take": {"at_least": 0.3}}},
        "cap-one": {"then": {"take": {"at_most": 0.28}}},
        "cap-two": {"then": {"take": {"at_most": 0.1}}, "regions": ["ribs"]},
    }
    order = ordered(rules=rules)
    assert (share(order), share(order, "ribs")) == (0.28, 0.1)
    told = reasons(order)  # each step with the rule that asked for it
    assert told[told.index("coat.floor") :][:4] == ["coat.floor", "floor-two", "coat.cap", "cap-one"]
    conflicts = [finding.message for finding in order.findings if finding.code == "rules-conflict"]
    assert conflicts[0] == (
        "Back: One rule asks for at least about a third, but no more than about a quarter is allowed: the smaller share holds."
    )
    assert "floor-two" in reasons(order)
    assert "floor-one" not in reasons(order)


def test_the_cover_is_kept_but_a_low_spot_is_still_worked() -> None:
    stripped = visit("2026-05-04", work={"back": {"pull": 0.6}})
    order = ordered(stripped)
    assert share(order) == 0.05
    assert "coat.low-spot" in reasons(order)
    assert order.facts["back"]["see_through"] is True
    # 0.55 of the coat stands four weeks after the strip took 0.45: only a twentieth more may go.
    assert share(ordered(visit("2026-05-04", work={"back": {"pull": 0.42}}))) == pytest.approx(0.08)


def test_skin_seen_to_show_today_outranks_the_computed_cover() -> None:
    order = ordered(*ROLLED, visit("2026-06-01", seen={"back": {"see_through": True}}))
    assert share(order) == 0.05
    assert "coat.seen-through" in reasons(order)
    assert any(finding.code == "seen-differs" for finding in order.findings)
    earlier = ordered(*ROLLED, visit("2026-05-31", seen={"back": {"see_through": True}}))
    assert share(earlier) == 0.2, "only what was seen on the day itself outranks"


def test_what_is_not_worth_the_dogs_time_is_left() -> None:
    order = ordered(rules={"little": {"then": {"take": {"at_most": 0.02}}}})
    assert "back" not in {step.region for step in order.steps if step.task == "pull"}
    assert any(reason.rule == "coat.too-little" for reason in order.left_alone["toes"])


def test_nothing_is_pulled_that_is_not_ready() -> None:
    order = ordered(visit("2026-05-11", work={"body": {"pull": 1}}))
    assert share(order) is None
    assert order.facts["back"]["ready_share"] == 0
    assert order.steps == () or all(step.task != "pull" or step.region == "toes" for step in order.steps)


@pytest.mark.parametrize("condition", sorted(HEALTH))
def test_every_condition_of_the_dog_stops_hand_work_and_refers(condition: str) -> None:
    order = ordered(*ROLLED, visit("2026-05-31", health=[condition]))
    assert order.refer == (HEALTH[condition].text,)
    assert not [step for step in order.steps if step.task in ("pull", "card")]
    assert "back" in order.not_to_be_touched
    worked = {step.task for step in order.steps}
    assert worked == (set() if HEALTH[condition].stops == "all" else {"clip"})


def test_a_condition_holds_until_a_visit_says_otherwise_and_a_spot_on_for_three_days() -> None:
    # 48 to 72 hours between a bath and a spot-on treatment (isbusa.com, 2019), carried over to hand work.
    assert share(ordered(*ROLLED, visit("2026-05-29", health=["spot-on-treatment"]))) == 0.2
    assert share(ordered(*ROLLED, visit("2026-05-30", health=["spot-on-treatment"]))) is None
    assert share(ordered(visit("2026-01-05", health=["nursing"]), *ROLLED)) is None
    assert share(ordered(visit("2026-01-05", health=["nursing"]), *ROLLED, visit("2026-05-31", health=[]))) == 0.2


def test_unsound_skin_is_not_touched_until_it_is_seen_sound() -> None:
    unsound = visit("2026-04-20", seen={"back": {"skin": "unsound"}})
    order = ordered(*ROLLED[:2], unsound, ROLLED[3])
    assert "back" in order.not_to_be_touched
    assert "ribs" not in order.not_to_be_touched
    assert len(order.refer) == 1
    assert share(ordered(*ROLLED[:2], unsound, visit("2026-05-11", seen={"back": {"skin": "sound"}}))) is not None


def test_a_rule_can_refer_one_region_or_the_whole_dog() -> None:
    here = ordered(*ROLLED, rules={"look": {"regions": ["back"], "then": {"refer": "Have the back looked at."}}})
    assert set(here.not_to_be_touched) == {"back"}
    assert here.refer == ("Have the back looked at.",)
    rule = {"regions": ["back"], "then": {"refer": "Send the dog.", "whole_dog": True}}
    whole = ordered(*ROLLED, rules={"look": rule})
    assert whole.steps == ()
    assert set(whole.not_to_be_touched) == set(PROFILE["regions"])
    assert whole.refer == ("Send the dog.",)


def test_rules_leave_add_use_and_caution() -> None:
    rules = {
        "no-card": {"regions": ["back"], "then": {"leave": ["card"]}},
        "comb-too": {"regions": ["back"], "then": {"add": {"comb": 2}, "caution": "Mind the warts."}},
        "stone": {"regions": ["ribs"], "then": {"use": "stone"}},
    }
    order = ordered(*ROLLED, rules=rules)
    assert [step.task for step in order.steps if step.region == "back"] == ["pull", "comb"]
    assert order.steps[0].method == "rake"
    assert {step.method for step in order.steps if step.region == "ribs"} == {"rake", "stone"}
    assert all(step.cautions == ("Mind the warts.",) for step in order.steps if step.region == "back")
    left = ordered(*ROLLED, rules={"rest": {"regions": ["back"], "then": {"leave": ["pull", "card"]}}})
    assert [reason.rule for reason in left.left_alone["back"]] == ["coat.left", "rest"]


def test_methods_follow_the_hair_and_one_another() -> None:
    short, long = ordered(), ordered(arrival={"body": {"grown_weeks": 22}})
    assert {step.method for step in short.steps if step.region == "back" and step.task == "pull"} == {"knife"}
    assert {step.method for step in long.steps if step.region == "back" and step.task == "pull"} == {"fingers"}
    card = next(step for step in short.steps if step.task == "card")
    assert card.how == "coarse rake, then fine rake (until it comes up clean)"


def test_only_the_clipper_goes_where_only_the_clipper_may() -> None:
    order = ordered(rules={"force": {"regions": ["anus"], "then": {"take": {"at_least": 0.5}, "use": "knife"}}})
    steps = [step for step in order.steps if step.region == "anus"]
    assert [(step.task, step.leave_mm, step.share) for step in steps] == [("clip", 3, None)]
    recent = ordered(visit("2026-05-18", work={"anus": {"clip": 3}}))
    assert "anus" in recent.left_alone
    late = ordered(visit("2026-04-20", work={"anus": {"clip": 3}}))
    assert next(step for step in late.steps if step.region == "anus").priority_parts == {"base": 60.0, "overdue": 12.0}


def test_what_was_put_off_outranks_its_peers_next_time() -> None:
    tight = ordered(*ROLLED, minutes=14)
    assert {"back", "anus"} == {step.region for step in tight.steps}
    first = "ribs"
    assert first in tight.deferred
    again = [*ROLLED[:3], {**ROLLED[3], "put_off": [first]}, visit("2026-05-25", put_off=[first])]
    order = ordered(*again, minutes=14)
    assert {"ribs", "anus"} == {step.region for step in order.steps}
    assert next(step for step in order.steps if step.region == first).priority_parts["put_off"] == 20
    worked = ordered(*again, visit("2026-05-30", work={first: {"pull": 0.1}}))
    assert all("put_off" not in step.priority_parts for step in worked.steps if step.region == first)


def test_a_place_this_dog_minds_is_worked_in_bouts_though_no_zone_names_it() -> None:
    calm = ordered(*ROLLED)
    minds = ordered(*ROLLED[:3], {**ROLLED[3], "reactions": {"back": "stop"}})
    assert calm.facts["back"]["sensitivity"] == "none"
    assert minds.facts["back"]["sensitivity"] == "medium"
    assert max(step.bouts for step in minds.steps if step.region == "back") > 1
    assert all(step.minutes <= 3 for step in minds.steps if step.region == "back")
    assert "coat.tender" in reasons(minds)


def test_reactions_shorten_bouts_and_calm_visits_give_them_back() -> None:
    def longest(*reactions: str) -> float:
        past = [
            visit(f"2026-03-{n + 1:02}", work={"toes": {"pull": 0.01}}, reactions={"toes": reaction})
            for n, reaction in enumerate(reactions)
        ]
        order = ordered(*past, arrival={"toes": {"grown_weeks": 40}})
        return max(step.minutes for step in order.steps if step.region == "toes")

    assert longest() == 2.5  # 7 minutes in three near-equal bouts of at most 3
    assert longest("unsettled") == 2  # of at most 2.25, so 2
    assert longest("stop") == 1.5
    assert longest("stop", "stop", "stop") == 1, "never below a minute"
    assert longest("stop", *["calm"] * 8) == 2.5, "never above the profile's figure"


def test_the_smallest_part_that_names_a_region_wins() -> None:
    order = ordered(visit("2026-05-11", work={"body": {"pull": 0.5}, "back": {"pull": 0.1}}))
    assert [round(share, 2) for share, _ in order.hair["back"]] == [0.9, 0.1]
    assert [round(share, 2) for share, _ in order.hair["ribs"]] == [0.5, 0.5]


def test_hair_picked_evenly_and_hair_cut_are_told_from_hair_pulled() -> None:
    even = ordered(*ROLLED[:2], visit("2026-05-11", work={"back": {"pull": 0.2, "pick": "even"}}))
    assert len(even.hair["back"]) == 4
    cut = ordered(visit("2026-05-11", work={"back": {"scissor": 10}}))
    assert cut.facts["back"]["longest_mm"] == pytest.approx(10 + 3 * 2.1)
    tidied = ordered(visit("2026-05-11", work={"back": {"scissor": True}}))
    assert tidied.facts["back"]["longest_mm"] == pytest.approx((18 - 4) * 2.1)
    clipped = ordered(visit("2026-05-11"), arrival={"back": {"clipped_mm": 4, "clipped_weeks": 2}})
    assert clipped.facts["back"]["longest_mm"] == pytest.approx(4 + 5 * 2.1)


def test_a_coat_that_nobody_described_counts_as_grown_out_and_says_so() -> None:
    order = ordered(visit("2026-05-11", work={"back": {"pull": 0.3}}), arrival={"ribs": {"grown_weeks": 12}})
    assert order.guessed == {"back": 0.7, "ribs": 0, "toes": 1, "anus": 1, "nose": 1}
    finding = next(finding for finding in order.findings if finding.code == "arrival-not-recorded")
    assert "Back, Toes" in finding.message


def test_usual_cautions_stand_in_every_order() -> None:
    for order in (ordered(), ordered(*ROLLED, visit("2026-05-31", health=["unwell"]))):
        assert order.cautions[-len(CAUTIONS) :] == CAUTIONS
    said = " ".join(CAUTIONS).lower()
    for word in (
        "skin",
        "blunt",
        "clipper",
        "objects",
        "your hands",
        "local animal welfare codes",
        "veterinary surgeon",
    ):
        assert word in said


def test_the_show_day_and_age_are_facts_only_while_they_mean_something() -> None:
    order = ordered(born="2026-01-01", show="2026-06-15")
    assert order.all_facts["back"]["weeks_to_show"] == 2
    assert order.all_facts["back"]["age_weeks"] == pytest.approx(151 / 7)
    later = ordered(visit("2026-05-01", show="2026-06-08"), born="2027-01-01", show="2026-05-30")
    assert later.all_facts["back"]["weeks_to_show"] == 1
    assert "age_weeks" not in later.all_facts["back"]


# ---- what was seen, compared, due: with figures


def test_what_was_seen_today_stands_in_for_what_was_computed() -> None:
    saw = {"longest_mm": 12, "layers": 3, "see_through": True, "undercoat": "some"}
    order = ordered(*ROLLED, visit("2026-06-01", seen={"back": saw}))
    seen, computed = order.all_facts["back"], order.all_facts["ribs"]
    facts = ("longest_mm", "layers", "see_through", "undercoat")
    assert [seen[fact] for fact in facts] == [12, 3, True, 0.5]
    assert [computed[fact] for fact in facts[1:]] == [4, False, 0.75]
    differs = [finding for finding in order.findings if finding.code == "seen-differs"]
    assert len(differs) == 4
    agreed = ordered(*ROLLED, visit("2026-06-01", seen={"back": {"layers": 4, "see_through": False}}))
    assert not [finding for finding in agreed.findings if finding.code == "seen-differs"]


def test_a_comparison_is_of_the_means_of_its_parts() -> None:
    profile = copy.deepcopy(PROFILE)
    profile["comparisons"] = {"toes_to_body": {"fact": "longest_mm", "of": "toes", "to": "body"}}
    arrival = {"toes": {"longest_mm": 9}, "back": {"longest_mm": 12}, "ribs": {"longest_mm": 24}}
    seen = {part: {"longest_mm": said["longest_mm"]} for part, said in arrival.items()}
    history = {"format": 1, "dog": {"id": "pip"}, "arrival": arrival, "visits": [visit("2026-06-01", seen=seen)]}
    order = work_order(profile, history, date=DAY)
    assert {facts["toes_to_body"] for facts in order.all_facts.values()} == {9 / 18}


def test_undercoat_half_back_is_carded_and_less_is_not() -> None:
    def carded(day: str) -> float | None:
        order = ordered(visit(day, work={"body": {"card": True}}))
        return next((step.minutes for step in order.steps if step.region == "back" and step.task == "card"), None)

    assert carded("2026-05-18") == 3  # two of four weeks: half of the six minutes
    assert carded("2026-05-19") is None


def test_a_routine_left_here_does_not_stop_the_next() -> None:
    profile = copy.deepcopy(PROFILE)
    profile["routines"] = {
        "comb": {"task": "comb", "regions": ["nose"], "every_weeks": 4, "minutes": 2, "because": "It mats."},
        "tidy": {"task": "scissor", "regions": ["nose"], "every_weeks": 4, "minutes": 3, "because": "It grows."},
    }
    profile["rules"] = {"no-comb": {"because": "Sore.", "regions": ["nose"], "then": {"leave": ["comb"]}}}
    order = work_order(profile, {"format": 1, "dog": {"id": "pip"}}, date=DAY, minutes=240)
    assert [(step.task, step.minutes) for step in order.steps if step.region == "nose"] == [("scissor", 3)]
    assert {step.region for step in order.steps if step.task == "scissor"} == {"nose"}
    because = [(reason.rule, reason.text) for step in order.steps if step.region == "nose" for reason in step.because]
    assert because == [("coat.calendar-first", "Due every 4 weeks; never recorded."), ("coat.calendar", "It grows.")]


def test_the_clipper_takes_the_minutes_that_the_profile_gives() -> None:
    steps = [step for step in ordered().steps if step.region == "anus"]
    assert [(step.task, step.minutes) for step in steps] == [("clip", 2)]


def test_why_less_was_taken_is_told() -> None:
    # Cover 0.5 of a coat of which 0.58 stands leaves 0.08: more than a low spot.
    kept = ordered(visit("2026-05-04", work={"back": {"pull": 0.42}}))
    assert [rule for rule in reasons(kept) if rule in ("coat.cover", "coat.low-spot")] == ["coat.cover"]
    # A tenth is old; the rest came through two and a half weeks ago and is 5.4 mm long: it hides the skin, nearly.
    short = ordered(visit("2026-04-16", work={"back": {"pull": 0.9}}))
    assert share(short) == 0.1
    assert "coat.not-ready" in reasons(short)
    # Hair of 22 weeks is 37.8 mm long, more than 35, though not blown.
    assert "coat.overgrown" in reasons(ordered(arrival={"body": {"grown_weeks": 22}}))
    assert "coat.overgrown" not in reasons(ordered(arrival={"body": {"grown_weeks": 20}}))


def test_the_least_share_worth_the_dogs_time_is_taken() -> None:
    assert share(ordered(rules={"little": {"then": {"take": {"at_most": 0.03}}}})) == 0.03
    assert share(ordered(rules={"little": {"then": {"take": {"at_most": 0.029}}}})) is None


def test_calendar_work_is_due_when_nearer_to_today_than_to_the_next_visit() -> None:
    # Every 4 weeks, visits every 3: due from two and a half weeks on, which is 17.5 days.
    assert any(step.region == "anus" for step in ordered(visit("2026-05-14", work={"anus": {"clip": 3}})).steps)
    waits = ordered(visit("2026-05-15", work={"anus": {"clip": 3}}))
    assert [reason.text for reason in waits.left_alone["anus"] if reason.rule == "coat.not-due"] == [
        "Nothing is due here until 11 days from now."
    ]


def test_a_late_carding_is_late_by_what_the_undercoat_takes() -> None:
    order = ordered(
        visit("2026-04-20", work={"body": {"pull": 0.2, "card": True}}),
        rules={"rest": {"regions": ["back"], "then": {"leave": ["pull"]}}},
    )
    pulled = ordered(*ROLLED[:2], visit("2026-05-04", work={"body": {"pull": 0.2, "card": True}}))
    assert next(step for step in pulled.steps if step.region == "back").priority_parts["overdue"] == 6  # four, of three
    parts = {step.task: step.priority_parts for step in order.steps if step.region == "back"}
    assert parts == {"card": {"base": 40.0, "overdue": 12.0}}  # six weeks, of four: two late, at 6 each


def test_a_reason_shows_the_facts_that_met_its_condition() -> None:
    rules = {"here": {"if": {"groups": {"contains": "body"}}, "then": {"caution": "Mind the warts."}}}
    order = ordered(*ROLLED, rules=rules)
    found = [
        reason for step in order.steps for reason in step.because if step.region == "back" and reason.rule == "here"
    ]
    assert [reason.facts for reason in found] == [{"groups": ("body",)}] * len(found)
    assert found


def test_an_added_task_replaces_none_and_heeds_what_is_left() -> None:
    rules = {
        "more": {"regions": ["back"], "then": {"add": {"card": 9, "comb": 2}}},
        "no-comb": {"regions": ["back"], "then": {"leave": ["comb"]}},
        "clip": {"regions": ["anus"], "then": {"add": {"clip": 4}}},
    }
    order = ordered(visit("2026-05-25", work={"anus": {"clip": 3}}), rules=rules)
    assert [(step.task, step.minutes) for step in order.steps if step.region == "back"] == [("card", 6), ("pull", 4)]
    clip = next(step for step in order.steps if step.region == "anus")
    assert (clip.task, clip.minutes, clip.leave_mm, "clip" in reasons(order, "anus")) == ("clip", 4, 3, True)


DONE = visit("2026-05-25", work={"body": {"card": True}, "anus": {"clip": 3}})


def test_why_nothing_is_done_is_told() -> None:
    def told(order: WorkOrder, region: str) -> list[str]:
        found = order.left_alone.get(region) or order.not_to_be_touched[region]
        return [reason.text for reason in found]

    stripped = ordered(visit("2026-05-11", work={"body": {"pull": 1}}), DONE)
    assert "No hair here is long enough to pull yet." in told(stripped, "back")
    assert "This place is only ever clipped, to 3 mm." in told(stripped, "anus")
    assert "Hands stay off the dog today." in told(ordered(*ROLLED, visit("2026-05-31", health=["unwell"])), "back")
    short = ordered(visit("2026-06-01", seen={"anus": {"longest_mm": 3}}))
    assert "The hair is no longer than the 3 mm it is clipped to." in told(short, "anus")
    left = ordered(rules={"no-clip": {"regions": ["anus"], "then": {"leave": ["clip"]}}})
    assert "anus" in left.left_alone
    assert "anus" not in ordered().left_alone
    carded = next(step for step in ordered().steps if step.task == "card")
    assert carded.because[0].text == "The undercoat is fully back."


def test_a_limit_just_met_takes_nothing_and_is_not_told() -> None:
    # 0.7 of the coat stands, so that 0.2 may go and leave the 0.5 that must cover: the usual share.
    order = ordered(visit("2026-05-04", work={"back": {"pull": 0.3}}))
    assert share(order) == 0.2
    assert not {"coat.cover", "coat.low-spot"} & set(reasons(order))
    both = ordered(rules={"just": {"then": {"take": {"at_least": 0.3, "at_most": 0.3}}}})
    assert share(both) == 0.3
    assert "rules-conflict" not in {finding.code for finding in both.findings}


def test_a_record_may_name_a_zone() -> None:
    profile = copy.deepcopy(PROFILE)
    profile["sensitive_zones"]["ticklish"] = {**PROFILE["sensitive_zones"]["toes"], "regions": ["nose", "ribs"]}
    said = {"format": 1, "dog": {"id": "pip"}, "visits": [visit("2026-05-11", work={"ticklish": {"pull": 0.3}})]}
    order = work_order(profile, said, date=DAY)
    assert {region: len(order.hair[region]) for region in ("ribs", "nose", "back")} == {"ribs": 2, "nose": 2, "back": 1}


def test_the_smallest_part_wins_and_of_equals_the_first_in_the_alphabet() -> None:
    names = {"aft": ("x", "y"), "back": ("x",), "croup": ("x",), "zone": ("y",)}
    assert most_specific(["croup", "zone", "aft", "back"], names) == {"x": "back", "y": "zone"}
    assert most_specific(["aft", "croup"], names) == {"x": "croup", "y": "aft"}


def test_what_records_name_is_worked_out_once_and_not_kept_without_end() -> None:
    plan = compiled(load_profile(PROFILE))
    assert plan.said(("body", "toes")) is plan.said(("body", "toes"))
    for keys in islice(product(sorted(plan.names), repeat=5), 4200):
        assert plan.said(keys) == most_specific(keys, plan.names)
    assert len(plan.chosen) == 4096


def test_a_profile_is_made_ready_once_and_not_kept_without_end() -> None:
    profile = load_profile(PROFILE)
    assert compiled(profile) is compiled(profile)
    for number in range(MOST_READY + 5):  # each gone by the next, so that an id may come again
        assert compiled(profile._replace(label=str(number))).profile.label == str(number)
        assert len(_ready) <= MOST_READY


def test_every_fact_of_a_region_worked_by_hand() -> None:
    order = ordered(
        visit("2026-04-20", work={"back": {"pull": 0.2}}, reactions={"back": "calm"}),
        visit("2026-05-11", work={"back": {"card": True, "scissor": 10}, "anus": {"clip": 3}}),
        visit("2026-05-18", work={"back": {"pull": 0.1}}, seen={"back": {"skin": "sound"}}, health=["nursing"]),
        born="2025-06-02",
        sex="female",
        neutered=False,
        show="2026-06-29",
    )
    dog = {
        "visits": 3,
        "minutes": 240,
        "health": ("nursing",),
        "age_weeks": 52,
        "sex": "female",
        "neutered": False,
        "weeks_to_show": 4,
        "weeks_since_visit": 2,
    }
    # 0.7 is 21 weeks old and, since it was cut to 10 mm, three weeks longer; 0.2 is 6 weeks old and 4.2 mm; 0.1 is hidden.
    back = {
        "region": "back",
        "groups": ("body",),
        "coat": "jacket",
        "sensitivity": "none",
        "cover": pytest.approx(0.7 + 0.2 * 4.2 / 6),
        "through_share": 0.9,
        "ready_share": 0.7,
        "blown_share": 0,
        "longest_mm": pytest.approx(10 + 3 * 2.1),
        "oldest_weeks": 21,
        "outline_mm": pytest.approx(10 + 3 * 2.1),
        "layers": 2,
        "next_layer_weeks": 2,
        "see_through": False,
        "weeks_since_pull": 2,
        "weeks_since_cut": 3,
        "weeks_since_card": 3,
        "undercoat": 0.75,
        "skin": "sound",
        "last_reaction": "calm",
    }
    assert order.all_facts["back"] == back | dog
    anus = order.all_facts["anus"]
    assert anus["weeks_since_cut"] == 3
    assert not {"weeks_since_pull", "weeks_since_card", "skin", "see_through"} & set(anus)
    assert (anus["undercoat"], order.all_facts["nose"]["undercoat"]) == (1, 1)
    assert order.all_facts["toes"]["sensitivity"] == "high"
    assert "weeks_since_cut" not in order.all_facts["toes"]
    blown = ordered(arrival={"body": {"grown_weeks": 26}}).all_facts["back"]
    assert (blown["blown_share"], blown["ready_share"], blown["cover"]) == (1, 1, 1)


def test_a_part_that_fills_more_than_the_visit_is_not_promised_for_next_time() -> None:
    order = ordered(*ROLLED, minutes=6)
    assert order.deferred["back"][0].rule == "coat.never-time"
    assert "give the dog a longer visit" in order.deferred["back"][0].text


def test_a_method_is_for_its_regions_alone() -> None:
    profile = copy.deepcopy(PROFILE)
    profile["methods"]["nails"] = {"label": "nails", "does": "pull", "rank": 9, "regions": ["ribs"]}
    history = {"format": 1, "dog": {"id": "pip"}, "arrival": {"body": {"grown_weeks": 15}}}
    order = work_order(profile, history, date=DAY, minutes=240)
    used = {step.region: step.method for step in order.steps if step.task == "pull"}
    assert (used["ribs"], used["back"]) == ("nails", "knife")


@pytest.mark.parametrize(
    ("back", "ribs", "longest_mm", "put_off"),
    [
        (20, 21, 35, "back"),  # 33.6 mm and 35.7: only the ribs are too long
        (22, 21, 35, "ribs"),
        (27, 28, 44, "back"),  # both full grown; blown for one week and for two
        (28, 28, 44, "ribs"),  # alike: the later on the walk waits
    ],
)
def test_of_equals_the_coat_longest_overgrown_is_worked(back: int, ribs: int, longest_mm: float, put_off: str) -> None:
    profile = copy.deepcopy(PROFILE)
    profile["layer_targets"]["body"]["longest_mm"] = [15, longest_mm]
    arrival = {"back": {"grown_weeks": back}, "ribs": {"grown_weeks": ribs}}
    order = work_order(profile, {"format": 1, "dog": {"id": "pip"}, "arrival": arrival}, date=DAY, minutes=16)
    assert put_off in order.deferred
    assert {"back", "ribs"} - {put_off} <= {step.region for step in order.steps}


def test_what_was_said_of_a_place_that_is_not_worked_is_not_lost() -> None:
    rules = {
        "look": {"regions": ["back"], "then": {"refer": "Have the back looked at.", "caution": "Mind the back."}},
        "mind": {"regions": ["nose"], "then": {"caution": "Mind the nose."}},
        "some": {"regions": ["ribs"], "then": {"take": {"at_least": 0.3, "at_most": 0.02}, "leave": ["card"]}},
    }
    order = ordered(*ROLLED, visit("2026-05-12", seen={"toes": {"skin": "unsound"}}), rules=rules)
    assert set(order.refer) == {"Have the back looked at.", UNSOUND_SKIN}
    assert [reason.text for reason in order.not_to_be_touched["back"]] == [
        "A veterinary surgeon must see this first.",
        "Rule look.",
    ]
    assert {"Mind the back.", "Mind the nose."} <= set(order.cautions)
    assert [order.fired[region] for region in ("back", "nose", "ribs", "toes")] == [("look",), ("mind",), ("some",), ()]
    assert "ribs" in order.left_alone
    assert [finding.message.split(":")[0] for finding in order.findings if finding.code == "rules-conflict"] == ["Ribs"]


def test_why_it_is_clipped_and_why_hands_stay_off_is_told() -> None:
    order = ordered(visit("2026-05-04", work={"anus": {"clip": 3}}))
    clip = next(step for step in order.steps if step.region == "anus")
    assert [reason.text for reason in clip.because] == [
        "Due every 4 weeks; last done 4 weeks ago.",
        "This place is only ever clipped, to 3 mm.",
    ]
    assert ordered(rules={"use": {"regions": ["back"], "then": {"caution": "Slowly."}}}).fired["back"] == ("use",)
    unwell = ordered(*ROLLED, visit("2026-05-31", health=["nursing"]))
    assert [reason.text for reason in unwell.not_to_be_touched["back"]] == ["Hands stay off the dog today."]
    low = ordered(rules={"last": {"regions": ["anus"], "then": {"priority": -100}}})
    assert next(step.priority for step in low.steps if step.region == "anus") == 0


def test_how_late_each_kind_of_work_is() -> None:
    def overdue(*visits: dict[str, Any]) -> dict[str, float]:
        profile = copy.deepcopy(PROFILE)
        profile["routines"] = {
            "comb": {"task": "comb", "regions": ["nose"], "every_weeks": 4, "minutes": 2},
            "tidy": {"task": "scissor", "regions": ["nose"], "every_weeks": 5, "minutes": 2},
        }
        arrival = {"body": {"grown_weeks": 15}}
        history = {"format": 1, "dog": {"id": "pip"}, "arrival": arrival, "visits": list(visits)}
        steps = work_order(profile, history, date=DAY, minutes=240).steps
        return {
            step.region: step.priority_parts.get("overdue", 0)
            for step in steps
            if step.region in ("back", "nose", "anus")
        }

    assert overdue() == {"back": 0, "nose": 0, "anus": 0}
    # Six weeks ago: three later than a pull is due, were it only looked at. What is on the calendar has no first day.
    assert overdue(visit("2026-04-20")) == {"back": 18, "nose": 0, "anus": 0}
    assert overdue(*ROLLED)["back"] == 0
    combed = visit("2026-04-20", work={"nose": {"comb": True, "scissor": True}})
    assert overdue(combed)["nose"] == 12  # the comb is two weeks late, the scissors one
    # Six weeks ago the comb is two late; the scissors of four weeks ago come a week early, and are not late.
    apart = overdue(
        visit("2026-04-20", work={"nose": {"comb": True}}), visit("2026-05-04", work={"nose": {"scissor": True}})
    )
    assert apart["nose"] == 12


def test_what_is_combed_where_only_the_clipper_may_go_is_late_by_its_own_interval() -> None:
    profile = copy.deepcopy(PROFILE)
    profile["routines"] = {"comb": {"task": "comb", "regions": ["anus"], "every_weeks": 2, "minutes": 2}}
    visits = [visit("2026-05-04", work={"anus": {"comb": True}}), visit("2026-05-18", work={"anus": {"clip": 3}})]
    order = work_order(profile, {"format": 1, "dog": {"id": "pip"}, "visits": visits}, date=DAY)
    step = next(step for step in order.steps if step.region == "anus")
    assert (step.task, step.priority_parts) == ("comb", {"base": 30.0, "overdue": 12.0})  # four weeks, of two


def test_what_is_clipped_by_the_calendar_alone_is_late_by_the_calendar() -> None:
    profile = copy.deepcopy(PROFILE)
    profile["routines"] = {"clip": {"task": "clip", "regions": ["nose"], "every_weeks": 3, "minutes": 2}}
    visits = [visit("2026-05-04", work={"nose": {"clip": 3}})]
    order = work_order(profile, {"format": 1, "dog": {"id": "pip"}, "visits": visits}, date=DAY)
    step = next(step for step in order.steps if step.region == "nose")
    assert (step.task, step.priority_parts) == ("clip", {"base": 60.0, "overdue": 6.0})  # four weeks, of three


def test_work_to_which_the_profile_gives_no_minutes_takes_the_shortest_there_is() -> None:
    profile = copy.deepcopy(PROFILE)
    for region in ("anus", "toes"):
        del profile["regions"][region]["minutes"]
    order = work_order(profile, {"format": 1, "dog": {"id": "pip"}}, date=DAY, minutes=240)
    minutes = {(step.region, step.task): step.minutes for step in order.steps}
    assert (minutes["anus", "clip"], minutes["toes", "pull"]) == (0.5, 0.5)


def measured(day: str, **mm: float) -> tuple[Record, dict[str, RegionFacts], dict[str, Verdict]]:
    """A dog that came that day with 10 weeks of hair and was measured then."""
    plan = compiled(load_profile(PROFILE))
    said = {
        "format": 1,
        "dog": {"id": "pip"},
        "arrival": {name: {"grown_weeks": 10} for name in mm},
        "visits": [visit(day, seen={name: {"longest_mm": length} for name, length in mm.items()})],
    }
    history = load_history(said)
    record = recorded(plan, history, DAY)
    facts, _ = all_facts(plan, history.dog, record, 240)
    return record, facts, decide(plan, record, facts)[0]


def test_each_region_grows_at_its_own_pace() -> None:
    record, facts, _ = measured("2026-03-30", back=8, ribs=20)
    back, ribs = record.pace.of("back"), record.pace.of("ribs")
    assert back < record.pace.mean < ribs
    for region, pace in (("back", back), ("ribs", ribs)):
        assert facts[region]["oldest_weeks"] == 19
        assert facts[region]["longest_mm"] == pytest.approx(2.1 * (pace * 19 - 4))


def test_the_hair_of_a_slow_dog_is_blown_later() -> None:
    record, facts, verdicts = measured("2025-12-08", back=9)
    pace = record.pace.of("back")
    assert pace < 0.95
    # Hair of 35 weeks, blown at 26 of its own, which are more on the calendar; full grown at 45 mm it is 10 too long.
    assert verdicts["back"].overgrown_weeks == pytest.approx(max(35 - 26 / pace, 10 / 2.1 / pace))
    assert facts["back"]["longest_mm"] == 45


def test_cover_that_is_just_enough_lets_no_skin_show() -> None:
    # The profile asks for half of the skin to be hidden.
    just, less = (ordered(visit("2026-06-01", work={"back": {"pull": share}})) for share in (0.5, 0.501))
    assert [(order.facts["back"]["cover"], order.facts["back"]["see_through"]) for order in (just, less)] == [
        (0.5, False),
        (0.499, True),
    ]


def test_what_differs_is_told_of_every_region() -> None:
    saw = {"back": {"layers": 1}, "ribs": {"layers": 1}}
    order = ordered(*ROLLED, visit("2026-06-01", seen=saw))
    told = [finding.message.split(":")[0] for finding in order.findings if finding.code == "seen-differs"]
    assert told == ["Back", "Ribs"]


def test_facts_at_their_limits() -> None:
    assert ordered(born="2026-06-01").all_facts["back"]["age_weeks"] == 0
    assert "age_weeks" not in ordered(born="2026-06-02").all_facts["back"]
    carded = ordered(visit("2026-03-09", work={"back": {"card": True}}))  # twelve weeks ago, of the four it takes
    assert carded.all_facts["back"]["undercoat"] == 1


def test_what_was_never_done_is_not_compared() -> None:
    profile = copy.deepcopy(PROFILE)
    profile["comparisons"] = {"pulled": {"fact": "weeks_since_pull", "of": "toes", "to": "body"}}
    order = work_order(profile, {"format": 1, "dog": {"id": "pip"}}, date=DAY)
    assert all("pulled" not in facts for facts in order.all_facts.values())


def test_the_parts_of_a_priority_and_its_limits() -> None:
    def step(order: WorkOrder, region: str) -> tuple[float, dict[str, float]]:
        return next((step.priority, dict(step.priority_parts)) for step in order.steps if step.region == region)

    high = ordered(rules={"first": {"regions": ["anus"], "then": {"priority": 100}}})
    assert step(high, "anus") == (100, {"base": 60.0, "rules": 100.0})
    waited = ordered(*[visit(f"2026-05-{day}", put_off=["anus"]) for day in (11, 12, 13, 14)])
    assert step(waited, "anus") == (90, {"base": 60.0, "put_off": 30.0})  # ten for each time, thirty at most


def test_a_share_that_just_meets_what_is_overgrown_or_ready_is_the_usual_one() -> None:
    # A fifth has not been pulled since the dog came; the rest six weeks ago, when it was 4.2 mm long: too short to pull.
    order = ordered(visit("2026-04-20", work={"body": {"pull": 0.8}}), arrival={"body": {"grown_weeks": 40}})
    assert order.facts["back"]["ready_share"] == share(order) == 0.2
    assert not {"coat.overgrown", "coat.not-ready"} & set(reasons(order))
    usual = next(reason for step in order.steps for reason in step.because if reason.rule == "coat.usual")
    assert usual.facts == {"share": 0.2}


def test_a_coat_of_which_neither_cover_nor_length_is_wanted_may_all_be_pulled() -> None:
    profile = copy.deepcopy(PROFILE)
    profile["layer_targets"]["body"] = {"regions": ["body"], "layers": 4, "take": {"usual": 1, "at_most": 1}}
    del profile["regions"]["back"]["minutes"]["pull"]
    history = {"format": 1, "dog": {"id": "pip"}, "arrival": {"body": {"grown_weeks": 30}}}
    order = work_order(profile, history, date=DAY, minutes=240)
    pulled = {step.region: (step.share, step.minutes) for step in order.steps if step.task == "pull"}
    assert pulled == {"back": (1, 0.5), "ribs": (1, 20)}


def test_a_routine_of_which_nothing_is_said_has_its_date_alone_for_a_reason() -> None:
    profile = copy.deepcopy(PROFILE)
    profile["routines"] = {"comb": {"task": "comb", "regions": ["nose"], "every_weeks": 4, "minutes": 2}}
    order = work_order(profile, {"format": 1, "dog": {"id": "pip"}}, date=DAY)
    assert reasons(order, "nose") == ["coat.calendar-first"]


def test_hair_too_long_on_a_slow_dog_has_been_so_for_longer() -> None:
    record, facts, verdicts = measured("2026-02-23", back=9)
    longest, pace = facts["back"]["longest_mm"], record.pace.of("back")
    assert isinstance(longest, float)
    assert 35 < longest < 45
    assert verdicts["back"].overgrown_weeks == pytest.approx((longest - 35) / 2.1 / pace)
    assert verdicts["anus"].overgrown_weeks == 0


def test_the_reason_that_a_profile_gives_and_the_day_of_the_next_clip_are_told() -> None:
    def told(day: str, every_weeks: float) -> list[str]:
        profile = copy.deepcopy(PROFILE)
        profile["clipper_only_zones"]["anus"] |= {"because": "The skin is thin.", "every_weeks": every_weeks}
        profile["visit"]["every_weeks"] = 0.25
        visits = [visit(day, work={"anus": {"clip": 3}})]
        order = work_order(profile, {"format": 1, "dog": {"id": "pip"}, "visits": visits}, date=DAY)
        return [reason.text for reason in order.left_alone["anus"]]

    assert told("2026-05-26", 1) == ["The skin is thin.", "Nothing is due here until tomorrow."]
    assert told("2026-05-27", 1) == ["The skin is thin.", "Nothing is due here until 2 days from now."]


def test_minutes_are_those_of_these_hands_in_each_region() -> None:
    quick = {"pull": 0.2, "card": True, "minutes": 5}
    usual = {"pull": 0.2, "card": True, "minutes": 10}
    order = ordered(*[visit(worked["visit"], work={"back": quick, "ribs": usual}) for worked in ROLLED])
    assert order.speed.of("back") > 1.5 > order.speed.of("ribs")
    minutes = {step.region: step.minutes for step in order.steps if step.task == "pull"}
    for region in ("back", "ribs"):  # a fifth of twenty minutes, in whole half-minutes
        assert minutes[region] == pytest.approx(4 / order.speed.of(region), abs=0.25)
    assert minutes["back"] < minutes["ribs"]


def test_the_weightiest_work_of_a_region_sets_its_base() -> None:
    tidy = {"tidy": {"task": "scissor", "regions": ["back"], "every_weeks": 5, "minutes": 2}}
    steps = [step for step in ordered(by={"routines": tidy}).steps if step.region == "back"]
    assert {step.task for step in steps} == {"card", "pull", "scissor"}
    assert {step.priority_parts["base"] for step in steps} == {50.0}


def test_a_priority_has_one_decimal_and_lateness_counts_for_thirty_at_most() -> None:
    rule = {"then": {"priority": 0.06}}
    order = ordered(visit("2026-05-05", work={"body": {"pull": 0.2}, "toes": {"pull": 0.2}}), rules={"more": rule})
    back = next(step for step in order.steps if step.region == "back" and step.task == "pull")
    assert back.priority_parts == {"base": 50.0, "overdue": 5.1, "rules": 0.06}  # 27 days, of 21: 6 / 7 weeks, times 6
    assert back.priority == 55.2
    long_ago = ordered(visit("2026-01-01", work={"body": {"pull": 0.2}}))
    assert {step.priority_parts["overdue"] for step in long_ago.steps if step.region == "back"} == {30.0}


@pytest.mark.parametrize(("every_weeks", "due"), [(3.5, True), (3.6, False)])
def test_a_routine_half_a_visit_early_is_done_and_earlier_is_not(every_weeks: float, due: bool) -> None:
    tidy = {"tidy": {"task": "comb", "regions": ["nose"], "every_weeks": every_weeks, "minutes": 2, "because": "Tidy."}}
    order = ordered(visit("2026-05-18", work={"nose": {"comb": True}}), by={"routines": tidy})
    steps = [step for step in order.steps if step.region == "nose"]
    assert bool(steps) is due
    for step in steps:
        assert [(reason.rule, reason.facts, reason.said) for reason in step.because] == [
            ("coat.calendar", {"every_weeks": 3.5, "weeks_since": 2.0}, ""),
            ("coat.calendar", {"every_weeks": 3.5, "weeks_since": 2.0}, "Tidy."),
        ]


@pytest.mark.parametrize("limit", ["at_least", "at_most"])
def test_a_limit_that_is_the_usual_share_is_not_told(limit: str) -> None:
    order = ordered(*ROLLED, rules={"same": {"then": {"take": {limit: 0.2}}}})
    assert share(order) == 0.2
    assert not {"coat.floor", "coat.cap", "same"} & set(reasons(order))


def test_a_low_spot_is_told_of_where_the_cover_leaves_no_more() -> None:
    target = copy.deepcopy(PROFILE["layer_targets"])
    target["body"]["take"]["low_spot"] = 0.08  # just what the cover leaves, see above
    order = ordered(visit("2026-05-04", work={"back": {"pull": 0.42}}), by={"layer_targets": target})
    assert share(order) == 0.08
    assert [rule for rule in reasons(order) if rule in ("coat.cover", "coat.low-spot")] == ["coat.low-spot"]


def test_why_unsound_skin_is_not_touched_is_told() -> None:
    order = ordered(*ROLLED, visit("2026-05-12", seen={"toes": {"skin": "unsound"}}))
    assert [reason.text for reason in order.not_to_be_touched["toes"]] == [
        "The skin here is not sound: hands and tools stay off."
    ]


def test_where_only_the_clipper_may_go_the_profile_s_own_words_are_told_and_a_comb_leaves_no_length() -> None:
    zones = {"anus": {"regions": ["anus"], "leave_mm": 3, "every_weeks": 4, "because": "It keeps the place clean."}}
    rules = {"comb": {"regions": ["anus"], "because": "Mats.", "then": {"add": {"comb": 2}}}}
    order = ordered(rules=rules, by={"clipper_only_zones": zones})
    steps = {step.task: step for step in order.steps if step.region == "anus"}
    assert "It keeps the place clean." in [reason.text for reason in steps["clip"].because]
    assert (steps["clip"].leave_mm, steps["comb"].leave_mm) == (3.0, None)


@pytest.mark.parametrize("longest", [None, [15, 35]])
def test_a_coat_that_is_neither_blown_nor_too_long_is_not_overgrown(longest: list[float] | None) -> None:
    profile = copy.deepcopy(PROFILE)
    profile["layer_targets"]["body"]["longest_mm"] = longest
    if longest is None:
        del profile["layer_targets"]["body"]["longest_mm"]
    plan = compiled(load_profile(profile))
    history = load_history({"format": 1, "dog": {"id": "pip"}, "arrival": {"body": {"grown_weeks": 8}}})
    record = recorded(plan, history, DAY)
    verdicts, _ = decide(plan, record, all_facts(plan, history.dog, record, 240)[0])
    assert verdicts["back"].outcome == "work"
    assert verdicts["back"].overgrown_weeks == 0
