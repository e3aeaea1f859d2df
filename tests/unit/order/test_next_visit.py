"""The next visit: its days against figures worked out by hand, and what a later visit finds against the record itself."""

from __future__ import annotations

from datetime import date, timedelta
from math import ceil, sqrt
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules import load_history, load_profile, work_order
from coatrules.coat.measures import standing
from coatrules.dog.state import state_on
from coatrules.order.decide import decide
from coatrules.order.delay import WEEKS_LATE
from coatrules.order.engine import order
from coatrules.order.facts import all_facts
from coatrules.order.next_visit import next_layers
from coatrules.profile.compiled import compile_profile
from coatrules.profile.shelves import library
from coatrules.recording.entry import as_planned
from coatrules.report.markdown import markdown
from coatrules.report.text import text
from tests.support import small
from tests.support.strategies import histories, profiles

DAY = date(2026, 3, 2)

PROFILE = small.profile(
    id="one",
    label="One region",
    regions={"back": {"label": "Back", "coat": "jacket", "minutes": {"pull": 20}}},
    layer_targets={
        "back": {
            "regions": ["back"],
            "layers": 4,
            "take": {"usual": 0.2},
            "cover": {"at_least": 0.5},
            "longest_mm": [15, 35],
        }
    },
)
STRIPPED = {
    "format": 1,
    "dog": {"id": "pip"},
    "arrival": {"back": {"grown_weeks": 30}},
    "visits": [{"visit": DAY.isoformat(), "work": {"back": {"pull": 1}}}],
}


def after(days: float) -> date:
    return DAY + timedelta(days=days)


def test_the_days_of_a_stripped_coat_by_hand() -> None:
    targets = {"back": {k: v for k, v in PROFILE["layer_targets"]["back"].items() if k != "cover"}}
    visit = work_order({**PROFILE, "layer_targets": targets}, STRIPPED, date=DAY + timedelta(days=1)).next_visit
    ready = (4 + 6 / 2.1) * 7  # 6 mm: long enough to pull
    too_long = (4 + 35 / 2.1) * 7  # before it is blown after 26 weeks
    assert visit.earliest == after(ceil(ready - 1e-9))
    assert visit.latest == after(ceil(too_long) - 1)  # the day before it is
    assert visit.best == visit.earliest  # three weeks are too early
    spread = 1.2816 * sqrt(0.15**2 + 0.10**2)
    for binding, days in zip(visit.binding, (ready, too_long), strict=True):
        assert abs(binding.window[0].toordinal() - DAY.toordinal() - days / (1 + spread)) <= 2.5
        # Of slow dogs with short-lived hair, it is blown before it is too long.
        assert -6 <= binding.window[1].toordinal() - DAY.toordinal() - days / (1 - spread) <= 2.5
    assert visit.window_80("earliest") == visit.window_80("best") == visit.binding[0].window
    layer = next_layers(compile_profile(load_profile(PROFILE)), _record(DAY + timedelta(days=1))).get("back")
    assert layer is not None
    assert layer.day == after(ceil(ready - 1e-9))  # a layer shows when it can be gripped
    assert abs(layer.window[0].toordinal() - DAY.toordinal() - ready / (1 + spread)) <= 1.5
    assert abs(layer.window[1].toordinal() - DAY.toordinal() - ready / (1 - spread)) <= 1.5


@pytest.mark.parametrize(
    ("days", "at_least"),
    [((80, 40, 0), 0.5), ((80, 40, 0), 0.45), ((90, 60, 36, 0), 0.5), ((63, 40, 0), 0.55), ((49, 35, 0), 0.5)],
)
def test_what_covers_is_hair_that_stands_on_each_of_thousands_of_dogs(days: tuple[int, ...], at_least: float) -> None:
    """The hair pulled today was thought to bound the first day, though none of it stands yet: of 200 dogs 100 kept the window."""
    today = DAY + timedelta(days=70)
    profile = {
        **PROFILE,
        "visit": {**PROFILE["visit"], "every_weeks": 0.25},  # a visit so short that it never sets the first day
        "layer_targets": {"back": {**PROFILE["layer_targets"]["back"], "cover": {"at_least": at_least}}},
    }
    visits = [{"visit": (today - timedelta(days=n)).isoformat(), "work": {"back": {"pull": 0.3}}} for n in days]
    visit = work_order(profile, {**STRIPPED, "visits": visits}, date=today).next_visit
    [window] = [binding.window for binding in visit.binding if binding.bound == "earliest"]
    np = pytest.importorskip("numpy")  # which the bare core does without
    rng = np.random.default_rng(20260302)
    pace = np.maximum(rng.normal(1.0, 0.15, 4000) + rng.normal(0.0, 0.10, 4000), 0.2)
    queue = [
        [1.0 - 0.3 * len(days), 300.0],
        *[[0.3, float(n)] for n in days],
    ]  # shares, oldest first, and days since their pull
    while queue[0][0] <= 0:  # what was pulled again is no longer there
        queue[1][0] += queue[0][0]
        queue.pop(0)
    asked, kept = 0.2, []
    for share, since in queue:
        kept.append((share - min(share, asked), since))
        asked = max(asked - share, 0.0)
    first = np.full(pace.size, 200)
    for day in range(200, 0, -1):
        length = [np.clip(2.1 * (pace * (since + day) / 7 - 4), 0, None) for _, since in kept]
        cover = sum(share * np.minimum(mm / 6, 1.0) for (share, _), mm in zip(kept, length, strict=True))
        ready = sum(share * (mm >= 6) for (share, _), mm in zip(queue, length, strict=True))
        first[(cover >= at_least) & (ready >= 0.2 - 1e-9)] = day
    low, high = (window[end].toordinal() - today.toordinal() for end in (0, 1))
    assert low == pytest.approx(np.quantile(first, 0.1), abs=1.5)
    assert high == pytest.approx(np.quantile(first, 0.9), abs=2.5)
    assert 0.87 <= np.mean(first <= high) <= 0.94


def test_what_is_thinner_than_a_layer_sets_no_end() -> None:
    """Three pulls of a third leave a hundredth of the old coat: nobody sees that it is too long before the rest is."""
    days = (date(2026, 3, 2), date(2026, 5, 4), date(2026, 5, 25), date(2026, 6, 15))
    shares = (1.0, 0.33, 0.33, 0.33)
    history = {
        **STRIPPED,
        "visits": [
            {"visit": d.isoformat(), "work": {"back": {"pull": share}}} for d, share in zip(days, shares, strict=True)
        ],
    }
    visit = work_order(PROFILE, history, date=days[-1] + timedelta(days=1)).next_visit
    too_long = (4 + 35 / 2.1) * 7
    assert visit.latest == days[1] + timedelta(days=ceil(too_long) - 1)


def test_hair_that_will_be_late_tomorrow_leaves_the_end_to_the_next() -> None:
    """No visit can meet it: the next bound nothing, and no "not after" was named."""
    too_long = ceil((4 + 35 / 2.1) * 7)
    profile = {**PROFILE, "coats": {"jacket": {**PROFILE["coats"]["jacket"], "rests_weeks": 40}}}  # dead long after
    visits = [
        {"visit": after(days).isoformat(), "work": {"back": {"pull": share}}} for days, share in ((0, 1), (60, 0.2))
    ]
    for days in (too_long - 1, too_long):  # tomorrow, and today
        visit = work_order(profile, {**STRIPPED, "visits": visits}, date=after(days), minutes=5).next_visit
        assert visit.latest == after(60 + too_long - 1)


def _record(day: date) -> Any:
    return state_on(compile_profile(load_profile(PROFILE)), load_history(STRIPPED), day)


def two_that_disagree(every: int) -> Any:
    """The back is just stripped and ready after 48 days (6 mm at 2.1 mm a week after four weeks); the legs are already past
    30 mm in 15 days (28 mm today)."""
    legs = {**PROFILE["layer_targets"]["back"], "regions": ["legs"], "take": {"usual": 0.2, "at_most": 0.2}}
    del legs["cover"]
    profile = PROFILE | {
        "visit": {**PROFILE["visit"], "every_weeks": every},
        "regions": PROFILE["regions"] | {"legs": {**PROFILE["regions"]["back"], "label": "Legs"}},
        "layer_targets": {
            "back": {k: v for k, v in PROFILE["layer_targets"]["back"].items() if k != "cover"} | {"leads": True},
            "legs": legs | {"longest_mm": [15, 30], "leads": True},
        },
    }
    history = STRIPPED | {"arrival": {"legs": {"longest_mm": 28}, "back": {"grown_weeks": 30}}}
    return work_order(
        profile, {**history, "visits": [{"visit": DAY.isoformat(), "work": {"back": {"pull": 1}}}]}, date=DAY
    )


@pytest.mark.parametrize("every", [3, 10])
def test_where_two_ends_disagree_the_hair_is_let_grow_ready_but_no_longer_than_planned(every: int) -> None:
    """Common practice, no source: a dog is not called back within days for one part that is a little long."""
    told = two_that_disagree(every)
    visit = told.next_visit
    assert visit.clash
    assert visit.latest < visit.earliest
    assert visit.best == min(visit.earliest, DAY + timedelta(weeks=every))
    low, high = visit.window_80("best")
    assert low <= visit.best <= high
    said = " ".join(text(told).split())
    assert "These two disagree. On the best day the coat is a little too long: legs" in said
    assert ("less is ready, so take less: back" in said) == (visit.best < visit.earliest)


def test_coming_late_by_hand() -> None:
    """One coat, three weeks after the strip, when the usual visit is, and two, four and eight weeks later."""
    order_now = work_order(PROFILE, STRIPPED, date=DAY + timedelta(days=1), ahead=True)
    late = order_now.next_visit.late
    assert [(later.weeks, later.day) for later in late] == [(weeks, after(21 + 7 * weeks)) for weeks in WEEKS_LATE]
    lengths = [0.0, 2.1 * (35 / 7 - 4), 2.1 * (49 / 7 - 4), 2.1 * (77 / 7 - 4)]
    assert [later.longest_mm for later in late] == pytest.approx(lengths)
    assert [later.cover for later in late] == pytest.approx([min(1, mm / 6) for mm in lengths])
    assert [later.blown_share for later in late] == [0.0] * 4
    assert [later.minutes for later in late] == [0.0, 0.0, 4.0, 4.0]  # from 6 mm on, a fifth of 20 minutes
    shown = text(order_now)
    assert "If the dog comes later" in shown
    assert "8 weeks later" in shown
    assert max(map(len, shown.splitlines())) <= 88
    assert "| 8 weeks later | 100% | 15 mm | 0% | 4 min | 0 in 10 dogs |" in markdown(order_now)


def test_hair_is_overgrown_later_on_as_many_as_of_thousands_of_dogs() -> None:
    """Hair pulled whole on one day is too long at 35 mm, or all of it loose where it stops before."""
    np: Any = pytest.importorskip("numpy")  # the core does without
    visit = {**PROFILE["visit"], "every_weeks": 14}
    today = DAY + timedelta(days=1)
    order_now = work_order({**PROFILE, "visit": visit}, STRIPPED, date=today, ahead=True)
    np = pytest.importorskip("numpy")  # which the bare core does without
    rng = np.random.default_rng(20260302)
    pace = rng.normal(rng.normal(1.0, 0.15, 20_000), 0.10)
    grows = 20 * np.exp(rng.normal(0.0, 0.25, 20_000))
    too_long = np.where(2.1 * grows > 35, 4 + 35 / 2.1, np.inf) * 7 / pace
    loose = (4 + grows + 2) * 7 / pace
    overgrown_from = np.ceil(np.minimum(too_long, loose))
    shares = [(overgrown_from <= (later.day - DAY).days).mean() for later in order_now.next_visit.late]
    assert [later.overgrown for later in order_now.next_visit.late] == pytest.approx(shares, abs=0.03)
    assert 0 < shares[0] < 0.3 < 0.6 < shares[-1]
    assert f"| {round((order_now.next_visit.late[-1].overgrown or 0.0) * 10)} in 10 dogs |" in markdown(order_now)


def test_nobody_asked_nothing_is_told_of_later() -> None:
    compiled = compile_profile(load_profile(PROFILE))
    told = order(compiled, load_history(STRIPPED), DAY + timedelta(days=1))
    assert told.next_visit.late == ()
    assert "comes later" not in text(told)
    assert told.to_dict()["next_visit"]["late"] == []


@settings(max_examples=20)
@given(profiles(), histories(), st.integers(1, 60))
def test_what_a_later_visit_finds_is_what_the_record_says_then(
    profile: dict[str, Any], history: dict[str, Any], days: int
) -> None:
    """Today's order written down as done, and the later day asked of the record."""
    last = max((date.fromisoformat(visit["visit"]) for visit in history["visits"]), default=date(2025, 1, 6))
    today = last + timedelta(days=days)
    order_now = work_order(profile, history, date=today, ahead=True)
    done = {"visit": today.isoformat()} | as_planned(order_now)
    compiled = compile_profile(load_profile(profile))
    then = load_history({**history, "visits": [*history["visits"], done]})
    hand = [name for name, region in compiled.regions.items() if region.target and not region.clipper_only]
    for later in order_now.next_visit.late:
        state = state_on(compiled, then, later.day)
        facts, _ = all_facts(compiled, then.dog, state, order_now.minutes_available)
        verdicts, _ = decide(compiled, state, facts)
        coats = [
            standing(state.regions[name].coat, state.regions[name].growth, state.pace.of(name), state.day)
            for name in hand
        ]
        assert later.longest_mm == pytest.approx(max(coat.longest_mm for coat in coats))
        assert later.blown_share == pytest.approx(sum(coat.blown_share for coat in coats) / len(coats))
        minutes = sum(task.minutes for verdict in verdicts.values() for task in verdict.tasks)
        assert later.minutes == pytest.approx(minutes, abs=0.2501)
        covers = [coat.cover for name, coat in zip(hand, coats, strict=True) if "see_through" in facts[name]]
        assert later.cover == (pytest.approx(min(covers)) if covers else None)


@pytest.mark.parametrize("left", ["perineum", "ears-inside", "eyelid-rims"])
def test_a_clip_that_was_left_out_does_not_call_the_dog_in_sooner(left: str) -> None:
    """It set the next date of the whole dog within days: it binds the last day only, and no sooner than the usual visit."""
    history: dict[str, Any] = {"format": 1, "dog": {"id": "ana", "born": "2022-05-01"}, "visits": []}
    for number in range(3):
        day = DAY + timedelta(weeks=2 * number)
        history["visits"].append(
            {"visit": day.isoformat(), **as_planned(work_order("border-terrier", history, date=day))}
        )
        history["visits"][-1]["work"].pop(left, None)
        visit = work_order("border-terrier", history, date=day + timedelta(days=1)).next_visit
        assert visit.latest is not None
        assert visit.planned is not None
        assert visit.latest >= visit.planned
        assert not visit.clash
        assert visit.best == max(visit.planned, visit.earliest)


@pytest.mark.parametrize("name", sorted(library()))
def test_a_puppy_that_practised_comes_back_within_a_week_or_two(name: str) -> None:
    """Whatever the interval of grown dogs. Common practice, no source."""
    profile = load_profile(name)
    dog = {"id": "young", "born": after(-7 * 10).isoformat()}
    visit = work_order(profile, {"format": 1, "dog": dog}, date=DAY).next_visit
    assert (visit.earliest, visit.best, visit.latest) == (after(7), after(7), after(14))
