"""From when a coat can be stripped out whole, and what counts as that."""

from __future__ import annotations

from coatrules.coat.growth import Growth
from coatrules.coat.measures import days_until_ready
from coatrules.coat.queue import Coat
from coatrules.coat.ripening import HORIZON_DAYS, days_until_ripe

NEARLY_ALL = 0.6
"""From this share on a part is stripped out whole, and not rolled: growing hair would come with it. No source."""
RIPE_FROM = 0.1
"""Ripe share of the coat from which nearly everything may be asked for. Who strips a terrier every 13 weeks takes it at about 0.1
(growth.csv, E048, E051)."""


def strippable_from(coat: Coat, growth: Growth, pace: float, day: int) -> int:
    """Returns the first day (an ordinal) from ``day`` on on which an order would ask for a whole coat, or for what is left of one: all of
    it can be gripped, and enough has stopped growing."""
    mass = sum(cohort.mass for cohort in coat.cohorts)
    ready = days_until_ready(coat, growth, pace, day, mass)
    ripe = days_until_ripe(coat.cohorts, growth, pace, day, round(RIPE_FROM * mass))
    return day + max(HORIZON_DAYS if days is None else days for days in (ready, ripe))
