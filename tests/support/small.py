"""The small rough coat of invented figures that many tests share; what is asked of it each test says itself."""

from __future__ import annotations

from typing import Any


def profile(*, minutes: float = 60, undercoat_weeks: float | None = None, **sections: Any) -> dict[str, Any]:
    """A profile of one coat, ``jacket``, seen every three weeks for ``minutes``; ``sections``: its other keys, or others."""
    jacket: dict[str, float] = {
        "lag_weeks": 4,
        "mm_per_week": 2.1,
        "full_mm": 42,
        "rests_weeks": 2,
        "ready_mm": 6,
        "cover_mm": 6,
        "layer_gap_mm": 2,
    }
    if undercoat_weeks is not None:
        jacket["undercoat_weeks"] = undercoat_weeks
    visit = {"every_weeks": 3, "minutes": minutes, "pace_spread": 0.15}
    return {"format": 2, "id": "small", "label": "Small", "visit": visit, "coats": {"jacket": jacket}, **sections}
