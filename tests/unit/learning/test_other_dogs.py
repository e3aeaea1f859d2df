"""Dogs and hands that are not the model's: what is said of their pace holds nearly as often as it should."""

from __future__ import annotations

from typing import Literal, NamedTuple

import numpy as np
import pytest

from coatrules.coat.queue import WHOLE, Coat, Cohort, Pull, fresh, replay
from coatrules.learning.grid import OUTLIER_SD, learn
from coatrules.learning.observations import Length
from tests.support.hair import hair

TERRIER = hair(lag_weeks=2, mm_per_week=4.0, grows_weeks=16, rests_weeks=8)
Kind = Literal[
    "model", "heavy tails", "rounded to 5 mm", "always 3 mm long", "regions apart by 0.2", "visits forgotten"
]


class Told(NamedTuple):
    """Whether the dog's pace lies in its interval of 80 %; how far a region's is from what was told, and from the typical dog's."""

    held: bool
    miss: float
    miss_of_typical: float


def told(rng: np.random.Generator, kind: Kind) -> Told:
    """One dog rolled by a fifth every three weeks, its three regions measured before the work of nine visits."""
    pace, grown = rng.normal(1, 0.15), 16 * float(np.exp(rng.normal(0, 0.25)))
    own = np.maximum(pace + rng.normal(0, 0.2 if kind == "regions apart by 0.2" else 0.1, 3), 0.3)
    records = []
    for region, k in enumerate(own):
        coat = recorded = Coat((fresh(WHOLE, -84),))
        for day in range(0, 210, 21):
            forgotten = kind == "visits forgotten" and day > 0 and rng.random() < 0.2
            if day and not forgotten:
                mm = 4 * float(np.clip(k * weeks(coat.cohorts, day) - 2, 0, grown))
                mm += 2 * float(rng.standard_t(3) / np.sqrt(3) if kind == "heavy tails" else rng.normal())
                mm = 5 * round(mm / 5) if kind == "rounded to 5 mm" else mm + 3 * (kind == "always 3 mm long")
                if mm > 0:
                    age = weeks(recorded.cohorts, day)
                    records.append(Length(f"r{region}", TERRIER, age, mm, day=day, visit=day // 21))
            coat = replay(coat, TERRIER, k, [Pull(day, WHOLE // 5)])
            if not forgotten:
                recorded = replay(recorded, TERRIER, 1.0, [Pull(day, WHOLE // 5)])
    found = learn(records, pace_spread=0.15, outlier_sd=OUTLIER_SD)
    low, high = found.pace.quantile(0.1), found.pace.quantile(0.9)
    return Told(bool(low <= pace <= high), abs(found.pace_of("r0")[0] - own[0]), abs(1 - own[0]))


def weeks(cohorts: tuple[Cohort, ...], day: int) -> float:
    return (day - cohorts[0].day) / 7


@pytest.mark.slow
@pytest.mark.parametrize(
    ("kind", "least", "dogs"),
    [
        ("model", 0.7, 150),
        ("heavy tails", 0.7, 150),
        ("rounded to 5 mm", 0.68, 150),
        ("always 3 mm long", 0.52, 150),  # 60 in 100 is what is wanted; so few dogs tell it to 8 in 100
        ("regions apart by 0.2", 0.52, 150),
        ("visits forgotten", 0.52, 60),
    ],
)
def test_intervals_hold_nearly_as_often_on_other_dogs(kind: Kind, least: float, dogs: int) -> None:
    rng = np.random.default_rng(15)
    found = [told(rng, kind) for _ in range(dogs)]
    assert np.mean([one.held for one in found]) >= least
    assert np.mean([one.miss for one in found]) < np.mean([one.miss_of_typical for one in found])
