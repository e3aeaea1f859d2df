"""What no profile can loosen: when hands stay off the dog, and the cautions that stand in every work order.

Common practice, no source, unless said. Conditions of the dog are named by what a groomer sees or is told; what they are
called in medicine is for a veterinary surgeon.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from math import ceil
from typing import Literal, NamedTuple

from coatrules.catalogue.message import Message, message
from coatrules.dog.history import Visit
from coatrules.read_only import ReadOnly

STOP_RESTS_DAYS = 21
"""A place where the dog said stop is left alone so long (common practice, no source)."""
STOP_SHARE = 0.1
"""The most that is then pulled there, as long as the last thing it said there is stop (common practice, no source)."""
PUPPY_WEEKS = 26.0
PUPPY_MINUTES = 10.0
"""A puppy's time on the table: five to ten minutes (norfolkterrier.org, coat care article, 2000)."""
LIGHTEST_RAKE = 1 / 8
"""Of the usual time of raking: practice goes over a part as lightly as that (common practice, no source)."""
FIRST_VISIT_MINUTES = 15.0
"""A dog's first visit, if it is no longer than this, is for getting used to the table (common practice, no source)."""
BREAK_EVERY_MINUTES = 60.0
"""After so long it is lifted down, walks and drinks (common practice, no source)."""
HALVED_MINUTES = 90.0
"""Up to so long the pause is half-way: nobody lifts a dog down for its last minute (common practice, no source)."""

Stage = Literal["grown", "practice", "first-coat"]
Forbidden = Literal["hand", "all"]


class Guard(NamedTuple):
    """What a condition of the whole dog forbids: hand work, or all work. ``days`` it holds for; None until a visit says otherwise."""

    forbids: Forbidden
    says: Message
    days: int | None = None


HEALTH: Mapping[str, Guard] = ReadOnly(
    {
        "bruises-easily": Guard("hand", message("health.bruises-easily")),
        "in-whelp": Guard("hand", message("health.in-whelp")),
        "long-medication": Guard("hand", message("health.long-medication")),
        "nursing": Guard("hand", message("health.nursing")),
        "parasites": Guard("all", message("health.parasites")),
        "recent-surgery": Guard("all", message("health.recent-surgery")),
        # 48 to 72 hours between a bath and a spot-on treatment (isbusa.com, 2019); carried over to hand work, the longer figure.
        "spot-on-treatment": Guard("hand", message("health.spot-on-treatment"), days=3),
        "unwell": Guard("all", message("health.unwell")),
    }
)


CAUTIONS = (
    message("caution.check-skin"),
    message("caution.few-hairs"),
    message("caution.blunt-knife"),
    message("caution.objects"),
    message("caution.frail"),
    message("caution.heat"),
    # 22 dogs fell ill one to seven days after it, in the median two; 20 had been bathed: C. L. Cain and E. A. Mauldin, "... in dogs
    # following water immersion or exposure to grooming products: 22 cases (2005-2013)", Journal of the American Veterinary Medical
    # Association 246:522-529, 2015 (abstract read, volume and pages from memory). Brushing and stripping before it are suspected.
    message("caution.bath"),
    message("caution.your-hands"),
    message("caution.local-codes"),
)


def in_force(visits: Sequence[Visit], day: date) -> tuple[str, ...]:
    """The conditions that hold on ``day``: as last noted, each for as long as it lasts. ``visits`` come oldest first."""
    noted: tuple[str, ...] = ()
    since = day
    for visit in visits:
        if visit.health is not None:
            noted, since = visit.health, visit.day
    return tuple(sorted({name for name in noted if not _over(name, (day - since).days)}))


def _over(name: str, days: int) -> bool:
    lasts = HEALTH[name].days
    return lasts is not None and days >= lasts


def strictest(health: Iterable[str]) -> Forbidden | None:
    """What the conditions of the dog forbid altogether; None where they forbid nothing."""
    forbidden = {HEALTH[name].forbids for name in health}
    return "all" if "all" in forbidden else "hand" if forbidden else None


def puppy(age_weeks: float | None, first_coat_weeks: float | None) -> bool:
    """Whether a dog is a puppy still: until 26 weeks, or until its first coat comes out where that is later."""
    return age_weeks is not None and age_weeks < max(PUPPY_WEEKS, first_coat_weeks or 0.0)


def grown_on(born: date, first_coat_weeks: float | None) -> date:
    """Returns the first day on which a dog is no puppy any more."""
    return born + timedelta(days=ceil(7 * max(PUPPY_WEEKS, first_coat_weeks or 0.0)))


def raked_share(age_weeks: float | None, first_coat_weeks: float | None) -> float:
    """Returns of the usual time of raking what is taken at the least: practice goes lightly over a puppy."""
    return LIGHTEST_RAKE if puppy(age_weeks, first_coat_weeks) else 1.0


def stage_of(age_weeks: float | None, first_coat_weeks: float | None, visits: int, minutes: float) -> Stage:
    """What a visit is for: all the work; getting used to the table, as at any short first one; or, on a puppy, its first coat as well.

    ``visits``: with the dog before this one. ``minutes``: there are. ``first_coat_weeks``: the age at which the puppy coat comes
    out, None where the profile does not say.
    """
    if visits == 0 and minutes <= FIRST_VISIT_MINUTES:
        return "practice"
    if age_weeks is not None and puppy(age_weeks, first_coat_weeks):
        return "practice" if first_coat_weeks is None or age_weeks < first_coat_weeks else "first-coat"
    return "grown"
