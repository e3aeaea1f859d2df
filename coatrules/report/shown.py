"""Any result in words, as plain data, or in a calendar: which report shows which value."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date as Date
from typing import TYPE_CHECKING, Any

from coatrules.order.work_order import WorkOrder
from coatrules.problems import InputError, Problem
from coatrules.profile.model import Profile

if TYPE_CHECKING:
    from coatrules.report.calendar import Event


def text(result: Any, width: int) -> str:
    """Returns a result in words, lines no longer than ``width`` characters; raises ``TypeError`` for what no report shows."""
    from coatrules.book.due import Due
    from coatrules.order.explanation import Explanation
    from coatrules.plan.results import Intervals, Plan, StagedStrip
    from coatrules.report import explanation, plan
    from coatrules.report.sheet import sheet

    match result:
        case WorkOrder():
            return sheet(result, width)
        case Explanation():
            return explanation.text(result, width)
        case Plan() | StagedStrip() | Intervals():
            return plan.text(result, width)
        case Problem():
            return str(result)
        case InputError():
            return "\n".join(map(str, result.problems))
        case Due():
            return sheet(result.order, width)
        case [] | [Problem(), *_]:  # a check that finds nothing has nothing to say
            return "\n".join(map(str, result))
        case _:
            raise TypeError(f"no report shows {type(result).__name__}")


def data(result: Any) -> Any:
    """Returns a result as plain data: by its own ``to_dict`` where it has one."""
    from coatrules.formats.unstructure import document_data
    from coatrules.order.plain_data import result_data
    from coatrules.recording.importing import Imported
    from coatrules.report.problems import problem_data

    if isinstance(result, Problem):
        return problem_data(result)
    if isinstance(result, InputError):
        return {"problems": [problem_data(problem) for problem in result.problems]}
    if isinstance(result, Imported):
        return {
            "format": 1,
            "histories": data(result.histories),
            "rows": result.rows,
            "read": result.read,
            "problems": [problem_data(problem) for problem in result.problems],
        }
    if isinstance(result, Profile):
        return document_data(result)
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
            yield next_visit_event(result)
        case Due():
            yield due_event(result)
        case Plan():
            yield from plan_events(result)
        case StagedStrip():
            yield from stage_events(result)
        case _:
            raise TypeError(f"no calendar shows {type(result).__name__}")
