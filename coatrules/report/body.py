"""The body chart: the dog from both sides, every region shaded, with a legend in words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from coatrules.catalogue.speaking import say
from coatrules.order.work_order import WorkOrder
from coatrules.report.chart import GREY, INK, PALE, WHITE, Form, Shade, fill, fit, image, legend_entry, write
from coatrules.report.drawing import Drawing, Points, Shape, drawing
from coatrules.report.rows import label
from coatrules.report.safe_text import short
from coatrules.report.shading import DARK, Shading, by_fact, by_order

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.patches import Polygon

WIDTH, HEIGHT = 200.0, 158.0
SIZE = 11.7, 8.3
"""Of the whole chart, in inches: A4 lying."""
COLUMNS = 3
MM_PER_INCH, POINTS_PER_INCH = 25.4, 72.0
FAR = 5000.0
"""Points, below a picture: no page shows so much of what is round it."""
PRINTED_MM, NUMBER_POINTS = 66.0, 7.5
"""The least width of the left side on paper, and the height of its numbers there: to be read at arm's length (common practice, no
source)."""


def body_chart(order: WorkOrder, form: Form, fact: str | None = None) -> bytes:
    """The chart with its key, for a wall or a screen: what the order asks, or one fact (``InputError`` for unknown ones)."""
    shading = by_order(order) if fact is None else by_fact(order, fact)
    return image(lambda: _poster(order, shading), form)


def undrawn(order: WorkOrder) -> list[str]:
    """The labels of regions that the drawing lacks."""
    return [label(order, name) for name in order.labels if name not in drawing(order.outline).shapes]


class KeyEntry(NamedTuple):
    """A shade in words, the id of its swatch in the picture, and the swatch's place there as SVG's ``viewBox``."""

    words: str
    swatch: str
    box: str


class Picture(NamedTuple):
    """An SVG to stand in a page, how high it must at least be on paper, and its key, for the page to write."""

    svg: str
    least_mm: float
    key: list[KeyEntry]


def left_side(order: WorkOrder, numbers: Mapping[str, str]) -> Picture:
    """The left side, for a page that says in words what is asked; the right is worked alike.

    ``numbers`` are written on the regions. The swatches of the key lie far below the picture, where nobody sees them.
    """
    dog, shading = drawing(order.outline), by_order(order)
    bottom, top = -9.0, dog.top + 2
    wide = PRINTED_MM / MM_PER_INCH
    high = wide * (top - bottom) / WIDTH
    swatch_wide, swatch_high = 18, 10  # points, as everything in an SVG
    below = high * POINTS_PER_INCH
    key = [
        KeyEntry(shade.words, f"shade-{rank}", f"{rank * swatch_wide} {below + FAR:.3f} {swatch_wide} {swatch_high}")
        for rank, shade in enumerate(shading.legend)
    ]

    def build() -> Figure:
        from matplotlib.figure import Figure

        figure = Figure(figsize=(wide, high))
        _dog(
            _plain_axes(figure, (0, 0, 1, 1), (-4, WIDTH - 4), (bottom, top)),
            dog,
            shading,
            numbers,
            False,
            NUMBER_POINTS,
        )
        points = _plain_axes(figure, (0, 0, 1, 1), (0, wide * POINTS_PER_INCH), (0, below))
        for rank, (entry, shade) in enumerate(zip(key, shading.legend, strict=True)):
            swatch = fill(points, rank * swatch_wide, -FAR - swatch_high, swatch_wide, swatch_high, shade)
            swatch.set(gid=entry.swatch, clip_on=False)
        return figure

    return Picture(image(build, "svg").decode(), round(high * MM_PER_INCH, 1), key)


def _poster(order: WorkOrder, shading: Shading) -> Figure:
    from matplotlib.figure import Figure

    figure = Figure(figsize=SIZE)
    numbers = {name: str(number) for number, name in enumerate(order.labels, 1)}
    dog = drawing(order.outline)
    _view(figure, dog, shading, numbers, (0.0, 0.4, 0.5, 0.53), False, 8.0)
    _view(figure, dog, shading, numbers, (0.5, 0.4, 0.5, 0.53), True, 8.0)
    page = _plain_axes(figure, (0, 0, 1, 1), (0, 1), (0, 1))
    write(page, 0.03, 0.955, order.dog_name, 40, fontsize=20, fontweight="bold", va="center")
    profile_day = say("picture.profile-day", profile=say.own(order.profile_label), day=order.date)
    write(page, 0.97, 0.955, profile_day, 90, fontsize=11, ha="right", va="center")
    _legend(page, shading)
    _key(figure, page, dog, order, shading)
    return figure


def _plain_axes(
    figure: Figure,
    rectangle: tuple[float, float, float, float],
    across: tuple[float, float],
    up: tuple[float, float],
) -> Axes:
    axes = figure.add_axes(rectangle)
    axes.set(xlim=across, ylim=up)
    axes.axis("off")
    return axes


def _view(
    figure: Figure,
    dog: Drawing,
    shading: Shading,
    numbers: Mapping[str, str],
    rectangle: tuple[float, float, float, float],
    mirrored: bool,
    size: float,
) -> None:
    axes = _plain_axes(figure, rectangle, (-4, WIDTH - 4), (-9, HEIGHT - 9))
    axes.set_aspect("equal")
    _dog(axes, dog, shading, numbers, mirrored, size)
    side = say("picture.right-side" if mirrored else "picture.left-side")
    write(axes, WIDTH / 2, -7, side, fontsize=size + 1, ha="center", va="bottom", color=GREY)


def _dog(axes: Axes, dog: Drawing, shading: Shading, numbers: Mapping[str, str], mirrored: bool, size: float) -> None:
    def polygon(points: Points, colour: str, edge: str, line: float, hatch: str = "") -> Polygon:
        from matplotlib.patches import Polygon

        turned = [(WIDTH - 8 - x, y) for x, y in points] if mirrored else points
        patch = Polygon(turned, closed=True, facecolor=colour, edgecolor=edge, linewidth=line, hatch=hatch or None)
        axes.add_patch(patch)
        return patch

    for far in dog.far_legs:
        polygon(far, PALE, GREY, 0.8)
    body = polygon(dog.outline, WHITE, "none", 0)
    for name, shape in dog.shapes.items():
        shade = shading.regions.get(name, Shade("", WHITE))
        surface = polygon(shape.line, shade.colour, shade.ink, 0, shade.hatch)
        border = polygon(shape.line, "none", WHITE if shade.colour in DARK else INK, 0.5)
        if not shape.free:
            surface.set_clip_path(body)
            border.set_clip_path(body)
    polygon(dog.outline, "none", INK, 1.6)
    for shape in dog.shapes.values():
        if shape.free:
            polygon(shape.line, "none", INK, 0.9)
    polygon(dog.nose, INK, INK, 0.5)
    x, y = dog.eye
    axes.plot([WIDTH - 8 - x if mirrored else x], [y], "o", color=INK, markersize=size / 2.4)
    for name, shape in dog.shapes.items():
        if name in numbers and name in shading.regions:
            _number(axes, shape, numbers[name], mirrored, size)


def _number(axes: Axes, shape: Shape, number: str, mirrored: bool, size: float) -> None:
    def across(x: float) -> float:
        return WIDTH - 8 - x if mirrored else x

    x, y = shape.at
    if shape.leader is not None:
        axes.plot([across(x), across(shape.leader[0])], [y, shape.leader[1]], color=INK, linewidth=0.6)
    paper = {"boxstyle": "round,pad=0.12", "facecolor": WHITE, "edgecolor": "none"}
    write(axes, across(x), y, number, fontsize=size, fontweight="bold", ha="center", va="center", bbox=paper)


def _legend(page: Axes, shading: Shading) -> None:
    write(page, 0.03, 0.375, shading.title, fontsize=12, fontweight="bold", va="center")
    for number, shade in enumerate(shading.legend):
        legend_entry(page, 0.03, 0.335 - number * 0.036, 0.028, 0.026, shade)


def _key(figure: Figure, page: Axes, dog: Drawing, order: WorkOrder, shading: Shading) -> None:
    """Every region's number, name and words; those that the drawing lacks are listed all the same, marked by a star."""
    names = list(order.labels)
    rows = max(1, -(-len(names) // COLUMNS))
    step = min(0.0285, 0.355 / rows)
    size = 8.5 if rows <= 15 else max(3.0, 8.5 * 15 / rows)
    for number, name in enumerate(names):
        column, row = divmod(number, rows)
        x, y = 0.245 + column * 0.254, 0.375 - row * step
        write(page, x, y, f"{number + 1}", fontsize=size, fontweight="bold", ha="right", va="center")
        star = "" if name in dog.shapes else "*"
        part, words = f"{short(label(order, name), 60)}{star}", short(shading.words[name], 45)
        left = write(page, x + 0.006, y, part, fontsize=size, va="center")
        right = write(page, x + 0.224, y, words, fontsize=size, ha="right", va="center", color=GREY)
        fit(figure, (left, right), size, 0.21 * SIZE[0])
    if undrawn(order):
        write(page, 0.97, 0.012, say("picture.undrawn"), fontsize=8, ha="right", va="center", color=GREY)
