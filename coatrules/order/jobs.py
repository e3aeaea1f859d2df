"""What is to be ordered at the table, and the order found: jobs, tender zones, stations, prices, slots.

All times are whole half-minutes, so that every sum is exact. A region in no zone is *calm*, one in a zone is *tender*.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from typing import Literal, NamedTuple

Kind = Literal["card", "pull", "clip", "scissor", "comb"]
Level = Literal["low", "medium", "high"]

KINDS: tuple[Kind, ...] = ("card", "pull", "clip", "scissor", "comb")
"""The order of the kinds of work within every region."""
WHOLE_SHARE = 8
"""Shares are reduced in eighths."""
LEAST_RAKED = 4
"""On a short day a coat is raked more lightly, in so many eighths of the time at least (common practice, no source)."""


class Zone(NamedTuple):
    """How a tender zone is worked: bouts no longer than ``at_most``, ``rest`` between two (half-minutes, 1 or more)."""

    level: Level
    at_most: int
    rest: int


class Task(NamedTuple):
    """One kind of work in one region, with the half-minutes that it takes (1 or more) at the whole of today's share.

    ``turn`` is its pass: work of a lower turn comes first. ``tool`` is what is in the hand; with another ``blade_mm`` (the
    length that a clipper leaves) the same clipper is another tool. ``soiled`` is 0 where the clipper stays clean, and higher
    where it must come later. ``finish`` marks work that ends the visit. ``late``: by how many usual visits it is.
    """

    kind: Kind
    minutes: int
    turn: int
    tool: str
    blade_mm: float | None = None
    soiled: int = 0
    finish: bool = False
    late: float = 0.0

    def at(self, eighths: int) -> int:
        """Returns the half-minutes that it takes at so many eighths, rounded up."""
        return -(-self.minutes * eighths // WHOLE_SHARE)


class Job(NamedTuple):
    """All of today's work in one region.

    ``walk_order`` is its turn on the walk over the dog; no two jobs share one. ``zone`` is None for a calm region. The rest
    counts only when the time is short: ``target`` is the region's layer target, ``jacket`` whether that is of the jacket;
    at fewer than ``least_eighths`` of today's share the pull falls below the low spot, or raking alone is too little.
    ``priority`` runs from 0 to 100, of which ``waited`` is for having been put off before; between equals ``put_off`` counts
    how often in a row, and ``overgrown`` the weeks. ``stop``: the dog said stop here last time. ``overdue``: hygiene that is
    overdue, or of which nobody knows when it was done. ``visible``: whether people see the region.
    """

    region: str
    walk_order: int
    zone: str | None
    tasks: tuple[Task, ...]
    target: str | None = None
    jacket: bool = False
    least_eighths: int = 1
    priority: float = 0.0
    waited: float = 0.0
    put_off: int = 0
    overgrown: float = 0.0
    stop: bool = False
    overdue: bool = False
    visible: bool = True


class Stations(NamedTuple):
    """Where a groomer stands: the station of each region, and for each two stations 1 where one walks round the dog."""

    of: Mapping[str, int]
    apart: tuple[tuple[int, ...], ...]


class Prices(NamedTuple):
    """What an order costs; far enough apart to act as ranks. Judgement, and measured (DEVELOPERS.md, "In what order").

    idle: a half-minute of rest. after_finish: a tender bout after the feet or the comb have begun. unclean: a place
    clipped after a dirtier one. early_cut: a cutting tool at a tender place while calm places are still to be carded or
    pulled; it saves one of the three before. after_comb: the same after calm places have begun to be combed, which is
    one pass. in_a_row: a tender bout that follows ``most_in_a_row`` others. change: of the tool in the hand. move: to a
    station that is not next door, four fifths of a change. side_by_side: two tender bouts without calm work between them.
    """

    idle: int = 20000
    after_finish: int = 4000
    unclean: int = 3000
    early_cut: int = 2000
    after_comb: int = 200
    in_a_row: int = 150
    change: int = 100
    move: int = 80
    side_by_side: int = 1
    most_in_a_row: int = 3


PRICES = Prices()


class Slot(NamedTuple):
    """One slot at the table: part ``part`` of ``parts`` of a job's task (its index), or a rest (no region, no task)."""

    region: str | None
    kind: Kind | Literal["rest"]
    minutes: int
    task: int | None = None
    part: int = 1
    parts: int = 1


class Arrangement(NamedTuple):
    """The slots in working order, rests included, and what the order costs."""

    slots: tuple[Slot, ...]
    price: int

    @property
    def minutes(self) -> int:
        """Half-minutes from the first slot to the end of the last."""
        return sum([slot.minutes for slot in self.slots])

    @property
    def rested(self) -> int:
        """Half-minutes of rest."""
        return sum([slot.minutes for slot in self.slots if slot.region is None])


def stations(walk: Sequence[str], together: Iterable[Sequence[str]], next_door: Iterable[tuple[int, int]]) -> Stations:
    """Returns the stations of a dog. ``walk`` lists the regions; ``together`` the regions of each station; ``next_door``
    pairs of their indices. A region in no station is one of its own, next door to its two neighbours in the walk.
    Raises ``IndexError`` for a pair beyond the stations."""
    groups = list(together)
    of = {region: number for number, regions in enumerate(groups) for region in regions}
    pairs = [(groups[one], groups[two]) for one, two in next_door]  # what is not there raises
    near = {(of[one[0]], of[two[0]]) for one, two in pairs if one and two}
    alone = [region for region in walk if region not in of]
    of |= {region: len(groups) + number for number, region in enumerate(alone)}
    walked = [of[region] for region in walk]
    lone = {of[region] for region in alone}
    near |= {pair for pair in pairwise(walked) if not lone.isdisjoint(pair)}
    count = len(groups) + len(alone)
    return Stations(
        of,
        tuple(
            [
                tuple([int(one != two and (one, two) not in near and (two, one) not in near) for two in range(count)])
                for one in range(count)
            ]
        ),
    )
