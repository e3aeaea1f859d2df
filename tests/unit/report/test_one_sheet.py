"""The words of the printed order are as many, and as large, as one sheet of A4 holds; what it looks like in a browser is tested there."""

from __future__ import annotations

import re
from datetime import date
from html import escape
from pathlib import Path

import matplotlib as mpl
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as st

from coatrules import WorkOrder, load_history, work_order
from coatrules.catalogue.languages import catalogue
from coatrules.catalogue.speaking import speaking
from coatrules.report.one_sheet import MM_PER_POINT, SIZES, Words, lines, lines_left, row_lines
from coatrules.report.page import page

DAY = date(2026, 3, 9)
SENTENCES = [
    "Too long on the day unless it is worked again before: neck, withers, back, loin, croup, shoulders, ribs, tail.",
    "Weiter im Rolling Coat, ein Viertel: Widerrist; Kruppe; Brustkorbseiten; Oberschenkel; sonst meist knapp ein Drittel.",
    "Laisser tel quel ce que le chien a refusé : doigts des pieds avant et doigts des pieds arrière. Réessayer plus tard.",
]
WORDS = Words(
    name="Reed",
    profile_day="Terrier · 9 March 2026",
    time="100 min of 120",
    box=SENTENCES,
    urgent=1,
    put_off="",
    next_visit="Next visit 30 March.",
    undrawn="",
    key=["pull 1/4 or more", "left alone"],
    picture_mm=50.0,
    cautions=SENTENCES * 3,
    line_cautions=[],
)


def helvetica(bold: bool) -> dict[str, int]:
    """The widths of letters in thousandths of their size: Adobe's metrics of Helvetica, which Arial shares."""
    file = Path(mpl.get_data_path()) / "fonts/pdfcorefonts" / f"Helvetica{'-Bold' if bold else ''}.afm"
    entries = re.findall(r"C (-?\d+) ; WX (\d+) ; N (\w+) ;", file.read_text("latin-1"))
    accents = {"eacute": "é", "egrave": "è", "agrave": "à"}
    return {accents.get(name, chr(max(int(code), 0))): int(width) for code, width, name in entries}


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize("text", SENTENCES)
def test_lines_are_counted_as_they_break_in_arial(text: str, bold: bool) -> None:
    widths = helvetica(bold)
    for room in (50.0, 86.0, 174.0):
        count, used = 1, 0.0
        for word in text.split():
            wide = sum(widths[letter] for letter in word) / 1000 * 10 * MM_PER_POINT
            space = widths[" "] / 1000 * 10 * MM_PER_POINT
            count, used = (count, used + space + wide) if used + space + wide <= room + space else (count + 1, wide)
        assert count <= lines(text, room, 10.0, bold=bold) <= count + 1 + count // 6


@given(st.text("ab éßilmWж", min_size=1, max_size=80), st.sampled_from(SIZES))
def test_smaller_type_and_more_room_take_no_more_lines(text: str, points: float) -> None:
    count = lines(text, 60, points)
    assert (count > 0) == bool(text.split())
    assert lines(text, 60, points * 0.8) <= count
    assert lines(f"{text} {text}", 60, points) >= count


def test_a_word_too_long_for_a_line_is_broken() -> None:
    assert lines("x" * 400, 60, 10) >= lines("x" * 200, 60, 10) * 2 - 1 > 4


def test_whatever_else_is_on_the_sheet_takes_room_from_the_passes() -> None:
    left = lines_left(WORDS, 6, 10.0)
    assert left > 10
    more = [
        WORDS._replace(name="Bartholomew of the Long Meadow by the River and the Old Mill"),
        WORDS._replace(box=SENTENCES * 2),
        WORDS._replace(put_off=SENTENCES[0]),
        WORDS._replace(undrawn=SENTENCES[0]),
        WORDS._replace(line_cautions=SENTENCES),
        WORDS._replace(picture_mm=90.0),
        WORDS._replace(key=["pull 1/4 or more"] * 12),
    ]
    assert all(lines_left(words, 6, 10.0) < left for words in more)
    assert lines_left(WORDS, 6, 8.5) > left > lines_left(WORDS, 9, 10.0)


def full_day(profile: str) -> WorkOrder:
    """A new dog with a show ahead that refused two places and whose skin is unsound in three."""
    dog = {"id": "one", "name": "Bartholomew of the Long Meadow", "show": "2026-06-01"}
    unsound = {part: {"skin": "unsound"} for part in ("belly", "throat", "buttocks")}
    visit = {"visit": "2026-03-05", "reactions": {"toes": "stop", "ears-outside": "stop"}, "seen": unsound}
    return work_order(profile, load_history({"format": 1, "dog": dog, "visits": [visit]}), date=DAY)


def points_of(html: str) -> float:
    found = re.search(r'class="sheet" style="--points: ([\d.]+)pt"', html)
    assert found is not None
    return float(found[1])


def test_a_full_day_is_in_smaller_type_and_leaves_nothing_out() -> None:
    easy = page(work_order("border-terrier", load_history({"format": 1, "dog": {"id": "moss"}}), date=DAY))
    assert points_of(easy) == SIZES[0], "what fits is as large as it can be"
    order = full_day("border-terrier")
    long = evolve(order, labels={name: f"the part that the old hand calls {name}" for name in order.labels})
    with speaking(catalogue("de")):
        html = page(long)
        kept = [escape(str(caution)) for caution in order.cautions]
    assert points_of(html) < SIZES[0]
    assert [caution for caution in kept if caution not in html] == []


def test_no_word_on_the_sheet_is_smaller_than_eight_points() -> None:
    """Cautions were printed at 7.8 points, numbers on the dog at 4.5 to 5.6: too small at arm's length (common practice, no source)."""
    html = page(full_day("border-terrier"))
    in_print = html.partition("@media print {\n    .scroll")[2].partition("</style>")[0]
    sizes = [float(size) for size in re.findall(r"font-size: ([\d.]+)pt", in_print)]
    assert sizes
    assert min(sizes) >= 8
    numbers = [float(size) for size in re.findall(r"<text style=\"[^>]*font-size: ([\d.]+)px", html)]
    assert numbers
    least = re.search(r'class="picture"[^>]*min-height: ([\d.]+)mm', html)
    height = re.search(r'<svg[^>]*height="([\d.]+)pt"', html)
    assert least is not None
    assert height is not None
    scale = float(least[1]) / (float(height[1]) * MM_PER_POINT)
    assert min(numbers) * scale >= 7.4


def test_a_row_is_as_high_as_its_longer_column() -> None:
    assert row_lines("Stone", "back", 10) == 1
    assert row_lines("Stone", SENTENCES[0], 10) == row_lines("Stone " * 5, SENTENCES[0], 10) > 1
    assert row_lines("Stone " * 20, "back", 10) > 2
