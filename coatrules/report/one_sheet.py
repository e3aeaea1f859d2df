"""What fits on one sheet of A4: how many lines words take in print, and how large they may be. The sizes are those of the template."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import ceil
from typing import NamedTuple

from coatrules.report.chart import ink_width

SIZES = (10.0, 9.5, 9.0, 8.5)
"""Sizes of type that a sheet is tried in, in points: the last is as small as the cautions, the least that is read at arm's length
(common practice, no source)."""
CAUTION_POINTS = 8.0
HIGH_MM, WIDE_MM = 279.0, 190.0
"""Of the sheet within its margins; a millimetre and a half is kept for what is rounded."""
BOX_MM, WHERE_MM, TOOL_MM, CAUTION_MM, KEY_MM = 174.0, 86.0, 34.0, 56.0, 104.0
"""How wide a line is in the box, in the columns that say where and with what, in one of three of the cautions, and beside the picture."""
ROW_MM, ITEM_MM = 1.2, 0.3
"""Above and below the words of a row, and between two items of a list."""
HEADINGS_MM = 16.0
"""The edge of the box, the head of the table, and what parts the sections."""
BLANKS, BLANK_MM, KEY_LINE_MM, SWATCH_MM = 7, 6.0, 3.9, 10.0
NARROWER = {False: 0.9, True: 0.86}
"""Arial, by whether it is bold, is so many times as wide as the lettering that is at hand to measure (at most: measured on the
sentences of sheets in three languages)."""
MM_PER_POINT, LEADING = 25.4 / 72, 1.18


class Words(NamedTuple):
    """What stands on the sheet beside the passes, from above. ``urgent``: so many sentences of the box are bold. ``key`` and
    ``picture_mm``: of the picture, which is at least so high. ``line_cautions`` are bold."""

    name: str
    profile_day: str
    time: str
    box: Sequence[str]
    urgent: int
    put_off: str
    next_visit: str
    undrawn: str
    key: Sequence[str]
    picture_mm: float
    cautions: Sequence[str]
    line_cautions: Sequence[str]


def lines(text: str, wide_mm: float, points: float, *, bold: bool = False) -> int:
    """Returns how many lines a text takes, filled word by word; words too long for one are broken."""
    room = wide_mm / points
    space = _width(" ", bold)
    count, used = 0, room
    for word in text.split():
        width = _width(word, bold)
        if used + space + width <= room:
            used += space + width
        else:
            count += max(1, ceil(width / room))
            used = width % room
    return count


def _width(word: str, bold: bool) -> float:
    """How wide a word is in Arial, in mm for each point of its size."""
    return sum(_letter_width(letter, bold) for letter in word) * MM_PER_POINT * NARROWER[bold]


@lru_cache(maxsize=4096)
def _letter_width(letter: str, bold: bool) -> float:
    """How far a letter takes the line on, by its size, in the lettering that is at hand."""
    return ink_width(f"x{letter}x", bold=bold) - ink_width("xx", bold=bold)


def row_lines(tool: str, where: str, points: float) -> int:
    """Returns how many lines a row of the table takes."""
    size = points * 0.95
    return max(lines(where, WHERE_MM, size), lines(tool, TOOL_MM, size, bold=True))


def lines_left(words: Words, rows: int, points: float) -> int:
    """Returns how many lines are left for so many passes; below zero where there is no room for the rest."""
    line = points * MM_PER_POINT * LEADING
    name = lines(words.name, WIDE_MM, points * 2, bold=True) * 2.2 + lines(
        f"{words.profile_day} {words.time}", WIDE_MM, points
    )
    box = sum(lines(text, BOX_MM, points, bold=rank < words.urgent) for rank, text in enumerate(words.box))
    after = lines(words.put_off, WIDE_MM, points) + lines(words.next_visit, WIDE_MM, points, bold=True)
    # An item is not parted between two columns, so they do not end alike.
    of_cautions = [
        *(lines(text, CAUTION_MM, CAUTION_POINTS) for text in words.cautions),
        *(lines(text, CAUTION_MM, CAUTION_POINTS, bold=True) for text in words.line_cautions),
    ]
    cautions = (ceil(sum(of_cautions) / 3) + max(of_cautions, default=0) // 2) * CAUTION_POINTS * 1.1 * MM_PER_POINT
    # Of the headings in the box, over the table, the picture and the cautions.
    used = (name + box + after + 4 * 1.15) * line + cautions + HEADINGS_MM
    used += len(words.box) * ITEM_MM + len(of_cautions) / 3 * ITEM_MM
    key = sum(_width(text, False) * CAUTION_POINTS + SWATCH_MM for text in words.key)
    used += lines(words.undrawn, WIDE_MM, points) * line
    used += max(words.picture_mm, BLANKS * BLANK_MM + ceil(key / KEY_MM) * KEY_LINE_MM)
    return int((HIGH_MM - used - rows * ROW_MM) / (line * 0.95))
