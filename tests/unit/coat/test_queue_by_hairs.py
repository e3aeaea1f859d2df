"""The queue against single hairs, each followed on its own with exact fractions: a second way to every fact."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction
from itertools import pairwise
from unittest.mock import patch

import pytest
from attrs import define, field
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules.coat import measures as reading
from coatrules.coat import queue as model
from coatrules.coat.growth import Growth

HAIRS = 1000  # the queue is made to count in single hairs below
THIN = HAIRS // 50  # DEVELOPERS.md: a layer is 0.02 of the coat or more


@define
class Hair:
    pulled: int
    cuts: list[tuple[int, Fraction]] = field(factory=list)


class Hairs:
    """A coat as a bag of hairs that know nothing of each other."""

    def __init__(self, growth: Growth, pace: float, pulled: int) -> None:
        self.growth = growth
        self.pace = Fraction(pace)
        # Paces are quarters and weeks halves: whole numbers decide as exactly as fractions do, and sooner.
        self.quarters = int(pace * 4)
        self.breaks_at = int(growth.lag_weeks * 28)
        self.hairs = [Hair(pulled) for _ in range(HAIRS)]

    def age(self, hair: Hair, day: int) -> Fraction:
        return self.pace * Fraction(day - hair.pulled, 7)

    def through(self, hair: Hair, day: int) -> bool:
        return self.quarters * (day - hair.pulled) >= self.breaks_at

    def length(self, hair: Hair, day: int) -> Fraction:
        rate = Fraction(self.growth.mm_per_week)
        uncut = rate * (self.age(hair, day) - Fraction(self.growth.lag_weeks))
        since_cuts = [left + rate * self.pace * Fraction(day - cut, 7) for cut, left in hair.cuts]
        return min([max(uncut, Fraction(0)), Fraction(self.growth.full_mm), *since_cuts])

    def weeks_to(self, hair: Hair, mm: Fraction, day: int) -> Fraction:
        """Calendar weeks until a hair is so long."""
        grows = mm / Fraction(self.growth.mm_per_week)
        whole = hair.pulled + 7 * (Fraction(self.growth.lag_weeks) + grows) / self.pace
        cuts = [cut + 7 * (grows - left / Fraction(self.growth.mm_per_week)) / self.pace for cut, left in hair.cuts]
        return max([whole, *cuts, Fraction(day)]) / 7 - Fraction(day, 7)

    def pull(self, day: int, number: int, even: bool) -> None:
        standing = sorted((hair for hair in self.hairs if self.through(hair, day)), key=lambda hair: hair.pulled)
        number = min(number, len(standing))
        chosen = standing[:number]
        if even and number:
            sizes = Counter(hair.pulled for hair in standing)
            fair = {pulled: Fraction(number * size, len(standing)) for pulled, size in sizes.items()}
            gives = {pulled: int(part) for pulled, part in fair.items()}
            for pulled in sorted(fair, key=lambda p: (-(fair[p] - gives[p]), p))[: number - sum(gives.values())]:
                gives[pulled] += 1
            chosen = [hair for p, n in gives.items() for hair in [h for h in standing if h.pulled == p][:n]]
        for hair in chosen:
            hair.pulled, hair.cuts = day, []

    def cut(self, day: int, left: float) -> None:
        for hair in self.hairs:
            hair.cuts.append((day, Fraction(left)))

    def layers(self, day: int) -> int:
        ready = Fraction(self.growth.ready_mm)
        seen = [hair for hair in self.hairs if self.through(hair, day) and self.length(hair, day) >= ready]
        sizes = Counter(hair.pulled for hair in seen)
        one_of = {hair.pulled: hair for hair in seen}
        lengths = sorted(self.length(one_of[pulled], day) for pulled, size in sizes.items() if size >= THIN)
        gap = Fraction(self.growth.layer_gap_mm)
        return bool(lengths) + sum(longer - shorter >= gap for shorter, longer in pairwise(lengths))


# Figures that binary fractions hold exactly, so that a comparison cannot differ by rounding alone.
growths = st.builds(
    Growth,
    lag_weeks=st.sampled_from([0.0, 0.5, 2.0, 3.5, 4.0, 6.0]),
    mm_per_week=st.sampled_from([1.5, 2.0, 2.5, 3.0]),
    full_mm=st.sampled_from([15.0, 30.0, 60.0]),
    rests_weeks=st.just(400.0),  # what is ripe and loose is held to single hairs in test_ripening
    ready_mm=st.sampled_from([0.0, 4.0, 6.0, 10.0]),
    cover_mm=st.sampled_from([4.0, 6.0, 10.0]),
    layer_gap_mm=st.sampled_from([0.0, 2.0, 4.5]),
)
paces = st.sampled_from([0.75, 1.0, 1.25, 1.5])
steps = st.tuples(
    st.integers(0, 35),
    st.one_of(
        st.tuples(st.just("pull"), st.integers(0, HAIRS // 2), st.booleans()),
        st.tuples(st.just("pull"), st.just(HAIRS), st.booleans()),
        st.tuples(st.just("cut"), st.sampled_from([0.0, 1.0, 3.0, 8.0]), st.just(False)),
    ),
)


@settings(max_examples=20)
@given(growths, paces, st.integers(0, 300), st.lists(steps, max_size=12), st.integers(0, 90))
def test_every_fact_is_that_of_the_single_hairs(
    growth: Growth, pace: float, age_days: int, history: list[tuple[int, tuple[str, float, bool]]], wait: int
) -> None:
    with patch.object(model, "WHOLE", HAIRS), patch.multiple(reading, WHOLE=HAIRS, LAYER_MASS=THIN):
        hairs = Hairs(growth, pace, -age_days)
        coat = model.grown(0, growth, weeks=age_days / 7)
        day = 0
        for gap, (kind, amount, even) in history:
            day += gap
            if kind == "pull":
                hairs.pull(day, int(amount), even)
                coat = coat.pulled(growth, pace, day, amount / HAIRS, "even" if even else "longest")
            else:
                hairs.cut(day, amount)
                coat = coat.clipped(day, amount)
        day += wait
        seen = reading.standing(coat, growth, pace, day)

        assert {cohort.day: cohort.mass for cohort in coat.cohorts} == Counter(hair.pulled for hair in hairs.hairs)
        length = {id(hair): hairs.length(hair, day) for hair in hairs.hairs}
        standing = [hair for hair in hairs.hairs if hairs.through(hair, day)]
        ready_mm = Fraction(growth.ready_mm)
        ready = [h for h in standing if length[id(h)] >= ready_mm]
        oldest = min(hairs.hairs, key=lambda hair: hair.pulled)
        cover_mm = Fraction(growth.cover_mm)
        covering = sum(min(length[id(hair)] / cover_mm, Fraction(1)) for hair in hairs.hairs)
        lengths = sorted((length[id(hair)] for hair in standing), reverse=True)
        assert seen.cover == pytest.approx(float(covering / HAIRS), abs=1e-9)
        assert seen.through_share == len(standing) / HAIRS
        assert seen.ready_share == len(ready) / HAIRS
        assert seen.longest_mm == pytest.approx(float(length[id(oldest)]), abs=1e-9)
        assert seen.oldest_weeks == pytest.approx((day - oldest.pulled) / 7)
        tenth = -(-len(lengths) // 10)
        assert seen.outline_mm == pytest.approx(float(lengths[tenth - 1]) if lengths else 0.0, abs=1e-9)
        assert seen.layers == hairs.layers(day)
        waiting = [hair for hair in hairs.hairs if length[id(hair)] < ready_mm or not hairs.through(hair, day)]
        sizes = Counter(hair.pulled for hair in waiting)
        layers = [hair for hair in waiting if sizes[hair.pulled] >= THIN]
        if layers and ready_mm <= growth.full_mm:
            assert seen.next_layer_weeks == pytest.approx(
                float(hairs.weeks_to(min(layers, key=lambda h: h.pulled), ready_mm, day))
            )
        else:
            assert seen.next_layer_weeks is None
        for mm in (0.0, 5.0, 14.0, 31.0):
            longer = sum(length[id(hair)] > Fraction(mm) for hair in hairs.hairs)
            assert reading.mass_longer(coat, growth, pace, day, mm) == longer


@settings(max_examples=10)
@given(growths, st.integers(1, 8), st.sampled_from([1, 2, 4, 5, 8, 10]))
def test_the_steady_state_is_what_single_hairs_settle_into(growth: Growth, interval: int, rounds: int) -> None:
    hairs = Hairs(growth, 1.0, -7 * 200)
    number = HAIRS // rounds
    cycle = 10  # no slower round than ten visits: that many shares, and breakthrough in six weeks at most
    day, layers, oldest, under = 0, 0, 0, 0
    for visit in range(4 * cycle):
        day += 7 * interval
        settled = visit >= 3 * cycle
        if settled:
            layers = max(layers, hairs.layers(day))
            oldest = max(oldest, *(day - hair.pulled for hair in hairs.hairs))
        hairs.pull(day, number, even=False)
        if settled:
            under = max(under, sum(not hairs.through(hair, day) for hair in hairs.hairs))
    settled_into = reading.steady_state(growth, interval, 1 / rounds)
    assert settled_into.visits == oldest / 7 / interval
    assert settled_into.oldest_weeks == oldest / 7
    assert settled_into.under_skin_share == pytest.approx(under / HAIRS)
    assert settled_into.layers == layers
