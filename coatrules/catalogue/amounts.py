"""Shares, times and lengths as a groomer says them: which sentence of the catalogue, and what fills it in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

Said = tuple[str, Mapping[str, Any]]
"""A code of the catalogue and its parameters."""

FRACTIONS: Final = (
    *((1, 2), (1, 3), (2, 3), (1, 4), (3, 4), (1, 5), (2, 5), (3, 5), (4, 5), (1, 6), (1, 7), (1, 8), (1, 10), (9, 10)),
    *((1, 12), (1, 15), (1, 16), (1, 20), (1, 25), (1, 30), (1, 40)),
)
"""The fractions that people name, as numerator and denominator."""
FURTHER: Final = 0.08
"""So much more than a fraction is a good one, and so much less is just under it, as a part of it."""
TOLD_CLOSER: Final = (0.2, 0.8)
"""Fractions that are told so. Below and above these they lie close enough."""
GREATEST_ERROR: Final = (1 / 8, 1 / 200)
"""Words are at most so far from a share of a fortieth or more: as a part of it, or of the whole coat. No hand is surer."""


def _tellable() -> dict[str, float]:
    tellable = {f"{above}-{below}": above / below for above, below in FRACTIONS}
    for name, value in list(tellable.items()):
        if TOLD_CLOSER[0] <= value <= TOLD_CLOSER[1]:
            tellable |= {f"good.{name}": value * (1 + FURTHER), f"under.{name}": value * (1 - FURTHER)}
    return tellable | {"nearly-all": 0.96, "all": 1.0}


TELLABLE: Final[Mapping[str, float]] = _tellable()
"""Every share that words tell, by the end of its code: what is told as ``under.1-3`` is understood as 0.92 of a third."""
TOLD_WHOLE: Final = 10
"""From so many minutes on a half would be too sure."""
SMALLEST: Final = min(TELLABLE.values())


def share_said(share: float) -> Said:
    """A share (0 to 1) to the nearest that people name: ``a fifth``, ``a good quarter``, ``just under a third``, ``all``, ``none``."""
    if share <= 0:
        return "amount.share.none", {}
    if share < SMALLEST:
        return "amount.share.hardly", {}
    return f"amount.share.{_nearest(share)}", {}


def share_as_told(share: float) -> float:
    """The share that the words for this one tell: what is told as a sixth is a sixth."""
    return TELLABLE[_nearest(share)]


def _nearest(share: float) -> str:
    return min(TELLABLE, key=lambda name: abs(TELLABLE[name] - share))


def fraction_said(share: float) -> Said:
    """The same in figures, where there is little room: ``1/5``, ``good 1/4``, ``all``."""
    code, params = share_said(share)
    further, _, name = code.removeprefix("amount.share.").rpartition(".")
    if "-" not in name or not name[0].isdecimal():
        return code, params
    above, _, below = name.partition("-")
    return f"amount.fraction{further and '.' + further}", {"above": above, "below": below}


def weeks_said(weeks: float) -> Said:
    """A time in weeks: in days below two weeks, where it is not whole weeks; above, whole or, where it was set so, half ones."""
    days = round(weeks * 7)
    if days < 14 and days % 7:
        return "amount.weeks.days", {"days": days}
    halves_set = round(weeks * 2) / 2
    weeks = halves_set if abs(weeks - halves_set) < 1e-9 else round(weeks)
    return "amount.weeks.weeks", {"weeks": int(weeks) if weeks == int(weeks) else weeks}


def minutes_said(minutes: float) -> Said:
    """Minutes: ``4½ min``, from ten on whole ones."""
    return "amount.minutes", {"minutes": halves(minutes) if minutes < TOLD_WHOLE else str(half_up(minutes))}


def half_up(minutes: float) -> int:
    """Whole minutes, halves up."""
    return int(minutes + 0.5)


def halves(number: float) -> str:
    """A number to the half: ``4½``."""
    whole, half = divmod(round(number * 2), 2)
    return f"{whole if whole or not half else ''}{'½' if half else ''}"


def mm_said(length: float) -> Said:
    """A length in millimetres: whole, below one to the tenth."""
    return "amount.mm", {"mm": round(length) if length >= 1 else round(length, 1)}
