"""The coats of which lengths and verdicts tell: each goes on from the one before, as if all of it were replayed."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from coatrules.coat.queue import WHOLE, Coat, Pull, fresh
from coatrules.dog.hair_records import coats_before, grow_on
from coatrules.dog.region_log import Measured, RegionLog
from tests.support.hair import hair

TERRIER = hair(lag_weeks=2, mm_per_week=4.0, grows_weeks=16, rests_weeks=8)
days = st.integers(1, 400)
pulls = st.builds(Pull, days, st.integers(1, WHOLE), st.sampled_from(["longest", "ripe", "even"]))


@given(
    st.lists(pulls, max_size=12),
    st.lists(st.tuples(days, st.floats(1, 40)), max_size=2),
    st.lists(days, min_size=1, max_size=8, unique=True),
)
def test_a_coat_is_as_if_replayed_from_the_start(
    pulled: list[Pull], cuts: list[tuple[int, float]], seen: list[int]
) -> None:
    trail = RegionLog()
    trail.pulls = sorted(pulled, key=lambda pull: pull.day)
    trail.cuts = sorted(cuts)
    trail.lengths = [Measured(day, 0, 1, 30.0) for day in seen]
    start = Coat((fresh(WHOLE, -84),))
    coats = coats_before(start, TERRIER, trail)
    assert coats == {day: grow_on(start, TERRIER, 1.0, trail, until=day) for day in seen}
