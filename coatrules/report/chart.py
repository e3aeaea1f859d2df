"""What all pictures share: colours, hatching, lettering, and saving so that the same picture is always the same bytes."""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Literal

from attrs import frozen

from coatrules.catalogue.message import Message
from coatrules.extras import require_extra
from coatrules.report.safe_text import short

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.patches import Rectangle
    from matplotlib.text import Text

Form = Literal["svg", "png"]

# Okabe and Ito, "Color Universal Design" (2002, revised 2008): eight colours that the colour-blind tell apart.
BLACK, ORANGE, SKY, GREEN, YELLOW, BLUE, VERMILLION, PURPLE = (
    "#000000",
    "#e69f00",
    "#56b4e9",
    "#009e73",
    "#f0e442",
    "#0072b2",
    "#d55e00",
    "#cc79a7",
)
# ColorBrewer "Blues", three classes (Harrower and Brewer 2003), marked there as safe for the colour-blind and for print.
PALE_BLUE, MIDDLE_BLUE, DEEP_BLUE = "#deebf7", "#9ecae1", "#3182bd"
WHITE, PALE, GREY, INK = "#ffffff", "#eeeeee", "#6e6e6e", "#222222"


@frozen
class Shade:
    """How a surface is filled: a colour, a hatching that tells it apart in black and white, and what it means."""

    meaning: Message | str
    colour: str
    hatch: str = ""
    ink: str = INK

    @property
    def words(self) -> str:
        """What it means, in words."""
        return str(self.meaning)


LETTERING = "DejaVu Sans"
"""Which matplotlib brings with it."""
_STYLE: Any = {
    "svg.hashsalt": "coatrules",
    "svg.fonttype": "none",
    "font.family": "sans-serif",
    "font.sans-serif": [LETTERING, "Verdana", "sans-serif"],
    "font.size": 10.0,
    "hatch.linewidth": 0.7,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.edgecolor": GREY,
    "text.color": INK,
    "axes.labelcolor": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "figure.facecolor": WHITE,
}


def image(build: Callable[[], Figure], form: Form) -> bytes:
    """The picture that ``build`` draws, as SVG or PNG (150 dots an inch): the same on every run, with no date in it."""
    require_extra("report", "matplotlib")
    import matplotlib

    with matplotlib.rc_context(), _any_script():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(_STYLE)
        file = io.BytesIO()
        nothing = ("Creator", "Date", "Format", "Type") if form == "svg" else ("Software",)
        build().savefig(file, format=form, dpi=150, metadata=dict.fromkeys(nothing))
    return file.getvalue()


@contextmanager
def _any_script() -> Iterator[None]:
    """A name in a script that the lettering lacks is shown by boxes in a PNG, and rightly by the viewer of an SVG."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        yield


def ink_width(text: str, *, bold: bool) -> float:
    """Returns how wide a text is in the lettering of the pictures, by the size of its type, without what is round it."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    lettering = FontProperties(family=LETTERING, weight="bold" if bold else "normal", size=100)
    with _any_script():
        points, _, _ = text_to_path.get_text_width_height_descent(text, lettering, ismath=False)
    return float(points) / 100


def write(axes: Axes, x: float, y: float, text: str, most: int = 60, **style: Any) -> Text:
    """Text in a picture, never read as a formula."""
    return axes.text(x, y, short(text, most), parse_math=False, **style)


def fit(figure: Figure, texts: Sequence[Text], size: float, width: float) -> None:
    """Makes texts that stand in one row smaller than ``size`` where together they need more than ``width`` (in inches)."""
    needed = sum(text.get_window_extent().width for text in texts) / figure.dpi
    for text in texts if needed > width else ():
        text.set_fontsize(size * width / needed)


def fill(axes: Axes, x: float, y: float, width: float, height: float, shade: Shade) -> Rectangle:
    """A rectangle filled by a shade, without an edge."""
    from matplotlib.patches import Rectangle

    box = Rectangle((x, y), width, height, facecolor=shade.colour, edgecolor=shade.ink, linewidth=0)
    if shade.hatch:
        box.set_hatch(shade.hatch)
    axes.add_patch(box)
    return box


def area(axes: Axes, points: Sequence[tuple[float, float]], shade: Shade) -> None:
    """What lies within the points, filled by a shade, without an edge."""
    from matplotlib.patches import Polygon

    inside = Polygon(points, closed=True, facecolor=shade.colour, edgecolor=shade.ink, linewidth=0)
    if shade.hatch:
        inside.set_hatch(shade.hatch)
    axes.add_patch(inside)


def frame(axes: Axes, x: float, y: float, width: float, height: float, colour: str, line: float) -> None:
    """The edge of a rectangle alone."""
    from matplotlib.patches import Rectangle

    axes.add_patch(Rectangle((x, y), width, height, facecolor="none", edgecolor=colour, linewidth=line))


def legend_entry(axes: Axes, x: float, y: float, width: float, height: float, shade: Shade) -> None:
    """A swatch with its words beside it."""
    fill(axes, x, y, width, height, shade)
    frame(axes, x, y, width, height, INK, 0.6)
    write(axes, x + width * 1.3, y + height / 2, shade.words, 28, fontsize=9.5, va="center")
