"""The bound on the rests of a day and the search for the best: an answer too late or a bound too high shows in no order of a
small dog."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings

from coatrules.order import sequence
from coatrules.order.sequence import Bouts, Job, Kind, _Table, arrange
from tests.support.table import (
    count_pieces,
    faults,
    job_on,
    least_rest_by_least_waits,
    phase_faults,
    rested,
    tables,
)


@settings(max_examples=60)
@given(tables(regions=4, minutes=6, longest_rest=6, tasks=2).filter(lambda table: 1 < count_pieces(*table) <= 5))
def test_the_bound_never_asks_for_more_rest_than_the_best_order_from_there(
    table: tuple[list[Job], dict[str, Bouts]],
) -> None:
    laid = _Table(*table)

    def least(state: Any) -> int:
        """The rest of the best of all orders that begin like this."""
        options = laid.options(state, wide=True)
        best = min((least(laid.after(state, option)) for option in options), default=state.rested)
        assert 0 <= laid.least_rest(state) <= best - state.rested
        return best

    assert least(laid.start) == rested(arrange(*table, None).steps)


ALONE = {"toes": Bouts("high", at_most=6, rest=16)}


@pytest.mark.parametrize(
    ("zones", "calm", "tender", "least"),
    [
        # 12 are two bouts, 13 are three; each rest is 16.
        (ALONE, [], [12], 16),
        (ALONE, [], [13], 32),
        # Three of 4 do not pair within 6; two of 3 do.
        (ALONE, [], [4, 4, 4], 32),
        (ALONE, [], [3, 3], 0),
        # The day begins on the shortest calm piece; what calm work is left fills rests.
        (ALONE, [("pull", 4)], [12], 16),
        (ALONE, [("pull", 4), ("pull", 10)], [12], 6),
        (ALONE, [("pull", 4), ("pull", 5), ("pull", 6)], [12], 5),
        # The toes may be pulled before the clipping begins or after: all of it fills, but not the first pull.
        (ALONE, [("pull", 4), ("clip", 5), ("comb", 3)], [12], 8),
        # Another zone's work fills rests too.
        ({**ALONE, "brows": Bouts("low", 8, 2)}, [], [12], 16),
    ],
)
def test_the_bound_on_tables_worked_by_hand(
    zones: dict[str, Bouts], calm: list[tuple[Kind, int]], tender: list[int], least: int
) -> None:
    jobs = [job_on(f"calm {n}", n, task) for n, task in enumerate(calm)]
    jobs += [job_on(f"toe {n}", 50 + n, ("pull", minutes), zone="toes") for n, minutes in enumerate(tender)]
    laid = _Table(jobs, zones)
    assert laid.least_rest(laid.start) == least == rested(arrange(jobs, zones, None).steps)


def test_work_of_a_late_phase_can_rest_only_on_what_is_left_by_then() -> None:
    """Scissoring the toes in two bouts waits for the clipping: the pulling before it fills no rest of theirs."""
    jobs = [
        job_on("back", 1, ("pull", 30)),
        job_on("ribs", 2, ("pull", 20)),
        job_on("anus", 3, ("clip", 4)),
        job_on("feet", 4, ("scissor", 3)),
        job_on("toes", 5, ("scissor", 12), zone="toes"),
    ]
    laid = _Table(jobs, ALONE)
    assert laid.least_rest(laid.start) == 16 - 3 == rested(arrange(jobs, ALONE, None).steps)


def test_pulling_that_may_begin_before_the_clipping_fills_on_all_calm_work() -> None:
    """Back 4, toes 6, ribs 20, toes 6, loin 16, toes 6: the clipping at the end is not all that fills their rests."""
    jobs = [
        job_on("back", 1, ("pull", 4)),
        job_on("ribs", 2, ("pull", 20)),
        job_on("loin", 3, ("pull", 16)),
        job_on("anus", 4, ("clip", 3)),
        job_on("toes", 5, ("pull", 18), zone="toes"),
    ]
    laid = _Table(jobs, ALONE)
    assert laid.least_rest(laid.start) == 0
    assert arrange(jobs, ALONE, 4 + 20 + 16 + 3 + 18).deferred == ()


def test_late_work_of_another_zone_fills_rests_too() -> None:
    """Clip 4, toes 6, feet 3, brows 10, a rest of 3, toes 6: of the 16 between the toes' bouts 13 are worked elsewhere."""
    zones = {**ALONE, "brows": Bouts("low", 20, 2)}
    jobs = [
        job_on("anus", 1, ("clip", 4)),
        job_on("feet", 2, ("scissor", 3)),
        job_on("brows", 3, ("scissor", 10), zone="brows"),
        job_on("toes", 4, ("scissor", 12), zone="toes"),
    ]
    laid = _Table(jobs, zones)
    assert laid.least_rest(laid.start) == 16 - 10 - 3 == rested(arrange(jobs, zones, None).steps)
    assert arrange(jobs, zones, 29 + 3).deferred == ()


def test_a_bout_that_may_go_on_asks_for_no_rest_first() -> None:
    jobs = [job_on(f"toe {n}", n, ("pull", minutes), zone="toes") for n, minutes in enumerate([3, 3, 4, 2])]
    laid = _Table(jobs, ALONE)
    found = {}
    state = laid.start
    for _ in range(4):
        state = laid.after(state, min(laid.options(state, wide=False)))
        found[state.now] = laid.least_rest(state)
    # 3 + 3, a rest, 4 + 2: after three minutes the bout goes on, after six it is full, and the last goes on again.
    assert found == {3: 16, 6: 16, 26: 0, 28: 0}

    jobs = [job_on(f"toe {n}", n, ("pull", minutes), zone="toes") for n, minutes in enumerate([6, 4, 4, 4])]
    laid = _Table(jobs, ALONE)
    state = laid.after(laid.start, min(laid.options(laid.start, wide=False)))
    assert (state.now, laid.least_rest(state)) == (6, 3 * 16)  # full, and no two of 4 share a bout of 6


SEARCHED: list[tuple[int, int, dict[str, Bouts], list[Job]]] = [
    (
        86,
        4,
        {"groin": Bouts("high", 6, 4), "toes": Bouts("high", 4, 8)},
        [
            job_on("r0", 0, ("pull", 2), zone="toes"),
            job_on("r1", 1, ("clip", 1), zone="groin"),
            job_on("r2", 2, ("card", 4), zone="toes"),
            job_on("r3", 3, ("clip", 5), zone="groin"),
            job_on("r4", 4, ("pull", 3), ("scissor", 5), zone="groin"),
            job_on("r5", 5, ("clip", 3)),
        ],
    ),
    (
        59,
        0,
        {"groin": Bouts("high", 5, 6), "brows": Bouts("low", 6, 3), "toes": Bouts("high", 6, 3)},
        [
            job_on("r0", 0, ("pull", 3), zone="toes"),
            job_on("r1", 1, ("card", 1)),
            job_on("r2", 2, ("pull", 8), zone="brows"),
            job_on("r3", 3, ("comb", 1), zone="groin"),
            job_on("r4", 4, ("clip", 2), zone="groin"),
            job_on("r5", 5, ("comb", 5), zone="groin"),
        ],
    ),
    (
        39,
        4,
        {"groin": Bouts("high", 6, 4), "toes": Bouts("high", 4, 4)},
        [
            job_on("r0", 0, ("card", 3), zone="groin"),
            job_on("r1", 1, ("pull", 2), ("scissor", 3), zone="groin"),
            job_on("r2", 2, ("pull", 7), ("clip", 4), zone="toes"),
        ],
    ),
    (
        28,
        12,
        {"groin": Bouts("high", 6, 5), "toes": Bouts("high", 5, 9)},
        [
            job_on("r0", 0, ("card", 8), ("pull", 8), zone="groin"),
            job_on("r1", 1, ("card", 3), ("pull", 6), zone="toes"),
        ],
    ),
    (
        26,
        5,
        {"brows": Bouts("medium", 2, 3), "cheeks": Bouts("medium", 6, 9)},
        [
            job_on("r0", 0, ("scissor", 5), zone="cheeks"),
            job_on("r1", 1, ("card", 6), zone="brows"),
            job_on("r2", 2, ("pull", 3), zone="cheeks"),
            job_on("r3", 3, ("clip", 1), zone="brows"),
        ],
    ),
    (  # with pieces alike tried each on its own 32
        27,
        8,
        {"groin": Bouts("medium", 2, 5), "toes": Bouts("high", 3, 8)},
        [
            job_on("r0", 0, ("pull", 8), ("scissor", 5)),
            job_on("r1", 1, ("scissor", 6), zone="toes"),
            job_on("r2", 2, ("scissor", 3), zone="toes"),
            job_on("r3", 3, ("clip", 2), zone="groin"),
            job_on("r4", 4, ("scissor", 1)),
        ],
    ),
    (  # with calm work told apart by how long it took 68
        62,
        0,
        {"brows": Bouts("low", 3, 3), "groin": Bouts("medium", 7, 13)},
        [
            job_on("r0", 0, ("pull", 3), zone="groin"),
            job_on("r1", 1, ("clip", 2), zone="groin"),
            job_on("r2", 2, ("scissor", 2), zone="groin"),
            job_on("r3", 3, ("clip", 8)),
            job_on("r4", 4, ("scissor", 6), zone="brows"),
            job_on("r5", 5, ("pull", 4), ("clip", 1)),
        ],
    ),
]


@pytest.mark.parametrize(("looks", "least", "zones", "jobs"), SEARCHED)
def test_the_search_passes_over_what_cannot_be_better(
    looks: int, least: int, zones: dict[str, Bouts], jobs: list[Job], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The hardest of thousands of random tables: so many looks end at the least rest, as trying every order finds it."""
    monkeypatch.setattr(sequence, "_EFFORT", looks * count_pieces(jobs, zones))
    assert rested(arrange(jobs, zones, None).steps) == least == least_rest_by_least_waits(jobs, zones)


def test_pieces_as_long_as_each_other_are_told_apart_by_what_comes_after_them() -> None:
    """Two brows of 6 look alike until the scissoring that follows one of them; taking either for the other rests 9."""
    zones = {"brows": Bouts("high", 8, 8)}
    jobs = [
        job_on("sanitary", 0, ("clip", 10)),
        job_on("left brow", 1, ("pull", 6), zone="brows"),
        job_on("right brow", 2, ("pull", 6), ("scissor", 4), zone="brows"),
        job_on("lashes", 3, ("clip", 3), ("scissor", 2), zone="brows"),
        job_on("feet", 4, ("scissor", 7)),
        job_on("belly", 5, ("clip", 10)),
    ]
    assert rested(arrange(jobs, zones, None).steps) == 1


WITHOUT_REST: list[tuple[dict[str, Bouts], list[Job]]] = [
    (  # pull back, clip groin, scissor brows, scissor back, clip groin, scissor brows
        {"brows": Bouts("medium", 4, 11), "groin": Bouts("high", 4, 6)},
        [
            job_on("brows", 0, ("scissor", 6), zone="brows"),
            job_on("groin", 1, ("clip", 6), zone="groin"),
            job_on("back", 2, ("pull", 1), ("scissor", 9)),
        ],
    ),
    (  # the hock's 1 begins, since the feet's 4 and the ears' 6 are needed between the three bouts
        {"toes": Bouts("medium", 4, 2)},
        [
            job_on("left toes", 0, ("clip", 4), zone="toes"),
            job_on("feet", 1, ("scissor", 4)),
            job_on("ears", 2, ("scissor", 6)),
            job_on("right toes", 3, ("clip", 8), zone="toes"),
            job_on("hock", 4, ("scissor", 1)),
        ],
    ),
    (
        {"brows": Bouts("high", 7, 6), "groin": Bouts("high", 6, 5), "toes": Bouts("medium", 8, 6)},
        [
            job_on("r0", 0, ("pull", 8), ("clip", 4)),
            job_on("r1", 1, ("clip", 8), ("scissor", 6), zone="brows"),
            job_on("r2", 2, ("clip", 1), zone="brows"),
            job_on("r3", 3, ("pull", 5), ("clip", 6), zone="groin"),
            job_on("r4", 4, ("pull", 2), zone="toes"),
            job_on("r5", 5, ("scissor", 10), zone="toes"),
        ],
    ),
]


@pytest.mark.parametrize(("zones", "jobs"), WITHOUT_REST)
def test_the_search_tells_apart_how_long_each_place_must_still_rest(zones: dict[str, Bouts], jobs: list[Job]) -> None:
    """The same work done in another order may leave another place ready: only so is an order without any rest found."""
    done = arrange(jobs, zones, None)
    assert rested(done.steps) == 0
    assert faults(done.steps, jobs, zones) == phase_faults(done.steps, jobs) == []
