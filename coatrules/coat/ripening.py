"""Hair that grows, rests and comes: the ripe and the loose part of a coat, and pulls that take what is ripe.

Pure numbers: days are whole ordinals (``date.toordinal()``), ages weeks, lengths millimetres, masses whole parts per
million of the region's coat. ``pace`` is the dog's own: the figures of a ``HairCycle`` speak of the age times the pace.

All hair pulled on one day grows alike, but it stops one after the other: the first after ``(1 - spread)`` of the growing
time, the last after all of it, evenly between. Stopped hair is ripe (at rest, it comes easily) and, after its rest,
loose. Hands that leave what holds take the hair that stopped first; how much a cohort once was (``at_pull``) tells the
ripe part of what is left.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from math import ceil
from typing import Literal, NamedTuple

WHOLE = 1_000_000
HORIZON_DAYS = 1096  # three years: a date further away is no plan
OLDEST = 10  # what a hand feels first is a tenth of what stands

Pick = Literal["longest", "ripe", "even"]


class HairCycle(NamedTuple):
    """How hair of one kind grows, rests and comes on the typical dog, in weeks from the pull.

    lag_weeks: until the new hair stands at the skin. mm_per_week: how fast it then grows. grows_weeks: how long the last
    hair of a coat grows. rests_weeks: from the end of its growth until a hair is loose. spread: the first hair stops
    ``spread * grows_weeks`` before the last; above 0, at most 1.
    """

    lag_weeks: float
    mm_per_week: float
    grows_weeks: float
    rests_weeks: float
    spread: float = 0.35

    @property
    def full_mm(self) -> float:
        """The length at which the longest hair stops."""
        return self.mm_per_week * self.grows_weeks

    @property
    def ripens_weeks(self) -> float:
        """The age at which the first hair stops growing."""
        return self.lag_weeks + (1 - self.spread) * self.grows_weeks

    @property
    def grown_weeks(self) -> float:
        """The age at which the last hair stops growing."""
        return self.lag_weeks + self.grows_weeks

    @property
    def blown_weeks(self) -> float:
        """The age at which the last hair is loose."""
        return self.lag_weeks + self.grows_weeks + self.rests_weeks

    def length(self, age_weeks: float) -> float:
        """Returns the length in mm of the longest hair at an age at pace 1, uncut; 0 under the skin."""
        return self.mm_per_week * min(max(age_weeks - self.lag_weeks, 0.0), self.grows_weeks)

    def ripe_share(self, age_weeks: float) -> float:
        """Returns the share (0 to 1) of hair of one age that has stopped growing."""
        return min(max((age_weeks - self.ripens_weeks) / (self.spread * self.grows_weeks), 0.0), 1.0)

    def loose_share(self, age_weeks: float) -> float:
        """Returns the share (0 to 1) of hair of one age that has ended its rest."""
        return self.ripe_share(age_weeks - self.rests_weeks)

    def age_when_ripe(self, share: float) -> float:
        """Returns the age in weeks at pace 1 at which ``share`` (0 to 1) is ripe; ``ValueError`` for other shares."""
        if not 0 <= share <= 1:
            raise ValueError(f"a share is 0 to 1, not {share}")
        return self.lag_weeks + self.grows_weeks * (1 - self.spread + self.spread * share)


class Cohort(NamedTuple):
    """Hair pulled on the same day: its mass today and when it was pulled (``at_pull``), in parts per million, and the day."""

    mass: int
    day: int
    at_pull: int


class Pull(NamedTuple):
    """What came on ``day``: ``mass`` of the longest hair, of the ripe hair (the oldest first), or of an even sample."""

    day: int
    mass: int
    pick: Pick = "longest"


class Ripening(NamedTuple):
    """Whole days from the pull: the last on which no hair is ripe and the first on which all is; the same for loose."""

    ripens: int
    ripe: int
    loosens: int
    loose: int


class Ripe(NamedTuple):
    """What is ripe and loose on a day. Shares are 0 to 1.

    ripe_of_oldest: of the oldest tenth of what stands, which a hand feels first.
    """

    ripe_share: float
    blown_share: float
    ripe_of_oldest: float


@lru_cache(maxsize=4096)
def days_to_age(weeks: float, pace: float) -> int:
    """Returns the first whole day after a pull on which the hair's age times the pace reaches ``weeks``."""
    days = max(0, ceil(weeks * 7 / pace))
    # The estimate may miss by rounding; what decides is the expression by which ages are read everywhere.
    while days and pace * (days - 1) / 7 >= weeks:
        days -= 1
    while pace * days / 7 < weeks:
        days += 1
    return days


@lru_cache(maxsize=4096)  # the dogs of a book share the figures of their coats, and most of them a pace
def ripening_days(cycle: HairCycle, pace: float) -> Ripening:
    """Returns the days on which hair of this cycle ripens and loosens at a pace."""
    ripens, loosens = (days_to_age(cycle.ripens_weeks + rest, pace) for rest in (0.0, cycle.rests_weeks))
    ripe, loose = (days_to_age(weeks, pace) for weeks in (cycle.grown_weeks, cycle.blown_weeks))
    return Ripening(ripens, max(ripens + 1, ripe), loosens, max(loosens + 1, loose))


def _still(mass: int, at_pull: int, age_days: int, first: int, last: int) -> int:
    """The mass that has not come so far by an age: all up to ``first``, none from ``last``, rounded up between."""
    if age_days >= last:
        return 0
    if age_days <= first:
        return mass
    return min(mass, -(-at_pull * (last - age_days) // (last - first)))


def ripe_masses(cohorts: Sequence[Cohort], cycle: HairCycle, pace: float, day: int) -> list[int]:
    """Returns the ripe mass of each cohort on ``day``."""
    first, last, _, _ = ripening_days(cycle, pace)
    return [mass - _still(mass, at_pull, day - pulled, first, last) for mass, pulled, at_pull in cohorts]


def loose_masses(cohorts: Sequence[Cohort], cycle: HairCycle, pace: float, day: int) -> list[int]:
    """Returns the loose mass of each cohort on ``day``."""
    _, _, first, last = ripening_days(cycle, pace)
    return [mass - _still(mass, at_pull, day - pulled, first, last) for mass, pulled, at_pull in cohorts]


def measure_ripe(cohorts: Sequence[Cohort], cycle: HairCycle, pace: float, day: int) -> Ripe:
    """Returns what is ripe and loose on ``day``, of cohorts from the oldest to the newest."""
    first, last, loosens, loose = ripening_days(cycle, pace)
    lag = days_to_age(cycle.lag_weeks, pace)
    standing = 0
    for mass, pulled, _ in cohorts:
        if day - pulled < lag:
            break
        standing += mass
    ripe = blown = 0
    for mass, pulled, at_pull in cohorts:
        age = day - pulled
        if age <= first:
            break  # all behind is younger
        ripe += mass - _still(mass, at_pull, age, first, last)
        if age > loosens:
            blown += mass - _still(mass, at_pull, age, loosens, loose)
    felt = comes_easily(cohorts, cycle, pace, day, -(-standing // OLDEST))
    return Ripe(ripe / WHOLE, blown / WHOLE, felt)


def comes_easily(cohorts: Sequence[Cohort], cycle: HairCycle, pace: float, day: int, mass: int) -> float:
    """Returns the ripe part (0 to 1) of ``mass`` of the oldest hair that stands; 0 where no hair is asked for or stands.

    Hair of one cohort does not tell before it is tried: of a cohort that is asked for in part, as much is ripe as of all
    of it. ``holds`` is 1 minus this.
    """
    first, last, _, _ = ripening_days(cycle, pace)
    lag = days_to_age(cycle.lag_weeks, pace)
    left, ripe = mass, 0.0
    for own, pulled, at_pull in cohorts:
        age = day - pulled
        if not left or age < lag:
            break
        part = own if own < left else left
        left -= part
        if age > first:
            ripe += part * (own - _still(own, at_pull, age, first, last)) / own
    return ripe / (mass - left) if mass > left else 0.0


def days_until_ripe(cohorts: Sequence[Cohort], cycle: HairCycle, pace: float, day: int, mass: int) -> int | None:
    """Returns the days from ``day`` until ``mass`` is ripe, 0 if it is; None if not within three years."""
    first, last, _, _ = ripening_days(cycle, pace)
    return _days_until(cohorts, day, mass, first, last)


def days_until_loose(cohorts: Sequence[Cohort], cycle: HairCycle, pace: float, day: int, mass: int = 1) -> int | None:
    """Returns the days from ``day`` until ``mass`` is loose, 0 if it is; None if not within three years."""
    _, _, first, last = ripening_days(cycle, pace)
    return _days_until(cohorts, day, mass, first, last)


def _days_until(cohorts: Sequence[Cohort], day: int, mass: int, first: int, last: int) -> int | None:
    def come(days: int) -> bool:
        return sum(c.mass - _still(c.mass, c.at_pull, day + days - c.day, first, last) for c in cohorts) >= mass

    if come(0):
        return 0
    low, high = 0, HORIZON_DAYS
    # The cohort with which enough can be ripe bounds the day from both sides.
    reached = 0
    for cohort in cohorts:
        reached += cohort.mass
        if reached >= mass:
            high = min(high, max(cohort.day + last - day, 1))
            break
    if not come(high):
        return None
    while high - low > 1:
        middle = (low + high) // 2
        if come(middle):
            high = middle
        else:
            low = middle
    return high


def replay(cohorts: Sequence[Cohort], cycle: HairCycle, pace: float, pulls: Iterable[Pull]) -> tuple[Cohort, ...]:
    """Returns the cohorts after all ``pulls``, given in order of day.

    Each takes at most what stands through the skin (``longest``, ``even``) or is ripe (``ripe``). ``ValueError`` where
    one comes before an earlier pull.
    """
    # Hair leaves at the front and comes back at the end, so a visit touches the cohorts it empties, one more, and with
    # `ripe` those that are just ripening: the cost is linear in the visits.
    lag = days_to_age(cycle.lag_weeks, pace)
    first, last, _, _ = ripening_days(cycle, pace)
    masses = [cohort.mass for cohort in cohorts]
    days = [cohort.day for cohort in cohorts]
    at_pulls = [cohort.at_pull for cohort in cohorts]
    front = hidden_from = through = 0
    latest = days[-1]
    for day, mass, pick in pulls:
        if day < latest:
            raise ValueError(f"pulls must come in order: day {day} after day {latest}")
        latest = day
        while hidden_from < len(days) and days[hidden_from] <= day - lag:
            through += masses[hidden_from]
            hidden_from += 1
        taken = mass if mass < through else through
        if pick == "longest":
            left = taken
            while left:
                own = masses[front]
                if own <= left:
                    left -= own
                    front += 1
                    continue
                own -= left
                left = 0
                masses[front] = own
                age = day - days[front]
                # Of unripe hair, which does not tell when it will stop, any goes: what is left is thinner all along. It
                # is the unripe part of the least number that has such a one.
                if age <= first:
                    at_pulls[front] = own
                elif age < last:
                    at_pulls[front] = min(at_pulls[front], (own - 1) * (last - first) // (last - age) + 1)
        elif pick == "ripe":
            left = taken
            for at in range(front, hidden_from):
                age = day - days[at]
                if not left or age <= first:
                    break
                own = masses[at]
                part = min(own - _still(own, at_pulls[at], age, first, last), left)
                left -= part
                masses[at] = own - part
                if part == own:
                    front = at + 1  # all older hair is ripe too, and taken
            taken -= left
        elif taken:
            _take_evenly(masses, at_pulls, range(front, hidden_from), taken, through)
            kept = [at for at in range(front, len(days)) if masses[at]]
            hidden_from = sum(at < hidden_from for at in kept)
            front = 0
            masses, days, at_pulls = ([of[at] for at in kept] for of in (masses, days, at_pulls))
        if not taken:
            continue
        through -= taken
        if len(days) > front and days[-1] == day:
            masses[-1] += taken
            at_pulls[-1] += taken
            if hidden_from == len(days):  # hair without a lag stands at once
                through += taken
        else:
            masses.append(taken)
            days.append(day)
            at_pulls.append(taken)
    return tuple(map(Cohort, masses[front:], days[front:], at_pulls[front:]))


def _take_evenly(masses: list[int], at_pulls: list[int], standing: range, taken: int, through: int) -> None:
    """Takes in proportion from all hair that stands, exact by largest remainder (the older first)."""
    given = {at: taken * masses[at] // through for at in standing}
    by_remainder = sorted(standing, key=lambda at: -(taken * masses[at] % through))
    for at in by_remainder[: taken - sum(given.values())]:
        given[at] += 1
    for at, gave in given.items():
        own = masses[at]
        masses[at] = own - gave
        at_pulls[at] = (2 * at_pulls[at] * (own - gave) + own) // (2 * own)
