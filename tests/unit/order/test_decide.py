"""How much, with what and why: one small profile, one thing at a time (the agreed mathematics is in DEVELOPERS.md)."""

from __future__ import annotations

import copy

import pytest

from coatrules import WorkOrder, load_history, load_profile, work_order
from coatrules.dog.safety import CAUTIONS, HEALTH
from coatrules.dog.state import state_on
from coatrules.order.decide import decide
from coatrules.order.facts import all_facts
from coatrules.profile.compiled import compile_profile
from tests.support.five_parts import DAY, DONE, PROFILE, ROLLED, ordered, reasons, share, visit


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
    conflicts = [finding.message for finding in order.findings if finding.code == "floor-above-cap"]
    assert conflicts[0] == (
        "Back: one rule asks for at least just under a third, another allows at most a good quarter. The smaller share holds."
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
    assert order.refer == (HEALTH[condition].says,)
    assert not [step for step in order.steps if step.task in ("pull", "card")]
    assert "back" in order.not_to_be_touched
    worked = {step.task for step in order.steps}
    assert worked == (set() if HEALTH[condition].forbids == "all" else {"clip"})


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
    assert [str(said) for said in here.refer] == ["Have the back looked at."]
    rule = {"regions": ["back"], "then": {"refer": "Send the dog.", "whole_dog": True}}
    whole = ordered(*ROLLED, rules={"look": rule})
    assert whole.steps == ()
    assert set(whole.not_to_be_touched) == set(PROFILE["regions"])
    assert [str(said) for said in whole.refer] == ["Send the dog."]
    assert whole.next_visit.hold is not None


def test_rules_leave_add_use_and_caution() -> None:
    rules = {
        "no-card": {"regions": ["back"], "then": {"leave": ["card"]}},
        "comb-too": {"regions": ["back"], "then": {"add": {"comb": 2}, "caution": "Mind the warts."}},
        "stone": {"regions": ["ribs"], "then": {"use": "stone"}},
    }
    order = ordered(*ROLLED, rules=rules)
    assert [step.task for step in order.steps if step.region == "back"] == ["pull", "comb"]
    assert order.steps[0].method == "rake"
    assert {step.method for step in order.steps if step.region == "ribs"} == {"rake", "fine", "stone"}
    assert all(list(map(str, step.cautions)) == ["Mind the warts."] for step in order.steps if step.region == "back")
    left = ordered(*ROLLED, rules={"rest": {"regions": ["back"], "then": {"leave": ["pull", "card"]}}})
    assert [reason.rule for reason in left.left_alone["back"]] == ["coat.left", "rest"]


def test_methods_follow_the_hair_and_one_another() -> None:
    short, long = ordered(), ordered(arrival={"body": {"grown_weeks": 22}})
    assert {step.method for step in short.steps if step.region == "back" and step.task == "pull"} == {"knife"}
    assert {step.method for step in long.steps if step.region == "back" and step.task == "pull"} == {"fingers"}
    rakes = [step.how for step in short.steps if step.task == "card" and step.region == "back"]
    assert rakes == ["coarse rake", "fine rake (until it comes up clean)"]


def test_only_the_clipper_goes_where_only_the_clipper_may() -> None:
    order = ordered(rules={"force": {"regions": ["anus"], "then": {"take": {"at_least": 0.5}, "use": "knife"}}})
    steps = [step for step in order.steps if step.region == "anus"]
    assert [(step.task, step.leave_mm, step.share) for step in steps] == [("clip", 3, None)]
    recent = ordered(visit("2026-05-18", work={"anus": {"clip": 3}}))
    assert "anus" in recent.left_alone
    late = ordered(visit("2026-04-20", work={"anus": {"clip": 3}}))
    assert next(step for step in late.steps if step.region == "anus").priority_parts == {"base": 60.0, "overdue": 12.0}


def test_a_place_this_dog_minds_is_worked_in_bouts_though_no_zone_names_it() -> None:
    calm = ordered(*ROLLED)
    slow = {**PROFILE["regions"], "back": {"label": "Back", "coat": "jacket", "minutes": {"pull": 20, "card": 16}}}
    minds = ordered(*ROLLED[:3], {**ROLLED[3], "reactions": {"back": "stop"}}, by={"regions": slow})
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
    assert longest("stop", "calm") == 1.5  # of at most 1.65
    assert longest("stop") == 1, "a tenth at most, which is two minutes, in bouts of at most 1.5"
    assert longest("stop", "stop", "stop") == 1, "never below a minute"
    assert longest("stop", *["calm"] * 8) == 2.5, "never above the profile's figure"


def test_usual_cautions_stand_in_every_order() -> None:
    for order in (ordered(), ordered(*ROLLED, visit("2026-05-31", health=["unwell"]))):
        assert order.cautions[-len(CAUTIONS) :] == CAUTIONS
    said = " ".join(map(str, CAUTIONS)).lower()
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


def test_where_the_skin_shows_the_undercoat_stays() -> None:
    bare = ordered(visit("2026-05-04", work={"back": {"pull": 0.9}}))
    tasks = {(step.region, step.task) for step in bare.steps}
    assert ("back", "card") not in tasks
    assert ("ribs", "card") in tasks
    seen = ordered(*ROLLED, visit(DAY.isoformat(), seen={"ribs": {"see_through": True}}))
    assert "card" not in {step.task for step in seen.steps if step.region == "ribs"}
    # A coat that is stripped whole shows the skin each time, and its undercoat comes out with it.
    whole = {"body": {**PROFILE["layer_targets"]["body"], "full_strip": True}}
    stripped = ordered(visit("2026-05-04", work={"back": {"pull": 0.9}}), by={"layer_targets": whole})
    assert "card" in {step.task for step in stripped.steps if step.region == "back"}


def test_undercoat_half_back_is_carded_and_less_is_not() -> None:
    def carded(day: str) -> float:
        order = ordered(visit(day, work={"body": {"card": True}}))
        return sum(step.minutes for step in order.steps if step.region == "back" and step.task == "card")

    assert carded("2026-05-18") == 3  # two of four weeks: half of the six minutes
    assert carded("2026-05-19") == 0


def test_a_routine_left_here_does_not_stop_the_next() -> None:
    profile = copy.deepcopy(PROFILE)
    profile["routines"] = {
        "comb": {"task": "comb", "regions": ["nose"], "every_weeks": 4, "minutes": 2, "because": "It mats."},
        "tidy": {"task": "scissor", "regions": ["nose"], "every_weeks": 4, "minutes": 3, "because": "It grows."},
    }
    profile["rules"] = {"no-comb": {"because": "Sore.", "regions": ["nose"], "then": {"leave": ["comb"]}}}
    order = work_order(profile, {"format": 1, "dog": {"id": "pip"}}, date=DAY, minutes=180)
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
    back = [(step.task, step.minutes) for step in order.steps if step.region == "back"]
    assert back == [("card", 3), ("card", 3), ("pull", 4)]  # coarse rake, then fine rake
    clip = next(step for step in order.steps if step.region == "anus")
    assert (clip.task, clip.minutes, clip.leave_mm, "clip" in reasons(order, "anus")) == ("clip", 4, 3, True)


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
    assert "floor-above-cap" not in {finding.code for finding in both.findings}


def test_a_method_is_for_its_regions_alone() -> None:
    profile = copy.deepcopy(PROFILE)
    profile["methods"]["nails"] = {"label": "nails", "does": "pull", "rank": 9, "regions": ["ribs"]}
    history = {"format": 1, "dog": {"id": "pip"}, "arrival": {"body": {"grown_weeks": 15}}}
    order = work_order(profile, history, date=DAY, minutes=180)
    used = {step.region: step.method for step in order.steps if step.task == "pull"}
    assert (used["ribs"], used["back"]) == ("nails", "knife")


def test_what_was_said_of_a_place_that_is_not_worked_is_not_lost() -> None:
    rules = {
        "look": {"regions": ["back"], "then": {"refer": "Have the back looked at.", "caution": "Mind the back."}},
        "mind": {"regions": ["nose"], "then": {"caution": "Mind the nose."}},
        "some": {"regions": ["ribs"], "then": {"take": {"at_least": 0.3, "at_most": 0.02}, "leave": ["card"]}},
    }
    order = ordered(*ROLLED, visit("2026-05-12", seen={"anus": {"skin": "unsound"}}), rules=rules)
    assert [said.text for said in order.refer if said.own] == ["Have the back looked at."]
    assert [reason.text for reason in order.not_to_be_touched["back"]] == [
        "A veterinary surgeon must see this first.",
        "Rule look.",
    ]
    assert {"Mind the back.", "Mind the nose."} <= set(map(str, order.cautions))
    assert [order.fired[region] for region in ("back", "nose", "ribs", "toes")] == [("look",), ("mind",), ("some",), ()]
    assert "ribs" in order.left_alone
    assert [finding.message.split(":")[0] for finding in order.findings if finding.code == "floor-above-cap"] == [
        "Ribs"
    ]


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


def test_work_to_which_the_profile_gives_no_minutes_takes_the_shortest_there_is() -> None:
    profile = copy.deepcopy(PROFILE)
    for region in ("anus", "toes"):
        del profile["regions"][region]["minutes"]
    order = work_order(profile, {"format": 1, "dog": {"id": "pip"}}, date=DAY, minutes=180)
    minutes = {(step.region, step.task): step.minutes for step in order.steps}
    assert (minutes["anus", "clip"], minutes["toes", "pull"]) == (0.5, 0.5)


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
    order = work_order(profile, history, date=DAY, minutes=180)
    pulled = {step.region: (step.share, step.minutes) for step in order.steps if step.task == "pull"}
    assert pulled == {"back": (1, 0.5), "ribs": (1, 20)}


def test_a_routine_of_which_nothing_is_said_has_its_date_alone_for_a_reason() -> None:
    profile = copy.deepcopy(PROFILE)
    profile["routines"] = {"comb": {"task": "comb", "regions": ["nose"], "every_weeks": 4, "minutes": 2}}
    order = work_order(profile, {"format": 1, "dog": {"id": "pip"}}, date=DAY)
    assert reasons(order, "nose") == ["coat.calendar-first"]


def test_the_reason_that_a_profile_gives_and_the_day_of_the_next_clip_are_told() -> None:
    def told(day: str, every_weeks: float) -> list[str]:
        profile = copy.deepcopy(PROFILE)
        profile["clipper_only_zones"]["anus"] |= {"because": "The skin is thin.", "every_weeks": every_weeks}
        profile["visit"]["every_weeks"] = 0.25
        visits = [visit(day, work={"anus": {"clip": 3}})]
        order = work_order(profile, {"format": 1, "dog": {"id": "pip"}, "visits": visits}, date=DAY)
        return [reason.text for reason in order.left_alone["anus"]]

    assert told("2026-05-26", 1) == ["The skin is thin.", "Nothing is due here until tomorrow."]
    assert told("2026-05-27", 1) == ["The skin is thin.", "Nothing is due here for another 2 days."]


def test_minutes_are_those_of_these_hands_in_each_region() -> None:
    quick = {"pull": 0.2, "card": True, "minutes": 5}
    usual = {"pull": 0.2, "card": True, "minutes": 10}
    order = ordered(*[visit(worked["visit"], work={"back": quick, "ribs": usual}) for worked in ROLLED])
    assert order.speed.of("back") > 1.5 > order.speed.of("ribs")
    minutes = {step.region: step.minutes for step in order.steps if step.task == "pull"}
    for region in ("back", "ribs"):  # a fifth of twenty minutes, in whole half-minutes
        assert minutes[region] == pytest.approx(4 / order.speed.of(region), abs=0.25)
    assert minutes["back"] < minutes["ribs"]


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
        "The skin here is not sound (seen on 12 May 2026): hands and tools stay off until a visit records sound skin here."
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
    compiled = compile_profile(load_profile(profile))
    history = load_history({"format": 1, "dog": {"id": "pip"}, "arrival": {"body": {"grown_weeks": 8}}})
    state = state_on(compiled, history, DAY)
    verdicts, _ = decide(compiled, state, all_facts(compiled, history.dog, state, 240)[0])
    assert verdicts["back"].outcome == "work"
    assert verdicts["back"].overgrown_weeks == 0
