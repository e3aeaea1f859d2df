"""A work order cut into the rows that every format for people shows: like work on neighbouring regions in one row."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import NamedTuple

from coatrules.catalogue.english.amounts import date_words, day_words, minutes_words, share_words
from coatrules.order.next_visit import Binding
from coatrules.order.reasons import Reason
from coatrules.order.work_order import Step, WorkOrder


class Row(NamedTuple):
    """One row of work: its number, where, what, how long, with what, and why. ``bout`` is empty for undivided work.

    ``tools`` are the names alone, ``how`` says how they are used where they first come up.
    """

    number: int
    where: str
    what: str
    minutes: float
    how: str
    bout: str
    why: tuple[str, ...]
    cautions: tuple[str, ...]
    regions: tuple[str, ...] = ()
    tools: str = ""


def work_rows(order: WorkOrder) -> list[Row]:
    """The steps, like neighbours joined. How a tool is used, and a caution, is said where it first comes up."""
    rows = []
    mentioned: set[str] = set()
    for row, (_, steps) in enumerate(groupby(order.steps, key=_row_key), 1):
        neighbours = list(steps)
        first = neighbours[0]
        rows.append(
            Row(
                number=row,
                where=joined(order.labels[step.region] for step in neighbours if step.region is not None),
                what=_task(first),
                minutes=sum(step.minutes for step in neighbours),
                how=first.tools if first.how in mentioned else first.how,
                bout=f"bout {first.bout} of {first.bouts}" if first.bouts > 1 else "",
                why=texts(reason for step in neighbours for reason in decisive(step.because))
                if first.bout == 1
                else (),
                cautions=tuple(
                    dict.fromkeys(c.text for step in neighbours for c in step.cautions if c.text not in mentioned)
                ),
                regions=tuple(step.region for step in neighbours if step.region is not None),
                tools=first.tools,
            )
        )
        mentioned.update([first.how], (caution.text for step in neighbours for caution in step.cautions))
    return rows


def _row_key(step: Step) -> tuple[object, ...]:
    alone = step.region if step.bouts > 1 or step.region is None else None
    return step.task, what(step), step.how, alone, step.bout, step.region is None


def what(step: Step) -> str:
    """The task in words."""
    match step.task:
        case "pull":
            return f"pull {share_words(step.share or 0)}"
        case "clip" if step.leave_mm is not None:
            return f"clip to {step.leave_mm:g} mm"
    return step.task


def _task(step: Step) -> str:
    """The task in words, told apart from its own earlier bouts."""
    if step.region is None:
        return "Let the dog rest"
    if step.bouts == 1:
        return what(step)
    return f"{what(step)} in all" if step.bout == 1 else f"go back to it ({step.task})"


def decisive(reasons: Sequence[Reason]) -> Iterator[Reason]:
    """Of a chain of reasons those worth saying at the table: the usual share only where nothing changed it."""
    changed = any("share" in reason.facts and reason.rule != "coat.usual" for reason in reasons)
    return (reason for reason in reasons if not (changed and reason.rule == "coat.usual"))


def texts(reasons: Iterable[Reason]) -> tuple[str, ...]:
    """Reasons in sentences, each once."""
    return tuple(dict.fromkeys(reason.text for reason in reasons))


def aside(order: WorkOrder, title: str) -> list[tuple[str, str]]:
    """Regions that are not worked (``left_alone``, ``deferred``, ``not_to_be_touched``), those with one reason together."""
    if title == "deferred":
        return _put_off(order)
    by_reason: dict[str, list[str]] = {}
    for region, reasons in getattr(order, title).items():
        by_reason.setdefault(" ".join(texts(reasons)), []).append(order.labels[region])
    return [(joined(regions), why) for why, regions in by_reason.items()]


def _put_off(order: WorkOrder) -> list[tuple[str, str]]:
    """All that the time did not allow, and how much more there would have to be; ``explain`` tells each one's reasons."""
    if not order.deferred:
        return []
    minutes = sum(put_off.minutes for put_off in order.deferred.values())
    why = f"the time is up; another {minutes_words(minutes)} would do it. It comes first next time."
    if too_long := [order.labels[r] for r, off in order.deferred.items() if off.because[0].rule == "coat.never-time"]:
        why += f" But {joined(too_long)} alone will never fit: give the dog a longer visit."
    return [(joined(order.labels[region] for region in order.deferred), why)]


def joined(names: Iterable[str]) -> str:
    """Names in a row: the first keeps its capital; semicolons part names that have commas of their own."""
    first, *rest = dict.fromkeys(names) or [""]
    between = "; " if any("," in name for name in (first, *rest)) else ", "
    return between.join([first, *(name[:1].lower() + name[1:] for name in rest)])


_WHY = {
    "ready": "enough hair is ready again: {region}",
    "blown": "the oldest hair is about to blow: {region}",
    "too-long": "the outline grows too long: {region}",
    "undercoat": "the undercoat is due: {region}",
    "clipping": "clipping is due: {region}",
}


def visit_lines(order: WorkOrder) -> list[str]:
    """The next visit in sentences."""
    visit = order.next_visit
    bounds = {binding.bound: binding for binding in visit.binding}
    lines = [f"Best: {day_words(visit.best)}."]
    if "earliest" in bounds:
        lines.append(
            f"Not before {day_words(visit.earliest)}{_span(bounds['earliest'])}: {_why(order, bounds['earliest'])}."
        )
    if visit.latest is not None and "latest" in bounds:
        lines.append(f"Not after {day_words(visit.latest)}{_span(bounds['latest'])}: {_why(order, bounds['latest'])}.")
    if visit.clash:
        faults = "; ".join(_faults(order, bounds["earliest"], bounds["latest"]))
        lines.append(f"These two disagree. On the best day {faults}.")
    return lines


_LATE = {
    "blown": "some hair is dead and loose",
    "too-long": "a little too long",
    "undercoat": "the undercoat is overdue",
    "clipping": "clipping is overdue",
}


def _faults(order: WorkOrder, early: Binding, late: Binding) -> Iterator[str]:
    """Yields what is not as it should be on a day outside the window."""
    best = order.next_visit.best
    if best > late.day:
        yield f"{_LATE[late.why]}: {_where(order, late)}"
    if best < early.day:
        yield f"less is ready, so take less: {_where(order, early)}"


def _span(binding: Binding) -> str:
    """How sure a day is, where it rests on the pace."""
    first, last = binding.window
    return f" (8 times in 10 from {date_words(first)} to {date_words(last)})" if first < last else ""


LATER = ("Comes", "Least cover", "Longest hair", "Blown", "Time needed")


def later_rows(order: WorkOrder) -> list[tuple[str, ...]]:
    """What happens if the dog comes later, a row for each of ``LATER``; nothing where nobody asked."""
    rows: list[tuple[str, ...]] = []
    for later in order.next_visit.late:
        when = "on the best day" if not later.weeks else f"{later.weeks} weeks later"
        cover = "" if later.cover is None else f"{later.cover:.0%}"
        rows.append(
            (when, cover, f"{later.longest_mm:.0f} mm", f"{later.blown_share:.0%}", minutes_words(later.minutes))
        )
    return rows


def _why(order: WorkOrder, binding: Binding) -> str:
    return _WHY[binding.why].format(region=_where(order, binding))


def _where(order: WorkOrder, binding: Binding) -> str:
    region = order.labels[binding.region]
    return region[:1].lower() + region[1:]


def header(order: WorkOrder) -> tuple[str, str]:
    """Who and when; how long."""
    who = f"{order.dog_name} · {order.profile_label} · {day_words(order.date)}"
    planned, available = minutes_words(order.minutes_planned), minutes_words(order.minutes_available)
    return who, f"{planned} of work; there are {available}."


SECTIONS = (
    ("deferred", "Put off to next time"),
    ("left_alone", "Left alone"),
    ("not_to_be_touched", "Not to be touched"),
)
