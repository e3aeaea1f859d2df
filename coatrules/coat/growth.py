"""How hair of one kind grows: lengths in millimetres, ages in weeks at pace 1, days whole."""

from functools import lru_cache
from math import ceil
from typing import Annotated

from attrs import frozen

from coatrules.formats.values import Millimetres, PositiveMillimetres, Range, SourceOf


@frozen(kw_only=True)
class Growth:
    """How hair of one kind grows on the profile's typical dog. A profile's figures are checked when it is loaded.

    breakthrough_weeks: from the pull until the new hair stands at the skin surface.
    mm_per_week, full_mm: how fast it then grows, and where it stops.
    blown_weeks: from the pull until it is dead and loose.
    ready_mm: long enough to pull. cover_mm: long enough to hide the skin. layer_gap_mm: least step between two layers.
    undercoat_weeks: from a carding until the undercoat is back in full; None where there is none to card.
    source: where these figures come from.
    """

    breakthrough_weeks: Annotated[float, Range(0, 52)]
    mm_per_week: Annotated[float, Range(0, 30, above=True)]
    full_mm: PositiveMillimetres
    blown_weeks: Annotated[float, Range(0, 260, above=True)]
    ready_mm: Millimetres
    cover_mm: PositiveMillimetres
    layer_gap_mm: Millimetres
    undercoat_weeks: Annotated[float, Range(0, 104, above=True)] | None = None
    source: SourceOf | None = None

    def length(self, age_weeks: float) -> float:
        """Length in mm at an age in weeks at pace 1, uncut; 0 under the skin."""
        return min(max(self.mm_per_week * (age_weeks - self.breakthrough_weeks), 0.0), self.full_mm)

    def age_at(self, length_mm: float) -> float:
        """Age in weeks at pace 1 at which uncut hair reaches a length; ``ValueError`` outside 0 to ``full_mm``."""
        if not 0 <= length_mm <= self.full_mm:
            raise ValueError(f"this hair is 0 to {self.full_mm} mm long, never {length_mm} mm")
        return self.breakthrough_weeks + length_mm / self.mm_per_week


@lru_cache(maxsize=4096)  # the dogs of a book share the figures of their coats, and most of them a pace
def days_to_age(weeks: float, pace: float) -> int:
    """The first whole day after a pull on which the hair's age times the pace reaches ``weeks``."""
    days = max(0, ceil(weeks * 7 / pace))
    # The estimate may miss by rounding; what decides is the expression by which ages are read everywhere.
    while days and pace * (days - 1) / 7 >= weeks:
        days -= 1
    while pace * days / 7 < weeks:
        days += 1
    return days
