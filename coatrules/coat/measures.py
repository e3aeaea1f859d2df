"""What is read off a coat on a day, the days on which it will be, and what a coat settles into.

Units as in ``coat``: days are whole ordinals, ages and waits weeks, lengths millimetres, masses parts per million.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable
from itertools import pairwise
from math import ceil, inf
from typing import NamedTuple

from coatrules.coat.growth import Growth, ripening_days
from coatrules.coat.queue import WHOLE, Coat, Cohort, mass_of, still
from coatrules.coat.ripening import HORIZON_DAYS, OLDEST, comes_easily

LAYER_MASS = 20_000  # a thinner layer is not told apart on the dog
_TINY = 1e-9  # lengths and intervals that differ by rounding only count as equal


class Standing(NamedTuple):
    """What is read off a coat on a day. Shares and cover are 0 to 1, ``next_layer_weeks`` is calendar weeks.

    ready_share: long enough to grip, or loose. ripe_share: at rest, so that it comes easily. blown_share: loose.
    ripe_of_oldest: the ripe part of the oldest tenth of what stands, which a hand feels first.
    layers: lengths told apart, of hair long enough to grip. next_layer_weeks: until the next cohort is.
    """

    cover: float
    through_share: float
    ready_share: float
    ripe_share: float
    ripe_of_oldest: float
    blown_share: float
    longest_mm: float
    oldest_weeks: float
    outline_mm: float
    layers: int
    next_layer_weeks: float | None


class Surface(NamedTuple):
    """What is seen of a coat: its cover (0 to 1), and the length of its outline."""

    cover: float
    outline_mm: float


class SteadyState(NamedTuple):
    """What a coat settles into when the same share is pulled at the same interval, at pace 1.

    visits: until all hair has been renewed once. oldest_weeks: the age of hair when its turn comes.
    under_skin_share: straight after a visit. layers: standing before a visit.
    """

    visits: int
    oldest_weeks: float
    under_skin_share: float
    layers: int


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
    cap, rate, start = _cap(coat, growth, pace, day), growth.mm_per_week, growth.lag_weeks
    return [mm if (mm := rate * (pace * (day - pulled) / 7 - start)) <= cap else cap for _, pulled, _ in coat.cohorts]


def hair_lengths(coat: Coat, growth: Growth, pace: float, day: int) -> list[float]:
    """The length in mm of each cohort on ``day``, oldest first; 0 for hair under the skin."""
    return [max(length, 0.0) for length in _lengths(coat, growth, pace, day)]


def standing(coat: Coat, growth: Growth, pace: float, day: int) -> Standing:
    """Returns everything that is read off the coat on ``day``."""
    cap, rate, start = _cap(coat, growth, pace, day), growth.mm_per_week, growth.lag_weeks
    cover_mm, ready_mm, gap = growth.cover_mm, growth.ready_mm - _TINY, growth.layer_gap_mm - _TINY
    ripens, ripe_at, loosens, loose_at = ripening_days(growth, pace)
    hidden = ready = ripe = blown = layers = 0
    covered, shorter_mm = 0.0, -inf
    coming: Cohort | None = None
    for cohort in reversed(coat.cohorts):
        mass, pulled, at_pull = cohort
        age = day - pulled
        length = rate * (pace * age / 7 - start)
        if length > cap:
            length = cap
        if length < 0:
            hidden += mass
            if mass >= LAYER_MASS:
                coming = cohort
            continue
        covered += mass * (length / cover_mm) if length < cover_mm else mass
        if age > ripens:
            ripe += mass - still(mass, at_pull, age, ripens, ripe_at)
        loose = mass - still(mass, at_pull, age, loosens, loose_at) if age > loosens else 0
        blown += loose
        if length < ready_mm:
            ready += loose
            if mass >= LAYER_MASS:
                coming = cohort
            continue
        ready += mass
        if mass >= LAYER_MASS:
            if length - shorter_mm >= gap:
                layers += 1
            shorter_mm = length
    through = WHOLE - hidden
    outline = rate * (pace * (day - _outlining(coat, through)) / 7 - start)
    return Standing(
        cover=covered / WHOLE,
        through_share=through / WHOLE,
        ready_share=ready / WHOLE,
        ripe_share=ripe / WHOLE,
        ripe_of_oldest=comes_easily(coat.cohorts, growth, pace, day, -(-through // OLDEST)) if ripe else 0.0,
        blown_share=blown / WHOLE,
        longest_mm=max(length, 0.0),
        oldest_weeks=(day - pulled) / 7,
        outline_mm=max(min(outline, cap), 0.0),
        layers=layers,
        next_layer_weeks=None if coming is None else _weeks_to_layer(coat, coming, growth, pace, day),
    )


def _weeks_to_layer(coat: Coat, cohort: Cohort, growth: Growth, pace: float, day: int) -> float | None:
    """Calendar weeks until a cohort is long enough to grip; None if it never will be."""
    when = long_enough(Coat((cohort,), coat.cuts), growth, pace, growth.ready_mm)
    return None if when == inf else max((when - day) / 7, 0.0)


def surface(coat: Coat, growth: Growth, pace: float, day: int) -> Surface:
    """What is seen of the coat on ``day``, as ``standing`` reads it."""
    cap, rate, start = _cap(coat, growth, pace, day), growth.mm_per_week, growth.lag_weeks
    cover_mm, hidden, covered, length = growth.cover_mm, 0, 0.0, -inf
    for mass, pulled, _ in reversed(coat.cohorts):
        if length < cover_mm:  # behind hair that hides the skin all does
            length = rate * (pace * (day - pulled) / 7 - start)
            if length > cap:
                length = cap
            if length < 0:
                hidden += mass
                continue
        covered += mass * (length / cover_mm) if length < cover_mm else mass
    outline = rate * (pace * (day - _outlining(coat, WHOLE - hidden)) / 7 - start)
    return Surface(covered / WHOLE, max(min(outline, cap), 0.0))


def _outlining(coat: Coat, through: int) -> int:
    """The day on which the hair was pulled that a tenth of what stands is longer than: it makes the outline."""
    reached = 0
    for cohort in coat.cohorts:
        reached += cohort.mass
        if reached * 10 >= through:
            break
    return cohort.day


def mass_longer(coat: Coat, growth: Growth, pace: float, day: int, mm: float) -> int:
    """Returns the mass of hair that is loose or longer than ``mm`` (0 or more)."""
    return sum(overgrown_masses(coat, growth, pace, day, mm))


def overgrown_masses(coat: Coat, growth: Growth, pace: float, day: int, mm: float) -> list[int]:
    """Returns the mass of hair that is loose or longer than ``mm``, of each cohort from the oldest on; younger than
    the last has none."""
    _, _, loosens, loose = ripening_days(growth, pace)
    cap, longer = _cap(coat, growth, pace, day), list[int]()
    for mass, pulled, at_pull in coat.cohorts:
        age = day - pulled
        if min(growth.length(pace * age / 7), cap) > mm + _TINY:
            longer.append(mass)
        elif age > loosens:
            longer.append(mass - still(mass, at_pull, age, loosens, loose))
        else:
            break  # all behind is younger, so neither longer nor looser
    return longer


def cover_limit(coat: Coat, growth: Growth, pace: float, day: int, at_least: float) -> int:
    """The greatest mass that can be pulled, oldest first, and leaves ``cover`` at ``at_least``; 0 if below already."""
    cover_mm = growth.cover_mm
    left, kept = WHOLE, 0.0
    for (mass, _, _), length in zip(reversed(coat.cohorts), reversed(_lengths(coat, growth, pace, day)), strict=True):
        left -= mass
        if length < 0:
            continue
        hides = min(1.0, length / cover_mm)
        if (kept + mass * hides) / WHOLE >= at_least:
            return left + mass - _least(mass, kept, hides, at_least)
        kept += mass * hides
    return 0


def _least(mass: int, kept: float, hides: float, at_least: float) -> int:
    """The least part of ``mass``, hiding so much, that with what is kept covers ``at_least``; all of it does."""
    part = ceil(min(max((at_least * WHOLE - kept) / hides, 0.0), mass)) if hides else 0
    # The quotient may miss by rounding; what decides is the expression by which cover is read everywhere.
    while part and (kept + (part - 1) * hides) / WHOLE >= at_least:
        part -= 1
    while part < mass and (kept + part * hides) / WHOLE < at_least:
        part += 1
    return part


def days_until_blown(coat: Coat, growth: Growth, pace: float, day: int) -> int | None:
    """Returns the days from ``day`` until the next cohort is blown, all of it loose, that is not yet; None where all are."""
    due = ripening_days(growth, pace).loose - day
    return next((cohort.day + due for cohort in coat.cohorts if cohort.day + due > 0), None)


def days_until_longer(coat: Coat, growth: Growth, pace: float, day: int, mm: float) -> int | None:
    """Returns the days from ``day`` until the longest hair that is not yet is longer than ``mm``, 0 if all is.

    None if not within three years.
    """
    front = _next_longer(coat, growth, pace, day, mm)
    when = long_enough(front, growth, pace, mm) - day
    return _first_near(lambda days: _lengths(front, growth, pace, day + days)[0] > mm + _TINY, when)


def _next_longer(coat: Coat, growth: Growth, pace: float, day: int, mm: float) -> Coat:
    """The coat from the oldest cohort on that is not longer than ``mm``, at least the youngest."""
    lengths = _lengths(coat, growth, pace, day)
    at = next((at for at, length in enumerate(lengths) if length <= mm + _TINY), len(lengths) - 1)
    return Coat(coat.cohorts[at : at + 1], coat.cuts)


def days_until_ready(coat: Coat, growth: Growth, pace: float, day: int, mass: int, start: int = 0) -> int | None:
    """Days from ``day`` until ``mass`` is ready; not less than ``start``.

    None if not within three years; ``ValueError`` for more than the whole coat.
    """
    youngest = cohort_at(coat, mass)
    lone = Coat((youngest,), coat.cuts)
    blown_from = youngest.day + ripening_days(growth, pace).loose - day
    grip_mm = max(growth.ready_mm - _TINY, 0.0)
    when = min(blown_from, long_enough(lone, growth, pace, grip_mm) - day)
    found = _first_near(
        lambda days: days >= blown_from or _lengths(lone, growth, pace, day + days)[0] >= grip_mm, when, start
    )

    def ready(days: int) -> bool:
        return mass_of(standing(coat, growth, pace, day + days).ready_share) >= mass

    # Of hair too short to grip, cut hair above all, a part may be loose before the rest has grown: then that will do.
    last = HORIZON_DAYS if found is None else found - 1
    return _first(ready, start, last) if last >= start and ready(last) else found


def days_until_pull_possible(
    coat: Coat, growth: Growth, pace: float, day: int, mass: int, at_least: float, start: int = 0
) -> int | None:
    """Days from ``day`` until ``mass`` is ready and pulling it leaves ``cover`` at ``at_least``; not less than ``start``.

    None if not within three years; ``ValueError`` for more than the whole coat.
    """
    ready = days_until_ready(coat, growth, pace, day, mass, start)
    if ready is None:
        return None
    # Ready hair stays ready and cover only grows, so the first day of both is the first day of the later one.
    grown_out = long_enough(Coat(coat.cohorts[-1:], coat.cuts), growth, pace, growth.cover_mm) - day
    return _first(lambda days: covers(coat, growth, pace, day + days, mass, at_least), ready, grown_out)


def covers(coat: Coat, growth: Growth, pace: float, day: int, mass: int, at_least: float) -> bool:
    """Whether pulling ``mass``, all of it through the skin, leaves ``cover`` at ``at_least``: whether ``cover_limit`` lets it."""
    cover_mm = growth.cover_mm
    left, kept = WHOLE - mass, 0.0
    for (own, _, _), length in zip(reversed(coat.cohorts), reversed(_lengths(coat, growth, pace, day)), strict=True):
        stays = own if own < left else left
        if length >= 0:
            kept += stays * min(1.0, length / cover_mm)
        left -= stays
        if not left:
            break
    return kept / WHOLE >= at_least


def cohort_at(coat: Coat, mass: int) -> Cohort:
    """Returns the youngest cohort that a pull of ``mass`` takes from."""
    for cohort in coat.cohorts:
        mass -= cohort.mass
        if mass <= 0:
            return cohort
    raise ValueError(f"{mass} parts per million more than the whole coat")


def long_enough(coat: Coat, growth: Growth, pace: float, mm: float) -> float:
    """Returns when the oldest hair reaches a length, as an ordinal with its fraction, but for rounding; infinite if never."""
    if mm > growth.full_mm:
        return inf
    weeks = mm / growth.mm_per_week
    whole = coat.cohorts[0].day + (growth.lag_weeks + weeks) * 7 / pace
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


def steady_state(growth: Growth, interval_weeks: float, share: float) -> SteadyState:
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
    hidden = max(0, ceil(growth.lag_weeks / interval_weeks - _TINY))
    visits = max(visits, hidden)
    # A layer shows when it can be gripped, some visits after it broke through.
    shows = max(1, ceil((growth.lag_weeks + growth.ready_mm / growth.mm_per_week) / interval_weeks - _TINY))
    grown_out = max(shows, ceil(growth.grown_weeks / interval_weeks))  # beyond it nothing is longer
    lengths = [growth.length(age * interval_weeks) for age in range(shows, min(visits, grown_out) + 1)]
    steps = sum(longer - shorter >= growth.layer_gap_mm - _TINY for shorter, longer in pairwise(lengths))
    return SteadyState(
        visits=visits,
        oldest_weeks=visits * interval_weeks,
        under_skin_share=min(1.0, share * hidden),
        layers=1 + steps if share * WHOLE >= LAYER_MASS and lengths else 0,
    )
