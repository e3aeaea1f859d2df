"""Hair by its growth alone, for tests that ask nothing else of it."""

from __future__ import annotations

from coatrules.coat.growth import Growth


def hair(lag_weeks: float, mm_per_week: float, grows_weeks: float, rests_weeks: float, spread: float = 0.35) -> Growth:
    """Returns hair that can be gripped and covers from the first millimetre on."""
    return Growth(
        lag_weeks=lag_weeks,
        mm_per_week=mm_per_week,
        grows_weeks=grows_weeks,
        rests_weeks=rests_weeks,
        spread=spread,
        ready_mm=1,
        cover_mm=1,
        layer_gap_mm=2,
    )
