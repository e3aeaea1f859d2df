"""What is known of each region: recorded, seen, compared; one small profile, one thing at a time."""

from __future__ import annotations

import copy
from datetime import date
from itertools import islice, product

import pytest
from attrs import evolve

from coatrules import InputError, load_profile, work_order
from coatrules.profile.compiled import MOST_READY, compile_profile, most_specific
from tests.support.five_parts import DAY, PROFILE, ROLLED, measured, ordered, visit


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
    assert "back, toes" in finding.message


def test_the_show_day_and_age_are_facts_only_while_they_mean_something() -> None:
    order = ordered(born="2026-01-01", show="2026-06-15")
    assert order.all_facts["back"]["weeks_to_show"] == 2
    assert order.all_facts["back"]["age_weeks"] == pytest.approx(151 / 7)
    later = ordered(visit("2026-05-01", show="2026-06-08"), show="2026-05-30")
    assert later.all_facts["back"]["weeks_to_show"] == 1


METEOROLOGICAL = {
    "northern": {"spring": (3, 4, 5), "summer": (6, 7, 8), "autumn": (9, 10, 11), "winter": (12, 1, 2)},
    "southern": {"autumn": (3, 4, 5), "winter": (6, 7, 8), "spring": (9, 10, 11), "summer": (12, 1, 2)},
}
"""Meteorological seasons: of the Met Office, and of the Bureau of Meteorology for the south (from memory)."""


@pytest.mark.parametrize("hemisphere", METEOROLOGICAL)
def test_the_time_of_year_is_that_of_where_the_dog_lives(hemisphere: str) -> None:
    for season, months in METEOROLOGICAL[hemisphere].items():
        for month in months:
            dog = {"format": 1, "dog": {"id": "pip", "hemisphere": hemisphere}}
            facts = work_order(PROFILE, dog, date=date(2026, month, 28)).all_facts["back"]
            assert (facts["month"], facts["time_of_year"]) == (month, season)


def test_what_a_history_says_of_a_dog_in_its_own_words_is_a_fact() -> None:
    facts = ordered(size="miniature", coat_type="broken", colour="grizzle").all_facts["back"]
    assert {name: facts[name] for name in ("size", "coat_type", "colour")} == {
        "size": "miniature",
        "coat_type": "broken",
        "colour": "grizzle",
    }
    assert not {"size", "coat_type", "colour"} & ordered().all_facts["back"].keys()


def test_the_last_verdict_of_a_hand_is_a_fact_until_the_next() -> None:
    first, second = (visit(day, seen={"back": {"comes": comes}}) for day, comes in VERDICTS)
    assert "last_comes" not in ordered().all_facts["back"]
    assert ordered(first).all_facts["back"]["last_comes"] == "holds"
    order = ordered(first, second)
    assert order.all_facts["back"]["last_comes"] == "mixed"
    assert "last_comes" not in order.all_facts["ribs"]
    assert "comes" not in order.all_facts["back"]  # it was not tried today


VERDICTS = (("2026-04-20", "holds"), ("2026-05-11", "mixed"))


def test_what_was_seen_today_stands_in_for_what_was_computed() -> None:
    saw = {"longest_mm": 12, "layers": 3, "see_through": True, "undercoat": "some"}
    order = ordered(*ROLLED, visit("2026-06-01", seen={"back": saw}))
    seen, computed = order.all_facts["back"], order.all_facts["ribs"]
    facts = ("longest_mm", "layers", "see_through", "undercoat")
    assert [seen[fact] for fact in facts] == [12, 3, True, 0.5]
    assert [computed[fact] for fact in facts[1:]] == [3, False, 0.75]
    differs = [finding for finding in order.findings if finding.code == "seen-differs"]
    assert len(differs) == 3
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
    compiled = compile_profile(load_profile(PROFILE))
    assert compiled.keys_of(("body", "toes")) is compiled.keys_of(("body", "toes"))
    for keys in islice(product(sorted(compiled.names), repeat=5), 4200):
        assert compiled.keys_of(keys) == most_specific(keys, compiled.names)
    assert len(compiled.chosen) == 4096


def test_a_profile_is_made_ready_once_and_not_kept_without_end() -> None:
    profile = load_profile(PROFILE)
    assert compile_profile(profile) is compile_profile(profile)
    assert compile_profile(profile) is compile_profile(load_profile(PROFILE)), "another copy says the same"
    for number in range(MOST_READY + 5):
        assert compile_profile(evolve(profile, label=str(number))).profile.label == str(number)
        assert compile_profile.cache_info().currsize <= MOST_READY


def test_every_fact_of_a_region_worked_by_hand() -> None:
    order = ordered(
        visit("2026-04-20", work={"back": {"pull": 0.2}}, reactions={"back": "calm"}),
        visit(
            "2026-05-11",
            work={"back": {"card": True, "scissor": 10}, "anus": {"clip": 3}},
            events={"season": "2026-04-27"},
        ),
        visit("2026-05-18", work={"back": {"pull": 0.1}}, seen={"back": {"skin": "sound"}}, health=["nursing"]),
        born="2025-06-02",
        sex="female",
        neutered=False,
        show="2026-06-29",
    )
    dog = {
        "visits": 3,
        "minutes": 180,
        "health": ("nursing",),
        "age_weeks": 52,
        "sex": "female",
        "neutered": False,
        "month": 6,
        "time_of_year": "summer",
        "weeks_to_show": 4,
        "weeks_since_visit": 2,
        "weeks_since_season": 5,
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
        # 0.8 was left unripe once; hair stops from 17 to 24 weeks of age and is loose two weeks later.
        "ripe_share": pytest.approx(0.7 - 0.8 * 3 / 7, abs=1e-6),
        "ripe_of_oldest": pytest.approx((0.7 - 0.8 * 3 / 7) / 0.7, abs=1e-5),
        "comes_easily": pytest.approx((0.7 - 0.8 * 3 / 7) / 0.7, abs=1e-5),
        "blown_share": pytest.approx(0.7 - 0.8 * 5 / 7, abs=1e-6),
        "longest_mm": pytest.approx(10 + 3 * 2.1),
        "oldest_weeks": 21,
        "outline_mm": pytest.approx(10 + 3 * 2.1),
        "layers": 1,
        "next_layer_weeks": pytest.approx(6 / 2.1 - 2),
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


def test_of_several_seasons_the_latest_counts() -> None:
    first, latest = (
        visit("2026-01-05", events={"season": "2025-11-10"}),
        visit("2026-05-11", events={"season": "2026-05-04"}),
    )
    assert ordered(first).all_facts["back"]["weeks_since_season"] == 29
    assert ordered(first, latest).all_facts["back"]["weeks_since_season"] == 4
    assert "weeks_since_season" not in ordered(visit("2026-01-05")).all_facts["back"]


def test_a_coat_is_called_blown_by_a_season_only_where_one_is_on_record() -> None:
    # A coat lost without one is for a veterinary surgeon to see, not for the groomer to explain.
    dog = {"id": "one", "sex": "female", "neutered": False}
    visits: list[dict[str, object]] = [
        {"visit": day, "work": {"pads": {"clip": 1}}} for day in ("2025-12-01", "2026-01-05", "2026-02-02")
    ]
    untold = work_order("welsh-terrier", {"format": 1, "dog": dog, "visits": visits}, date=date(2026, 3, 2))
    assert untold.facts["back"]["blown_share"] == 1
    assert "season-blew-the-coat" not in untold.fired.get("back", ())
    visits[-1]["events"] = {"season": "2025-12-29"}
    told = work_order("welsh-terrier", {"format": 1, "dog": dog, "visits": visits}, date=date(2026, 3, 2))
    assert "season-blew-the-coat" in told.fired["back"]


def test_each_region_grows_at_its_own_pace() -> None:
    state, facts, _ = measured("2026-03-30", back=8, ribs=20)
    back, ribs = state.pace.of("back"), state.pace.of("ribs")
    assert back < state.pace.mean < ribs
    for region, pace in (("back", back), ("ribs", ribs)):
        assert facts[region]["oldest_weeks"] == 19
        assert facts[region]["longest_mm"] == pytest.approx(2.1 * (pace * 19 - 4))


def test_the_hair_of_a_slow_dog_is_blown_later() -> None:
    state, facts, verdicts = measured("2025-12-08", back=9)
    pace = state.pace.of("back")
    assert pace < 0.95
    # Hair of 35 weeks, blown at 26 of its own, which are more on the calendar; full grown at 45 mm it is 10 too long.
    assert verdicts["back"].overgrown_weeks == pytest.approx(max(35 - 26 / pace, 7 / 2.1 / pace))
    assert facts["back"]["longest_mm"] == 42


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
    with pytest.raises(InputError, match="born on 2 June 2026, after 1 June 2026"):
        ordered(born="2026-06-02")
    carded = ordered(visit("2026-03-09", work={"back": {"card": True}}))  # twelve weeks ago, of the four it takes
    assert carded.all_facts["back"]["undercoat"] == 1


def test_what_was_never_done_is_not_compared() -> None:
    profile = copy.deepcopy(PROFILE)
    profile["comparisons"] = {"pulled": {"fact": "weeks_since_pull", "of": "toes", "to": "body"}}
    order = work_order(profile, {"format": 1, "dog": {"id": "pip"}}, date=DAY)
    assert all("pulled" not in facts for facts in order.all_facts.values())
