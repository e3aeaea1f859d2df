"""What no profile can loosen: when hands stay off the dog, and the cautions that stand in every work order.

Common practice, no source, unless said. Conditions of the dog are named by what a groomer sees or is told; what they are
called in medicine is for a veterinary surgeon.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Literal, NamedTuple

from coatrules.catalogue.message import Message, message
from coatrules.dog.history import Visit
from coatrules.read_only import ReadOnly

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

UNSOUND_SKIN = message("skin.unsound")

CAUTIONS = (
    message("caution.check-skin"),
    message("caution.few-hairs"),
    message("caution.blunt-knife"),
    message("caution.objects"),
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
