"""How hair grows back, and the coat of one region as a queue of hair pulled on the same day.

Pure numbers: days are whole ordinals (``date.toordinal()``), ages are weeks (days / 7, not rounded), lengths are
millimetres, masses are whole parts per million of the region's coat. ``pace`` is the dog's own pace: 1 grows as the
profile says, 1.2 a fifth faster. The figures of a ``Growth`` speak of the age times the pace.

Hair under the skin cannot be pulled, and hands take the longest hair, which is the oldest: so what has been pulled
leaves at the front of the queue and comes back, with the day's date, at its end. A cut shortens hair and pulls none.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from itertools import accumulate, pairwise
from math import ceil, inf
from typing import Annotated, NamedTuple

from attrs import frozen

from coatrules.values import Millimetres, PositiveMillimetres, Range

WHOLE = 1_000_000
LAYER_MASS = 20_000  # a thinner layer is not told apart on the dog
HORIZON_DAYS = 1096  # three years: a date further away is no plan
_TINY = 1e-9  # lengths and intervals that differ by rounding only count as equal


@frozen
class Growth:
    """How hair of one kind grows on the profile's typical dog. A profile's figures are checked when it is loaded.

    breakthrough_weeks: from the pull until the new hair stands at the skin surface.
    mm_per_week, full_mm: how fast it then grows, and where it stops.
    blown_weeks: from the pull until it is dead and loose.
    ready_mm: long enough to pull. cover_mm: long enough to hide the skin. layer_gap_mm: least step between two layers.
    undercoat_weeks: from a carding until the undercoat is back in full; None where there is none to card.
    """

    breakthrough_weeks: Annotated[float, Range(0, 52)]
    mm_per_week: Annotated[float, Range(0, 30, above=True)]
    full_mm: PositiveMillimetres
    blown_weeks: Annotated[float, Range(0, 260, above=True)]
    ready_mm: Millimetres
    cover_mm: PositiveMillimetres
    layer_gap_mm: Millimetres
    undercoat_weeks: Annotated[float, Range(0, 104, above=True)] | None = None

    def length(self, age_weeks: float) -> float:
        """Length in mm at an age in weeks at pace 1, uncut; 0 under the skin."""
        return min(max(self.mm_per_week * (age_weeks - self.breakthrough_weeks), 0.0), self.full_mm)

    def age_at(self, length_mm: float) -> float:
        """Age in weeks at pace 1 at which uncut hair reaches a length; ``ValueError`` outside 0 to ``full_mm``."""
        if not 0 <= length_mm <= self.full_mm:
            raise ValueError(f"this hair is 0 to {self.full_mm} mm long, never {length_mm} mm")
        return self.breakthrough_weeks + length_mm / self.mm_per_week


class Cohort(NamedTuple):
    """Hair pulled on the same day: its mass in parts per million, and the day."""

    mass: int
    day: int


class Cut(NamedTuple):
    """A clipping or scissoring on ``day`` that left ``leave_mm``."""

    day: int
    leave_mm: float


class Pull(NamedTuple):
    """What was asked of the coat on ``day``: ``mass`` of the longest hair, or of an even sample of all that stands."""

    day: int
    mass: int
    even: bool = False


class Standing(NamedTuple):
    """What is read off a coat on a day. Shares and cover are 0 to 1, ``next_layer_weeks`` is calendar weeks."""

    cover: float
    through_share: float
    ready_share: float
    blown_share: float
    longest_mm: float
    oldest_weeks: float
    outline_mm: float
    layers: int
    next_layer_weeks: float | None


class Steady(NamedTuple):
    """What a coat settles into when the same share is pulled at the same interval, at pace 1.

    visits: until all hair has been renewed once. oldest_weeks: the age of hair when its turn comes.
    under_skin_share: straight after a visit. layers: standing before a visit.
    """

    visits: int
    oldest_weeks: float
    under_skin_share: float
    layers: int


@frozen
class Coat:
    """The coat of one region. ``cohorts`` run from the oldest to the newest and their masses add up to ``WHOLE``."""

    cohorts: tuple[Cohort, ...]
    cuts: tuple[Cut, ...] = ()

    def pulled(self, growth: Growth, pace: float, day: int, share: float, even: bool = False) -> Coat:
        """The coat after ``share`` (0 to 1) of it was asked for on ``day``; hair under the skin stays."""
        return replay(self, growth, pace, (Pull(day, mass_of(share), even),))

    def clipped(self, day: int, leave_mm: float) -> Coat:
        """The coat after it was cut to ``leave_mm`` on ``day``."""
        # An earlier cut that left as much has grown past this one for good.
        return Coat(self.cohorts, (*(cut for cut in self.cuts if cut.leave_mm < leave_mm), Cut(day, leave_mm)))

    def hair(self) -> tuple[tuple[float, date], ...]:
        """The share (0 to 1) and the day of each cohort, oldest first."""
        return tuple([(mass / WHOLE, date.fromordinal(day)) for mass, day in self.cohorts])


def mass_of(share: float) -> int:
    """A share (0 to 1) in parts per million; ``mass_of(mass / WHOLE) == mass``. ``ValueError`` outside 0 to 1."""
    if not 0 <= share <= 1:
        raise ValueError(f"a share is 0 to 1, not {share}")
    return round(share * WHOLE)


def grown(
    day: int, growth: Growth, *, weeks: float | None = None, longest_mm: float | None = None, pace: float = 1.0
) -> Coat:
    """The coat a dog arrives with on ``day``: of an age in calendar weeks, or of a length in mm, or else grown out.

    Grown out is just blown. A length of ``full_mm`` or more tells no age and counts as grown out. ``ValueError`` where
    both are given.
    """
    if weeks is not None and longest_mm is not None:
        raise ValueError("an arriving coat is given by its age or by its length, not by both")
    if weeks is not None:
        days = round(weeks * 7)
    elif longest_mm is not None and longest_mm < growth.full_mm:
        days = round(growth.age_at(longest_mm) / pace * 7)
    else:
        days = days_to_age(growth.blown_weeks, pace)
    return Coat((Cohort(WHOLE, day - days),))


def replay(coat: Coat, growth: Growth, pace: float, pulls: Iterable[Pull]) -> Coat:
    """The coat after all ``pulls``, given in order of day; ``ValueError`` where one comes before an earlier pull."""
    # As pulls take the oldest hair, every pull so far is one list and the coat is the newest million of it: nothing is
    # taken off the front until the end. Hair is through once its pull lies `wait` days back.
    wait = days_to_age(growth.breakthrough_weeks, pace)
    masses = [cohort.mass for cohort in coat.cohorts]
    days = [cohort.day for cohort in coat.cohorts]
    through = first_hidden = 0
    last = days[-1]
    for day, mass, even in pulls:
        if day < last:
            raise ValueError(f"pulls must come in order: day {day} after day {last}")
        last = day
        while first_hidden < len(days) and days[first_hidden] <= day - wait:
            through += masses[first_hidden]
            first_hidden += 1
        taken = mass if mass < through else through
        if not taken:
            continue
        if even:
            masses, days = _pull_evenly(_newest(masses, days), taken, through, day, wait)
            through = first_hidden = 0
        else:
            masses.append(taken)
            days.append(day)
            through -= taken
    cohorts = _newest(masses, days)
    oldest = cohorts[0].day
    return Coat(cohorts, tuple(cut for cut in coat.cuts if cut.day > oldest) if coat.cuts else ())


def _newest(masses: Sequence[int], days: Sequence[int]) -> tuple[Cohort, ...]:
    """The newest million of all hair ever pulled, neighbours of the same day as one cohort."""
    cohorts: list[Cohort] = []
    left = WHOLE
    for mass, day in zip(reversed(masses), reversed(days), strict=True):
        kept = mass if mass < left else left
        left -= kept
        if cohorts and cohorts[-1].day == day:
            cohorts[-1] = Cohort(cohorts[-1].mass + kept, day)
        else:
            cohorts.append(Cohort(kept, day))
        if not left:
            break
    cohorts.reverse()
    return tuple(cohorts)


def _pull_evenly(
    cohorts: tuple[Cohort, ...], taken: int, through: int, day: int, wait: int
) -> tuple[list[int], list[int]]:
    """Masses and days after every standing cohort gave in proportion, exact by largest remainder (the older first)."""
    standing = [cohort.mass for cohort in cohorts if cohort.day <= day - wait]
    given = [taken * mass // through for mass in standing]
    by_remainder = sorted(range(len(standing)), key=lambda i: -(taken * standing[i] % through))
    for i in by_remainder[: taken - sum(given)]:
        given[i] += 1
    given += [0] * (len(cohorts) - len(standing))
    left = [(mass - gave, pulled) for (mass, pulled), gave in zip(cohorts, given, strict=True) if mass > gave]
    return [*(mass for mass, _ in left), taken], [*(pulled for _, pulled in left), day]


def days_to_age(weeks: float, pace: float) -> int:
    """The first whole day after a pull on which the hair's age times the pace reaches ``weeks``."""
    days = max(0, ceil(weeks * 7 / pace))
    # The estimate may miss by rounding; what decides is the expression by which ages are read everywhere.
    while days and pace * (days - 1) / 7 >= weeks:
        days -= 1
    while pace * days / 7 < weeks:
        days += 1
    return days


def _cap(coat: Coat, growth: Growth, pace: float, day: int) -> float:
    """The greatest length that any hair can have on ``day``.

    Hair pulled after a cut, or under the skin at it, is always shorter than what that cut left: so one cap serves all.
    """
    cap = growth.full_mm
    for cut in coat.cuts:
        cap = min(cap, cut.leave_mm + growth.mm_per_week * (pace * (day - cut.day) / 7))
    return cap


def _lengths(coat: Coat, growth: Growth, pace: float, day: int) -> list[float]:
    """The length of each cohort, oldest first; below 0 for hair still under the skin."""
    cap, rate, start = _cap(coat, growth, pace, day), growth.mm_per_week, growth.breakthrough_weeks
    return [mm if (mm := rate * (pace * (day - pulled) / 7 - start)) <= cap else cap for _, pulled in coat.cohorts]


def hair_lengths(coat: Coat, growth: Growth, pace: float, day: int) -> list[float]:
    """The length in mm of each cohort on ``day``, oldest first; 0 for hair under the skin."""
    return [max(length, 0.0) for length in _lengths(coat, growth, pace, day)]


def standing(coat: Coat, growth: Growth, pace: float, day: int) -> Standing:
    """Everything that is read off the coat on ``day``."""
    lengths = _lengths(coat, growth, pace, day)
    cover_mm, ready_mm, gap = growth.cover_mm, growth.ready_mm - _TINY, growth.layer_gap_mm - _TINY
    loose_since = day - days_to_age(growth.blown_weeks, pace)
    through = ready = blown = layers = 0
    covered = 0.0
    shorter_mm: float | None = None
    hidden_since: int | None = None
    for (mass, pulled), length in zip(reversed(coat.cohorts), reversed(lengths), strict=True):
        if length < 0:
            hidden_since = pulled
            continue
        through += mass
        covered += mass * (length / cover_mm) if length < cover_mm else mass
        if pulled <= loose_since:
            blown += mass
            ready += mass
        elif length >= ready_mm:
            ready += mass
        if mass >= LAYER_MASS:
            if shorter_mm is None or length - shorter_mm >= gap:
                layers += 1
            shorter_mm = length
    reached = accumulate(cohort.mass for cohort in coat.cohorts)
    outline = next(length for mass, length in zip(reached, lengths, strict=True) if mass * 10 >= through)
    oldest = coat.cohorts[0].day
    return Standing(
        cover=covered / WHOLE,
        through_share=through / WHOLE,
        ready_share=ready / WHOLE,
        blown_share=blown / WHOLE,
        longest_mm=max(lengths[0], 0.0),
        oldest_weeks=(day - oldest) / 7,
        outline_mm=max(outline, 0.0),
        layers=layers,
        next_layer_weeks=None if hidden_since is None else growth.breakthrough_weeks / pace - (day - hidden_since) / 7,
    )


def mass_longer(coat: Coat, growth: Growth, pace: float, day: int, mm: float) -> int:
    """The mass of hair that is blown or longer than ``mm`` (0 or more)."""
    loose_since = day - days_to_age(growth.blown_weeks, pace)
    lengths = _lengths(coat, growth, pace, day)
    hairs = zip(coat.cohorts, lengths, strict=True)
    return sum(mass for (mass, pulled), length in hairs if length > mm + _TINY or pulled <= loose_since)


def cover_limit(coat: Coat, growth: Growth, pace: float, day: int, at_least: float) -> int:
    """The greatest mass that can be pulled, oldest first, and leaves ``cover`` at ``at_least``; 0 if below already."""
    cover_mm = growth.cover_mm
    left, kept = WHOLE, 0.0
    for (mass, _), length in zip(reversed(coat.cohorts), reversed(_lengths(coat, growth, pace, day)), strict=True):
        left -= mass
        if length < 0:
            continue
        hides = min(1.0, length / cover_mm)
        if (kept + mass * hides) / WHOLE >= at_least:
            # The least part of this cohort that must stay, by search: a quotient would miss by rounding.
            stay = _least(mass, kept, hides, at_least)
            return left + mass - stay
        kept += mass * hides
    return 0


def _least(mass: int, kept: float, hides: float, at_least: float) -> int:
    """The least part of ``mass``, hiding so much, that with what is kept covers ``at_least``; all of it does."""
    return bisect_left(range(mass), True, key=lambda part: (kept + part * hides) / WHOLE >= at_least)


def days_until_blown(coat: Coat, growth: Growth, pace: float, day: int) -> int:
    """Days from ``day`` until the oldest hair is blown; 0 if it is."""
    return max(0, coat.cohorts[0].day + days_to_age(growth.blown_weeks, pace) - day)


def days_until_longer(coat: Coat, growth: Growth, pace: float, day: int, mm: float) -> int | None:
    """Days from ``day`` until the longest hair is longer than ``mm``; None if not within three years."""
    front = Coat(coat.cohorts[:1], coat.cuts)
    when = _long_enough(front, growth, pace, mm) - day
    return _first_near(lambda days: _lengths(front, growth, pace, day + days)[0] > mm + _TINY, when)


def days_until_pull_possible(
    coat: Coat, growth: Growth, pace: float, day: int, mass: int, at_least: float, start: int = 0
) -> int | None:
    """Days from ``day`` until ``mass`` is ready and pulling it leaves ``cover`` at ``at_least``; not less than ``start``.

    None if not within three years; ``ValueError`` for more than the whole coat.
    """
    youngest = _cohort_at(coat, mass)
    lone = Coat((youngest,), coat.cuts)
    blown_from = youngest.day + days_to_age(growth.blown_weeks, pace) - day
    long_enough = max(growth.ready_mm - _TINY, 0.0)
    when = min(blown_from, _long_enough(lone, growth, pace, long_enough) - day)
    ready = _first_near(
        lambda days: days >= blown_from or _lengths(lone, growth, pace, day + days)[0] >= long_enough, when, start
    )
    if ready is None:
        return None
    # Ready hair stays ready and cover only grows, so the first day of both is the first day of the later one.
    grown_out = _long_enough(Coat(coat.cohorts[-1:], coat.cuts), growth, pace, growth.cover_mm) - day
    return _first(lambda days: covers(coat, growth, pace, day + days, mass, at_least), ready, grown_out)


def covers(coat: Coat, growth: Growth, pace: float, day: int, mass: int, at_least: float) -> bool:
    """Whether pulling ``mass``, all of it through the skin, leaves ``cover`` at ``at_least``: whether ``cover_limit`` lets it."""
    cover_mm = growth.cover_mm
    left, kept = WHOLE - mass, 0.0
    for (own, _), length in zip(reversed(coat.cohorts), reversed(_lengths(coat, growth, pace, day)), strict=True):
        stays = own if own < left else left
        if length >= 0:
            kept += stays * min(1.0, length / cover_mm)
        left -= stays
        if not left:
            break
    return kept / WHOLE >= at_least


def _cohort_at(coat: Coat, mass: int) -> Cohort:
    """The youngest cohort that a pull of ``mass`` takes from."""
    for cohort in coat.cohorts:
        mass -= cohort.mass
        if mass <= 0:
            return cohort
    raise ValueError(f"{mass} parts per million more than the whole coat")


def _long_enough(coat: Coat, growth: Growth, pace: float, mm: float) -> float:
    """When the oldest hair reaches a length, as an ordinal with its fraction, but for rounding; infinite if never."""
    if mm > growth.full_mm:
        return inf
    weeks = mm / growth.mm_per_week
    whole = coat.cohorts[0].day + (growth.breakthrough_weeks + weeks) * 7 / pace
    return max([whole, *(cut.day + (weeks - cut.leave_mm / growth.mm_per_week) * 7 / pace for cut in coat.cuts)])


def _first_near(holds: Callable[[int], bool], when: float, start: int = 0) -> int | None:
    """``_first`` where the day is known but for rounding: what decides is the expression by which lengths are read."""
    day = ceil(min(max(when, start), HORIZON_DAYS + 1))
    while day > start and holds(day - 1):
        day -= 1
    while day <= HORIZON_DAYS and not holds(day):
        day += 1
    return day if day <= HORIZON_DAYS else None


def _first(holds: Callable[[int], bool], start: int, likely: float) -> int | None:
    """The first of the days from ``start`` to the horizon on which something holds that, once true, stays true; looked for
    up to a ``likely`` day first."""
    if holds(start):
        return start
    for end in (ceil(min(likely, HORIZON_DAYS)), HORIZON_DAYS):
        day = bisect_left(range(end + 1), True, lo=start + 1, key=holds)
        if day <= end:
            return day
    return None


def steady(growth: Growth, interval_weeks: float, share: float) -> Steady:
    """What the coat settles into with ``share`` (above 0, at most 1) pulled every ``interval_weeks`` (above 0).

    Before a visit the hair is 1, 2, ... intervals old, ``share`` of each; a last remainder too thin to tell as a layer
    is not counted. Where the hair takes longer to break through than the visits take to go round, the work waits for
    it: each figure is then the greatest that a visit sees. ``ValueError`` for other shares and intervals.
    """
    if not (0 < share <= 1 and interval_weeks > 0):
        raise ValueError(f"no rolling coat comes of a share of {share} every {interval_weeks} weeks")
    rounds = int(1 / share + _TINY)
    remainder = WHOLE - rounds * mass_of(share)  # in whole parts: 1 - 7 * 0.14 is just short of 0.02
    visits = rounds + (remainder >= LAYER_MASS)
    hidden = max(0, ceil(growth.breakthrough_weeks / interval_weeks - _TINY))
    visits = max(visits, hidden)
    lengths = [growth.length(age * interval_weeks) for age in range(max(hidden, 1), visits + 1)]
    steps = sum(longer - shorter >= growth.layer_gap_mm - _TINY for shorter, longer in pairwise(lengths))
    return Steady(
        visits=visits,
        oldest_weeks=visits * interval_weeks,
        under_skin_share=min(1.0, share * hidden),
        layers=1 + steps if share * WHOLE >= LAYER_MASS else 0,
    )
