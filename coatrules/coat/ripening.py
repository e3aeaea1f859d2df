"""What of a coat is ripe and what is loose, and on which day so much of it will be.

Pure numbers, as in ``queue``: days are whole ordinals, masses whole parts per million of the region's coat. Stopped hair is
ripe (at rest, it comes easily) and, after its rest, loose.
"""

from __future__ import annotations

from collections.abc import Sequence

from coatrules.coat.growth import Growth, days_to_age, ripening_days
from coatrules.coat.queue import Cohort, still

HORIZON_DAYS = 1096  # three years: a date further away is no plan
OLDEST = 10  # what a hand feels first is a tenth of what stands


def ripe_masses(cohorts: Sequence[Cohort], growth: Growth, pace: float, day: int) -> list[int]:
    """Returns the ripe mass of each cohort on ``day``."""
    first, last, _, _ = ripening_days(growth, pace)
    return [mass - still(mass, at_pull, day - pulled, first, last) for mass, pulled, at_pull in cohorts]


def loose_masses(cohorts: Sequence[Cohort], growth: Growth, pace: float, day: int) -> list[int]:
    """Returns the loose mass of each cohort on ``day``."""
    _, _, first, last = ripening_days(growth, pace)
    return [mass - still(mass, at_pull, day - pulled, first, last) for mass, pulled, at_pull in cohorts]


def comes_easily(cohorts: Sequence[Cohort], growth: Growth, pace: float, day: int, mass: int) -> float:
    """Returns the ripe part (0 to 1) of ``mass`` of the oldest hair that stands; 0 where no hair is asked for or stands.

    Hair of one cohort does not tell before it is tried: of a cohort that is asked for in part, as much is ripe as of all
    of it. ``holds`` is 1 minus this.
    """
    first, last, _, _ = ripening_days(growth, pace)
    lag = days_to_age(growth.lag_weeks, pace)
    left, ripe = mass, 0.0
    for own, pulled, at_pull in cohorts:
        age = day - pulled
        if not left or age < lag:
            break
        part = own if own < left else left
        left -= part
        if age > first:
            ripe += part * (own - still(own, at_pull, age, first, last)) / own
    return ripe / (mass - left) if mass > left else 0.0


def days_until_ripe(cohorts: Sequence[Cohort], growth: Growth, pace: float, day: int, mass: int) -> int | None:
    """Returns the days from ``day`` until ``mass`` is ripe, 0 if it is; None if not within three years."""
    first, last, _, _ = ripening_days(growth, pace)

    def come(days: int) -> bool:
        return sum(c.mass - still(c.mass, c.at_pull, day + days - c.day, first, last) for c in cohorts) >= mass

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
