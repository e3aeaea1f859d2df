"""coatrules: from a hand-stripped dog's visit history to today's prioritised, explained work order.

``Engine`` is for other people's software: it holds profiles, a language and settings, and its methods are the product. For a script
``work_order`` is enough, with ``load_profile`` and ``load_history`` for files. Everything in ``__all__`` is public: these, and all
values that they return. Nothing else is.
"""

from typing import TYPE_CHECKING

from coatrules.order import display

__version__ = "0.2.0"

if TYPE_CHECKING:
    from coatrules.book.due import Due
    from coatrules.book.fleet import work_orders
    from coatrules.catalogue.message import Message
    from coatrules.coat.growth import Growth
    from coatrules.conditions.condition import Condition, Miss
    from coatrules.dog.history import Arrival, AtLeastLong, Dog, Events, History, Seen, Visit, Work
    from coatrules.dog.loading import load_history
    from coatrules.dog.rolling import Rolling, RollingEnd
    from coatrules.engine.engine import Engine
    from coatrules.formats.digest import Edition
    from coatrules.learning.observations import AtLeast, Came, Felt, Layers, Length, Part
    from coatrules.learning.pace import Pace
    from coatrules.learning.posterior import Axis, OfArrival, OfRegion, Outlier, Posterior
    from coatrules.learning.speed import Speed, Timed
    from coatrules.mentor.comparison import Change, Compared, Difference, Occasion
    from coatrules.mentor.profile_comparison import ProfileComparison
    from coatrules.mentor.rehearsal import Actor, Look, Rehearsal, Run, TargetRun, Wanted
    from coatrules.order.engine import InBrief, work_order
    from coatrules.order.explanation import Explanation, RuleTrace
    from coatrules.order.next_visit import Binding, LaterVisit, NextLayer, NextVisit
    from coatrules.order.reasons import Reason
    from coatrules.order.salon import OwnDay, Salon
    from coatrules.order.show_ahead import ShowAhead
    from coatrules.order.today import PutOff
    from coatrules.order.work_order import Step, WorkOrder
    from coatrules.plan.results import (
        Conflict,
        Interval,
        Intervals,
        Plan,
        PlannedVisit,
        RegionOutlook,
        RegionVisit,
        Relaxation,
        Stage,
        StagedStrip,
    )
    from coatrules.problems import InputError, Problem
    from coatrules.profile.loading import load_profile
    from coatrules.profile.model import (
        Blend,
        Breed,
        Case,
        ClipperOnlyZone,
        Comparison,
        Cover,
        Effect,
        Expectation,
        ExpectedVisit,
        LayerTarget,
        Method,
        Profile,
        Region,
        Routine,
        Rule,
        SensitiveZone,
        Source,
        Station,
        Take,
        TakeLimits,
        UsualVisit,
    )
    from coatrules.recording.importing import Imported
else:
    _MODULES = {
        "Actor": "mentor.rehearsal",
        "Arrival": "dog.history",
        "AtLeast": "learning.observations",
        "AtLeastLong": "dog.history",
        "Axis": "learning.posterior",
        "Binding": "order.next_visit",
        "Blend": "profile.model",
        "Breed": "profile.model",
        "Came": "learning.observations",
        "Case": "profile.model",
        "Change": "mentor.comparison",
        "ClipperOnlyZone": "profile.model",
        "Compared": "mentor.comparison",
        "Comparison": "profile.model",
        "Condition": "conditions.condition",
        "Conflict": "plan.results",
        "Cover": "profile.model",
        "Difference": "mentor.comparison",
        "Dog": "dog.history",
        "Due": "book.due",
        "Edition": "formats.digest",
        "Effect": "profile.model",
        "Engine": "engine.engine",
        "Events": "dog.history",
        "Expectation": "profile.model",
        "ExpectedVisit": "profile.model",
        "Explanation": "order.explanation",
        "Felt": "learning.observations",
        "Growth": "coat.growth",
        "History": "dog.history",
        "Imported": "recording.importing",
        "InBrief": "order.engine",
        "InputError": "problems",
        "Interval": "plan.results",
        "Intervals": "plan.results",
        "LaterVisit": "order.next_visit",
        "LayerTarget": "profile.model",
        "Layers": "learning.observations",
        "Length": "learning.observations",
        "Look": "mentor.rehearsal",
        "Message": "catalogue.message",
        "Method": "profile.model",
        "Miss": "conditions.condition",
        "NextLayer": "order.next_visit",
        "NextVisit": "order.next_visit",
        "Occasion": "mentor.comparison",
        "OfArrival": "learning.posterior",
        "OfRegion": "learning.posterior",
        "Outlier": "learning.posterior",
        "OwnDay": "order.salon",
        "Pace": "learning.pace",
        "Part": "learning.observations",
        "Plan": "plan.results",
        "PlannedVisit": "plan.results",
        "Posterior": "learning.posterior",
        "Problem": "problems",
        "Profile": "profile.model",
        "ProfileComparison": "mentor.profile_comparison",
        "PutOff": "order.today",
        "Reason": "order.reasons",
        "Region": "profile.model",
        "RegionOutlook": "plan.results",
        "RegionVisit": "plan.results",
        "Rehearsal": "mentor.rehearsal",
        "Relaxation": "plan.results",
        "Rolling": "dog.rolling",
        "RollingEnd": "dog.rolling",
        "Routine": "profile.model",
        "Rule": "profile.model",
        "RuleTrace": "order.explanation",
        "Run": "mentor.rehearsal",
        "Salon": "order.salon",
        "Seen": "dog.history",
        "SensitiveZone": "profile.model",
        "ShowAhead": "order.show_ahead",
        "Source": "profile.model",
        "Speed": "learning.speed",
        "Stage": "plan.results",
        "StagedStrip": "plan.results",
        "Station": "profile.model",
        "Step": "order.work_order",
        "Take": "profile.model",
        "TakeLimits": "profile.model",
        "TargetRun": "mentor.rehearsal",
        "Timed": "learning.speed",
        "UsualVisit": "profile.model",
        "Visit": "dog.history",
        "Wanted": "mentor.rehearsal",
        "Work": "dog.history",
        "WorkOrder": "order.work_order",
        "load_history": "dog.loading",
        "load_profile": "profile.loading",
        "work_order": "order.engine",
        "work_orders": "book.fleet",
    }

    def __getattr__(name: str) -> object:
        """A public name, its module imported when it is first asked for: no program waits for what it does not use."""
        if name not in _MODULES:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        from importlib import import_module

        found = globals()[name] = getattr(import_module(f"{__name__}.{_MODULES[name]}"), name)
        return found

    def __dir__() -> list[str]:
        return sorted({*globals(), *_MODULES})


def _text(order: "WorkOrder") -> str:
    from coatrules.report.sheet import sheet  # only what is shown needs it

    return sheet(order)


def _html(order: "WorkOrder") -> str:
    from coatrules.report.page import notebook

    return notebook(order)


display.text, display.html = _text, _html


__all__ = [
    "Actor",
    "Arrival",
    "AtLeast",
    "AtLeastLong",
    "Axis",
    "Binding",
    "Blend",
    "Breed",
    "Came",
    "Case",
    "Change",
    "ClipperOnlyZone",
    "Compared",
    "Comparison",
    "Condition",
    "Conflict",
    "Cover",
    "Difference",
    "Dog",
    "Due",
    "Edition",
    "Effect",
    "Engine",
    "Events",
    "Expectation",
    "ExpectedVisit",
    "Explanation",
    "Felt",
    "Growth",
    "History",
    "Imported",
    "InBrief",
    "InputError",
    "Interval",
    "Intervals",
    "LaterVisit",
    "LayerTarget",
    "Layers",
    "Length",
    "Look",
    "Message",
    "Method",
    "Miss",
    "NextLayer",
    "NextVisit",
    "Occasion",
    "OfArrival",
    "OfRegion",
    "Outlier",
    "OwnDay",
    "Pace",
    "Part",
    "Plan",
    "PlannedVisit",
    "Posterior",
    "Problem",
    "Profile",
    "ProfileComparison",
    "PutOff",
    "Reason",
    "Region",
    "RegionOutlook",
    "RegionVisit",
    "Rehearsal",
    "Relaxation",
    "Rolling",
    "RollingEnd",
    "Routine",
    "Rule",
    "RuleTrace",
    "Run",
    "Salon",
    "Seen",
    "SensitiveZone",
    "ShowAhead",
    "Source",
    "Speed",
    "Stage",
    "StagedStrip",
    "Station",
    "Step",
    "Take",
    "TakeLimits",
    "TargetRun",
    "Timed",
    "UsualVisit",
    "Visit",
    "Wanted",
    "Work",
    "WorkOrder",
    "load_history",
    "load_profile",
    "work_order",
    "work_orders",
]
