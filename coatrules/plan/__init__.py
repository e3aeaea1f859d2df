"""Planning ahead: the next months, the way back from a show day, and which interval to keep. Needs the extra ``plan``."""

from coatrules.plan.ahead import plan_ahead
from coatrules.plan.intervals import compare_intervals
from coatrules.plan.results import (
    Interval,
    Intervals,
    Plan,
    PlannedVisit,
    RegionOutlook,
    RegionVisit,
    Stage,
    StagedStrip,
)
from coatrules.plan.show import staged_strip

__all__ = [
    "Interval",
    "Intervals",
    "Plan",
    "PlannedVisit",
    "RegionOutlook",
    "RegionVisit",
    "Stage",
    "StagedStrip",
    "compare_intervals",
    "plan_ahead",
    "staged_strip",
]
