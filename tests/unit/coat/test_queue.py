"""The coat of a region: what always holds, and what the trade says it does."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from coatrules.coat.growth import Growth, days_to_age
from coatrules.coat.measures import (
    cover_limit,
    covers,
    days_until_blown,
    days_until_longer,
    days_until_pull_possible,
    days_until_ready,
    hair_lengths,
    mass_longer,
    standing,
    steady_state,
    surface,
)
from coatrules.coat.queue import WHOLE, Coat, Cut, Pick, Pull, fresh, grown, mass_of, replay
from coatrules.coat.ripening import HORIZON_DAYS, loose_masses, ripe_masses

WIRE = Growth(lag_weeks=4, mm_per_week=2.1, grows_weeks=20, rests_weeks=2, ready_mm=6, cover_mm=6, layer_gap_mm=2)


TERRIER = Growth(lag_weeks=2, mm_per_week=4, grows_weeks=16, rests_weeks=8, ready_mm=8, cover_mm=6, layer_gap_mm=2)
"""The fit of published intervals and lengths, profiles/evidence/growth.csv."""


def weeks(number: float) -> int:
    return round(number * 7)


numbers = st.floats(0.5, 12)
growths = st.builds(
    Growth,
    lag_weeks=st.floats(0, 8),
    mm_per_week=st.floats(0.3, 5),
    full_mm=st.floats(5, 120),
    rests_weeks=st.floats(0, 20),
    spread=st.floats(0.1, 1),
    ready_mm=numbers,
    cover_mm=numbers,
    layer_gap_mm=st.floats(0, 6),
)
paces = st.floats(0.4, 2.5)
PICKS: tuple[Pick, ...] = ("longest", "ripe", "even")
pulls = st.lists(st.tuples(st.integers(0, 60), st.integers(0, WHOLE), st.sampled_from(PICKS)), max_size=15)
cuts = st.lists(st.tuples(st.integers(0, 60), st.floats(0, 30)), max_size=3)


@st.composite
def coats(draw: st.DrawFn) -> tuple[Coat, Growth, float, int]:
    """A coat after a random history, how its hair grows, the dog's pace, and a day not before the last work."""
    growth, pace = draw(growths), draw(paces)
    coat = grown(0, growth, weeks=draw(st.one_of(st.none(), st.floats(0, 60))), pace=pace)
    day = 0
    for gap, mass, pick in draw(pulls):
        day += gap
        coat = coat.pulled(growth, pace, day, mass / WHOLE, pick)
    for gap, leave in draw(cuts):
        day += gap
        coat = coat.clipped(day, leave)
    return coat, growth, pace, day + draw(st.integers(0, 100))


@given(coats())
def test_the_queue_stays_a_queue(drawn: tuple[Coat, Growth, float, int]) -> None:
    coat, growth, pace, day = drawn
    assert sum(cohort.mass for cohort in coat.cohorts) == WHOLE
    assert all(cohort.mass > 0 for cohort in coat.cohorts)
    assert all(older.day < newer.day for older, newer in pairwise(coat.cohorts))
    fronts = [Coat((fresh(WHOLE, cohort.day),), coat.cuts) for cohort in coat.cohorts]
    lengths = [standing(front, growth, pace, day).longest_mm for front in fronts]
    assert lengths == sorted(lengths, reverse=True)
    assert all(mass_of(cohort.mass / WHOLE) == cohort.mass for cohort in coat.cohorts)


@given(coats(), st.integers(0, WHOLE), st.sampled_from(PICKS))
def test_a_pull_takes_what_was_asked_or_all_that_stands(
    drawn: tuple[Coat, Growth, float, int], mass: int, pick: Pick
) -> None:
    coat, growth, pace, day = drawn
    before = {cohort.day: cohort.mass for cohort in coat.cohorts}
    after = {c.day: c.mass for c in coat.pulled(growth, pace, day, mass / WHOLE, pick).cohorts}
    hidden = {pulled for pulled in before if pace * (day - pulled) / 7 < growth.lag_weeks}
    through = sum(mass for pulled, mass in before.items() if pulled not in hidden)
    ripe = dict(zip(before, ripe_masses(coat.cohorts, growth, pace, day), strict=True))
    taken = min(mass, sum(ripe.values()) if pick == "ripe" else through)
    assert all(after[pulled] >= before[pulled] for pulled in hidden)
    older = [pulled for pulled in before if pulled not in hidden and pulled != day]
    gave = {pulled: before[pulled] - after.get(pulled, 0) for pulled in older}
    if day not in before or day in hidden:
        assert after.get(day, 0) - before.get(day, 0) == taken == sum(gave.values())
        if pick == "ripe":
            assert all(gave[pulled] <= ripe[pulled] for pulled in older)
        elif pick == "even":
            assert all(abs(gave[pulled] - before[pulled] * taken / max(through, 1)) < 1 for pulled in older)
        else:
            assert sorted(gave.values(), key=bool, reverse=True) == list(gave.values())
            assert sum(0 < gave[pulled] < before[pulled] for pulled in older) <= 1


@given(growths, paces, pulls, st.none() | st.floats(0, 30))
def test_replaying_a_list_is_pulling_one_by_one(
    growth: Growth, pace: float, history: list[tuple[int, int, Pick]], left_mm: float | None
) -> None:
    day, listed = 0, []
    start = grown(0, growth)
    start = one_by_one = start if left_mm is None else start.clipped(0, left_mm)
    for gap, mass, pick in history:
        day += gap
        listed.append(Pull(day, mass, pick))
        one_by_one = one_by_one.pulled(growth, pace, day, mass / WHOLE, pick)
    assert replay(start, growth, pace, listed) == one_by_one


@given(st.lists(st.integers(1, 40), min_size=2, max_size=6), st.data())
def test_an_even_pull_is_shared_by_largest_remainder_the_older_first(parts: list[int], data: st.DataObject) -> None:
    """The method of largest remainders (Hamilton's), in whole parts and fractions."""
    parts = [*parts, WHOLE - sum(parts)]
    taken = data.draw(st.integers(1, WHOLE - 1) | st.integers(1, 60) | st.integers(WHOLE - 60, WHOLE - 1))
    coat = Coat(tuple(fresh(mass, 100 * n) for n, mass in enumerate(parts)))
    quotas = [Fraction(taken * mass, WHOLE) for mass in parts]
    gave = [int(quota) for quota in quotas]
    for n in sorted(range(len(parts)), key=lambda n: (gave[n] - quotas[n], n))[: taken - sum(gave)]:
        gave[n] += 1
    day = 100 * len(parts)
    left = {cohort.day: cohort.mass for cohort in coat.pulled(EVEN, 1.0, day, taken / WHOLE, pick="even").cohorts}
    assert left.pop(day) == taken
    assert left == {100 * n: mass - gave[n] for n, mass in enumerate(parts) if mass > gave[n]}


@given(coats())
def test_the_surface_is_what_stands(drawn: tuple[Coat, Growth, float, int]) -> None:
    now = standing(*drawn)
    assert surface(*drawn) == (now.cover, now.outline_mm)


@given(coats(), st.floats(0, 1))
def test_the_cover_limit_is_exactly_the_greatest(drawn: tuple[Coat, Growth, float, int], at_least: float) -> None:
    coat, growth, pace, day = drawn
    limit = cover_limit(coat, growth, pace, day, at_least)
    now = standing(coat, growth, pace, day)
    through = mass_of(now.through_share)
    assert 0 <= limit <= through

    def cover_after(mass: int) -> float:
        return standing(coat.pulled(growth, pace, day, mass / WHOLE), growth, pace, day).cover

    if now.cover < at_least:
        assert limit == 0
    else:
        assert cover_after(limit) >= at_least
        assert covers(coat, growth, pace, day, limit, at_least)
        if limit < through:
            assert cover_after(limit + 1) < at_least
            assert not covers(coat, growth, pace, day, limit + 1, at_least)


@settings(max_examples=60)
@given(coats(), st.integers(1, WHOLE), st.floats(0, 1), st.floats(0, 60))
def test_dates_are_the_first_day_that_a_walk_through_the_calendar_finds(
    drawn: tuple[Coat, Growth, float, int], mass: int, at_least: float, mm: float
) -> None:
    coat, growth, pace, day = drawn

    def possible(on: int) -> bool:
        after = standing(coat.pulled(growth, pace, on, mass / WHOLE), growth, pace, on)
        return mass_of(standing(coat, growth, pace, on).ready_share) >= mass and after.cover >= at_least

    calendar = range(day, day + HORIZON_DAYS + 1)

    def late(on: int, shorter: bool) -> int:
        """Cohorts that are loose, all of them; or longer than ``mm``."""
        loose = loose_masses(coat.cohorts, growth, pace, on)
        lengths = hair_lengths(coat, growth, pace, on)
        long_or_loose = (
            [mm + 1e-9 < length for length in lengths]
            if shorter
            else [gone == cohort.mass for gone, cohort in zip(loose, coat.cohorts, strict=True)]
        )
        return sum(long_or_loose)

    blown, longer = (
        next((on - day for on in calendar if late(on, shorter) > late(day, shorter)), None) for shorter in (False, True)
    )
    if late(day, True) == len(coat.cohorts):
        longer = 0
    ready = next((on - day for on in calendar if mass_of(standing(coat, growth, pace, on).ready_share) >= mass), None)
    pull = next((on - day for on in calendar if possible(on)), None)
    until_blown = days_until_blown(coat, growth, pace, day)  # of any length; the walk ends at the horizon
    assert (until_blown if until_blown is not None and until_blown <= HORIZON_DAYS else None) == blown
    assert days_until_longer(coat, growth, pace, day, mm) == longer
    assert days_until_ready(coat, growth, pace, day, mass) == ready
    assert days_until_pull_possible(coat, growth, pace, day, mass, at_least) == pull


@given(growths, st.floats(0, 1))
def test_the_age_at_a_length_is_the_age_of_that_length(growth: Growth, part: float) -> None:
    assert growth.length(growth.age_at(part * growth.full_mm)) == pytest.approx(part * growth.full_mm, abs=1e-9)


@given(st.floats(0, 80), paces)
def test_the_first_day_of_an_age_is_the_first(age: float, pace: float) -> None:
    days = days_to_age(age, pace)
    assert pace * days / 7 >= age
    assert days == 0 or pace * (days - 1) / 7 < age


@pytest.mark.parametrize(
    ("age", "pace", "days"), [(9.0, 0.7, 91), (9.0, 1.4, 46), (3.0, 0.7, 30), (6.0, 1.4, 30), (0, 1, 0), (0.1, 10, 1)]
)
def test_the_first_day_of_an_age_where_a_quotient_misses_it(age: float, pace: float, days: int) -> None:
    # Ages are read as pace * days / 7: in doubles 0.7 * 90 / 7 is a little less than 9, and 9 * 7 / 0.7 is 90.
    assert days_to_age(age, pace) == days


@given(growths, st.floats(0, 30), st.floats(0, 30), st.integers(0, 80), st.integers(0, 200))
def test_a_later_cut_that_leaves_more_changes_nothing_it_cannot_reach(
    growth: Growth, first: float, second: float, gap: int, wait: int
) -> None:
    """Each cut on its own caps the length; both together give the lower of the two caps."""
    coat, day = grown(0, growth), gap + wait

    def longest(coat: Coat) -> float:
        return standing(coat, growth, 1.0, day).longest_mm

    both = longest(coat.clipped(0, first).clipped(gap, second))
    assert both == min(longest(coat.clipped(0, first)), longest(coat.clipped(gap, second)))


def test_a_cut_is_forgotten_once_all_that_it_shortened_is_pulled() -> None:
    coat = grown(0, WIRE).clipped(0, 3)
    assert coat.pulled(WIRE, 1.0, 7, 0.5).cuts == coat.cuts
    assert coat.pulled(WIRE, 1.0, 7, 1).cuts == ()
    assert coat.clipped(0, 2.5).clipped(0, 3).cuts == coat.clipped(0, 2.5).cuts + coat.cuts
    assert standing(coat.clipped(0, 2.5).clipped(0, 3), WIRE, 1.0, 0).longest_mm == 2.5


def test_the_next_layer_is_the_oldest_too_short_to_grip_and_a_thin_one_is_none() -> None:
    coat = grown(0, WIRE).pulled(WIRE, 1.0, 0, 0.02).pulled(WIRE, 1.0, weeks(2), 0.019999)
    assert standing(coat, WIRE, 1.0, weeks(3)).next_layer_weeks == pytest.approx(1 + 6 / 2.1)
    assert standing(coat, WIRE, 1.0, weeks(6)).layers == 1
    assert standing(coat, WIRE, 1.0, weeks(7)).layers == 2
    assert standing(coat, WIRE, 1.0, weeks(12)).layers == 2


def test_hair_that_never_gets_ready_has_no_date() -> None:
    stubble = evolve(WIRE, full_mm=5, grows_weeks=0.0, rests_weeks=200)
    coat = grown(0, stubble).pulled(stubble, 1.0, 0, 1)
    assert days_until_pull_possible(coat, stubble, 1.0, 0, 1, 0.0) is None


def test_an_arriving_coat_is_of_its_age_its_length_or_grown_out() -> None:
    assert standing(grown(100, WIRE, weeks=10), WIRE, 1.0, 100).oldest_weeks == 10
    by_length = standing(grown(100, WIRE, longest_mm=21, pace=1.25), WIRE, 1.25, 100)
    assert by_length.longest_mm == pytest.approx(21, abs=0.2)  # to the day
    for pace in (0.8, 1.0, 1.3):
        for arrived in (grown(100, WIRE, pace=pace), grown(100, WIRE, longest_mm=45, pace=pace)):
            assert standing(arrived, WIRE, pace, 100).blown_share == 1
            assert standing(arrived, WIRE, pace, 99).blown_share < 1


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match=r"^an arriving coat is given by its age or by its length, not by both$"):
        grown(0, WIRE, weeks=3, longest_mm=3)
    with pytest.raises(ValueError, match="0 to 1"):
        grown(0, WIRE).pulled(WIRE, 1.0, 0, 200_000)
    with pytest.raises(ValueError, match="in order"):
        replay(grown(0, WIRE), WIRE, 1.0, [Pull(7, 1000), Pull(6, 1000)])
    with pytest.raises(ValueError, match="never 46"):
        WIRE.age_at(46)
    with pytest.raises(ValueError, match="never -1"):
        WIRE.age_at(-1)
    for share in (1.000001, -0.000001):
        with pytest.raises(ValueError, match="a share is 0 to 1"):
            mass_of(share)
    with pytest.raises(ValueError, match="whole coat"):
        days_until_pull_possible(grown(0, WIRE), WIRE, 1.0, 0, WHOLE + 1, 0.0)
    for share, interval in ((0, 3), (1.1, 3), (0.2, 0)):
        with pytest.raises(ValueError, match="no rolling coat"):
            steady_state(WIRE, interval, share)


# Worked by hand: figures at which one step more or less, or a day, shows.

EVEN = evolve(WIRE, mm_per_week=2, full_mm=0.0)  # hair of a whole number of millimetres on a whole week


def test_the_ages_of_no_length_and_of_all_of_it() -> None:
    assert (EVEN.age_at(0), EVEN.age_at(40)) == (4, 24)
    assert (mass_of(0), mass_of(1)) == (0, WHOLE)


def test_the_length_of_each_cohort_is_told_the_oldest_first() -> None:
    coat = grown(0, EVEN).pulled(EVEN, 1.0, 0, 0.5).pulled(EVEN, 1.0, weeks(5), 0.1)
    assert hair_lengths(coat, EVEN, 1.0, weeks(8)) == [40, 8, 0]
    assert hair_lengths(coat, EVEN, 1.5, weeks(8)) == [40, 16, 1]
    assert hair_lengths(coat.clipped(weeks(7), 3), EVEN, 1.0, weeks(8)) == [5, 5, 0]


def test_hair_breaks_through_and_gets_ready_and_blown_on_the_day() -> None:
    coat = grown(0, EVEN).pulled(EVEN, 1.0, 0, 0.5)
    bare = Coat((fresh(WHOLE, 0),))
    # 4 weeks to the surface: an even pull on that day takes of both, and the day before of the old hair alone.
    assert coat.pulled(EVEN, 1.0, 28, 0.5, pick="even").cohorts == (
        (250_000, -182, 500_000),
        (250_000, 0, 250_000),
        (500_000, 28, 500_000),
    )
    assert coat.pulled(EVEN, 1.0, 27, 0.5, pick="even").cohorts == (fresh(500_000, 0), fresh(500_000, 27))
    # 3 weeks more to the 6 mm that can be pulled; of a coat half of which is long, 0.7 waits for the young half.
    assert [standing(bare, EVEN, 1.0, day).ready_share for day in (48, 49)] == [0, 1]
    assert days_until_pull_possible(bare, EVEN, 1.0, 0, WHOLE, 0.0) == 49
    assert days_until_pull_possible(coat, EVEN, 1.0, 0, 700_000, 0.0) == 49
    assert days_until_pull_possible(coat, EVEN, 1.0, 0, 500_000, 0.0) == 0
    # 26 weeks until it is blown; it never is longer than 40 mm.
    assert [mass_longer(bare, EVEN, 1.0, day, 40) for day in (133, 182)] == [0, WHOLE]
    assert [days_until_blown(bare, EVEN, 1.0, day) for day in (0, 181, 182, 183)] == [182, 1, None, None]


def test_how_much_may_go_and_leave_the_cover() -> None:
    # A fifth is under the skin and hides nothing: of the four fifths that stand, a half must stay.
    hidden = grown(0, EVEN).pulled(EVEN, 1.0, 0, 0.2)
    assert cover_limit(hidden, EVEN, 1.0, 0, 0.5) == 300_000
    # In the sixth week two fifths are 3 mm long and hide half as much as hair of 6 mm: 0.2, and 0.3 of the old hair.
    short = grown(0, EVEN).pulled(EVEN, 1.0, 0, 0.4)
    growth = evolve(EVEN, mm_per_week=1.5)
    assert standing(short, growth, 1.0, weeks(6)).cover == 0.8
    assert cover_limit(short, growth, 1.0, weeks(6), 0.5) == 300_000
    # All of it 3 mm: a quarter of the cover takes half of the hair. At the surface hair hides nothing, and all may go.
    bare = Coat((fresh(WHOLE, 0),))
    assert cover_limit(bare, growth, 1.0, weeks(6), 0.25) == 500_000
    assert cover_limit(bare, growth, 1.0, weeks(6), 0.51) == 0
    assert cover_limit(bare, growth, 1.0, weeks(4), 0.0) == WHOLE
    assert cover_limit(grown(0, EVEN).pulled(EVEN, 1.0, 0, 0.4), EVEN, 1.0, weeks(4), 0.0) == WHOLE


@pytest.mark.parametrize(("at_least", "stays"), [(0.021, 30_000), (0.238, 340_001)])
def test_how_much_may_go_is_exact_where_a_quotient_misses_by_rounding(at_least: float, stays: int) -> None:
    # Hair of 7 mm that hides from 10 mm on: 0.021 / 0.7 is a little more than 0.03 to a computer, 0.238 / 0.7 no more than 0.34.
    bare, growth = Coat((fresh(WHOLE, 0),)), evolve(EVEN, full_mm=7, grows_weeks=0.0, cover_mm=10)
    limit = cover_limit(bare, growth, 1.0, weeks(30), at_least)
    assert limit == WHOLE - stays
    assert [covers(bare, growth, 1.0, weeks(30), mass, at_least) for mass in (limit, limit + 1)] == [True, False]


def test_the_outline_is_the_length_of_the_longest_tenth_of_what_stands() -> None:
    day = weeks(30)
    parts = ((50_000, 30), (150_000, 10), (400_000, 3), (400_000, 2))  # with their ages in weeks
    coat = Coat(tuple(fresh(mass, day - weeks(age)) for mass, age in parts))
    # Of the fifth that stands the old hair is a quarter, of the whole coat no tenth.
    now = standing(coat, EVEN, 1.0, day)
    assert (now.through_share, now.cover, now.outline_mm) == (0.2, 0.2, 40)
    assert surface(coat, EVEN, 1.0, day) == (0.2, 40)
    # Four weeks old hair is at the surface: it counts, though it has no length yet.
    at_the_surface = Coat((fresh(40_000, 0), fresh(560_000, day - 28), fresh(400_000, day - 7)))
    assert (
        standing(at_the_surface, EVEN, 1.0, day).outline_mm == surface(at_the_surface, EVEN, 1.0, day).outline_mm == 0
    )
    stubble = Coat((fresh(WHOLE, day - 30),))
    assert surface(stubble, EVEN, 1.0, day).outline_mm == pytest.approx(4 / 7)


def test_a_visit_that_finds_nothing_to_pull_does_not_end_the_record() -> None:
    assert replay(grown(0, EVEN), EVEN, 1.0, [Pull(0, 0), Pull(7, 500_000)]).cohorts[-1] == fresh(500_000, 7)


def test_two_pulls_of_one_day_are_one_part_of_the_coat() -> None:
    twice = replay(grown(0, EVEN), EVEN, 1.0, [Pull(7, 300_000), Pull(7, 200_000)])
    assert twice.cohorts == ((500_000, -182, WHOLE), (500_000, 7, 500_000))


def test_hair_that_an_even_pull_took_to_the_last_leaves_no_empty_part() -> None:
    coat = Coat((fresh(600_000, 0), fresh(1, 7), fresh(399_999, 14)))
    assert coat.pulled(EVEN, 1.0, 70, 0.999999, pick="even").cohorts == (fresh(1, 0), fresh(999_999, 70))


def test_a_cut_as_short_as_the_one_before_takes_its_place() -> None:
    assert grown(0, EVEN).clipped(0, 3).clipped(7, 3).cuts == (Cut(7, 3),)


def test_whether_the_cover_is_left_is_told_to_the_last_hair() -> None:
    hidden = grown(0, EVEN).pulled(EVEN, 1.0, 0, 0.2)
    assert [covers(hidden, EVEN, 1.0, 0, mass, 0.5) for mass in (300_000, 300_001)] == [True, False]
    short, growth = grown(0, EVEN).pulled(EVEN, 1.0, 0, 0.4), evolve(EVEN, mm_per_week=1.5)
    assert [covers(short, growth, 1.0, weeks(6), mass, 0.5) for mass in (300_000, 300_001)] == [True, False]
    # Three days after it broke through it is 6/7 of a millimetre long, and hides a seventh of the skin as 6 mm would.
    bare = Coat((fresh(WHOLE, 0),))
    assert [covers(bare, EVEN, 1.0, 31, 0, at_least) for at_least in (0.14, 0.15)] == [True, False]


def test_the_day_on_which_the_cover_lets_a_pull_be_done() -> None:
    """Half is old, half came away today: to hide half of the skin the young half must reach 6 mm, in seven weeks; to hide
    a quarter 3 mm, which it has from five and a half weeks on."""
    coat = grown(0, EVEN).pulled(EVEN, 1.0, 0, 0.5)

    def days(at_least: float, day: int = 0, growth: Growth = EVEN, mass: int = WHOLE // 2) -> int | None:
        return days_until_pull_possible(coat, growth, 1.0, day, mass, at_least)

    assert [days(0.5), days(0.25), days(0.5, day=48), days(0.5, day=49)] == [49, 39, 1, 0]
    assert days(0.5, mass=WHOLE) is None  # nothing would be left
    # 28 days under the skin, then 6 mm within 1068 days, not within 1069: three years are 1096 days.
    assert days(0.5, growth=evolve(EVEN, mm_per_week=6 * 7 / 1067.5)) == HORIZON_DAYS == 1096
    assert days(0.5, growth=evolve(EVEN, mm_per_week=6 * 7 / 1068.5)) is None


def test_the_day_on_which_hair_is_ready() -> None:
    bare = Coat((fresh(WHOLE, 0),))

    def days(coat: Coat = bare, day: int = 0, growth: Growth = EVEN, start: int = 0) -> int | None:
        return days_until_pull_possible(coat, growth, 1.0, day, WHOLE, 0.0, start)

    assert [days(start=48), days(start=49), days(start=50)] == [49, 49, 50]
    assert days(bare.clipped(70, 3), day=70) == 11  # from 3 mm to 6 takes ten and a half days
    assert days(growth=evolve(EVEN, ready_mm=0)) == 28  # as soon as it is through
    assert (
        days(growth=evolve(EVEN, full_mm=5, grows_weeks=0.0, rests_weeks=19.5)) == 182
    )  # never 6 mm long, but blown after 26 weeks


def test_the_day_on_which_hair_is_longer_than_a_length_and_not_just_as_long() -> None:
    bare = Coat((fresh(WHOLE, 0),))
    assert [days_until_longer(bare, EVEN, 1.0, 0, mm) for mm in (10, 39.9, 40)] == [64, 168, None]


def test_the_outline_is_that_of_the_longest_tenth() -> None:
    coat = grown(0, EVEN).pulled(EVEN, 1.0, 0, 0.9)
    assert standing(coat, EVEN, 1.0, weeks(5)).outline_mm == 40
    thinner = grown(0, EVEN).pulled(EVEN, 1.0, 0, 0.900001)
    assert standing(thinner, EVEN, 1.0, weeks(5)).outline_mm == 2


def test_a_coat_all_pulled_on_the_day_of_a_cut_forgets_it() -> None:
    assert grown(0, EVEN).clipped(0, 3).pulled(EVEN, 1.0, 0, 1).cuts == ()


def test_a_share_too_thin_for_a_layer_still_goes_round() -> None:
    thin, just = steady_state(EVEN, 1, 0.01), steady_state(EVEN, 1, 0.02)
    assert (thin.visits, thin.layers) == (100, 0)
    # Hair of 4 to 24 weeks differs by a layer's 2 mm from week to week: that of 4 weeks, and 20 longer.
    assert (just.visits, just.layers) == (50, 18)


# What the trade says.


def test_worked_steady_state() -> None:
    """By hand: through after 4 weeks, long enough to grip after 6.9, every 3 weeks a fifth: 5 + 1 - 3 layers are to be gripped."""
    settled = steady_state(WIRE, 3, 0.2)
    assert (settled.visits, settled.oldest_weeks, settled.layers) == (5, 15, 3)
    assert settled.under_skin_share == pytest.approx(0.4)


def test_two_layers_stand_and_the_third_comes_in_a_week() -> None:
    """0.6 of a grown coat, a further 0.2 four weeks on, seen in week 7 (common practice, no source)."""
    coat = grown(0, TERRIER).pulled(TERRIER, 1.0, 0, 0.6).pulled(TERRIER, 1.0, weeks(4), 0.2)
    seen = standing(coat, TERRIER, 1.0, weeks(7))
    assert seen.layers == 2
    assert seen.next_layer_weeks == 1.0
    assert seen.cover > 0.9
    assert standing(coat, TERRIER, 1.0, weeks(8)).layers == 3


@pytest.mark.parametrize(("share", "rotation"), [(1 / 8, 8), (1 / 10, 10)])
def test_weekly_shares_go_once_round_in_the_weeks_of_the_guide(share: float, rotation: int) -> None:
    """An eighth a week on a fast coat goes round in eight weeks, a tenth on a slow one in ten (a Miniature Schnauzer
    rolling guide, 2000)."""
    settled = steady_state(WIRE, 1, share)
    assert (settled.visits, settled.oldest_weeks) == (rotation, rotation)
    coat = grown(0, WIRE)
    for week in range(rotation):
        assert coat.cohorts[0].day < 0
        coat = coat.pulled(WIRE, 1.0, weeks(week), share)
    assert coat.cohorts[0].day == 0


def test_three_lengths_at_four_week_visits_take_twelve_weeks() -> None:
    """Early sessions, about four weeks apart, build three coat lengths (a West Highland White Terrier care article; the
    interval from a West Highland White Terrier magazine)."""
    coat = grown(0, TERRIER)
    for visit in range(3):
        coat = coat.pulled(TERRIER, 1.0, weeks(4 * visit), 1 / 3)
    reached = [week for week in range(20) if standing(coat, TERRIER, 1.0, weeks(week)).layers == 3]
    assert reached[0] == 12


# Clipped for an operation, a Labrador's thigh was back at its length in these weeks, by season (Veterinary Dermatology
# 15:25-30, 2004).
LABRADOR_WEEKS = {"spring": 14.6, "summer": 14.5, "autumn": 13.6, "winter": 15.4}
LABRADOR_MM = 37  # its outer coat, an inch to two (common practice, no source)


def test_a_clipped_labrador_is_back_at_its_length_in_the_weeks_of_the_study() -> None:
    # 0.34 to 0.40 mm a day (from memory): neither that nor the length is of the study.
    def weeks_back(mm_per_day: float) -> float:
        coat = evolve(WIRE, mm_per_week=7 * mm_per_day, full_mm=LABRADOR_MM, grows_weeks=0.0)
        back = days_until_longer(grown(0, coat).clipped(0, 0), coat, 1.0, 0, LABRADOR_MM - 1e-6)
        assert back is not None
        return back / 7

    assert weeks_back(0.40) == pytest.approx(min(LABRADOR_WEEKS.values()), abs=1)
    assert weeks_back(0.34) == pytest.approx(max(LABRADOR_WEEKS.values()), abs=1)
    assert weeks_back(0.25) > max(LABRADOR_WEEKS.values()) + 1


# Jacket growth worked out from a show coat of 25.4 mm (an Airedale breed book) 8 to 10 weeks after the strip (United
# States Lakeland Terrier Club), with a start lag of 14 days: 0.43 to 0.61 mm a day.
FASTEST, SLOWEST = (
    evolve(WIRE, lag_weeks=2, mm_per_week=7 * rate, full_mm=60, grows_weeks=0.0) for rate in (0.61, 0.43)
)
# The same lag with what popular pages give for any dog: 0.33 to 0.42 mm a day.
POPULAR_FAST, POPULAR_SLOW = (evolve(FASTEST, mm_per_week=7 * rate) for rate in (0.42, 0.33))


def weeks_to(growth: Growth, mm: float) -> float:
    """Weeks from a full strip until the hair is longer than this."""
    days = days_until_longer(Coat((fresh(WHOLE, 0),)), growth, 1.0, 0, mm)
    assert days is not None
    return days / 7


def test_a_stripped_welsh_is_in_show_coat_in_eight_weeks() -> None:
    """8 weeks from full strip to show condition, and new coat to trim at 4 (Welsh Terrier Club, UK).

    A jacket of 20 mm is the shortest that the Wire Fox Terrier's standard names; hair of 6 mm can be gripped (common
    practice, no source).
    """
    assert weeks_to(FASTEST, 20) <= 8 <= weeks_to(SLOWEST, 20)
    for growth in (FASTEST, SLOWEST):
        assert standing(Coat((fresh(WHOLE, 0),)), growth, 1.0, weeks(4)).ready_share == 1


def test_a_stripped_norfolk_or_norwich_is_in_show_coat_in_twelve_weeks() -> None:
    """12 weeks until a show coat stands (a breed magazine); an inch of jacket (the Airedale breed book)."""
    assert weeks_to(POPULAR_FAST, 25.4) <= 12 <= weeks_to(POPULAR_SLOW, 25.4)


def test_a_stripped_border_has_its_top_coat_back_in_eight_weeks() -> None:
    """8 weeks (a Border Terrier site): at any rate the skin is hidden by then, and bare in the first fortnight."""
    for growth in (FASTEST, SLOWEST, POPULAR_FAST, POPULAR_SLOW):
        stripped = grown(0, growth).pulled(growth, 1.0, 0, 1)
        assert standing(stripped, growth, 1.0, weeks(2)).cover == 0
        assert standing(stripped, growth, 1.0, weeks(8)).cover == 1


def test_a_stripped_irish_is_covered_at_four_weeks_and_not_yet_deep() -> None:
    """At four weeks the cover is back but the deep coat is not (North of England Irish Terrier Club, 2023)."""
    for growth in (FASTEST, SLOWEST):
        seen = standing(grown(0, growth).pulled(growth, 1.0, 0, 1), growth, 1.0, weeks(4))
        assert seen.cover == 1
        assert seen.longest_mm < 20


def test_steady_figures_of_a_share_that_does_not_go_round_evenly() -> None:
    """0.35 at every visit leaves 0.30 for a third: the queue itself is the second way."""
    coat = replay(grown(0, TERRIER), TERRIER, 1.0, [Pull(weeks(4 * visit), 350_000) for visit in range(20)])
    settled = steady_state(TERRIER, 4, 0.35)
    before = standing(coat, TERRIER, 1.0, weeks(80))
    assert (settled.oldest_weeks, settled.layers) == (before.oldest_weeks, before.layers) == (12, 3)


def test_mass_longer_counts_from_the_front() -> None:
    coat = grown(0, WIRE).pulled(WIRE, 1.0, 0, 0.6)
    assert mass_longer(coat, WIRE, 1.0, weeks(10), 12.6) == 400_000
    assert mass_longer(coat, WIRE, 1.0, weeks(10), 12.5) == WHOLE


@pytest.mark.parametrize(("share", "visits"), [(0.14, 8), (0.07, 15), (0.125, 8), (0.1, 10), (0.2, 5)])
def test_a_last_layer_just_thick_enough_is_counted(share: float, visits: int) -> None:
    # 7 * 0.14 leaves 0.02 of the coat, the least that is told apart as a layer; in floats it is a little less.
    assert steady_state(WIRE, 4, share).visits == visits
    assert steady_state(WIRE, 4, share).oldest_weeks == visits * 4


def test_the_outline_is_the_hair_that_a_tenth_is_longer_than_not_the_longest_few() -> None:
    # 6 of 100 hairs are 24 mm, 6 more 20 mm, the rest 8 mm: a tenth of them reaches 20 mm.
    coat = Coat((fresh(60_000, weeks(0)), fresh(60_000, weeks(2)), fresh(880_000, weeks(8))))
    assert standing(coat, EVEN, 1.0, weeks(16)).outline_mm == surface(coat, EVEN, 1.0, weeks(16)).outline_mm == 20


def test_a_step_of_just_the_gap_makes_a_layer() -> None:
    step = evolve(EVEN, layer_gap_mm=4)
    coat = Coat((fresh(500_000, weeks(0)), fresh(500_000, weeks(2))))  # 12 and 8 mm in week 10
    assert standing(coat, step, 1.0, weeks(10)).layers == 2
    assert standing(coat, evolve(step, layer_gap_mm=4.01), 1.0, weeks(10)).layers == 1


def test_hair_that_comes_through_on_the_day_is_pulled_too() -> None:
    coat = Coat((fresh(500_000, weeks(0)), fresh(500_000, weeks(6))))
    assert coat.pulled(EVEN, 1.0, weeks(10), 1).cohorts == (fresh(WHOLE, weeks(10)),)
    assert coat.pulled(EVEN, 1.0, weeks(10) - 1, 1).cohorts == (
        fresh(500_000, weeks(6)),
        fresh(500_000, weeks(10) - 1),
    )
