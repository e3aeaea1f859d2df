"""How hair grows back, and the coat of one region as a queue of hair pulled on the same day.

Pure numbers: days are whole ordinals (``date.toordinal()``), ages are weeks (days / 7, not rounded), lengths are
millimetres, masses are whole parts per million of the region's coat. ``pace`` is the dog's own pace: 1 grows as the
profile says, 1.2 a fifth faster. The figures of a ``Growth`` speak of the age times the pace.

Hair under the skin cannot be pulled, and hands take the longest hair, which is the oldest: so what has been pulled
leaves at the front of the queue and comes back, with the day's date, at its end. Hands that leave what holds take the
hair that stopped growing first; how much a cohort once was (``at_pull``) tells the ripe part of what is left. A cut
shortens hair and pulls none.
"""

from collections.abc import Iterable
from datetime import date
from typing import Literal, NamedTuple

from coatrules.coat.growth import Growth, days_to_age, ripening_days

WHOLE = 1_000_000

Pick = Literal["longest", "ripe", "even"]


class Cohort(NamedTuple):
    """Hair pulled on the same day: its mass today and when it was pulled (``at_pull``), in parts per million, and the day."""

    mass: int
    day: int
    at_pull: int


class Cut(NamedTuple):
    """A clipping or scissoring on ``day`` that left ``leave_mm``."""

    day: int
    leave_mm: float


class Pull(NamedTuple):
    """What came on ``day``: ``mass`` of the longest hair, of the ripe hair (the oldest first), or of an even sample."""

    day: int
    mass: int
    pick: Pick = "longest"


class Coat(NamedTuple):
    """The coat of one region. ``cohorts`` run from the oldest to the newest and their masses add up to ``WHOLE``."""

    cohorts: tuple[Cohort, ...]
    cuts: tuple[Cut, ...] = ()

    def pulled(self, growth: Growth, pace: float, day: int, share: float, pick: Pick = "longest") -> "Coat":
        """Returns the coat after ``share`` (0 to 1) of it was asked for on ``day``; hair under the skin stays."""
        mass = mass_of(share)
        if pick == "longest":
            return longest_pulled(self, growth, pace, day, mass)
        return replay(self, growth, pace, (Pull(day, mass, pick),))

    def clipped(self, day: int, leave_mm: float) -> "Coat":
        """Returns the coat after it was cut to ``leave_mm`` on ``day``."""
        # An earlier cut that left as much has grown past this one for good.
        return Coat(self.cohorts, (*(cut for cut in self.cuts if cut.leave_mm < leave_mm), Cut(day, leave_mm)))

    def hair(self) -> tuple[tuple[float, date], ...]:
        """Returns the share (0 to 1) and the day of each cohort, oldest first."""
        return tuple([(mass / WHOLE, date.fromordinal(day)) for mass, day, _ in self.cohorts])


def fresh(mass: int, day: int) -> Cohort:
    """Returns hair pulled on a day of which nothing has come since."""
    return Cohort(mass, day, mass)


def mass_of(share: float) -> int:
    """Returns a share (0 to 1) in parts per million; ``mass_of(mass / WHOLE) == mass``. ``ValueError`` outside 0 to 1."""
    if not 0 <= share <= 1:
        raise ValueError(f"a share is 0 to 1, not {share}")
    return round(share * WHOLE)


def grown(
    day: int, growth: Growth, *, weeks: float | None = None, longest_mm: float | None = None, pace: float = 1.0
) -> Coat:
    """Returns the coat a dog arrives with on ``day``: of an age in calendar weeks, or of a length in mm, or else grown out.

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
        days = ripening_days(growth, pace).loose
    return Coat((fresh(WHOLE, day - days),))


def not_before(coat: Coat, day: int | None) -> Coat:
    """Returns the coat with no hair older than ``day``, an ordinal; None where nobody knows when the dog was born."""
    if day is None or coat.cohorts[0].day >= day:
        return coat
    young = tuple(cohort for cohort in coat.cohorts if cohort.day > day)
    return Coat((fresh(WHOLE - sum(cohort.mass for cohort in young), day), *young), coat.cuts)


def longest_pulled(coat: Coat, growth: Growth, pace: float, day: int, mass: int) -> Coat:
    """Returns the coat after one pull of the longest hair: as ``replay``, but for the way to gather many."""
    if day <= coat.cohorts[-1].day:
        return replay(coat, growth, pace, (Pull(day, mass),))
    through_since = day - days_to_age(growth.lag_weeks, pace)
    hidden = 0
    for cohort in reversed(coat.cohorts):
        if cohort.day <= through_since:
            break
        hidden += cohort.mass
    taken = min(mass, WHOLE - hidden)
    if not taken:
        return coat
    gone, left = 0, taken
    for cohort in coat.cohorts:
        if cohort.mass > left:
            break
        left -= cohort.mass
        gone += 1
    kept = coat.cohorts[gone:]
    if left:
        kept = (_thinned(kept[0], left, growth, pace, day), *kept[1:])
    return _without_idle_cuts((*kept, fresh(taken, day)), coat.cuts)


def _thinned(cohort: Cohort, taken: int, growth: Growth, pace: float, day: int) -> Cohort:
    """What is left of a cohort, longest hair taken, not all of it. Of unripe hair, which does not tell when it will stop, any
    goes: what is left is thinner all along. It is the unripe part of the least number that has such a one."""
    first, last, _, _ = ripening_days(growth, pace)
    left, age, at_pull = cohort.mass - taken, day - cohort.day, cohort.at_pull
    if age <= first:
        at_pull = left
    elif age < last:
        at_pull = min(at_pull, (left - 1) * (last - first) // (last - age) + 1)
    return Cohort(left, cohort.day, at_pull)


def still(mass: int, at_pull: int, age_days: int, first: int, last: int) -> int:
    """Returns the mass that has not come so far by an age: all up to ``first``, none from ``last``, rounded up between."""
    if age_days >= last:
        return 0
    if age_days <= first:
        return mass
    return min(mass, -(-at_pull * (last - age_days) // (last - first)))


def replay(coat: Coat, growth: Growth, pace: float, pulls: Iterable[Pull]) -> Coat:
    """Returns the coat after all ``pulls``, given in order of day.

    Each takes at most what stands through the skin (``longest``, ``even``) or is ripe (``ripe``). ``ValueError`` where
    one comes before an earlier pull.
    """
    # Hair leaves at the front and comes back at the end, so a visit touches the cohorts it empties, one more, and with
    # `ripe` those that are just ripening: the cost is linear in the visits.
    lag = days_to_age(growth.lag_weeks, pace)
    first, last, _, _ = ripening_days(growth, pace)
    cohorts = list(coat.cohorts)
    front = hidden_from = through = 0
    latest = cohorts[-1].day
    for day, mass, pick in pulls:
        if day < latest:
            raise ValueError(f"pulls must come in order: day {day} after day {latest}")
        latest = day
        while hidden_from < len(cohorts) and cohorts[hidden_from].day <= day - lag:
            through += cohorts[hidden_from].mass
            hidden_from += 1
        taken = mass if mass < through else through
        left = taken
        if pick == "longest":
            while left:
                cohort = cohorts[front]
                if cohort.mass <= left:
                    left -= cohort.mass
                    front += 1
                else:
                    cohorts[front] = _thinned(cohort, left, growth, pace, day)
                    left = 0
        elif pick == "ripe":
            for at in range(front, hidden_from):
                own, pulled, at_pull = cohorts[at]
                age = day - pulled
                if not left or age <= first:
                    break
                part = min(own - still(own, at_pull, age, first, last), left)
                left -= part
                cohorts[at] = Cohort(own - part, pulled, at_pull)
                if part == own:
                    front = at + 1  # all older hair is ripe too, and taken
            taken -= left
        elif taken:
            _take_evenly(cohorts, range(front, hidden_from), taken, through)
            kept = [at for at in range(front, len(cohorts)) if cohorts[at].mass]
            hidden_from = sum(at < hidden_from for at in kept)
            front = 0
            cohorts = [cohorts[at] for at in kept]
        if not taken:
            continue
        through -= taken
        if len(cohorts) > front and cohorts[-1].day == day:
            before = cohorts[-1]
            cohorts[-1] = Cohort(before.mass + taken, day, before.at_pull + taken)
            if hidden_from == len(cohorts):  # hair without a lag stands at once
                through += taken
        else:
            cohorts.append(fresh(taken, day))
    return _without_idle_cuts(tuple(cohorts[front:]), coat.cuts)


def _take_evenly(cohorts: list[Cohort], standing: range, taken: int, through: int) -> None:
    """Takes in proportion from all hair that stands, exact by largest remainder (the older first)."""
    given = {at: taken * cohorts[at].mass // through for at in standing}
    by_remainder = sorted(standing, key=lambda at: -(taken * cohorts[at].mass % through))
    for at in by_remainder[: taken - sum(given.values())]:
        given[at] += 1
    for at, gave in given.items():
        own, day, at_pull = cohorts[at]
        cohorts[at] = Cohort(own - gave, day, (2 * at_pull * (own - gave) + own) // (2 * own))


def _without_idle_cuts(cohorts: tuple[Cohort, ...], cuts: tuple[Cut, ...]) -> Coat:
    """A coat without the cuts of which no hair is left."""
    return Coat(cohorts, tuple([cut for cut in cuts if cut.day > cohorts[0].day]) if cuts else ())
