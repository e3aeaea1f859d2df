"""How hair grows back, and the coat of one region as a queue of hair pulled on the same day.

Pure numbers: days are whole ordinals (``date.toordinal()``), ages are weeks (days / 7, not rounded), lengths are
millimetres, masses are whole parts per million of the region's coat. ``pace`` is the dog's own pace: 1 grows as the
profile says, 1.2 a fifth faster. The figures of a ``Growth`` speak of the age times the pace.

Hair under the skin cannot be pulled, and hands take the longest hair, which is the oldest: so what has been pulled
leaves at the front of the queue and comes back, with the day's date, at its end. A cut shortens hair and pulls none.
"""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import NamedTuple

from coatrules.coat.growth import Growth, days_to_age

WHOLE = 1_000_000


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


class Coat(NamedTuple):
    """The coat of one region. ``cohorts`` run from the oldest to the newest and their masses add up to ``WHOLE``."""

    cohorts: tuple[Cohort, ...]
    cuts: tuple[Cut, ...] = ()

    def pulled(self, growth: Growth, pace: float, day: int, share: float, even: bool = False) -> "Coat":
        """The coat after ``share`` (0 to 1) of it was asked for on ``day``; hair under the skin stays."""
        mass = mass_of(share)
        return (
            replay(self, growth, pace, (Pull(day, mass, even),))
            if even
            else longest_pulled(self, growth, pace, day, mass)
        )

    def clipped(self, day: int, leave_mm: float) -> "Coat":
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


def not_before(coat: Coat, day: int | None) -> Coat:
    """The coat with no hair older than ``day``, an ordinal; None where nobody knows when the dog was born."""
    if day is None or coat.cohorts[0].day >= day:
        return coat
    young = tuple(cohort for cohort in coat.cohorts if cohort.day > day)
    return Coat((Cohort(WHOLE - sum(cohort.mass for cohort in young), day), *young), coat.cuts)


def longest_pulled(coat: Coat, growth: Growth, pace: float, day: int, mass: int) -> Coat:
    """The coat after one pull of the longest hair: as ``replay``, but for the way to gather many."""
    if day <= coat.cohorts[-1].day:
        return replay(coat, growth, pace, (Pull(day, mass),))
    through_since = day - days_to_age(growth.breakthrough_weeks, pace)
    hidden = 0
    for own, pulled in reversed(coat.cohorts):
        if pulled <= through_since:
            break
        hidden += own
    taken = min(mass, WHOLE - hidden)
    if not taken:
        return coat
    gone, left = 0, taken
    for own, _ in coat.cohorts:
        if own > left:
            break
        left -= own
        gone += 1
    kept = coat.cohorts[gone:]
    if left:
        kept = (Cohort(own - left, kept[0].day), *kept[1:])
    return _without_idle_cuts((*kept, Cohort(taken, day)), coat.cuts)


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
    return _without_idle_cuts(_newest(masses, days), coat.cuts)


def _without_idle_cuts(cohorts: tuple[Cohort, ...], cuts: tuple[Cut, ...]) -> Coat:
    """A coat without the cuts of which no hair is left."""
    return Coat(cohorts, tuple([cut for cut in cuts if cut.day > cohorts[0].day]) if cuts else ())


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
