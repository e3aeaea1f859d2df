"""coatrules: from a hand-stripped dog's visit history to today's prioritised, explained work order.

``load_profile`` and ``load_history`` read what mentors and groomers write; ``work_order`` computes, ``work_orders`` for
many dogs. Everything in ``__all__`` is public, nothing else is.
"""

from typing import TYPE_CHECKING

from coatrules.order import display

__version__ = "0.2.0"

if TYPE_CHECKING:
    from coatrules.book.fleet import work_orders
    from coatrules.dog.history import History
    from coatrules.dog.loading import load_history
    from coatrules.engine import Engine
    from coatrules.order.engine import work_order
    from coatrules.order.next_visit import Binding, NextVisit
    from coatrules.order.reasons import Reason
    from coatrules.order.work_order import Step, WorkOrder
    from coatrules.problems import InputError, Problem
    from coatrules.profile.loading import load_profile
    from coatrules.profile.model import Profile
else:
    _MODULES = {
        "Binding": "order.next_visit",
        "Engine": "engine",
        "History": "dog.history",
        "InputError": "problems",
        "NextVisit": "order.next_visit",
        "Problem": "problems",
        "Profile": "profile.model",
        "Reason": "order.reasons",
        "Step": "order.work_order",
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
    from coatrules.report.text import text  # only what is shown needs it

    return text(order)


def _html(order: "WorkOrder") -> str:
    from coatrules.report.page import notebook

    return notebook(order)


display.text, display.html = _text, _html


__all__ = [
    "Binding",
    "Engine",
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
