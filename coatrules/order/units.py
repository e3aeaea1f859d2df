"""Jobs cut into units: each piece of calm work, and each bout in a tender zone, with what two in a row cost."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from typing import NamedTuple

from coatrules.order.jobs import KINDS, Job, Kind, Prices, Slot, Stations, Task, Zone

_KIND_ORDER: dict[Kind, int] = {kind: order for order, kind in enumerate(KINDS)}
CALM = -1
"""The lane of calm work; the zones' lanes count from 0."""


class Chunk(NamedTuple):
    """A task, or a part of one that is no longer than a bout: its slot, its task, where it stands in its lane."""

    key: tuple[bool, int, int, str, float, int]
    slot: Slot
    task: Task
    tool: tuple[str, float]
    station: int


class Unit(NamedTuple):
    """What is done in one go. ``clips`` counts its clipped places, ``soiled`` how dirty they are."""

    lane: int
    minutes: int
    slots: tuple[Slot, ...]
    begin: tuple[tuple[str, float], int]
    end: tuple[tuple[str, float], int]
    by_hand: bool
    cuts: bool
    finish: bool
    turn: int
    soiled: int
    clips: int
    inner: int
    """What the changes and moves within it cost."""


class Work(NamedTuple):
    """The chunks of some jobs, lane by lane, each in the order of the passes, and the zones of the tender lanes."""

    calm: tuple[Chunk, ...]
    tender: tuple[tuple[Chunk, ...], ...]
    zones: tuple[Zone, ...]


def work(jobs: Iterable[Job], zones: Mapping[str, Zone], stations: Stations) -> Work:
    """Returns the chunks of the jobs. Raises KeyError for an unknown zone, ValueError for a task of no length."""
    lanes: dict[str | None, list[Chunk]] = {None: []}
    for job in jobs:
        lane = lanes.setdefault(job.zone, [])
        station = stations.of[job.region]
        finish, turn = False, 0
        for index in sorted(range(len(job.tasks)), key=lambda index: (_KIND_ORDER[job.tasks[index].kind], index)):
            task = job.tasks[index]
            if task.minutes < 1:
                raise ValueError("a task takes half-minutes, 1 or more")
            # Within a region each kind of work waits for the one before it, whatever its tool's turn.
            finish, turn = finish or task.finish, max(turn, task.turn)
            blade = -1.0 if task.blade_mm is None else task.blade_mm
            key = (finish, turn, task.soiled, task.tool, blade, job.walk_order)
            if task.soiled:  # the dirtiest last, whatever the blade
                key = (finish, turn, task.soiled, "", 0.0, job.walk_order)
            sizes = (task.minutes,) if job.zone is None else _cut(task.minutes, zones[job.zone].at_most)
            for part, minutes in enumerate(sizes, start=1):
                slot = Slot(job.region, task.kind, minutes, index, part, len(sizes))
                lane.append(Chunk(key, slot, task, (task.tool, blade), station))
    # The sort is stable: the tasks of a region and their parts keep their order.
    ordered = {name: tuple(sorted(lane, key=lambda chunk: chunk.key)) for name, lane in lanes.items()}
    names = sorted([name for name in ordered if name is not None])
    return Work(ordered[None], tuple([ordered[name] for name in names]), tuple([zones[name] for name in names]))


def _cut(minutes: int, at_most: int) -> tuple[int, ...]:
    """Returns the fewest near-equal parts that are no longer than ``at_most``, longer parts first."""
    if minutes <= at_most:
        return (minutes,)
    count = -(-minutes // at_most)
    size, over = divmod(minutes, count)
    return (size + 1,) * over + (size,) * (count - over)


def bouts(chunks: Sequence[Chunk], at_most: int, *, unlike: bool) -> list[list[Chunk]]:
    """Returns the bouts of a zone. Each chunk goes into the first bout that holds the same tool and has room for it; the
    places that soil the clipper share whatever the blade, and with ``unlike`` all tools share. Clean and soiled places, or
    work that ends the visit and other work, never do."""
    made: list[list[Chunk]] = []
    room: list[int] = []
    first = 0
    earliest: dict[str | None, int] = {}  # a region's work stays in order
    group: object = None
    for chunk in chunks:
        class_key = (
            chunk.key[0],
            chunk.task.soiled > 0,
            None if unlike or chunk.task.soiled else (chunk.key[1], chunk.tool),
        )
        if class_key != group:
            group, first = class_key, len(made)
        region, minutes = chunk.slot.region, chunk.slot.minutes
        at = max(first, earliest.get(region, 0))
        while at < len(made) and room[at] < minutes:
            at += 1
        if at == len(made):
            made.append([])
            room.append(at_most)
        made[at].append(chunk)
        room[at] -= minutes
        earliest[region] = at
    return made


class Board(NamedTuple):
    """The units of a day: calm ones in order (the backbone), and the bouts of each zone in order (its chain).

    Units are told by number; one more, ``edge``, stands for the ends of a row. ``lane`` and ``minutes`` are those of each
    unit. ``pairs[a][b]`` is what it costs that unit ``b`` follows ``a``, ``turned`` the same by ``b``; of two high zones that
    includes the rest that must lie between them. ``last_by_hand`` and ``last_open`` are the last calm units that are carded
    or pulled, and that do not end the visit, ``first_comb`` the first that is combed and does not end it (``edge``: there is
    none); ``plain`` units neither cut nor end the visit.
    ``after`` is for each bout that ends the visit the last calm unit of an earlier pass, which it waits for (-1: there is none).
    ``fixed`` is what any row of these units costs.
    """

    units: tuple[Unit, ...]
    backbone: list[int]
    chains: list[list[int]]
    rests: list[int]
    high: list[bool]
    lane: list[int]
    minutes: list[int]
    plain: list[bool]
    pairs: list[list[int]]
    turned: list[list[int]]
    edge: int
    last_by_hand: int
    last_open: int
    first_comb: int
    after: list[int]
    fixed: int
    prices: Prices


def board(work: Work, apart: Sequence[Sequence[int]], prices: Prices, *, unlike: bool = False) -> Board:
    """Returns the units of a day, bouts cut by tool, or with ``unlike`` shared by tools. ``apart`` is that of the stations."""
    units = [_unit(CALM, [chunk], apart, prices) for chunk in work.calm]
    backbone = list(range(len(units)))
    chains = []
    for lane, (chunks, zone) in enumerate(zip(work.tender, work.zones, strict=True)):
        made = [_unit(lane, held, apart, prices) for held in bouts(chunks, zone.at_most, unlike=unlike)]
        chains.append(list(range(len(units), len(units) + len(made))))
        units += made
    high = [zone.level == "high" for zone in work.zones]
    pairs = _pairs(units, high, apart, prices)
    edge = len(units)
    return Board(
        units=tuple(units),
        backbone=backbone,
        chains=chains,
        # A bout ends only where something else begins, so even a zone that asks for no rest gets the shortest there is.
        rests=[max(1, zone.rest) for zone in work.zones],
        high=high,
        lane=[unit.lane for unit in units],
        minutes=[unit.minutes for unit in units],
        plain=[not (unit.cuts or unit.finish) for unit in units],
        pairs=pairs,
        turned=[list(row) for row in zip(*pairs, strict=True)],
        edge=edge,
        last_by_hand=next((n for n in reversed(backbone) if units[n].by_hand), edge),
        last_open=next((n for n in reversed(backbone) if not units[n].finish), edge),
        first_comb=next((n for n in backbone if units[n].slots[0].kind == "comb" and not units[n].finish), edge),
        after=[_after(unit, units, backbone) for unit in units],
        fixed=sum([unit.inner for unit in units]),
        prices=prices,
    )


def _after(unit: Unit, units: Sequence[Unit], backbone: Sequence[int]) -> int:
    if unit.lane == CALM or not unit.finish:
        return -1
    own = unit.finish, unit.turn
    return next((n for n in reversed(backbone) if (units[n].finish, units[n].turn) < own), -1)


def _pairs(
    units: Sequence[Unit], high: Sequence[bool], apart: Sequence[Sequence[int]], prices: Prices
) -> list[list[int]]:
    change, move = prices.change, prices.move
    begins = [unit.begin for unit in units]
    ways: dict[object, list[int]] = {}
    pairs = []
    tender = range(next((n for n, unit in enumerate(units) if unit.lane != CALM), len(units)), len(units))
    for unit in units:
        if unit.end not in ways:
            tool, station = unit.end
            walked = apart[station]
            ways[unit.end] = [
                (0 if tool == other else change) + (move if walked[place] else 0) for other, place in begins
            ] + [0]
        row = ways[unit.end][:]
        if unit.lane != CALM:
            for n in tender:
                row[n] += prices.side_by_side
            if high[unit.lane]:
                for n in tender:
                    if high[units[n].lane] and units[n].lane != unit.lane:
                        row[n] += prices.idle
        pairs.append(row)
    pairs.append([0] * (len(units) + 1))
    return pairs


def _unit(lane: int, held: Sequence[Chunk], apart: Sequence[Sequence[int]], prices: Prices) -> Unit:
    first, last = held[0], held[-1]
    inner = 0
    if len(held) > 1:
        for one, two in pairwise(held):
            inner += (one.tool != two.tool) * prices.change + apart[one.station][two.station] * prices.move
    kinds = [chunk.task.kind for chunk in held]
    return Unit(
        lane,
        sum([chunk.slot.minutes for chunk in held]),
        tuple([chunk.slot for chunk in held]),
        (first.tool, first.station),
        (last.tool, last.station),
        "card" in kinds or "pull" in kinds,
        "clip" in kinds or "scissor" in kinds,
        first.key[0],
        max([chunk.key[1] for chunk in held]),
        max([chunk.task.soiled for chunk in held]),
        kinds.count("clip"),
        inner,
    )
