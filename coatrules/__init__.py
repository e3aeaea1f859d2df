"""coatrules: from a hand-stripped dog's visit history to today's prioritised, explained work order.

``load_profile`` and ``load_history`` read what mentors and groomers write; ``work_order`` computes, ``work_orders`` for
many dogs. Everything in ``__all__`` is public, nothing else is.
"""

from typing import TYPE_CHECKING

from coatrules.engine import work_order
from coatrules.history import History
from coatrules.loading import load_history, load_profile
from coatrules.problems import InputError, Problem
from coatrules.profile import Profile
from coatrules.reasons import Reason
from coatrules.visits import Binding, NextVisit
from coatrules.workorder import Step, WorkOrder

if TYPE_CHECKING:
    from coatrules.fleet import work_orders
else:

    def __getattr__(name: str) -> object:
        """``work_orders`` when it is asked for: what it needs would make the start of all else a tenth slower."""
        if name == "work_orders":
            from coatrules.fleet import work_orders

            return work_orders
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


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
    "work_orders",
]
