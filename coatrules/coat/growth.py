"""How hair of one kind grows, rests and comes: lengths in millimetres, ages in weeks at pace 1, days whole.

All hair pulled on one day grows alike, but it stops one after the other: the first after ``(1 - spread)`` of the growing
time, the last after all of it, evenly between. Stopped hair is ripe (at rest, it comes easily) and, after its rest, loose.
"""

from collections.abc import Mapping
from functools import lru_cache
from math import ceil
from typing import Annotated, NamedTuple

from attrs import evolve, field, frozen

from coatrules.formats.values import FactName, Length, Millimetres, PositiveMillimetres, Range, SourceOf
from coatrules.read_only import NOTHING

Ends = tuple[float, float]
"""The 10th and 90th percentile of a figure."""


@frozen(kw_only=True, cache_hash=True)
class Growth:
    """How hair of one kind grows on the profile's typical dog. A profile's figures are checked when it is loaded.

    lag_weeks: from the pull until the new hair stands at the skin. mm_per_week: how fast it then grows.
    grows_weeks: how long the last hair of a coat pulled on one day grows; ``full_mm``, the length at which it stops, is the
    other way to say it, and each is worked out from the other.
    rests_weeks: from the end of its growth until a hair is dead and loose.
    spread: the first hair stops ``spread * grows_weeks`` before the last; above 0, at most 1.
    ready_mm: long enough to pull. cover_mm: long enough to hide the skin. layer_gap_mm: least step between two layers.
    undercoat_weeks: from a carding until the undercoat is back in full; None where there is none to card.
    ranges: by figure, the 10th and 90th percentile of what is possible. source: where these figures come from.
    """

    lag_weeks: Annotated[float, Range(0, 52)]
    mm_per_week: Annotated[float, Range(0, 30, above=True)]
    grows_weeks: Annotated[float, Range(0, 260, above=True)] = 0.0
    full_mm: PositiveMillimetres = 0.0
    rests_weeks: Annotated[float, Range(0, 260)]
    spread: Annotated[float, Range(0, 1, above=True)] = 0.35
    ready_mm: Millimetres
    cover_mm: PositiveMillimetres
    layer_gap_mm: Millimetres
    undercoat_weeks: Annotated[float, Range(0, 104, above=True)] | None = None
    ranges: Mapping[FactName, Annotated[tuple[float, ...], Length(2, 2)]] = field(default=NOTHING)
    source: SourceOf | None = None

    def __attrs_post_init__(self) -> None:
        if not self.grows_weeks and not self.full_mm:
            raise ValueError("hair that grows neither for a time nor to a length")
        if not self.grows_weeks:
            object.__setattr__(self, "grows_weeks", self.full_mm / self.mm_per_week)
        elif not self.full_mm:
            object.__setattr__(self, "full_mm", self.mm_per_week * self.grows_weeks)

    def growing(self, weeks: float) -> "Growth":
        """Returns the same hair with another growing time."""
        return evolve(self, grows_weeks=weeks, full_mm=0.0)

    @property
    def ripens_weeks(self) -> float:
        """The age at which the first hair stops growing."""
        return self.lag_weeks + (1 - self.spread) * self.grows_weeks

    @property
    def grown_weeks(self) -> float:
        """The age at which the last hair stops growing."""
        return self.lag_weeks + self.grows_weeks

    @property
    def blown_weeks(self) -> float:
        """The age at which the last hair is loose."""
        return self.lag_weeks + self.grows_weeks + self.rests_weeks

    def range_of(self, figure: str) -> Ends | None:
        """Returns the 10th and 90th percentile of a figure, None where nobody says."""
        ends = self.ranges.get(figure)
        return None if ends is None else (ends[0], ends[1])

    def length(self, age_weeks: float) -> float:
        """Returns the length in mm of the longest hair at an age at pace 1, uncut; 0 under the skin."""
        return min(max(self.mm_per_week * (age_weeks - self.lag_weeks), 0.0), self.full_mm)

    def age_at(self, length_mm: float) -> float:
        """Returns the age in weeks at pace 1 at which uncut hair reaches a length; ``ValueError`` outside 0 to ``full_mm``."""
        if not 0 <= length_mm <= self.full_mm:
            raise ValueError(f"this hair is 0 to {self.full_mm} mm long, never {length_mm} mm")
        return self.lag_weeks + length_mm / self.mm_per_week

    def ripe_share(self, age_weeks: float) -> float:
        """Returns the share (0 to 1) of hair of one age that has stopped growing."""
        return min(max((age_weeks - self.ripens_weeks) / (self.spread * self.grows_weeks), 0.0), 1.0)

    def age_when_ripe(self, share: float) -> float:
        """Returns the age in weeks at pace 1 at which ``share`` (0 to 1) is ripe; ``ValueError`` for other shares."""
        if not 0 <= share <= 1:
            raise ValueError(f"a share is 0 to 1, not {share}")
        return self.lag_weeks + self.grows_weeks * (1 - self.spread + self.spread * share)


class Ripening(NamedTuple):
    """Whole days from the pull: the last on which no hair is ripe and the first on which all is; the same for loose."""

    ripens: int
    ripe: int
    loosens: int
    loose: int


@lru_cache(maxsize=4096)  # the dogs of a book share the figures of their coats, and most of them a pace
def days_to_age(weeks: float, pace: float) -> int:
    """Returns the first whole day after a pull on which the hair's age times the pace reaches ``weeks``."""
    days = max(0, ceil(weeks * 7 / pace))
    # The estimate may miss by rounding; what decides is the expression by which ages are read everywhere.
    while days and pace * (days - 1) / 7 >= weeks:
        days -= 1
    while pace * days / 7 < weeks:
        days += 1
    return days


@lru_cache(maxsize=4096)
def ripening_days(growth: Growth, pace: float) -> Ripening:
    """Returns the days on which hair of this kind ripens and loosens at a pace."""
    ripens, loosens = (days_to_age(growth.ripens_weeks + rest, pace) for rest in (0.0, growth.rests_weeks))
    ripe, loose = (days_to_age(weeks, pace) for weeks in (growth.grown_weeks, growth.blown_weeks))
    return Ripening(ripens, max(ripens + 1, ripe), loosens, max(loosens + 1, loose))
