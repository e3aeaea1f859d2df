"""Shares, times and lengths as a groomer says them: which sentence of the catalogue, and what fills it in."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

Said = tuple[str, Mapping[str, Any]]
"""A code of the catalogue and its parameters."""

FRACTIONS: Final = (
    *((1, 2), (1, 3), (2, 3), (1, 4), (3, 4), (1, 5), (2, 5), (3, 5), (4, 5), (1, 6), (1, 7), (1, 8)),
    *((1, 10), (1, 12), (1, 15), (1, 20), (1, 30)),
)
"""The fractions that people name, as numerator and denominator."""
NEAR = 0.12
"""A share is said as a fraction that is at most so far from it, as a part of it."""


def share_said(share: float) -> Said:
    """A share (0 to 1): ``a fifth``, ``about a third``, ``all``, ``none``, or in per cent where no fraction is near."""
    if share >= 0.995:
        return "amount.share.all", {}
    if share <= 0:
        return "amount.share.none", {}
    above, below = min(FRACTIONS, key=lambda named: abs(named[0] / named[1] - share) / (named[0] / named[1]))
    away = abs(above / below - share)
    if away / share > NEAR:
        return "amount.share.percent", {"percent": round(share * 100)}
    return ("amount.share" if away <= 0.004 else "amount.share.about") + f".{above}-{below}", {}


def fraction_said(share: float) -> Said:
    """A share in figures, where there is little room: ``1/5``, ``all``, or in per cent where no fraction is near."""
    code, params = share_said(share)
    name = code.rpartition(".")[2]
    return (
        ("amount.fraction", {"above": name.partition("-")[0], "below": name.partition("-")[2]})
        if "-" in name
        else (code, params)
    )


def weeks_said(weeks: float) -> Said:
    """A time in weeks: in days below two weeks, where it is not whole weeks."""
    days = round(weeks * 7)
    if days < 14 and days % 7:
        return "amount.weeks.days", {"days": days}
    tenths = round(weeks * 10)
    return "amount.weeks.weeks", {"weeks": tenths // 10 if tenths % 10 == 0 else tenths / 10}


def minutes_said(minutes: float) -> Said:
    """Minutes to the half: ``4½ min``."""
    return "amount.minutes", {"minutes": halves(minutes)}


def halves(number: float) -> str:
    """A number to the half: ``4½``."""
    whole, half = divmod(round(number * 2), 2)
    return f"{whole if whole or not half else ''}{'½' if half else ''}"


def mm_said(length: float) -> Said:
    """A length in millimetres: whole, below one to the tenth."""
    return "amount.mm", {"mm": round(length) if length >= 1 else round(length, 1)}
