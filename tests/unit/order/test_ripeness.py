"""What an order asks of hair that grows, rests or is loose; what the hand says of it; and what a record says of both."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from coatrules import load_history, load_profile, work_order
from coatrules.dog.state import state_on
from coatrules.order.work_order import WorkOrder
from coatrules.profile.compiled import compile_profile
from coatrules.profile.shelves import library
from tests.support import small

DAY = date(2026, 3, 2)
# The fit of published intervals and lengths for a hard terrier's jacket (profiles/evidence/growth.csv).
TERRIER = {
    "lag_weeks": 2,
    "mm_per_week": 4,
    "grows_weeks": 16,
    "rests_weeks": 8,
    "ready_mm": 8,
    "cover_mm": 6,
    "layer_gap_mm": 2,
}
REGION = {"label": "Back", "coat": "jacket", "minutes": {"pull": 20, "card": 5}}


def profile(take: dict[str, float], **more: Any) -> dict[str, Any]:
    made = small.profile(
        regions={"back": REGION, "ribs": {**REGION, "label": "Ribs"}},
        groups={"body": ["back", "ribs"]},
        layer_targets={"body": {"regions": ["body"], "layers": 1, "take": take, **more}},
    )
    return {**made, "coats": {"jacket": {**TERRIER, "undercoat_weeks": 4}}}


WHOLE = profile({"usual": 1.0}, full_strip=True)
FIFTH = profile({"usual": 0.2})


def stripped(weeks: float, share: float = 1, **seen: Any) -> dict[str, Any]:
    """A dog that gave so much of its body so many weeks ago, and what is seen on its back today."""
    then = DAY - timedelta(days=round(weeks * 7))
    visits: list[dict[str, Any]] = [{"visit": then.isoformat(), "work": {"body": {"pull": share}}}]
    if seen:
        visits.append({"visit": DAY.isoformat(), "seen": {"back": seen}})
    return {"format": 1, "dog": {"id": "pip"}, "arrival": {"body": {"grown_weeks": 30}}, "visits": visits}


def asked(order: WorkOrder, region: str = "back") -> float:
    return next((step.share or 0.0 for step in order.steps if step.region == region and step.task == "pull"), 0.0)


def reasons(order: WorkOrder, region: str = "back") -> dict[str, Any]:
    of_steps = [reason for step in order.steps if step.region == region for reason in step.because]
    return {reason.rule: reason.facts for reason in (*of_steps, *order.left_alone.get(region, ()))}


def test_a_coat_stripped_five_weeks_ago_is_not_stripped_again() -> None:
    """12 mm long and long enough to grip, but none of it has stopped growing."""
    order = work_order(WHOLE, stripped(5), date=DAY)
    assert order.facts["back"]["ready_share"] == 1
    assert order.facts["back"]["ripe_share"] == 0
    assert asked(order) == 0
    # A tenth is ripe at 2 + 16 * (0.65 + 0.035) weeks after the strip.
    assert reasons(order)["coat.unripe"]["day"] == DAY + timedelta(days=91 - 35)


def test_a_share_that_is_taken_of_growing_hair_is_not_told_to_be_left() -> None:
    """ "Leave it until" stood as the reason of a step that took the usual share."""
    target = WHOLE["layer_targets"]["body"]
    rolled = {**target, "full_strip": False, "take": {"usual": 0.2, "at_most": 1.0}}
    long = {"all": {"regions": ["body"], "then": {"take": {"at_least": 1.0}}, "because": "A show."}}
    found = {**WHOLE, "layer_targets": {"body": rolled}, "rules": long}
    because = reasons(order := work_order(found, stripped(5), date=DAY))
    assert asked(order) == pytest.approx(0.2)
    assert because["coat.unripe-usual"]["day"] > DAY
    assert "coat.unripe" not in because


@pytest.mark.parametrize(("weeks", "asks", "later"), [(12, 0, False), (13, 1, True), (15, 1, True), (16, 1, False)])
def test_nearly_everything_waits_until_hair_stops_and_is_better_when_half_has(
    weeks: int, asks: int, later: bool
) -> None:
    """A terrier is stripped every 13 weeks (growth.csv, E048, E051), when a tenth of it is ripe; half is at 15.2 weeks."""
    order = work_order(WHOLE, stripped(weeks), date=DAY)
    assert asked(order) == asks
    assert ("coat.better-later" in reasons(order)) == later
    if later:
        assert reasons(order)["coat.better-later"]["day"] == DAY + timedelta(days=107 - 7 * weeks)


@pytest.mark.parametrize(
    ("comes", "weeks", "asks"), [("easily", 5, 1), ("holds", 20, 0), ("mixed", 5, 1), (None, 20, 1)]
)
def test_what_the_hand_felt_today_outranks_what_was_computed(comes: str | None, weeks: int, asks: int) -> None:
    seen: dict[str, Any] = {"comes": comes} if comes else {}
    assert asked(work_order(WHOLE, stripped(weeks, **seen), date=DAY)) == asks


@pytest.mark.parametrize(
    ("comes", "longest_mm", "weeks", "asks"), [("easily", 10, 5, 1), ("holds", 60, 24, 0), ("easily", 60, 24, 1)]
)
def test_the_hand_outranks_the_length_that_is_seen_with_it(
    comes: str, longest_mm: float, weeks: int, asks: int
) -> None:
    """Short hair that comes is stripped, long hair that holds is not; the length alone says the opposite."""
    by_length = work_order(WHOLE, stripped(weeks, longest_mm=longest_mm), date=DAY)
    assert asked(by_length) == (1 if weeks == 24 else 0)
    felt = work_order(WHOLE, stripped(weeks, longest_mm=longest_mm, comes=comes), date=DAY)
    assert asked(felt) == asks


def test_the_hand_clears_the_cautions_that_it_answers() -> None:
    """ "Leave it until", "better from": of hair that was felt to come nobody need say that it may not."""
    answered = {"coat.unripe", "coat.unripe-usual", "coat.better-later", "coat.soft"}
    clipped = stripped(14)
    clipped["visits"] += [
        {"visit": (DAY - timedelta(weeks=weeks)).isoformat(), "work": {"body": {"clip": 6}}} for weeks in (13, 12)
    ]
    for history in (stripped(5), stripped(14), clipped):
        silent = work_order(WHOLE, history, date=DAY)
        assert answered & reasons(silent).keys()
        history["visits"].append({"visit": DAY.isoformat(), "seen": {"body": {"comes": "easily"}}})
        assert not answered & reasons(work_order(WHOLE, history, date=DAY)).keys()


def test_what_was_felt_teaches_what_is_ripe_at_the_next_visits() -> None:
    """A coat that came easily at twelve weeks ripens early, one that held late: the day from which it is stripped follows."""
    ripe_on = {}
    for comes in ("easily", "mixed", None, "holds"):
        history = stripped(30)
        for weeks in (18, 6):  # twelve weeks old, of which the terrier's own would begin to be ripe in the thirteenth
            seen = {"seen": {"body": {"comes": comes}}} if comes else {}
            day = (DAY - timedelta(weeks=weeks)).isoformat()
            history["visits"].append({"visit": day, "work": {"body": {"pull": 1}}} | seen)
        order = work_order(WHOLE, history, date=DAY)
        assert asked(order) == 0, "six weeks after a strip"
        ripe_on[comes] = reasons(order)["coat.unripe"]["day"]
    assert ripe_on["easily"] < ripe_on["mixed"] < ripe_on[None] < ripe_on["holds"]


@pytest.mark.parametrize("comes", ["easily", "mixed", "holds"])
@pytest.mark.parametrize("weeks", [3, 10, 40])
def test_whatever_the_hand_felt_an_order_can_be_told(comes: str, weeks: int) -> None:
    """An order with all its steps, or as JSON, ended in a KeyError where the hand felt otherwise than was computed."""
    stripped = {"visit": (DAY - timedelta(weeks=weeks)).isoformat(), "work": {"body": {"pull": 0.4}}}
    felt = {"visit": DAY.isoformat(), "seen": {"body": {"comes": comes}}}
    history = {"format": 1, "dog": {"id": "pip"}, "visits": [stripped, felt]}
    order = work_order(profile({"usual": 0.2, "at_most": 0.4, "low_spot": 0}), history, date=DAY)
    told = [finding["message"] for finding in order.to_dict()["findings"]]
    assert not [sentence for sentence in told if "you saw" in sentence], "the hand gives a verdict, and no figure"


def test_a_rolled_coat_never_waits_for_ripeness() -> None:
    """A weekly eighth goes at eight weeks, still growing (a Miniature Schnauzer rolling guide, growth.csv, E074)."""
    order = work_order(FIFTH, stripped(5), date=DAY)
    assert asked(order) == 0.2
    assert not {"coat.unripe", "coat.unripe-usual", "coat.holds", "coat.better-later"} & reasons(order).keys()
    assert "coat.holds" in reasons(work_order(FIFTH, stripped(5, comes="holds"), date=DAY))


def test_no_order_of_a_published_rotation_warns_of_hair_that_will_hold() -> None:
    for name in ("miniature-schnauzer", "west-highland-white-terrier", "wire-fox-terrier-pet"):
        found = load_profile(name)
        shares = {r: t.take.usual for t in found.layer_targets.values() for r in t.regions}
        visits = [DAY - timedelta(days=round(found.visit.every_weeks * 7)) * back for back in range(12, 0, -1)]
        history = {
            "format": 1,
            "dog": {"id": "pip"},
            "visits": [
                {"visit": day.isoformat(), "work": {r: {"pull": s} for r, s in shares.items() if s}} for day in visits
            ],
        }
        order = work_order(found, history, date=DAY, minutes=180)
        told = {reason.rule for step in order.steps for reason in step.because}
        assert any(step.share for step in order.steps)
        assert not {"coat.holds", "coat.holds-all", "coat.unripe", "coat.unripe-usual"} & told, name


@pytest.mark.parametrize("name", sorted(library())[::3])
def test_no_order_strips_growing_hair(name: str) -> None:
    found = load_profile(name)
    everything = {"work": {region: {"pull": 1} for region in found.regions}}
    for weeks in (3, 6):
        then = {"visit": (DAY - timedelta(weeks=weeks)).isoformat(), **everything}
        order = work_order(found, {"format": 1, "dog": {"id": "pip"}, "visits": [then]}, date=DAY, minutes=180)
        for step in order.steps:
            if step.region is not None and step.share:
                ripe = order.facts[step.region]["ripe_share"]
                assert isinstance(ripe, float)
                assert step.share < 0.6 or ripe >= 0.1, (name, step.region, weeks)


def test_two_clips_that_were_not_stripped_out_leave_a_soft_coat() -> None:
    """Three or four clips kill the wire; two or three strips bring most of it back (growth.csv, E096, E097)."""
    history = stripped(30)
    for weeks in (24, 16):
        clipped = (DAY - timedelta(weeks=weeks)).isoformat()
        history["visits"].append({"visit": clipped, "work": {"back": {"clip": 9}}})
    order = work_order(WHOLE, history, date=DAY)
    assert asked(order) == 0.4
    assert reasons(order)["coat.soft"]["clips"] == 2
    assert asked(order, "ribs") == 1

    def felt(comes: str) -> float:
        told = {
            **history,
            "visits": [*history["visits"], {"visit": DAY.isoformat(), "seen": {"back": {"comes": comes}}}],
        }
        return asked(work_order(WHOLE, told, date=DAY))

    assert (felt("easily"), felt("mixed"), felt("holds")) == (1, 0.4, 0)


def test_a_soft_coat_leaves_that_state_by_what_is_ordered() -> None:
    """A whole strip was refused as long as the clipped hair stood, and so it stood for ever."""
    history = stripped(30)
    for weeks in (24, 16):
        clipped = (DAY - timedelta(weeks=weeks)).isoformat()
        history["visits"].append({"visit": clipped, "work": {"body": {"clip": 9}}})
    shares = []
    for visit in range(4):
        day = DAY + timedelta(weeks=4 * visit)
        order = work_order(WHOLE, history, date=day, minutes=180)
        shares.append(asked(order))
        ripe = order.facts["back"]["ripe_share"]
        assert isinstance(ripe, float)
        assert asked(order) <= ripe + 1e-6
        assert ("coat.soft" in reasons(order)) == (visit < 3)
        history["visits"].append({"visit": day.isoformat(), "work": {"body": {"pull": asked(order)}}})
    assert shares[:3] == pytest.approx([0.4, 0.4, 0.2])


def test_no_soft_coat_is_asked_for_growing_hair() -> None:
    history = stripped(8)
    for weeks in (7, 5):
        day = (DAY - timedelta(weeks=weeks)).isoformat()
        history["visits"].append({"visit": day, "work": {"body": {"clip": 9}}})
    assert asked(work_order(WHOLE, history, date=DAY)) == 0


def test_only_what_came_easily_is_taken_and_what_holds_stays() -> None:
    """At 15 weeks 0.46 of the coat is ripe: with 'pick: ripe' no more comes, and what is left is all still growing."""
    history = stripped(15)
    history["visits"].append({"visit": DAY.isoformat(), "work": {"back": {"pull": 0.8, "pick": "ripe"}}})
    order = work_order(FIFTH, history, date=DAY)
    assert order.facts["back"]["ripe_share"] == 0
    assert order.hair["back"][-1][0] == pytest.approx(0.46, abs=0.02)
    assert order.facts["ribs"]["ripe_share"] == pytest.approx(0.46, abs=0.02)


# --- when next ---


def test_hair_that_is_late_already_does_not_take_the_last_day_away() -> None:
    """Half of the coat is dead and stays; the half pulled ten weeks ago is blown in its 26th week."""
    visits = [{"visit": (DAY - timedelta(weeks=10)).isoformat(), "work": {"body": {"pull": 0.5}}}]
    history = {"format": 1, "dog": {"id": "pip"}, "arrival": {"body": {"grown_weeks": 60}}, "visits": visits}
    target = {**profile({"usual": 0.0, "at_most": 0.0}), "coats": {"jacket": TERRIER}}
    visit = work_order(target, history, date=DAY).next_visit
    assert visit.latest == DAY + timedelta(weeks=16, days=-1)


def test_small_parts_do_not_call_the_dog_in() -> None:
    """The jacket is not ready for weeks; that something is ready on the ears moves nothing."""
    made = profile({"usual": 0.2})
    made["regions"]["ribs"]["minutes"] = {"pull": 2}
    targets = {name: {"regions": [name], "layers": 1, "take": {"usual": 0.2}} for name in ("back", "ribs")}
    made["layer_targets"] = targets
    history = stripped(0.5)
    assert work_order(made, history, date=DAY).next_visit.earliest == DAY - timedelta(days=4) + timedelta(weeks=4)
    ribs_first = {**made, "layer_targets": {**targets, "ribs": {**targets["ribs"], "leads": True}}}
    history |= {"arrival": {"body": {"grown_weeks": 18}}}
    history["visits"][0]["work"] = {"back": {"pull": 1}}
    # What is ready on the ribs is asked for again, little by little, when half of the 21 days is over: on the 13th 0.05, whatever the
    # back is like.
    assert work_order(ribs_first, history, date=DAY).next_visit.earliest == DAY + timedelta(days=13)


def test_a_dog_is_not_called_in_before_a_whole_strip_is_asked() -> None:
    """Hair long enough to grip opened the window four weeks after a strip, and the order of that day asked nothing."""
    history = stripped(15)
    then = DAY - timedelta(weeks=15)
    visit = work_order({**WHOLE, "coats": {"jacket": TERRIER}}, history, date=then).next_visit
    # A tenth is ripe at 2 + 16 * (0.65 + 0.035) weeks.
    assert visit.earliest == visit.best == then + timedelta(days=91)
    before, on = (work_order(WHOLE, history, date=visit.earliest - timedelta(days=days)) for days in (1, 0))
    assert (asked(before), asked(on)) == (0, 1)


# --- what a record says ---


def test_what_a_group_says_holds_for_a_part_that_says_less() -> None:
    visit = {
        "visit": (DAY - timedelta(weeks=2)).isoformat(),
        "work": {"body": {"card": True, "pull": 0.5}, "back": {"pull": 0.2}},
    }
    order = work_order(FIFTH, {"format": 1, "dog": {"id": "pip"}, "visits": [visit]}, date=DAY)
    assert order.facts["back"]["weeks_since_card"] == order.facts["ribs"]["weeks_since_card"] == 2
    assert order.hair["back"][-1][0] == 0.2
    assert order.hair["ribs"][-1][0] == 0.5
    assert "group-and-part" in {finding.code for finding in order.findings}
    for part, since in (({"pull": 0.2, "card": False}, None), ({}, None)):
        visit["work"] = {"body": {"card": True, "pull": 0.5}, "back": part}
        order = work_order(FIFTH, {"format": 1, "dog": {"id": "pip"}, "visits": [visit]}, date=DAY)
        assert order.facts["back"].get("weeks_since_card") == since


def test_a_clip_before_the_dog_came_counts_like_one_since() -> None:
    history = {
        "format": 1,
        "dog": {"id": "pip"},
        "arrival": {"back": {"clipped_mm": 9, "clipped_weeks": 3}},
        "visits": [{"visit": (DAY - timedelta(weeks=1)).isoformat(), "work": {"ribs": {"card": True}}}],
    }
    facts = work_order(FIFTH, history, date=DAY).facts
    assert facts["back"]["weeks_since_cut"] == pytest.approx(4)
    assert "weeks_since_cut" not in facts["ribs"]


def test_what_was_seen_before_the_work_is_over_with_it() -> None:
    history = stripped(20)
    history["visits"].append(
        {
            "visit": DAY.isoformat(),
            "seen": {"body": {"longest_mm": 60, "see_through": False}},
            "work": {"back": {"pull": 1}},
        }
    )
    facts = work_order(FIFTH, history, date=DAY).facts
    assert facts["back"]["longest_mm"] == 0
    assert facts["ribs"]["longest_mm"] == 60


def test_a_final_length_is_learned_and_is_no_slow_pace() -> None:
    """Hair that ends at 30 mm, read as 30, 30, 29 and 28, once gave a pace of 0.58 and a forecast of 42 mm."""
    history = stripped(24)
    for weeks, mm in ((14, 30), (10, 30), (6, 29), (2, 28)):
        history["visits"].append(
            {"visit": (DAY - timedelta(weeks=weeks)).isoformat(), "seen": {"back": {"longest_mm": mm}}}
        )
    order = work_order(FIFTH, history, date=DAY)
    assert order.pace.mean > 0.85
    assert order.facts["back"]["longest_mm"] == pytest.approx(30, abs=3)


def test_neutered_may_be_a_day() -> None:
    history = stripped(5)
    for day, is_so in ((DAY, True), (DAY + timedelta(days=1), False)):
        history["dog"]["neutered"] = day.isoformat()
        assert work_order(FIFTH, history, date=DAY).all_facts["back"]["neutered"] is is_so


# --- puppies ---


def test_the_coat_a_puppy_was_born_with_comes_out_whole_over_short_visits() -> None:
    """At 13 to 35 weeks of age (growth.csv, E112 to E119); table time is ten minutes, half of the back's twenty."""
    made = {**FIFTH, "visit": {**FIFTH["visit"], "first_coat_weeks": 17}}
    made["regions"] = {**made["regions"], "back": {**REGION, "anatomy": "none"}}
    born = DAY - timedelta(weeks=18)
    history: dict[str, Any] = {"format": 1, "dog": {"id": "pup", "born": born.isoformat()}, "visits": []}
    order = work_order(load_profile(made), history, date=DAY)
    assert asked(order) in (0.0, 0.5)
    state = state_on(compile_profile(load_profile(made)), load_history(history), DAY)
    assert state.regions["back"].coat.cohorts == ((1_000_000, born.toordinal(), 1_000_000),)
    if asked(order):
        assert "coat.first-coat" in reasons(order)
