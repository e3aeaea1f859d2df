"""Visits as a calendar that any calendar program reads: all-day events by RFC 5545, written by the icalendar library.

Nothing in it depends on the clock or on chance, so that the same visits always give the same file, and a visit that moves
replaces the one a calendar already holds.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING
from uuid import NAMESPACE_URL, uuid5

from attrs import evolve, frozen

from coatrules.book.due import Due
from coatrules.catalogue.english.amounts import day_words, minutes_words, share_words
from coatrules.extras import require_extra
from coatrules.order.work_order import WorkOrder
from coatrules.report.rows import joined, visit_lines
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
    text = "\n".join([*visit_lines(order), *map(str, order.refer)])
    return Event(order.dog_id, order.profile_id, "next-visit", visit.best, f"{order.dog_name}: hand-stripping", text)


def due_event(due: Due) -> Event:
    """The visit that a dog is due for."""
    order = due.order
    lines = [f"About {minutes_words(order.minutes_planned)} of work."]
    lines += [*visit_lines(evolve(order, next_visit=due.visit)), *map(str, order.refer)]
    title = f"{order.dog_name}: hand-stripping, about {minutes_words(order.minutes_planned)}"
    return Event(order.dog_id, order.profile_id, "next-visit", due.day, title, "\n".join(lines))


def plan_events(plan: Plan) -> list[Event]:
    """The visits of a plan, and the show it leads to. The first one ahead is the dog's next visit, whoever computed it."""
    ahead = [visit for visit in plan.visits if visit.day > plan.date]
    events = []
    for number, visit in enumerate(ahead, 1):
        title = f"{plan.dog_name}: hand-stripping, about {minutes_words(visit.minutes)}"
        shares: dict[str, list[str]] = {}
        for name, region in visit.regions.items():
            if region.share > 0:
                shares.setdefault(share_words(region.share), []).append(plan.regions[name].label)
        work = [f"{joined(labels)}: pull {share}." for share, labels in shares.items()]
        purpose = "next-visit" if number == 1 else f"visit-{number}"
        text = "\n".join([f"Visit {number} of {len(ahead)} planned.", *work])
        events.append(Event(plan.dog_id, plan.profile_id, purpose, visit.day, title, text))
    if plan.show is not None:
        title = f"{plan.dog_name}: show"
        events.append(Event(plan.dog_id, plan.profile_id, "show", plan.show, title, "The day the coat is planned for."))
    return events


def stage_events(strip: StagedStrip) -> list[Event]:
    """The stages of a coat taken down section by section, and the show they lead to."""
    events = []
    for stage in strip.stages:
        title = f"{strip.dog_name}: take down the {stage.section}, about {minutes_words(stage.minutes)}"
        window = f"From {day_words(stage.first)} to {day_words(stage.last)}."
        text = "\n".join([window, f"{joined(stage.labels)}."])
        events.append(Event(strip.dog_id, strip.profile_id, f"stage-{stage.section}", stage.day, title, text))
    title = f"{strip.dog_name}: show"
    show = Event(strip.dog_id, strip.profile_id, "show", strip.show, title, "The day the coat is planned for.")
    return [*events, show]


def calendar(events: Iterable[Event], asked: date) -> str:
    """The events as one iCalendar text, lines ended by CR LF (RFC 5545, 3.1). ``asked`` is the day that was computed for:
    the time stamp of every event. Raises ``InputError`` where the extra ``calendar`` is not installed.
    """
    require_extra("calendar", "icalendar")
    import icalendar

    book = icalendar.Calendar()
    book.add("prodid", "-//coatrules//visits//EN")
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
