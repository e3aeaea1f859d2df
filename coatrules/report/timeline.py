"""The coat of one region through time: which hair stands how long, what was done, and what lies ahead."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date as Date
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from attrs import evolve, frozen

from coatrules.catalogue.message import message
from coatrules.catalogue.speaking import say
from coatrules.coat.measures import hair_lengths
from coatrules.coat.queue import WHOLE, Coat
from coatrules.coat.ripening import loose_masses, ripe_masses
from coatrules.dog.history import History
from coatrules.dog.state import state_on
from coatrules.order.drawn_dogs import drawn_hair
from coatrules.order.engine import order as order_for
from coatrules.order.work_order import WorkOrder
from coatrules.problems import InputError, Problem, nearest_fix
from coatrules.profile.compiled import CompiledProfile, CompiledRegion
from coatrules.report.chart import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    INK,
    ORANGE,
    PALE,
    SKY,
    WHITE,
    YELLOW,
    Form,
    Shade,
    area,
    fill,
    frame,
    image,
    legend_entry,
    write,
)
from coatrules.report.rows import label

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

UNDER = Shade(message("shade.under"), PALE, "..", GREY)
SHORT = Shade(message("shade.short"), SKY, "", INK)
READY = Shade(message("shade.ready"), GREEN, "//", WHITE)
RIPE = Shade(message("shade.ripe"), YELLOW, "", INK)
BLOWN = Shade(message("shade.blown"), ORANGE, "xx", INK)
FAN_DAYS = 4
BEFORE, AFTER = 14, 14  # days shown before the first visit and past the window
NAME = 0.08  # of the picture's width: what "next visit" takes up


@frozen
class Stretch:
    """From one day (an ordinal) to the next, nothing is pulled: the coat as it stands in between."""

    start: int
    end: int
    coat: Coat


def stretches(compiled: CompiledProfile, history: History, order: WorkOrder, region: str) -> list[Stretch]:
    """The region's coat from its first visit on, past today's work done as ordered, to the end of the next visit's window.

    What was pulled is as the history tells it, each visit as it was known on its day.
    """
    visit = order.next_visit
    end = max(visit.latest or visit.best, visit.best, visit.earliest).toordinal() + AFTER
    end = min(end, order.date.toordinal() + 365)
    today = order.date.toordinal()
    days = sorted({seen.day for _, seen in history.until(order.date)} - {order.date})
    first = days[0] if days else order.date
    coats: list[tuple[int, Coat]] = []
    for day in days:
        coats.append((day.toordinal(), state_on(compiled, history, day).regions[region].coat))
    now = state_on(compiled, history, order.date)
    coats.append(
        (
            today,
            _coat_after_today(
                _on_this_dog(compiled.regions[region], order), now.regions[region].coat, now.pace.of(region), order
            ),
        )
    )
    arrived = state_on(compiled, evolve(history, visits=()), first)
    coats.insert(0, (first.toordinal() - BEFORE, arrived.regions[region].coat))
    days_and_end = [*(day for day, _ in coats), end]
    return [Stretch(a, b, coat) for (a, b), (_, coat) in zip(pairwise(days_and_end), coats, strict=True) if b > a]


def _on_this_dog(region: CompiledRegion, order: WorkOrder) -> CompiledRegion:
    """Returns the region with hair that grows as it does on this dog."""
    return region._replace(growth=order.pace.typical(region.growth))


def _coat_after_today(region: CompiledRegion, coat: Coat, pace: float, order: WorkOrder) -> Coat:
    """Returns the coat once today's steps are done."""
    day = order.date.toordinal()
    for step in order.steps:
        if step.region == region.id and step.bout == 1:
            if step.share:
                coat = coat.pulled(region.growth, pace, day, step.share)
            if step.leave_mm is not None:
                coat = coat.clipped(day, step.leave_mm)
    return coat


def coat_chart(
    compiled: CompiledProfile, history: History, day: Date, region: str, form: Form, minutes: float | None = None
) -> bytes:
    """The picture for one region on a day; ``InputError`` for a region that the profile lacks."""
    if region not in compiled.regions:
        params = {"profile": compiled.profile.id, "name": region}
        raise InputError([Problem(code="unknown-region", params=params, fix=nearest_fix(region, compiled.regions))])
    order = order_for(compiled, history, day, minutes)
    coat_stretches = stretches(compiled, history, order, region)
    return image(lambda: _figure(compiled, history, order, region, coat_stretches), form)


def _figure(
    compiled: CompiledProfile, history: History, order: WorkOrder, region: str, coat_stretches: list[Stretch]
) -> Figure:
    from matplotlib.figure import Figure

    figure = Figure(figsize=(11.7, 8.3))
    stack, lengths = figure.subplots(
        2,
        1,
        sharex=True,
        gridspec_kw={
            "height_ratios": (3, 4),
            "left": 0.075,
            "right": 0.975,
            "top": 0.81,
            "bottom": 0.10,
            "hspace": 0.1,
        },
    )
    page = figure.add_axes((0, 0, 1, 1))
    page.set(xlim=(0, 1), ylim=(0, 1))
    page.axis("off")
    dog_part = say("picture.dog-part", dog=order.dog_name, part=label(order, region))
    write(page, 0.03, 0.955, dog_part, 60, fontsize=20, fontweight="bold", va="center")
    profile_day = say("picture.profile-day", profile=say.own(order.profile_label), day=order.date)
    write(page, 0.97, 0.955, profile_day, 80, fontsize=10, ha="right", va="center")
    compiled_region = _on_this_dog(compiled.regions[region], order)
    pace = order.pace.of(region)
    for stretch in coat_stretches:
        _stack(stack, compiled_region, pace, stretch)
    _lengths(lengths, compiled_region, pace, coat_stretches)
    _fan(lengths, compiled, history, order.date, region, coat_stretches[-1])
    _measured(lengths, compiled, history, order.date, region)
    _legend(page)
    for axes in (stack, lengths):
        _days(axes, order, history)
    top = max(
        compiled_region.growth.ready_mm,
        *(max(hair_lengths(s.coat, compiled_region.growth, pace, s.end)) for s in coat_stretches),
    )
    lengths.set(ylim=(0, top * 1.22), ylabel=say("coat-picture.length"))
    stack.set(ylim=(0, 1), ylabel=say("coat-picture.share"))
    percents = [say("coat-picture.percent", percent=percent) for percent in (25, 50, 75, 100)]
    stack.set_yticks([0, 0.25, 0.5, 0.75, 1.0], ["0", *percents])
    _dates(lengths, coat_stretches[0].start, coat_stretches[-1].end)
    _names(lengths, order, top * 1.22)
    return figure


class Look(NamedTuple):
    """How hair pulled on one day looks on another: the mass that is loose and that which rests, loose or not, in parts per million,
    and the shade of the rest, which grows."""

    loose: int
    ripe: int
    shade: Shade


def looks(region: CompiledRegion, pace: float, coat: Coat, day: int) -> list[Look]:
    """Returns how each cohort of a coat looks on a day (an ordinal), oldest first."""
    growth = region.growth
    lengths = hair_lengths(coat, growth, pace, day)
    loose = loose_masses(coat.cohorts, growth, pace, day)
    ripe = ripe_masses(coat.cohorts, growth, pace, day)
    return [
        Look(of_loose, of_ripe, _shade_of(region, pace, cohort.day, day, length))
        for cohort, of_loose, of_ripe, length in zip(coat.cohorts, loose, ripe, lengths, strict=True)
    ]


def _shade_of(region: CompiledRegion, pace: float, pulled_on: int, day: int, length: float) -> Shade:
    """Returns the shade of hair pulled on one day (an ordinal) as it is on another, ``length`` mm long and growing."""
    if pace * (day - pulled_on) / 7 < region.growth.lag_weeks:
        return UNDER
    return READY if length >= region.growth.ready_mm - 1e-9 else SHORT


def _spells(days: Sequence[int], shades: Sequence[Shade]) -> Iterator[tuple[int, int, Shade]]:
    """The days of a stretch, its end the last, cut where the shade changes."""
    since, shade = days[0], shades[0]
    for day, current in zip(days[1:-1], shades[1:-1], strict=True):
        if current is not shade:
            yield since, day, shade
            since, shade = day, current
    yield since, days[-1], shade


def _stack(axes: Axes, region: CompiledRegion, pace: float, stretch: Stretch) -> None:
    days = range(stretch.start, stretch.end + 1)
    seen = [looks(region, pace, stretch.coat, day) for day in days]
    top = 1.0
    for number, cohort in enumerate(stretch.coat.cohorts):
        height = cohort.mass / WHOLE
        for start, end, shade in _spells(days, [look[number].shade for look in seen]):
            fill(axes, start, top - height, end - start, height, shade)
        # Hair of one day stops and comes loose one after the other: what rests hangs from the top of its band, what is loose above it.
        for shade, masses in (
            (RIPE, [look[number].ripe for look in seen]),
            (BLOWN, [look[number].loose for look in seen]),
        ):
            if masses[-1]:
                edge = [(day, top - mass / WHOLE) for day, mass in zip(days, masses, strict=True)]
                area(axes, [(stretch.start, top), *edge, (stretch.end, top)], shade)
        top -= height
        frame(axes, stretch.start, top, stretch.end - stretch.start, height, WHITE, 1.2)


def _lengths(axes: Axes, region: CompiledRegion, pace: float, coat_stretches: list[Stretch]) -> None:
    if region.target is not None and region.target.longest_mm is not None:
        low, high = region.target.longest_mm
        axes.axhspan(low, high, color=PALE, zorder=0)
        _note(axes, coat_stretches[0].start + 2, low, say("coat-picture.target", shortest=low, longest=high))
    axes.axhline(region.growth.ready_mm, color=GREEN, linewidth=0.8, linestyle=(0, (6, 3)), zorder=1)
    ready_mm = region.growth.ready_mm
    _note(axes, coat_stretches[0].start + 2, ready_mm, say("coat-picture.ready", mm=ready_mm))
    for stretch in coat_stretches:
        for number, cohort in enumerate(stretch.coat.cohorts):
            days = range(stretch.start, stretch.end + 1)
            mm = [hair_lengths(stretch.coat, region.growth, pace, day)[number] for day in days]
            through = [(day, length) for day, length in zip(days, mm, strict=True) if length > 0]
            if through:
                width = 1.0 + 5.0 * cohort.mass / WHOLE
                if through[0][0] > stretch.start:
                    axes.plot(*through[0], "^", color=BLUE, markersize=8, zorder=5, clip_on=False)
                axes.plot(*zip(*through, strict=True), color=BLUE, linewidth=width, solid_capstyle="butt", zorder=3)


def _fan(axes: Axes, compiled: CompiledProfile, history: History, today: Date, region: str, ahead: Stretch) -> None:
    """How long each hair will be, from what one dog in ten like this one falls short of to what one in ten exceeds."""
    days = [*range(ahead.start, ahead.end, FAN_DAYS), ahead.end]
    dogs = [hair[region] for hair in drawn_hair(compiled, state_on(compiled, history, today), {region: ahead.coat})]
    by_day = [[hair_lengths(coat, growth, pace, day) for growth, pace, coat in dogs] for day in days]
    for cohort in range(len(ahead.coat.cohorts)):
        lengths = [sorted(max(of_dog[cohort], 0.0) for of_dog in of_day) for of_day in by_day]
        tenth = len(dogs) // 10
        low, high = [mm[tenth] for mm in lengths], [mm[-1 - tenth] for mm in lengths]
        axes.fill_between(days, low, high, color=BLUE, alpha=0.13, linewidth=0, zorder=2)


def _note(axes: Axes, x: float, y: float, text: str) -> None:
    paper = {"boxstyle": "round,pad=0.15", "facecolor": WHITE, "edgecolor": "none", "alpha": 0.85}
    write(axes, x, y, text, fontsize=8.5, va="bottom", color=INK, bbox=paper, zorder=6)


def _measured(axes: Axes, compiled: CompiledProfile, history: History, day: Date, region: str) -> None:
    points = [
        (visit.day.toordinal(), seen.longest_mm)
        for _, visit in history.until(day)
        for name, seen in compiled.by_region(visit.seen)
        if name == region and seen.longest_mm is not None
    ]
    if points:
        axes.plot(*zip(*points, strict=True), "D", color=BLACK, markerfacecolor=WHITE, markersize=7, zorder=5)


def _days(axes: Axes, order: WorkOrder, history: History) -> None:
    visit = order.next_visit
    for _, past_visit in history.until(order.date):
        axes.axvline(past_visit.day.toordinal(), color=GREY, linewidth=0.8, zorder=4)
    axes.axvline(order.date.toordinal(), color=INK, linewidth=2.2, zorder=4)
    if visit.latest is not None and not visit.clash:
        axes.axvspan(
            visit.earliest.toordinal(),
            visit.latest.toordinal(),
            facecolor="none",
            edgecolor=GREY,
            hatch="\\\\",
            linewidth=0.8,
            zorder=4,
            alpha=0.55,
        )
    axes.axvline(visit.best.toordinal(), color=INK, linewidth=2.2, linestyle=(0, (2, 1.2)), zorder=4)


def _names(axes: Axes, order: WorkOrder, top: float) -> None:
    """The days that matter, said beside their lines."""
    paper = {"boxstyle": "round,pad=0.2", "facecolor": WHITE, "edgecolor": "none", "alpha": 0.9}
    visit = order.next_visit
    start, end = axes.get_xlim()
    best = visit.best.toordinal()
    cut_off = best + NAME * (end - start) > end  # so it ends with the picture, over its own line
    today, next_visit = say("coat-picture.today", day=order.date), say("coat-picture.next-visit", day=visit.best)
    for x, side, words in (
        (order.date.toordinal() - 1, "right", today),
        (end if cut_off else best + 1, "right" if cut_off else "left", next_visit),
    ):
        axes.text(
            x,
            top * 0.985,
            words,
            fontsize=9,
            fontweight="bold",
            ha=side,
            va="top",
            bbox=paper,
            zorder=6,
        )


def _dates(axes: Axes, start: int, end: int) -> None:
    """Mondays along the bottom, as many as can be read."""
    axes.set_xlim(start, end)
    every = max(1, round((end - start) / 7 / 14)) * 7
    first = start + (-(start - 1)) % 7  # ordinal 1 was a Monday
    days = list(range(first, end + 1, every))
    axes.set_xticks(days, [say.amount("short", Date.fromordinal(day)) for day in days], fontsize=8.5)


def _legend(page: Axes) -> None:
    for number, shade in enumerate((UNDER, SHORT, READY, RIPE, BLOWN)):
        legend_entry(page, 0.075 + number * 0.18, 0.888, 0.028, 0.026, shade)
    notes = (say("coat-picture.note-bands"), say("coat-picture.note-lines"))
    for number, line in enumerate(notes):
        write(page, 0.075, 0.862 - number * 0.021, line, 200, fontsize=8.5, va="center", color=GREY)
