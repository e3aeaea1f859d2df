"""What no profile can loosen: when hands stay off the dog, and the cautions that stand in every work order.

Common practice, no source, unless said. Conditions of the dog are named by what a groomer sees or is told; what they are
called in medicine is for a veterinary surgeon.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Literal, NamedTuple

from coatrules.dog.history import Visit

Stops = Literal["hand", "all"]


class Guard(NamedTuple):
    """What a condition of the whole dog forbids: hand work, or all work. ``days`` it holds for; None until a visit says otherwise."""

    stops: Stops
    text: str
    days: int | None = None


HEALTH: dict[str, Guard] = {
    "bruises-easily": Guard(
        "hand", "The dog bruises or bleeds easily: no pulling or carding until a veterinary surgeon agrees."
    ),
    "in-whelp": Guard(
        "hand", "The bitch is in whelp: no pulling or carding; ask a veterinary surgeon what she may be asked to bear."
    ),
    "long-medication": Guard(
        "hand",
        "The dog is on long medication, which can thin the skin: no pulling or carding until a veterinary surgeon agrees.",
    ),
    "nursing": Guard(
        "hand", "The bitch is nursing: no pulling or carding; ask a veterinary surgeon when it may begin again."
    ),
    "parasites": Guard(
        "all",
        "Parasites were seen: no work today. Send the dog to a veterinary surgeon, then clean the place and disinfect the tools.",
    ),
    "recent-surgery": Guard("all", "The dog was operated on recently: no work until a veterinary surgeon agrees."),
    # 48 to 72 hours between a bath and a spot-on treatment (isbusa.com, 2019); carried over to hand work, the longer figure.
    "spot-on-treatment": Guard(
        "hand", "A spot-on treatment was given less than three days ago: no pulling or carding yet.", days=3
    ),
    "unwell": Guard("all", "The dog is unwell: no work today. Send it to a veterinary surgeon."),
}

UNSOUND_SKIN = "The skin here is not sound: hands and tools stay off. Send the dog to a veterinary surgeon."

CAUTIONS = (
    "Check the skin of every part before you begin. Where it is broken, sore or lumpy, leave it and send the dog to a veterinary surgeon.",
    "Pull a few hairs at a time, with the lay of the coat, the skin held taut. Hair that needs a hard pull is not ready: leave it.",
    "A knife that pulls must never cut: keep it blunt. Feel the clipper blade on your own wrist; change it when it is warm.",
    "Stop where the dog objects, work elsewhere, come back later or another day. Never leave a dog alone on the table or tied by the neck.",
    "Spare your hands: change grip and posture, rest between parts, gloves or rubber grips on sore fingers.",
    "Local animal welfare codes and the advice of a veterinary surgeon come before this sheet.",
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


def strictest(health: Iterable[str]) -> Stops | None:
    """What the conditions of the dog forbid altogether; None where they forbid nothing."""
    stops = {HEALTH[name].stops for name in health}
    return "all" if "all" in stops else "hand" if stops else None
