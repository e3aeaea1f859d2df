"""What holds on the day whatever a profile, a history or a hurry says: skin, stops, puppies, illness, time on the table."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from coatrules import InputError, WorkOrder, load_profile, work_order
from coatrules.dog.safety import LIGHTEST_RAKE, PUPPY_MINUTES, STOP_RESTS_DAYS, STOP_SHARE
from coatrules.profile.compiled import compile_profile
from coatrules.profile.floor import DAY_MINUTES, NEXT_TO

PROFILE = load_profile("griffon-bruxellois-rough")
COMPILED = compile_profile(PROFILE)
DAY = date(2026, 3, 21)
HEAD = ("skull", "ears-outside", "stop", "brows", "cheeks", "muzzle", "moustache", "beard")


def dog(*visits: dict[str, Any], weeks: float | None = None, **more: Any) -> dict[str, Any]:
    born = {} if weeks is None else {"born": (DAY - timedelta(weeks=weeks)).isoformat()}
    return {"format": 1, "dog": {"id": "tip", **born, **more}, "visits": list(visits)}


def visit(days_ago: int, **told: Any) -> dict[str, Any]:
    return {"visit": (DAY - timedelta(days=days_ago)).isoformat(), **told}


def ordered(history: dict[str, Any], minutes: float | None = None, profile: Any = PROFILE) -> WorkOrder:
    return work_order(profile, history, date=DAY, minutes=minutes)


def worked(order: WorkOrder, *tasks: str) -> set[str]:
    return {step.region for step in order.steps if step.region is not None and (not tasks or step.task in tasks)}


def first(order: WorkOrder) -> set[str]:
    return {message.code for message in order.first}


# --- hair and puppies -----------------------------------------------------------------------------------------------


def test_no_hair_is_older_than_the_dog() -> None:
    """An eight-week-old's hair was dated four months before its birth, so that all of it counted as blown."""
    order = ordered(dog(weeks=8))
    born = DAY - timedelta(weeks=8)
    assert min(day for hair in order.hair.values() for _, day in hair) == born
    assert all(facts["blown_share"] == 0 for facts in order.all_facts.values())


@pytest.mark.parametrize("weeks", [8, 12, 20, 25.9])
def test_a_puppy_has_ten_minutes_of_table_practice(weeks: float) -> None:
    order = ordered(dog(visit(21, work={"body": {"card": True}}), weeks=weeks), minutes=90)
    assert order.minutes_available == PUPPY_MINUTES
    assert order.minutes_planned <= PUPPY_MINUTES
    assert worked(order) == worked(order, "card"), "a light rake and nothing else"
    assert not worked(order) & set(HEAD)
    assert "first.practice-again" in first(order)


def test_a_puppy_that_said_stop_is_not_asked_again_in_a_short_visit() -> None:
    """With ten minutes the order picked, of all, what was refused: having been put off lifted it."""
    refused = visit(22, work={"body": {"card": True}}, reactions={"head": "stop", "toes": "stop"}, put_off=["toes"])
    order = ordered(dog(refused, weeks=20), minutes=10)
    assert not worked(order) & {*HEAD, "front-toes", "hind-toes"}


def test_from_the_age_the_profile_names_the_first_coat_comes_out_on_calm_parts() -> None:
    profile = {
        "format": 1,
        "id": "early",
        "label": "Early",
        "extends": "griffon-bruxellois-rough",
        "visit": {"first_coat_weeks": 16},
    }
    grown = visit(22, work={"body": {"card": True}})
    assert not worked(ordered(dog(grown, weeks=15.9), profile=profile), "pull")
    order = ordered(dog(grown, weeks=17), profile=profile)
    assert order.minutes_planned <= PUPPY_MINUTES
    assert all(COMPILED.regions[name].zone is None for name in worked(order))
    assert "first.first-coat" in first(order)


def test_a_first_visit_of_a_quarter_of_an_hour_is_table_practice() -> None:
    assert worked(ordered(dog(), minutes=15)) == worked(ordered(dog(), minutes=15), "card")
    assert worked(ordered(dog(), minutes=90), "pull")
    early: dict[str, Any] = {"format": 1, "id": "early", "label": "Early", "extends": "griffon-bruxellois-rough"}
    early["visit"] = {"first_coat_weeks": 16}
    assert not worked(ordered(dog(weeks=17), 90, early), "pull"), "a puppy's first visit is no longer than that"


def test_a_dog_is_not_worked_before_it_was_born() -> None:
    with pytest.raises(InputError, match="is born on 14 March 2026, after its visit on 1 March 2026"):
        ordered(dog(visit(20, work={"body": {"pull": 0.2}}), weeks=1))


def test_a_dog_that_is_not_born_yet_has_no_order() -> None:
    for visits in ([], [visit(-30, work={"body": {"pull": 0.2}})]):
        with pytest.raises(InputError) as refused:
            ordered(dog(*visits, weeks=-2))
        assert [problem.code for problem in refused.value.problems] == ["born-after-day"]
        assert refused.value.problems[0].path == ("dog", "born")
    assert ordered(dog(weeks=0)).minutes_planned <= PUPPY_MINUTES


@pytest.mark.parametrize(("born", "most"), [(12, PUPPY_MINUTES), (None, DAY_MINUTES)])
def test_what_was_worked_today_counts_into_the_time_on_the_table(born: int | None, most: float) -> None:
    """After ten minutes on record a puppy was ordered another ten, and a dog after three hours another three."""
    spent = visit(0, minutes=most - 4, work={"back": {"card": True}})
    order = ordered(dog(visit(30, work={"body": {"card": True}}), spent, weeks=born), minutes=600)
    assert order.minutes_available == 4
    assert order.minutes_planned <= 4
    assert "table-spent" in first(order)
    full = ordered(dog(visit(30), {**spent, "minutes": most}, weeks=born), minutes=600)
    assert full.minutes_available == 0
    assert not full.steps
    assert not first(full) & {"first.practice", "first.break"}
    words = [message.text for message in full.first if message.code == "table-spent"]
    assert words
    assert not any("waits" in sentence for sentence in words), "what waits is told where it is put off"
    untimed = visit(0, work={"back": {"card": True}})
    minutes = COMPILED.regions["back"].region.minutes["card"] * (LIGHTEST_RAKE if born else 1)  # practice rakes lightly
    assert ordered(dog(untimed, weeks=born), minutes=600).minutes_available == most - minutes


# --- stops ----------------------------------------------------------------------------------------------------------


def test_a_place_rests_after_a_stop_and_then_gives_a_tenth() -> None:
    history = dog(visit(20, work={"body": {"pull": 0.2}}, reactions={"belly": "stop"}))
    order = ordered(history)
    assert "belly" in order.not_to_be_touched
    (reason,) = (r for r in order.not_to_be_touched["belly"] if r.rule == "floor.stop")
    assert reason.facts == {"day": DAY - timedelta(days=20), "until": DAY + timedelta(days=1)}
    assert "Try it again from 22 March 2026" in " ".join(map(str, order.first))
    later = work_order(PROFILE, history, date=DAY + timedelta(days=1), minutes=300)
    assert all(step.share is None or step.share <= STOP_SHARE for step in later.steps if step.region == "belly")


def test_no_overlay_lifts_a_stop() -> None:
    """A share of 1 on the belly of an eight-week-old that said stop was ordered without a word."""
    profile = {
        "format": 1,
        "id": "bold",
        "label": "Bold",
        "extends": "griffon-bruxellois-rough",
        "rules": {
            "dog-said-stop": None,
            "puppy-a-little": None,
            "all-of-it": {"regions": ["belly"], "then": {"take": {"at_least": 1}}, "because": "All of it."},
        },
    }
    young = ordered(
        dog(visit(22, work={"belly": {"card": True}}, reactions={"belly": "stop"}), weeks=11), profile=profile
    )
    assert "belly" not in worked(young)
    grown = ordered(dog(visit(22, work={"belly": {"comb": True}}, reactions={"belly": "stop"})), 180, profile)
    assert all(step.share is None or step.share <= STOP_SHARE for step in grown.steps if step.region == "belly")


def test_having_been_put_off_lifts_no_stop() -> None:
    waits = [visit(23 + 7 * n, work={"body": {"pull": 0.1}}, put_off=["throat"]) for n in (3, 2, 1)]
    order = ordered(
        dog(*waits, visit(22, reactions={"throat": "stop"}, work={"body": {"pull": 0.1}}, put_off=["throat"])), 60
    )
    assert all("put_off" not in step.priority_parts for step in order.steps if step.region == "throat")


def test_what_was_combed_in_silence_lifts_no_stop_and_hand_work_after_its_rest_does() -> None:
    """A comb on the fifth day lifted the tenth that is left after the rest."""
    stop = visit(45, reactions={"belly": "stop"})

    def share(*between: dict[str, Any]) -> float:
        order = ordered(dog(stop, *between), minutes=180)
        return max((step.share or 0.0 for step in order.steps if step.region == "belly"), default=0.0)

    assert share() == STOP_SHARE
    assert share(visit(30, work={"belly": {"comb": True}})) == STOP_SHARE
    assert share(visit(30, work={"belly": {"pull": 0.05}})) == STOP_SHARE, "within its rest"
    assert share(visit(20, work={"belly": {"comb": True}})) == STOP_SHARE
    assert share(visit(22, work={"belly": {"pull": 0.05}})) > STOP_SHARE
    assert share(visit(30, work={"belly": {"comb": True}}, reactions={"belly": "calm"})) > STOP_SHARE


# --- skin and illness -----------------------------------------------------------------------------------------------


def test_nothing_sweeps_across_skin_that_is_not_sound() -> None:
    order = ordered(dog(visit(3, seen={"loin": {"skin": "unsound"}})))
    beside = NEXT_TO["loin"]
    assert not worked(order, "card", "pull") & {"loin", *beside}
    told = {reason.rule for name in beside for reason in order.left_alone.get(name, ())}
    assert "floor.beside-unsound" in told
    (refer,) = order.refer
    assert {"Loin", "18 March 2026", "sound skin"} <= {
        part for part in ("Loin", "18 March 2026", "sound skin") if part in refer.text
    }


def test_a_visit_that_finds_the_skin_sound_lifts_it() -> None:
    order = ordered(dog(visit(9, seen={"loin": {"skin": "unsound"}}), visit(2, seen={"loin": {"skin": "sound"}})))
    assert "loin" in worked(order)
    assert not order.refer


@pytest.mark.parametrize("condition", ["unwell", "parasites", "recent-surgery"])
def test_a_dog_that_may_not_be_touched_has_no_day_before_a_vet_has_seen_it(condition: str) -> None:
    order = ordered(dog(visit(3, health=[condition])))
    assert not order.steps
    assert order.next_visit.hold is not None
    assert "first.health" in first(order)


def test_a_well_dog_has_a_day() -> None:
    assert ordered(dog(visit(21, work={"body": {"pull": 0.2}}))).next_visit.hold is None


def test_no_rake_goes_to_a_place_that_is_only_cut_or_that_nobody_knows() -> None:
    profile = {
        "format": 1,
        "id": "raked",
        "label": "Raked",
        "extends": "griffon-bruxellois-rough",
        "regions": {
            "perineum": {"coat": "jacket", "minutes": {"clip": 1, "card": 5}},
            "mane": {"label": "Mane", "coat": "jacket", "minutes": {"card": 9, "pull": 9}},
        },
        "rules": {"rake": {"regions": ["genitals", "mane"], "then": {"add": {"card": 3}}, "because": "Rake it."}},
    }
    order = ordered(dog(), 180, profile)
    assert not worked(order, "card", "pull") & {"perineum", "genitals", "mane"}
    assert worked(order, "clip") >= {"perineum", "genitals"}
    mane = compile_profile(load_profile(profile)).regions["mane"].zone
    assert mane is not None
    assert (mane.level, mane.bout_minutes, mane.rest_minutes) == ("high", 2, 5), "as the strictest there is"


def test_at_the_eyes_and_lips_nothing_cuts_that_is_not_named_for_them() -> None:
    profile = {
        "format": 1,
        "id": "untipped",
        "label": "Untipped",
        "extends": "griffon-bruxellois-rough",
        "methods": {"blunt-tips": None},
        "rules": {"clipper": {"then": {"use": "small-clipper"}, "because": "Everywhere."}},
    }
    order = ordered(dog(), 180, profile)
    assert "floor.no-tool" in {reason.rule for reason in order.left_alone["eyelid-rims"]}
    assert worked(order, "clip") >= {"perineum"}
    assert "eyelid-rims" in worked(ordered(dog(), 180), "clip")


# --- time on the table ----------------------------------------------------------------------------------------------


def test_no_dog_stands_on_the_table_for_longer_than_a_day_allows() -> None:
    """452 minutes were planned for one visit without a break."""
    order = ordered(dog(), minutes=600)
    assert order.minutes_planned <= DAY_MINUTES == order.minutes_available
    assert "first.break" in first(order)
    assert "table-cap" not in first(order), "all there is to do fits"


def test_every_place_that_is_not_sound_is_named() -> None:
    """Places that are alike share what is decided, and one alone was named."""
    (refer,) = ordered(dog(visit(3, seen={"body": {"skin": "unsound"}}))).refer
    assert set(refer.params["regions"]) == {COMPILED.regions[name].region.label for name in COMPILED.names["body"]}


def test_a_dog_that_refused_every_place_is_tried_again_and_needs_no_vet() -> None:
    everywhere = dict.fromkeys(COMPILED.regions, "stop")
    order = ordered(dog(visit(9, reactions=everywhere)))
    assert not order.steps
    assert order.next_visit.hold is None
    assert order.next_visit.best >= DAY + timedelta(days=STOP_RESTS_DAYS - 9)


def test_work_alone_lifts_no_stop() -> None:
    stop, comb = visit(15, reactions={"belly": "stop"}), visit(9, work={"belly": {"comb": True}})
    assert "belly" in ordered(dog(stop, comb)).not_to_be_touched
    assert "belly" not in ordered(dog(stop, {**comb, "reactions": {"belly": "calm"}})).not_to_be_touched
