"""coatrules: from a hand-stripped dog's visit history to today's prioritised, explained work order.

``load_profile`` and ``load_history`` read what mentors and groomers write; ``work_order`` computes. Everything in
``__all__`` is public, nothing else is.
"""

from coatrules.engine import work_order
from coatrules.history import History
from coatrules.loading import load_history, load_profile
from coatrules.problems import InputError, Problem
from coatrules.profile import Profile
from coatrules.reasons import Reason
from coatrules.visits import Binding, NextVisit
from coatrules.workorder import Step, WorkOrder

__all__ = [
    "Binding",
    "History",
    "InputError",
    "NextVisit",
    "Problem",
    "Profile",
    "Reason",
    "Step",
    "WorkOrder",
    "load_history",
    "load_profile",
    "work_order",
]
