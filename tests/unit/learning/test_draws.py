"""Dates of the whole dog: against dogs simulated with numpy, and what always holds."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules.coat.growth import days_to_age
from coatrules.learning.draws import (
    DRAWS,
    Dates,
    Due,
    Event,
    draw_dogs,
    when_long,
    when_loose,
    when_ripe,
    whole_dog,
    within,
)
from coatrules.learning.grid import learn
from coatrules.learning.hand import HAND
from coatrules.learning.observations import Arrival, Length
from tests.support.hair import hair

TERRIER = hair(lag_weeks=2, mm_per_week=4.0, grows_weeks=16, rests_weeks=8)
DOGS = 20_000


def dues(regions: int, *, ranges: bool = False) -> list[Due]:
    first, last = Event(when_ripe(TERRIER, 0.8), 0), Event(when_loose(TERRIER, 0.2), 0)
    lag, rests = ((1.0, 4.0), (6.0, 14.0)) if ranges else (None, None)
    return [Due(f"r{n}", TERRIER, first, last, lag, rests) for n in range(regions)]


@pytest.mark.parametrize("regions", [1, 5, 14, 25])
@pytest.mark.parametrize("final_spread", [0.15, 0.25])
@pytest.mark.parametrize("ranges", [False, True])
def test_eight_times_in_ten_holds_for_the_whole_dog(regions: int, final_spread: float, ranges: bool) -> None:
    """Over 20,000 dogs drawn at random: the day by which all regions are there, and the last before one is too late."""
    posterior = learn([], pace_spread=0.15, final_spread=final_spread)
    asked = dues(regions, ranges=ranges)
    dates = whole_dog(draw_dogs(posterior, [due.region for due in asked]), asked)
    rng = np.random.default_rng(20260815)
    paces = rng.normal(1, 0.15, DOGS)[:, None] + rng.normal(0, 0.10, (DOGS, regions))
    grown = 16 * np.exp(rng.normal(0, final_spread, DOGS))
    lag = np.full(DOGS, 2.0)
    rest = np.full(DOGS, 8.0)
    if ranges:  # the 10th and the 90th percentile are the ends, linear between and beyond
        at = rng.random(DOGS)
        lag = np.maximum(np.interp(at, [0, 0.5, 1], [2 - 1.25, 2, 2 + 2.5]), 0)
        at = rng.random(DOGS)
        rest = np.maximum(np.interp(at, [0, 0.5, 1], [8 - 2.5, 8, 8 + 7.5]), 0)
    ready_weeks = (lag + grown * (0.65 + 0.35 * 0.8))[:, None] / paces
    loose_weeks = (lag + grown * (0.65 + 0.35 * 0.2) + rest)[:, None] / paces
    ready, latest = dates.ready(), dates.latest()
    assert ready is not None
    assert latest is not None
    assert 0.77 <= (7 * ready_weeks.max(axis=1) <= ready).mean() <= 0.84
    assert 0.77 <= (7 * loose_weeks.min(axis=1) > latest).mean() <= 0.84


@pytest.mark.slow
@pytest.mark.parametrize("regions", [1, 5, 14])
def test_eight_times_in_ten_holds_of_dogs_that_were_measured(regions: int) -> None:
    """Each dog with lengths of its own in two regions, by a hand with an error of its own: the day that its own draws give."""
    rng = np.random.default_rng(9)
    asked = dues(regions)
    held = 0
    for _ in range(120):
        pace, grown, hand = rng.normal(1, 0.15), 16 * np.exp(rng.normal(0, 0.25)), rng.normal(0, 2 * HAND)
        own = np.maximum(pace + rng.normal(0, 0.10, regions), 0.3)
        seen = []
        for n in range(min(regions, 2)):
            for weeks in (6, 10, 14, 18):
                mm = 4 * np.clip(own[n] * weeks - 2, 0, grown) + hand + rng.normal(0, 2)
                seen.append(Length(f"r{n}", TERRIER, weeks, max(0.5, float(mm))))
        posterior = learn(seen, pace_spread=0.15)
        ready = whole_dog(draw_dogs(posterior, [due.region for due in asked]), asked).ready()
        assert ready is not None
        held += 7 * ((2 + grown * 0.93) / own).max() <= ready
    assert 0.72 <= held / 120 <= 0.94  # of 400: 0.84, 0.85 and, a little too wide, 0.89


def test_typical_hair_is_due_on_its_own_day_where_nothing_is_in_doubt() -> None:
    posterior = learn([], pace_spread=0, region_spread=0, final_spread=0)
    dates = whole_dog(draw_dogs(posterior, ["back"]), [Due("back", TERRIER, *dues(1)[0][2:4])])
    assert set(dates.firsts) == {days_to_age(TERRIER.age_when_ripe(0.8), 1.0)}
    assert set(dates.lasts) == {days_to_age(TERRIER.age_when_ripe(0.2) + 8, 1.0) - 1}
    assert dates.best() == dates.ready() == dates.firsts[0]


def test_the_milestones_are_ages_of_hair() -> None:
    def age(milestone: tuple[float, float, float, float]) -> float:
        lag, grows, rests, weeks = milestone
        return lag * 2 + grows * 16 + rests * 8 + weeks

    assert TERRIER.length(age(when_long(TERRIER, 20))) == pytest.approx(20)
    assert TERRIER.ripe_share(age(when_ripe(TERRIER, 0.3))) == pytest.approx(0.3)
    assert TERRIER.ripe_share(age(when_loose(TERRIER, 0.3)) - 8) == pytest.approx(0.3)
    # Of a cohort of which half is left, three quarters of the whole had come or are ripe once half of the rest is.
    assert TERRIER.ripe_share(age(when_ripe(TERRIER, 0.5, kept=0.5))) == pytest.approx(0.75)


def test_windows_widen_with_fewer_records() -> None:
    measured = [Length("r0", TERRIER, weeks, 4 * (weeks - 2)) for weeks in (6, 8, 10, 12, 14)]
    widths = []
    for count in (5, 2, 0):
        posterior = learn(measured[:count], pace_spread=0.15)
        dates = whole_dog(draw_dogs(posterior, ["r0"]), dues(1))
        early, late = dates.ready(20), dates.ready(180)
        assert early is not None
        assert late is not None
        widths.append(late - early)
    assert widths == sorted(widths)
    assert widths[0] < widths[-1]


def test_slow_dogs_are_slow_all_over() -> None:
    dogs = draw_dogs(learn([], pace_spread=0.15), ["back", "legs"])
    assert len(dogs) == DRAWS
    back, legs = (np.array([dog.paces[region] for dog in dogs]) for region in ("back", "legs"))
    # Both deviate from one pace: correlation 0.15^2 / (0.15^2 + 0.10^2).
    assert np.corrcoef(back, legs)[0, 1] == pytest.approx(0.69, abs=0.08)
    assert back.std() == pytest.approx(0.18, abs=0.02)
    assert np.log([dog.factor for dog in dogs]).std() == pytest.approx(0.25, abs=0.03)


def test_draws_follow_the_posterior() -> None:
    seen = [
        Length("back", TERRIER, weeks, mm, arrived="coat") for weeks, mm in ((0.0, 12.0), (6.0, 42.0), (18.0, 55.0))
    ]
    posterior = learn(seen, {"coat": Arrival(TERRIER)}, pace_spread=0.15)
    dogs = draw_dogs(posterior, ["back", "legs"])
    own = np.array([dog.paces["back"] for dog in dogs])
    mean, sd = posterior.pace_of("back")
    assert own.mean() == pytest.approx(mean, abs=0.02)
    assert own.std() == pytest.approx(sd, rel=0.25)
    factors = np.log([dog.factor for dog in dogs])
    assert factors.mean() == pytest.approx(posterior.final.mean, abs=0.02)
    assert np.median([dog.ages["coat"] for dog in dogs]) == pytest.approx(posterior.median_arrival("coat"), abs=0.3)
    # What is not told of by any record deviates from the dog's pace as regions do.
    legs = np.array([dog.paces["legs"] for dog in dogs])
    assert legs.std() == pytest.approx((posterior.pace.sd**2 + 0.01) ** 0.5, rel=0.15)


def test_draws_are_the_same_every_time() -> None:
    posterior = learn([Length("back", TERRIER, 8, 25.0)], pace_spread=0.15)
    assert draw_dogs(posterior, ["back", "legs"]) == draw_dogs(posterior, ["back", "legs"])


@settings(max_examples=60)
@given(st.lists(st.tuples(st.integers(0, 60), st.integers(0, 60)), min_size=1, max_size=12), st.booleans())
def test_the_best_day_is_the_first_that_most_draws_allow(pairs: list[tuple[int, int]], open_end: bool) -> None:
    """Against counting every day."""
    firsts = tuple(first for first, _ in pairs)
    lasts = () if open_end else tuple(first + last - 20 for first, last in pairs)
    allowed: Counter[int] = Counter()
    for at, first in enumerate(firsts):
        end = 200 if open_end else max(lasts[at], first)
        allowed.update(range(first, end + 1))
    most = max(allowed.values())
    assert Dates(firsts, lasts).best() == min(day for day, count in allowed.items() if count == most)


def test_what_nothing_bounds_has_no_date() -> None:
    dogs = draw_dogs(learn([], pace_spread=0.15), ["back"])
    dates = whole_dog(dogs, [Due("back", TERRIER, None, None)])
    assert (dates.ready(), dates.latest(), dates.best()) == (None, None, None)


def test_a_range_is_read_by_its_percentiles() -> None:
    assert [within((1, 4), 2, share) for share in (0.1, 0.5, 0.9)] == pytest.approx([1, 2, 4])
    assert within((1, 4), 2, 0.3) == pytest.approx(1.5)
    assert within((0.1, 4), 2, 0.0) == 0
    assert within(None, 2, 0.9) == 2
