"""The book as a picture: who comes next, each dog's best day and the window about it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from coatrules.book.due import Due
from coatrules.catalogue.speaking import say
from coatrules.report.chart import BLUE, GREY, INK, PALE, SKY, VERMILLION, WHITE, Form, image, write

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

BEFORE = 10  # days shown before the day asked about, for those overdue
MOST = 60  # dogs in one picture: more can not be read on a wall


def book_chart(dogs: Sequence[Due], day: date, form: Form) -> bytes:
    """The next visits of a book of dogs on a day, in the order given; at most ``MOST``, and how many more there are."""
    return image(lambda: _figure(dogs, day), form)


def _figure(dogs: Sequence[Due], day: date) -> Figure:
    from matplotlib.figure import Figure

    shown = dogs[:MOST]
    height = max(3.2, 1.9 + 0.3 * len(shown))
    figure = Figure(figsize=(11.7, height))
    axes = figure.add_axes((0.17, 0.75 / height, 0.8, 1 - 1.75 / height))
    page = figure.add_axes((0, 0, 1, 1))
    page.set(xlim=(0, 1), ylim=(0, height))
    page.axis("off")
    write(page, 0.03, height - 0.4, say("book.title"), fontsize=20, fontweight="bold", va="center")
    more = len(dogs) - MOST
    day_line = say("book.day-more", day=day, more=more) if more > 0 else say.amount("day", day)
    write(page, 0.97, height - 0.4, day_line, fontsize=11, ha="right", va="center")
    write(page, 0.03, 0.2, say("book.key"), 160, fontsize=8.5, va="center", color=GREY)
    start = day.toordinal() - BEFORE
    last = max((due.day.toordinal() for due in shown if due.visit.hold is None), default=start)
    end = max(last + 12, start + 35)
    _weeks(axes, start, end)
    axes.axvline(day.toordinal(), color=INK, linewidth=1.2, linestyle=(0, (4, 2)), zorder=1)
    write(axes, day.toordinal(), -0.62, say("book.today"), fontsize=9, fontweight="bold", ha="center", va="bottom")
    for row, due in enumerate(shown):
        _dog(axes, row, due, start, end)
    axes.set(xlim=(start, end), ylim=(max(len(shown), 1) - 0.5, -0.5))
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    return figure


def _weeks(axes: Axes, start: int, end: int) -> None:
    """Mondays along the bottom and a pale ground under every other week."""
    first = start + (-(start - 1)) % 7  # ordinal 1 was a Monday
    mondays = range(first, end + 1, 7)
    every = max(1, round(len(mondays) / 12))
    axes.set_xticks(
        list(mondays)[::every], [say.amount("short", date.fromordinal(day)) for day in mondays][::every], fontsize=9
    )
    for monday in range(first - 7, end + 1, 14):
        axes.axvspan(max(monday, start), min(monday + 7, end), facecolor=PALE, linewidth=0, zorder=0)


def _dog(axes: Axes, row: int, due: Due, start: int, end: int) -> None:
    visit, best = due.visit, due.day.toordinal()
    write(axes, start - (end - start) * 0.012, row, due.brief.dog_name, 22, fontsize=10, ha="right", va="center")
    overdue = visit.latest is not None and visit.latest < due.day
    held = visit.hold is not None
    if held:  # no day is good for it before a veterinary surgeon has seen it
        best = start
    elif visit.clash:
        axes.plot([best], [row], "^", color=VERMILLION, markeredgecolor=INK, markersize=10, zorder=4)
    else:
        left = max(visit.earliest.toordinal(), start)
        right = min(visit.latest.toordinal() if visit.latest is not None else end, end)
        if right > start:
            axes.barh(
                row, max(right - left, 0.6), left=left, height=0.56, zorder=2, color=SKY, edgecolor=BLUE, hatch="//"
            )
        axes.plot([best, best], [row - 0.4, row + 0.4], color=INK, linewidth=3, zorder=4)
    paper = {"boxstyle": "round,pad=0.15", "facecolor": WHITE, "edgecolor": "none"}
    label = say.amount("short", due.day)
    if held:
        label = say("due.vet")
    elif overdue:
        label = say("book.overdue", day=visit.latest)
    write(
        axes,
        best + (end - start) * 0.009,
        row,
        label,
        fontsize=9,
        fontweight="bold",
        va="center",
        bbox=paper,
        zorder=5,
    )
