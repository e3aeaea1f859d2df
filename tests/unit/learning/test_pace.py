"""The dog's own pace against the same posterior worked out by linear algebra on all unknowns at once."""

from __future__ import annotations

from random import Random

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatrules.coat.growth import Growth
from coatrules.learning.pace import Observation, Pace, learn

JACKET = Growth(
    breakthrough_weeks=4, mm_per_week=2.1, full_mm=45, blown_weeks=26, ready_mm=6, cover_mm=6, layer_gap_mm=2
)
LEG = Growth(breakthrough_weeks=5, mm_per_week=1.8, full_mm=60, blown_weeks=40, ready_mm=10, cover_mm=8, layer_gap_mm=2)

observed = st.lists(
    st.builds(
        lambda region, age, slope: Observation(
            region, age, (JACKET if region < "c" else LEG).length(age * slope), JACKET if region < "c" else LEG
        ),
        st.sampled_from("abcd"),
        st.floats(1, 30),
        st.floats(0.1, 4),
    ),
    max_size=12,
)
spreads = st.floats(0.02, 0.5)
Array = npt.NDArray[np.float64]


def usable(seen: Observation) -> bool:
    return 0 < seen.length_mm < seen.growth.full_mm


def joint(
    seen: list[Observation], spread: float, region_spread: float, measure: float
) -> tuple[list[str], Array, Array]:
    """Mean and covariance of (the dog, each region) given every length, from the joint normal of them all."""
    names = sorted({one.region for one in seen})
    prior = np.full((1 + len(names), 1 + len(names)), spread**2)
    prior[1:, 1:] += region_spread**2 * np.eye(len(names))
    design = np.zeros((len(seen), 1 + len(names)))
    for row, one in enumerate(seen):
        design[row, 1 + names.index(one.region)] = one.growth.mm_per_week * one.age_weeks
    points = np.array([one.length_mm + one.growth.mm_per_week * one.growth.breakthrough_weeks for one in seen])
    of_points = design @ prior @ design.T + measure**2 * np.eye(len(seen))
    gain = np.linalg.solve(of_points, design @ prior).T
    ones = np.ones(1 + len(names))
    return names, ones + gain @ (points - design @ ones), prior - gain @ design @ prior


@given(observed, spreads, spreads, st.floats(0.5, 5))
def test_the_closed_form_is_the_joint_posterior(
    seen: list[Observation], spread: float, region_spread: float, measure: float
) -> None:
    pace = learn(seen, spread=spread, region_spread=region_spread, measure_mm=measure)
    kept = [one for one in seen if usable(one) and one.region not in pace.rejected]
    assert pace.observations == len(kept)
    names, mean, cov = joint(kept, spread, region_spread, measure)
    sd = np.sqrt(np.diag(cov))
    assert pace.mean == pytest.approx(mean[0], rel=1e-6)
    assert pace.sd == pytest.approx(sd[0], rel=1e-6)
    assert sorted(pace.regions) == names
    for place, name in enumerate(names, start=1):
        assert pace.regions[name] == pytest.approx((mean[place], sd[place]), rel=1e-6)
        assert pace.of(name) == pace.regions[name][0]
    assert pace.of("never measured") == pace.mean


@given(observed, spreads)
def test_doubtful_regions_are_those_whose_own_slope_no_dog_has(seen: list[Observation], spread: float) -> None:
    rejected = []
    for region in "abcd":
        of_region = [one for one in seen if one.region == region and usable(one)]
        if not of_region:
            continue
        x = np.array([[one.growth.mm_per_week * one.age_weeks] for one in of_region])
        y = np.array([one.length_mm + one.growth.mm_per_week * one.growth.breakthrough_weeks for one in of_region])
        slope = float(np.linalg.lstsq(x, y, rcond=None)[0][0])
        if min(abs(slope - 0.4), abs(slope - 2.5)) < 1e-9:
            return  # on the edge, where rounding decides
        if not 0.4 <= slope <= 2.5:
            rejected.append(region)
    pace = learn(seen, spread=spread)
    assert list(pace.rejected) == rejected
    assert not set(rejected) & set(pace.regions)
    without = [one for one in seen if one.region not in rejected]
    assert learn(without, spread=spread).mean == pytest.approx(pace.mean)


@given(observed, spreads, st.randoms(use_true_random=False))
def test_the_order_of_the_record_does_not_matter(seen: list[Observation], spread: float, random: Random) -> None:
    shuffled = list(seen)
    random.shuffle(shuffled)
    one, other = learn(seen, spread=spread), learn(shuffled, spread=spread)
    assert one.mean == pytest.approx(other.mean)
    assert one.sd == pytest.approx(other.sd)
    assert one.rejected == other.rejected


@given(observed, spreads)
def test_a_length_more_never_makes_the_pace_less_certain(seen: list[Observation], spread: float) -> None:
    sure = [one for one in seen if one.region not in learn(seen, spread=spread).rejected]
    assert learn(sure, spread=spread).sd <= spread * (1 + 1e-12)
    more = [*sure, Observation("e", 10, JACKET.length(11), JACKET)]
    assert learn(more, spread=spread).sd < learn(sure, spread=spread).sd


@pytest.mark.parametrize("truth", [0.7, 1.0, 1.3])
def test_many_exact_lengths_find_the_pace_they_were_made_with(truth: float) -> None:
    seen = [Observation(f"r{i}", age, JACKET.length(truth * age), JACKET) for i in range(200) for age in (8, 10, 12)]
    pace = learn(seen, spread=0.15)
    assert pace.mean == pytest.approx(truth, abs=0.01)
    assert pace.sd < 0.01


def test_nothing_measured_is_the_typical_dog() -> None:
    unusable = [
        Observation("back", 3, 0.0, JACKET),
        Observation("back", 40, 45.0, JACKET),
        Observation("back", 0, 5.0, JACKET),
    ]
    assert learn(unusable, spread=0.15) == Pace(mean=1.0, sd=0.15)


def test_a_pace_that_is_known_is_not_moved() -> None:
    pace = learn([Observation("back", 10, 20.0, JACKET)], spread=0.0, region_spread=0.0)
    assert (pace.mean, pace.sd, pace.regions["back"]) == (1.0, 0.0, (1.0, 0.0))


@pytest.mark.parametrize(
    "wrong", [{"spread": -0.1}, {"spread": 0.1, "region_spread": -1}, {"spread": 0.1, "measure_mm": 0}]
)
def test_spreads_that_cannot_be_are_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="spreads must be"):
        learn([], **wrong)
