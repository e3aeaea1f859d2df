"""Ripe and loose hair: against hairs followed one by one, each with a stop of its own, and what always holds."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from coatrules.coat import queue
from coatrules.coat.growth import Growth, days_to_age, ripening_days
from coatrules.coat.measures import days_until_blown, standing
from coatrules.coat.queue import WHOLE, Coat, Cohort, Pick, Pull
from coatrules.coat.ripening import (
    HORIZON_DAYS,
    comes_easily,
    days_until_ripe,
    loose_masses,
    ripe_masses,
)
from tests.support.hair import hair as growth_of

# The joint fit of published intervals and lengths; values and ranges stand in the profiles' sources.
TERRIER = growth_of(lag_weeks=2, mm_per_week=4.0, grows_weeks=16, rests_weeks=8)
WESTIE = growth_of(lag_weeks=2, mm_per_week=4.5, grows_weeks=13, rests_weeks=8)
SCHNAUZER = growth_of(lag_weeks=2, mm_per_week=3.7, grows_weeks=11.5, rests_weeks=8)

cycles = st.builds(
    growth_of,
    lag_weeks=st.floats(0, 6),
    mm_per_week=st.floats(0.3, 6),
    grows_weeks=st.floats(4, 40),
    rests_weeks=st.floats(1, 30),
    spread=st.floats(0.05, 1),
)
paces = st.floats(0.4, 2.5)
shares = st.floats(0, 1)


def replay(cohorts: tuple[Cohort, ...], cycle: Growth, pace: float, listed: list[Pull]) -> tuple[Cohort, ...]:
    return queue.replay(Coat(cohorts), cycle, pace, listed).cohorts


def pulls(history: list[tuple[int, int, Pick]]) -> tuple[int, list[Pull]]:
    """The day of the last pull, and all of them, of days in between, masses and ways to pick."""
    day, listed = 0, []
    for gap, mass, pick in history:
        day += gap
        listed.append(Pull(day, mass, pick))
    return day, listed


def whole(day: int = 0) -> tuple[Cohort, ...]:
    return (Cohort(WHOLE, day, WHOLE),)


# One hair, one coat.


@pytest.mark.parametrize("cycle", [TERRIER, WESTIE, SCHNAUZER])
def test_ripe_and_loose_shares_are_those_of_single_hairs(cycle: Growth) -> None:
    stops = np.random.default_rng(15).uniform(
        cycle.lag_weeks + cycle.grows_weeks - cycle.spread * cycle.grows_weeks,
        cycle.lag_weeks + cycle.grows_weeks,
        400_000,
    )
    for age in np.arange(0, 40, 0.7):
        assert cycle.ripe_share(age) == pytest.approx((stops <= age).mean(), abs=0.003)
        assert cycle.ripe_share(age - cycle.rests_weeks) == pytest.approx(
            (stops + cycle.rests_weeks <= age).mean(), abs=0.003
        )
        grown = np.clip(np.minimum(stops, age) - cycle.lag_weeks, 0, None) * cycle.mm_per_week
        assert cycle.length(age) == pytest.approx(grown.max(), abs=0.01)


@given(cycles, st.floats(0, 80), st.floats(0, 80))
def test_older_hair_is_never_shorter_nor_less_ripe(cycle: Growth, one: float, other: float) -> None:
    younger, older = sorted((one, other))
    assert cycle.length(younger) <= cycle.length(older) <= cycle.full_mm
    assert 0 <= cycle.ripe_share(younger) <= cycle.ripe_share(older) <= 1


@given(cycles, paces, shares)
def test_the_day_of_a_ripe_share_is_that_day(cycle: Growth, pace: float, share: float) -> None:
    day = days_to_age(cycle.age_when_ripe(share), pace)
    assert cycle.ripe_share(pace * day / 7) >= share - 1e-9
    assert day == 0 or cycle.ripe_share(pace * (day - 1) / 7) <= share + 1e-9
    assert cycle.ripe_share(cycle.age_when_ripe(share)) == pytest.approx(share, abs=1e-9)
    mass = round(share * WHOLE)
    until = days_until_ripe(whole(), cycle, pace, 0, mass)
    assert (until is None and day >= HORIZON_DAYS - 1) or until == 0 or abs((until or 0) - day) <= 1


@given(cycles, paces, st.sampled_from([0.5, 2.0, 4.0]), st.integers(0, 300))
def test_pace_and_days_scale_together(cycle: Growth, pace: float, faster: float, days: int) -> None:
    """A dog twice as fast has in a day what another has in two. Powers of two, so that no rounding differs."""
    age = pace * faster * days / 7
    assert cycle.ripe_share(age) == cycle.ripe_share(pace * (faster * days) / 7)
    slow, fast = ripening_days(cycle, pace), ripening_days(cycle, pace * faster)
    assert all(abs(of_slow / faster - of_fast) <= 2 + 1 / faster for of_slow, of_fast in zip(slow, fast, strict=True))


@given(cycles, paces, st.integers(0, 600))
def test_whole_days_follow_the_shares_to_a_day(cycle: Growth, pace: float, day: int) -> None:
    [ripe], [loose] = ripe_masses(whole(), cycle, pace, day), loose_masses(whole(), cycle, pace, day)
    assert 0 <= loose <= ripe <= WHOLE
    for mass, share in ((ripe, cycle.ripe_share), (loose, lambda age: cycle.ripe_share(age - cycle.rests_weeks))):
        # The ramp begins and ends on whole days: never earlier than the share, and no more than a day behind it.
        assert share(pace * (day - 2) / 7) - 1e-5 <= mass / WHOLE <= share(pace * (day + 1) / 7) + 1e-5


def test_the_worked_strip_of_a_terrier() -> None:
    """Five weeks after a full strip: 12 mm, long enough to grip, and no hair ripe; half ripe at 15.2 weeks."""
    assert TERRIER.length(5) == 12
    now = standing(Coat(whole()), TERRIER, 1.0, 35)
    assert (now.ripe_share, now.blown_share, now.ripe_of_oldest) == (0, 0, 0)
    assert TERRIER.age_when_ripe(0.5) == pytest.approx(15.2)
    assert days_until_ripe(whole(), TERRIER, 1.0, 35, WHOLE // 2) == 107 - 35  # 15.2 weeks are 106.4 days
    assert days_until_blown(Coat(whole()), TERRIER, 1.0, 35) == 26 * 7 - 35


def test_figures_of_a_whole_number_of_days_are_exact() -> None:
    cycle = growth_of(2, 3, 10, 4, 0.5)  # ripens from day 49 to 84, loosens from 77 to 112
    assert ripening_days(cycle, 1.0) == (49, 84, 77, 112)
    assert ripe_masses(whole(), cycle, 1.0, 49) == [0]
    assert ripe_masses(whole(), cycle, 1.0, 50) == [WHOLE // 35]
    assert ripe_masses(whole(), cycle, 1.0, 84) == [WHOLE]
    assert loose_masses(whole(), cycle, 1.0, 84) == [WHOLE * 7 // 35]
    with pytest.raises(ValueError, match="a share is 0 to 1"):
        cycle.age_when_ripe(1.1)


# Cohorts that have given their ripe hair, against single hairs.

HAIRS = 2_000  # of which each is 500 parts per million


@dataclass
class Hair:
    pulled: int
    stops: Fraction  # days after the pull


class Hairs:
    """A coat as a bag of hairs, each with its own day of stopping; it knows nothing of cohorts."""

    def __init__(self, cycle: Growth, pace: float) -> None:
        def first_day(weeks: float) -> int:
            return next(day for day in range(2_000) if pace * day / 7 >= weeks)

        self.lag = first_day(cycle.lag_weeks)
        self.first = first_day(cycle.lag_weeks + (1 - cycle.spread) * cycle.grows_weeks)
        self.last = max(self.first + 1, first_day(cycle.lag_weeks + cycle.grows_weeks))
        rest = first_day(cycle.lag_weeks + (1 - cycle.spread) * cycle.grows_weeks + cycle.rests_weeks)
        self.rest = rest - self.first
        self.hairs: list[Hair] = []
        self.regrow(HAIRS, 0)

    def regrow(self, number: int, day: int) -> None:
        """New hair, whose stops lie evenly between the first and the last."""
        step = Fraction(self.last - self.first, number) if number else Fraction(0)
        self.hairs += [Hair(day, self.first + step * (n + 1)) for n in range(number)]

    def ripe(self, hair: Hair, day: int) -> bool:
        return day - hair.pulled >= hair.stops

    def loose(self, hair: Hair, day: int) -> bool:
        return day - hair.pulled >= hair.stops + self.rest

    def order(self, day: int) -> list[Hair]:
        """What stands in the order in which hands take it: the oldest first, of the same age the ripe first (the one that
        stopped first), and of those that still grow any: here evenly over their stops to come, by bit reversal."""
        standing = [hair for hair in self.hairs if day - hair.pulled >= self.lag]
        ordered: list[Hair] = []
        for pulled in sorted({hair.pulled for hair in standing}):
            same = sorted((hair for hair in standing if hair.pulled == pulled), key=lambda hair: hair.stops)
            growing = [hair for hair in same if not self.ripe(hair, day)]
            evenly = sorted(range(len(growing)), key=lambda n: int(f"{n:012b}"[::-1], 2))
            ordered += [hair for hair in same if self.ripe(hair, day)] + [growing[n] for n in evenly]
        return ordered

    def pull(self, day: int, number: int, pick: Pick) -> int:
        ordered = self.order(day)
        if pick == "ripe":
            ordered = [hair for hair in ordered if self.ripe(hair, day)]
        elif pick == "even":
            by_age = sorted(ordered, key=lambda hair: (hair.pulled, hair.stops))
            chosen = min(number, len(by_age))
            ordered = [by_age[n * len(by_age) // chosen] for n in range(chosen)] if chosen else []
        gone = {id(hair) for hair in ordered[:number]}
        self.hairs = [hair for hair in self.hairs if id(hair) not in gone]
        self.regrow(len(gone), day)
        return len(gone)


picks: tuple[Pick, ...] = ("ripe", "longest", "even")


def compare_with_hairs(seed: int) -> None:
    rng = Random(seed)
    cycle = growth_of(
        rng.choice([0, 1, 2, 4]), 4, rng.choice([8, 12, 16]), rng.choice([3, 8]), rng.choice([0.2, 0.35, 0.6])
    )
    pace = rng.choice([0.75, 1.0, 1.3])
    hairs, cohorts, day = Hairs(cycle, pace), whole(), 0
    slack = 0
    for _ in range(rng.randrange(1, 14)):
        day += rng.randrange(0, 60)
        number, pick = rng.randrange(0, HAIRS // 2), rng.choice(picks)
        came = hairs.pull(day, number, pick)
        ripe_before = sum(ripe_masses(cohorts, cycle, pace, day))
        after = replay(cohorts, cycle, pace, [Pull(day, number * (WHOLE // HAIRS), pick)])
        assert sum(cohort.mass for cohort in after) == WHOLE
        if pick == "ripe":
            mass = sum(ripe_before - ripe for ripe in [sum(ripe_masses(after, cycle, pace, day))])
            assert abs(mass / WHOLE - came / HAIRS) <= (5 + slack) / HAIRS
        cohorts = after
        slack += 4  # an even or growing sample of whole hairs is even to a hair or two of each cohort it is taken from
        for wait in (0, 17, 40, 90, 150):
            on = day + wait
            now = standing(Coat(cohorts), cycle, pace, on)
            ripe = sum(hairs.ripe(hair, on) for hair in hairs.hairs) / HAIRS
            loose = sum(hairs.loose(hair, on) for hair in hairs.hairs) / HAIRS
            assert now.ripe_share == pytest.approx(ripe, abs=(4 + slack) / HAIRS), (seed, pick, wait)
            # Loose is counted from its own whole days, which lie up to a day from the ripe ones and their rest.
            a_day = max(c.at_pull for c in cohorts) / WHOLE / (hairs.last - hairs.first)
            assert now.blown_share == pytest.approx(loose, abs=(4 + slack) / HAIRS + 2 * a_day), (seed, pick, wait)


@pytest.mark.parametrize("seed", range(8))
def test_random_pulls_leave_what_single_hairs_leave(seed: int) -> None:
    compare_with_hairs(seed)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(8, 75))
def test_many_random_pulls_leave_what_single_hairs_leave(seed: int) -> None:
    compare_with_hairs(seed)


histories = st.lists(st.tuples(st.integers(0, 60), st.integers(0, WHOLE), st.sampled_from(picks)), max_size=14)


@given(cycles, paces, histories, st.integers(0, 200))
def test_the_queue_keeps_its_mass_and_its_order(
    cycle: Growth, pace: float, history: list[tuple[int, int, Pick]], wait: int
) -> None:
    day, cohorts, listed = 0, whole(), []
    for gap, mass, pick in history:
        day += gap
        listed.append(Pull(day, mass, pick))
        before, lag = cohorts, days_to_age(cycle.lag_weeks, pace)
        through = sum(c.mass for c in before if c.day <= day - lag)
        ripe = sum(ripe_masses(before, cycle, pace, day))
        cohorts = replay(before, cycle, pace, [listed[-1]])
        assert sum(c.mass for c in cohorts) == WHOLE
        assert all(older.day < newer.day for older, newer in pairwise(cohorts))
        assert all(0 < c.mass <= c.at_pull for c in cohorts)
        taken = sum(c.mass for c in cohorts if c.day == day) - sum(c.mass for c in before if c.day == day)
        if lag:
            assert taken == min(mass, ripe if pick == "ripe" else through)
        if pick == "ripe" and lag:
            assert sum(ripe_masses(cohorts, cycle, pace, day)) == ripe - taken
    assert replay(whole(), cycle, pace, listed) == cohorts
    for masses in (ripe_masses, loose_masses):
        on_day, later = (masses(cohorts, cycle, pace, day + wait + more) for more in (0, 1))
        assert all(0 <= come <= c.mass for come, c in zip(on_day, cohorts, strict=True))
        assert all(one <= two for one, two in zip(on_day, later, strict=True))


@given(cycles, paces, histories, st.integers(0, 200), st.integers(1, WHOLE))
def test_the_day_on_which_enough_is_ripe_is_the_first(
    cycle: Growth, pace: float, history: list[tuple[int, int, Pick]], wait: int, mass: int
) -> None:
    day, listed = pulls(history)
    cohorts, day = replay(whole(), cycle, pace, listed), day + wait
    days = days_until_ripe(cohorts, cycle, pace, day, mass)
    if days is None:
        assert sum(ripe_masses(cohorts, cycle, pace, day + HORIZON_DAYS)) < mass
    else:
        assert sum(ripe_masses(cohorts, cycle, pace, day + days)) >= mass
        assert not days or sum(ripe_masses(cohorts, cycle, pace, day + days - 1)) < mass


@given(cycles.filter(lambda cycle: cycle.lag_weeks > 0), paces, histories, st.data())
def test_two_pulls_of_one_day_are_one(
    cycle: Growth, pace: float, history: list[tuple[int, int, Pick]], data: st.DataObject
) -> None:
    day, listed = pulls(history)
    day += data.draw(st.integers(1, 100))
    pick: Pick = data.draw(st.sampled_from(["longest", "ripe"]))
    one, other = data.draw(st.integers(0, WHOLE // 2)), data.draw(st.integers(0, WHOLE // 2))
    start = replay(whole(), cycle, pace, listed)
    at_once = replay(start, cycle, pace, [Pull(day, one + other, pick)])
    assert replay(start, cycle, pace, [Pull(day, one, pick), Pull(day, other, pick)]) == at_once
    assert replay(start, cycle, pace, [Pull(day, other, pick), Pull(day, one, pick)]) == at_once


@given(cycles, paces, histories, st.integers(0, 100), st.integers(1, WHOLE))
def test_a_pull_of_the_longest_takes_no_less_ripe_hair_than_was_said_to_come(
    cycle: Growth, pace: float, history: list[tuple[int, int, Pick]], wait: int, mass: int
) -> None:
    day, listed = pulls(history)
    cohorts, day = replay(whole(), cycle, pace, listed), day + wait
    easily = comes_easily(cohorts, cycle, pace, day, mass)
    through = sum(c.mass for c in cohorts if c.day <= day - days_to_age(cycle.lag_weeks, pace))
    gone = sum(ripe_masses(cohorts, cycle, pace, day)) - sum(
        ripe_masses(replay(cohorts, cycle, pace, [Pull(day, mass)]), cycle, pace, day)
    )
    assert easily * min(mass, through) <= gone + 1e-3
    assert 0 <= standing(Coat(cohorts), cycle, pace, day).ripe_of_oldest <= 1


def test_a_cohort_pulled_while_it_grows_ripens_as_the_rest_of_it_would() -> None:
    cycle = growth_of(2, 3, 10, 4, 0.5)  # ripens from day 49 to 84
    half_way = replay(whole(), cycle, 1.0, [Pull(56, 600_000)])  # a fifth is ripe: two fifths more are taken growing
    assert half_way == (Cohort(400_000, 0, 499_999), Cohort(600_000, 56, 600_000))
    assert [ripe_masses(half_way, cycle, 1.0, day)[0] for day in (56, 70, 84)] == [0, 200_000, 400_000]
    ripe_only = replay(whole(), cycle, 1.0, [Pull(56, 600_000, "ripe")])
    assert ripe_only == (Cohort(800_000, 0, WHOLE), Cohort(200_000, 56, 200_000))
    assert [ripe_masses(ripe_only, cycle, 1.0, day)[0] for day in (56, 63, 84)] == [0, 200_000, 800_000]


def test_pulls_out_of_order_are_refused() -> None:
    with pytest.raises(ValueError, match="in order"):
        replay(whole(), TERRIER, 1.0, [Pull(7, 1), Pull(6, 1)])


# What a rhythm settles into.

# Published rhythms: a Schnauzer's eighth a week (E006) and tenth a week, a Westie's three lengths at four weeks, a
# terrier's fifth every three weeks, half a terrier every thirteen weeks.
RHYTHMS = [
    (SCHNAUZER, 1 / 8, 1, 8, 22, 0.00, 0.0),
    (SCHNAUZER, 1 / 10, 1, 10, 30, 0.13, 0.0),
    (WESTIE, 1 / 3, 4, 12, 45, 0.34, 0.0),
    (TERRIER, 1 / 5, 3, 15, 52, 0.46, 0.0),
    (TERRIER, 1 / 2, 13, 26, 64, 1.00, 1.0),
]


@pytest.mark.parametrize(("cycle", "share", "weeks", "age", "mm", "ripe", "loose"), RHYTHMS)
def test_a_rhythm_settles_into_its_closed_form(
    cycle: Growth, share: float, weeks: int, age: int, mm: float, ripe: float, loose: float
) -> None:
    mass = round(share * WHOLE)
    cohorts = replay(whole(), cycle, 1.0, [Pull(7 * weeks * n, mass) for n in range(1, 60)])
    day = 7 * weeks * 60
    assert (day - cohorts[0].day) / 7 == pytest.approx(age, abs=weeks if mass * age // weeks != WHOLE else 0)
    assert round(cycle.length(age)) == pytest.approx(mm, abs=1)
    assert cycle.ripe_share(age) == pytest.approx(ripe, abs=0.01)
    assert cycle.ripe_share(age - cycle.rests_weeks) == pytest.approx(loose, abs=0.01)
    assert comes_easily(cohorts, cycle, 1.0, day, mass) == pytest.approx(ripe, abs=0.03)
    # The standing coat's ripe share is the mean over its cohorts.
    ages = [age - weeks * n for n in range(round(1 / share))]
    mean = sum(cycle.ripe_share(one) for one in ages) * share
    assert standing(Coat(cohorts), cycle, 1.0, day).ripe_share == pytest.approx(mean, abs=0.02)


def test_hands_that_take_only_what_is_ripe_settle_by_the_closed_form() -> None:
    """With share to spare hair goes at the first visit after its stop."""
    interval = 3
    cohorts, came = whole(), []
    for n in range(1, 200):
        after = replay(cohorts, TERRIER, 1.0, [Pull(21 * n, WHOLE // 2, "ripe")])
        came.append(sum(c.mass for c in after if c.day == 21 * n) / WHOLE)
        cohorts = after
    mean_age = TERRIER.lag_weeks + TERRIER.grows_weeks * (1 - TERRIER.spread / 2) + interval / 2
    assert sum(came[-60:]) / 60 == pytest.approx(interval / mean_age, abs=0.003)


@pytest.mark.parametrize(
    ("cycle", "share", "weeks", "came", "age"),
    [(SCHNAUZER, 1 / 8, 1, 0.64, 12.5), (WESTIE, 1 / 3, 4, 0.78, 15.4), (TERRIER, 1 / 5, 3, 0.85, 17.6)],
)
def test_hands_that_leave_what_holds_settle_later(
    cycle: Growth, share: float, weeks: int, came: float, age: float
) -> None:
    """All growing hair holds: what holds uses up part of what was asked, and the coat gets older than its rhythm."""
    cohorts, shares_came = whole(), []
    asked = round(share * WHOLE)
    for n in range(1, 400):
        day = 7 * weeks * n
        easily = round(comes_easily(cohorts, cycle, 1.0, day, asked) * asked)
        cohorts = replay(cohorts, cycle, 1.0, [Pull(day, easily, "ripe")])
        shares_came.append(easily / asked)
    assert sum(shares_came[-120:]) / 120 == pytest.approx(came, abs=0.01)
    assert weeks / (share * sum(shares_came[-120:]) / 120) == pytest.approx(age, abs=0.15)
