"""Any result in words, as plain data, or in a calendar: which report shows which value."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date as Date
from typing import TYPE_CHECKING, Any

from coatrules.order.work_order import WorkOrder
from coatrules.problems import InputError, Problem

if TYPE_CHECKING:
    from coatrules.book.due import Due
    from coatrules.report.calendar import Event


def text(result: Any, width: int, *, owner: bool = False, steps: bool = False, reasons: bool = False) -> str:
    """Returns a result in words, lines no longer than ``width`` characters; raises ``TypeError`` for what no report shows.

    Of an order: for its owner, or every step. Of what is due: why, in sentences.
    """
    if isinstance(result, WorkOrder):  # what is asked for most loads nothing of the others
        return _order(result, width, owner=owner, steps=steps)

    from coatrules.book.due import Due
    from coatrules.dog.history import History, Visit
    from coatrules.mentor.profile_comparison import ProfileComparison
    from coatrules.mentor.rehearsal import Rehearsal
    from coatrules.order.explanation import Explanation
    from coatrules.plan.results import Intervals, Plan, StagedStrip
    from coatrules.report import comparison, explanation, plan, rehearsal

    match result:
        case Explanation():
            return explanation.text(result, width)
        case Plan() | StagedStrip() | Intervals():
            return plan.text(result, width)
        case ProfileComparison():
            return comparison.text(result)
        case Rehearsal():
            return rehearsal.text(result)
        case Due():
            return _order(result.order, width, owner=owner, steps=steps)
        case [] | [Problem(), *_]:  # a check that finds nothing has nothing to say
            return "\n".join(map(str, result))
        case [Due(), *_]:
            return _dues(result, width, reasons=reasons)
        case History() | Visit():
            from coatrules.recording.text import history_text, visit_text

            return history_text(result.to_dict()) if isinstance(result, History) else visit_text(result.to_dict())
        case Problem():
            return str(result)
        case InputError():
            return "\n".join(map(str, result.problems))
        case _:
            raise TypeError(f"no report shows {type(result).__name__}")


def _order(order: WorkOrder, width: int, *, owner: bool, steps: bool) -> str:
    if owner:
        from coatrules.report.owner import owner_text

        return owner_text(order, width)
    if steps:
        from coatrules.report.text import text as steps_text

        return steps_text(order, width)
    from coatrules.report.sheet import sheet

    return sheet(order, width)


def _dues(dues: Sequence[Due], width: int, *, reasons: bool) -> str:
    from coatrules.report import due

    return due.reasons(dues, width) if reasons else due.table(dues, width)


def data(result: Any) -> Any:
    """Returns a result as plain data: by its own ``to_dict`` where it has one."""
    from coatrules.order.plain_data import result_data

    if hasattr(result, "to_dict"):
        return result.to_dict()
    if isinstance(result, list | tuple):
        return [data(one) for one in result]
    if isinstance(result, Mapping):
        return {key: data(inner) for key, inner in result.items()}
    return result_data(result)


def calendar(results: Iterable[Any], asked: Date) -> str:
    """Returns an iCalendar file of orders, due dogs, plans and staged strips."""
    from coatrules.report.calendar import calendar

    return calendar((event for result in results for event in _events(result)), asked)


def _events(result: Any) -> Iterator[Event]:
    from coatrules.book.due import Due
    from coatrules.plan.results import Plan, StagedStrip
    from coatrules.report.calendar import due_event, next_visit_event, plan_events, stage_events

    match result:
        case WorkOrder():
            if result.next_visit.hold is None:
                yield next_visit_event(result)
        case Due():
            if result.visit.hold is None:
                yield due_event(result)
        case Plan():
            yield from plan_events(result)
        case StagedStrip():
            yield from stage_events(result)
        case _:
            raise TypeError(f"no calendar shows {type(result).__name__}")
