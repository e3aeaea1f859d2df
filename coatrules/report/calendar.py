"""Visits as a calendar that any calendar program reads: all-day events by RFC 5545, written by the icalendar library.

Nothing in it depends on the clock or on chance, so that the same visits always give the same file, and a visit that moves
replaces the one a calendar already holds.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING
from uuid import NAMESPACE_URL, uuid5

from attrs import frozen

from coatrules.book.due import Due
from coatrules.catalogue.speaking import say
from coatrules.extras import require_extra
from coatrules.order.work_order import WorkOrder
from coatrules.report.rows import visit_lines
from coatrules.report.safe_text import plain

if TYPE_CHECKING:  # planning needs an extra of its own, which a calendar of the book can do without
    from coatrules.plan.results import Plan, StagedStrip

NAMESPACE = uuid5(NAMESPACE_URL, "https://coatrules.example/calendar")


@frozen
class Event:
    """One day in the calendar. ``dog``, ``profile`` and ``purpose`` make it the same event when it is written again."""

    dog: str | int
    profile: str
    purpose: str
    day: date
    title: str
    text: str

    @property
    def uid(self) -> str:
        """The same for the same dog, profile and purpose. RFC 7986, 5.3: a UUID, which tells nothing of the dog."""
        return str(uuid5(NAMESPACE, "\n".join((str(self.dog), self.profile, self.purpose))))


def next_visit_event(order: WorkOrder) -> Event:
    """The visit that follows today's order."""
    visit = order.next_visit
    text = "\n".join([*visit_lines(order.next_visit, order.labels), *map(str, order.refer)])
    title = say("calendar.visit", dog=order.dog_name)
    return Event(order.dog_id, order.profile_id, "next-visit", visit.day, title, text)


def due_event(due: Due) -> Event:
    """The visit that a dog is due for."""
    brief = due.brief
    lines = [say("calendar.work", minutes=brief.minutes_planned)]
    lines += [*visit_lines(due.visit, brief.labels), *map(str, brief.refer)]
    title = say("calendar.visit-minutes", dog=brief.dog_name, minutes=brief.minutes_planned)
    return Event(brief.dog_id, brief.profile_id, "next-visit", due.day, title, "\n".join(lines))


def plan_events(plan: Plan) -> list[Event]:
    """The visits of a plan, and the show it leads to. The first one ahead is the dog's next visit, whoever computed it."""
    ahead = [visit for visit in plan.visits if visit.day > plan.date]
    events = []
    for number, visit in enumerate(ahead, 1):
        title = say("calendar.visit-minutes", dog=plan.dog_name, minutes=visit.minutes)
        shares: dict[str, tuple[float, list[str]]] = {}  # by their words, as like ones stand together
        for name, region in visit.regions.items():
            if region.share > 0:
                _, labels = shares.setdefault(say.amount("share", region.share), (region.share, []))
                labels.append(say.own(plan.regions[name].label))
        work = [say("calendar.pull", parts=labels, share=share) for share, labels in shares.values()]
        purpose = "next-visit" if number == 1 else f"visit-{number}"
        text = "\n".join([say("calendar.number", number=number, visits=len(ahead)), *work])
        events.append(Event(plan.dog_id, plan.profile_id, purpose, visit.day, title, text))
    if plan.show is not None:
        events.append(_show(plan, plan.show))
    return events


def stage_events(strip: StagedStrip) -> list[Event]:
    """The stages of a coat taken down section by section, and the show they lead to."""
    events = []
    for stage in strip.stages:
        title = say("calendar.stage", dog=strip.dog_name, section=stage.section, minutes=stage.minutes)
        parts = say("calendar.parts", parts=tuple(map(say.own, stage.labels)))
        text = "\n".join([say("calendar.window", first=stage.first, last=stage.last), parts])
        events.append(Event(strip.dog_id, strip.profile_id, f"stage-{stage.section}", stage.day, title, text))
    return [*events, _show(strip, strip.show)]


def _show(plan: Plan | StagedStrip, day: date) -> Event:
    title, text = say("calendar.show", dog=plan.dog_name), say("calendar.show-text")
    return Event(plan.dog_id, plan.profile_id, "show", day, title, text)


def calendar(events: Iterable[Event], asked: date) -> str:
    """The events as one iCalendar text, lines ended by CR LF (RFC 5545, 3.1). ``asked`` is the day that was computed for:
    the time stamp of every event. Raises ``InputError`` where the extra ``calendar`` is not installed.
    """
    require_extra("calendar", "icalendar")
    import icalendar

    book = icalendar.Calendar()
    book.add("prodid", f"-//coatrules//visits//{say.locale.upper()}")
    book.add("version", "2.0")
    for event in events:
        entry = icalendar.Event()
        entry.add("uid", event.uid)
        entry.add("dtstamp", datetime.combine(asked, time(), UTC))
        entry.add("dtstart", event.day)
        entry.add(
            "dtend", event.day + timedelta(days=1)
        )  # RFC 5545, 3.6.1: the end is the first day that is free again
        entry.add("transp", "TRANSPARENT")  # it says which day, not at what hour: the day stays free for others
        entry.add("summary", plain(event.title))
        entry.add("description", "\n".join(map(plain, event.text.split("\n"))))
        book.add_component(entry)
    return bytes(book.to_ical()).decode()
