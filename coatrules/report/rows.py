"""A work order cut into the rows that every format for people shows: like work on neighbouring regions in one row."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from itertools import groupby
from typing import NamedTuple

from coatrules.catalogue.amounts import half_up
from coatrules.catalogue.message import Message, message
from coatrules.catalogue.speaking import say
from coatrules.order.next_visit import Binding, NextVisit
from coatrules.order.reasons import Reason
from coatrules.order.work_order import Step, WorkOrder


def in_ten(share: float) -> int:
    """Returns a share of dogs like this one as so many in ten."""
    return round(share * 10)


class Row(NamedTuple):
    """One row of work: its number, where, what, how long, with what, and why.

    ``task`` is the kind of work, ``what`` the same in words; ``bouts`` is 1 for undivided work. ``tools`` are the names alone, ``how``
    says how they are used where they first come up.
    """

    number: int
    where: str
    what: str
    minutes: float
    how: str
    bout: int
    bouts: int
    why: tuple[str, ...]
    cautions: tuple[str, ...]
    regions: tuple[str, ...] = ()
    tools: str = ""
    task: str = ""

    @property
    def what_and_bout(self) -> str:
        """What is done, and which bout of it."""
        return say("report.bout", what=self.what, bout=self.bout, bouts=self.bouts) if self.bouts > 1 else self.what


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
                where=joined(label(order, step.region) for step in neighbours if step.region is not None),
                what=_task(first),
                minutes=sum(step.minutes for step in neighbours),
                how=say.own(first.tools if first.how in mentioned else first.how),
                bout=first.bout,
                bouts=first.bouts,
                why=texts(reason for step in neighbours for reason in decisive(step.because))
                if first.bout == 1
                else (),
                cautions=tuple(
                    dict.fromkeys(c.text for step in neighbours for c in step.cautions if c.text not in mentioned)
                ),
                regions=tuple(step.region for step in neighbours if step.region is not None),
                tools=say.own(first.tools),
                task=first.task,
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
            return say("task.pull-share", share=step.share or 0)
        case "clip" if step.leave_mm is not None:
            return say("task.clip-to", leave_mm=step.leave_mm)
    return say(f"task.{step.task}")


def _task(step: Step) -> str:
    """The task in words, told apart from its own earlier bouts."""
    if step.region is None:
        return say("task.rest")
    if step.bouts == 1:
        return what(step)
    return (
        say("task.in-all", what=what(step))
        if step.bout == 1
        else say("task.go-back", task=message(f"task.{step.task}"))
    )


def decisive(reasons: Sequence[Reason]) -> Iterator[Reason]:
    """Of a chain of reasons those worth saying at the table: the usual share only where nothing changed it."""
    changed = any("share" in reason.facts and reason.rule != "coat.usual" for reason in reasons)
    return (reason for reason in reasons if not (changed and reason.rule == "coat.usual"))


def texts(reasons: Iterable[Reason]) -> tuple[str, ...]:
    """Reasons in sentences, each once."""
    return tuple(dict.fromkeys(reason.text for reason in reasons))


def aside(order: WorkOrder, title: str) -> list[tuple[str, str]]:
    """Regions that are not worked (``left_alone``, ``deferred``, ``not_to_be_touched``), those with one reason together; of all of them
    the reason alone."""
    if title == "deferred":
        return _put_off(order)
    by_reason: dict[str, list[str]] = {}
    for region, reasons in getattr(order, title).items():
        by_reason.setdefault(" ".join(texts(reasons)), []).append(label(order, region))
    return [("" if len(regions) == len(order.labels) else joined(regions), why) for why, regions in by_reason.items()]


def _put_off(order: WorkOrder) -> list[tuple[str, str]]:
    """All that the time did not allow, and how much more there would have to be; ``explain`` tells each one's reasons."""
    if not order.deferred:
        return []
    minutes = sum(put_off.minutes for put_off in order.deferred.values())
    too_long = tuple(label(order, r) for r, off in order.deferred.items() if off.because[0].rule == "coat.never-time")
    why = say("report.no-time-ever" if too_long else "report.no-time", minutes=minutes, parts=too_long)
    return [(joined(label(order, region) for region in order.deferred), why)]


def joined(names: Iterable[str]) -> str:
    """Returns parts of the dog in a row, each once."""
    return say.amount("names", tuple(names))


def label(order: WorkOrder, region: str) -> str:
    """Returns what a region is called."""
    return say.own(order.labels[region])


def visit_lines(visit: NextVisit, labels: Mapping[str, str]) -> list[str]:
    """The next visit in sentences; ``labels``: what each region is called."""
    if visit.hold is not None:
        return [visit.hold.text]
    bounds = {binding.bound: binding for binding in visit.binding}
    moved = visit.day != visit.best
    lines = [say("next-visit.moved" if moved else "next-visit.best", day=visit.day, best=visit.best)]
    if "earliest" in bounds:
        lines.append(_bound(labels, visit.earliest, bounds["earliest"]))
    if visit.latest is not None and "latest" in bounds:
        lines.append(_bound(labels, visit.latest, bounds["latest"]))
    if visit.clash and (clash := _clash(visit, labels, bounds["earliest"], bounds["latest"])):
        lines.append(clash)
    return lines


def _bound(labels: Mapping[str, str], day: date, binding: Binding) -> str:
    """One end of the window, and how sure it is where it rests on the pace."""
    first, last = binding.window
    code = f"next-visit.{binding.bound}-window" if first < last else f"next-visit.{binding.bound}"
    why = message(f"next-visit.{binding.why}", region=say.own(labels[binding.region]))
    return say(code, day=day, first=first, last=last, why=why)


def _clash(visit: NextVisit, labels: Mapping[str, str], early: Binding, late: Binding) -> str:
    """What is not as it should be on a day outside the window; empty where it lies in it."""
    best = visit.best
    late_fault: Message | None = None
    early_fault: Message | None = None
    if best > late.day:
        late_fault = message(f"next-visit.late-{late.why}", region=say.own(labels[late.region]))
    if best < early.day:
        early_fault = message("next-visit.early", region=say.own(labels[early.region]))
    if late_fault and early_fault:
        return say("next-visit.clash-both", late=late_fault, early=early_fault)
    fault = late_fault or early_fault
    return say("next-visit.clash", fault=fault) if fault else ""


def later_head() -> tuple[str, ...]:
    """The headings of ``later_rows``."""
    return tuple(say(f"later.{column}") for column in ("comes", "cover", "longest", "blown", "minutes", "overgrown"))


def later_rows(order: WorkOrder) -> list[tuple[str, ...]]:
    """What happens if the dog comes later, a row for each week asked about; nothing where nobody asked, or no day is named."""
    rows: list[tuple[str, ...]] = []
    for later in order.next_visit.late if order.next_visit.hold is None else ():
        when = say("later.weeks", weeks=later.weeks) if later.weeks else say("later.best-day")
        cover = "" if later.cover is None else say.amount("percent", later.cover)
        longest, blown = say.amount("mm", later.longest_mm), say.amount("percent", later.blown_share)
        overgrown = "" if later.overgrown is None else say("later.dogs", dogs=in_ten(later.overgrown))
        rows.append((when, cover, longest, blown, say.amount("minutes", later.minutes), overgrown))
    return rows


def header(order: WorkOrder) -> tuple[str, str]:
    """Who and when; how long."""
    who = say("report.who", dog=order.dog_name, profile=say.own(order.profile_label), day=order.date)
    return who, time_words(order, "report.time")


SURE_OF_HANDS = 0.2
"""How far hands' speed is off, as a part of it, where none of this dog's visits says how long it took (common practice, no source)."""


def spread(order: WorkOrder, minutes: float) -> float:
    """Returns by how many minutes a time may be off: as surely as this dog's visits tell how fast the hands are."""
    known = order.speed.entries > 0
    return max(1.0, minutes * (order.speed.sd / order.speed.mean if known else SURE_OF_HANDS)) if minutes else 0.0


def time_words(order: WorkOrder, code: str) -> str:
    """Returns how long the work takes, give or take, and the time there is; that there is no work where there is none."""
    planned, available = order.minutes_planned, order.minutes_available
    if not planned:
        return say("sheet.no-time", available=available)
    # Half a minute beside a spread of minutes would be too sure.
    return say(code, planned=half_up(planned), spread=spread(order, planned), available=available)


SECTIONS = (
    ("deferred", "report.deferred"),
    ("left_alone", "report.left-alone"),
    ("not_to_be_touched", "report.not-to-be-touched"),
)
"""The regions that are not worked, by the order's own names, and the code of each section's heading."""
