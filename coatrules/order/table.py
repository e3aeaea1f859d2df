"""Today's work as it comes to the table: jobs, tender zones and stations, from verdicts and a profile."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from math import floor
from typing import NamedTuple

from coatrules.coat.queue import mass_of
from coatrules.dog.safety import LIGHTEST_RAKE, Stage
from coatrules.dog.state import DogState, RegionState
from coatrules.formats.values import Level, TaskKind
from coatrules.order import jobs
from coatrules.order.blending import joined_targets
from coatrules.order.facts import sensitivity
from coatrules.order.jobs import LEAST_RAKED, PRICES, WHOLE_SHARE, Job, Prices, Stations, Zone, stations
from coatrules.order.priority import weeks_late
from coatrules.order.share import LEAST_SHARE
from coatrules.order.verdicts import Task, Verdict
from coatrules.profile.compiled import MOST_READY, CompiledProfile, CompiledRegion, Means, assigned
from coatrules.profile.floor import LEVELS
from coatrules.profile.model import Profile

LEAST_BOUT = 2
"""Half-minutes: no bout is shorter than a minute (DEVELOPERS.md, "In what order")."""
LEARNED_BOUT, LEARNED_REST = 6.0, 6.0
"""Minutes for a place that no zone names but where this dog has objected (common practice, no source)."""
PASSES: Mapping[TaskKind, float] = {"card": 1, "pull": 4, "clip": 5, "scissor": 6, "comb": 7}
"""The pass of a method that names none (common practice, no source)."""
PASS_PARTS = 1000
"""Turns in a pass: parts of a pass, which put its tools in order."""
JACKET_FIRST = 30.0
"""Points by which a section of the jacket comes before others where a coat comes out whole: it is stripped first, the head last
(the Lakeland Terrier club's stages: ``lakeland-stages`` in the profiles)."""
EASY_FIRST = 60.0
"""Points by which a section comes before others where the hand felt today that it comes easily, before the jacket and what has waited:
hair is taken while it comes (common practice, no source)."""
FINISH: Mapping[TaskKind, frozenset[str]] = {
    "scissor": frozenset(("forefeet", "hindfeet")),
    "comb": frozenset(("beard",)),
}
"""Work that ends the visit where no routine says so (common practice, no source)."""


class Pass(NamedTuple):
    """A pass over the dog: whether it ends the visit, and its number in the profile."""

    finish: bool
    number: int


class Piece(NamedTuple):
    """What one task of a job is: which of the verdict's tasks, with what in the hand, and in which pass it stands."""

    task: int
    means: Means | None
    turn: int
    finish: bool
    stands: Pass


class Table(NamedTuple):
    """The day's jobs, and for each region what its job's tasks are."""

    jobs: list[Job]
    pieces: Mapping[str, tuple[Piece, ...]]
    zones: Mapping[str, Zone]
    stations: Stations
    prices: Prices


def set_out(compiled: CompiledProfile, state: DogState, verdicts: Mapping[str, Verdict], stage: Stage) -> Table:
    """Returns all that is to be done today, whether it fits or not."""
    found: list[Job] = []
    pieces: dict[str, tuple[Piece, ...]] = {}
    together = _together(compiled.profile)
    for name, verdict in verdicts.items():
        if verdict.outcome == "work":
            region = compiled.regions[name]
            pieces[name] = tuple(_pieces(compiled, region, verdict, stage))
            found.append(_job(compiled, region, state, verdict, pieces[name], together, stage))
    prices = PRICES._replace(most_in_a_row=compiled.profile.visit.tender_in_a_row)
    return Table(found, pieces, _zones(compiled, state), _stations(compiled.profile), prices)


def half_minutes(minutes: float) -> int:
    """Returns minutes in whole half-minutes, at least one."""
    return max(1, round(minutes * 2))


def _pieces(compiled: CompiledProfile, region: CompiledRegion, verdict: Verdict, stage: Stage) -> Iterator[Piece]:
    """Yields the tasks of a job. A rake that another one follows goes over the whole coat before that one is taken up."""
    stands, turn = Pass(False, 0), -1
    for index, task in enumerate(verdict.tasks):
        finish = _finishes(region, task.kind)
        for means in _hands(compiled, task, stage):
            # Each kind of work in a region waits for the one before it, whatever its tool's turn.
            turn = max(turn + 1, _turn(compiled, task.kind, means))
            stands = Pass(stands.finish or finish, max(stands.number, turn // PASS_PARTS))
            yield Piece(index, means, turn, finish, stands)


def _hands(compiled: CompiledProfile, task: Task, stage: Stage) -> Sequence[Means | None]:
    if task.means is None or task.kind != "card":
        return [task.means]
    hands = compiled.hands[task.means.method]
    if stage == "practice":  # a light rake, and no other
        return hands[-1:]
    return hands if half_minutes(task.minutes) >= len(hands) else [task.means]  # too little to part


def _turn(compiled: CompiledProfile, kind: TaskKind, means: Means | None) -> int:
    own = compiled.profile.methods[means.method].turn if means is not None else None
    return round((PASSES[kind] if own is None else own) * PASS_PARTS)


def _job(
    compiled: CompiledProfile,
    region: CompiledRegion,
    state: DogState,
    verdict: Verdict,
    pieces: tuple[Piece, ...],
    together: Mapping[str, _Together],
    stage: Stage,
) -> Job:
    own = state.regions[region.id]
    tender = sensitivity(region, own) != "none"
    count = [sum(piece.task == index for piece in pieces) for index in range(len(verdict.tasks))]
    late = {
        task.kind: weeks_late(compiled, region, own.last, state.first_visit, state.day, task.kind)
        for task in verdict.tasks
    }
    tasks = []
    for number, piece in enumerate(pieces):
        task = verdict.tasks[piece.task]
        whole, parts = half_minutes(task.minutes), count[piece.task]
        part = sum(other.task == piece.task for other in pieces[:number])
        tasks.append(
            jobs.Task(
                task.kind,
                (whole + parts - 1 - part) // parts,
                piece.turn,
                _tool(compiled, task.kind, piece.means),
                task.leave_mm if task.kind == "clip" else None,
                region.soiled if task.kind == "clip" else 0,
                piece.finish,
                late[task.kind] / compiled.profile.visit.every_weeks,
            )
        )
    # A coat that comes out whole goes section by section, a puppy's first coat too: less of each would be no use.
    first = any(reason.rule == "coat.first-coat" for task in verdict.tasks for reason in task.because)
    whole = first or (region.target is not None and region.target.full_strip)
    by_share = stage != "first-coat" and not whole
    carded = any(task.kind == "card" for task in verdict.tasks)
    pulls = [task for task in verdict.tasks if task.kind == "pull"]
    least = [_least_eighths(region, task) for task in pulls] or [
        round(LIGHTEST_RAKE * WHOLE_SHARE) if stage == "practice" else LEAST_RAKED
    ]
    target, of_jacket = together.get(str(region.target_id), _Together(None, False))
    of_jacket = of_jacket or carded
    return Job(
        region.id,
        region.walk_order,
        _zone(region) if tender else None,
        tuple(tasks),
        target if by_share else None,
        by_share and of_jacket,
        max(least) if by_share else WHOLE_SHARE,
        verdict.priority + (_section_first(own, of_jacket=of_jacket) if whole else 0.0),
        verdict.priority_parts.get("put_off", 0.0),
        own.put_off,
        verdict.overgrown_weeks,
        own.last_reaction == "stop",
        _is_overdue(region, own, late, state.first_visit is None),
        region.region.visible,
    )


def _section_first(own: RegionState, *, of_jacket: bool) -> float:
    """Returns the points by which a section of a coat that comes out whole goes before others."""
    easy = own.seen is not None and own.seen.comes == "easily"
    return (EASY_FIRST if easy else 0.0) + (JACKET_FIRST if of_jacket else 0.0)


def _tool(compiled: CompiledProfile, kind: TaskKind, means: Means | None) -> str:
    if means is None:
        return kind
    return compiled.profile.methods[means.method].tool or means.method


def _finishes(region: CompiledRegion, kind: TaskKind) -> bool:
    finish = next((routine.finish for _, routine in region.routines if routine.task == kind), None)
    return region.id in FINISH.get(kind, ()) if finish is None else finish


def _least_eighths(region: CompiledRegion, task: Task) -> int:
    """Returns at how many eighths of today's share a pull is still worth the dog's time and no less than at a low spot."""
    if not task.mass or region.target is None:
        return 1
    least = max(mass_of(region.target.take.low_spot), mass_of(LEAST_SHARE))
    return min(WHOLE_SHARE, max(1, -(-WHOLE_SHARE * least // task.mass)))


def _is_overdue(region: CompiledRegion, own: RegionState, late: Mapping[TaskKind, float], newcomer: bool) -> bool:
    """Returns whether hygiene has waited too long; of a newcomer what is seen, too, for nobody knows when it was last done."""
    if region.clipper_only is None or "clip" not in late:
        return False
    return late["clip"] > 0 or (newcomer and region.region.visible and "clip" not in own.last)


def _zone(region: CompiledRegion) -> str:
    """The zone by which a tender region is worked; one that this dog alone has taught is called by the region."""
    return region.bouts_with or f"{region.id}!"


def _zones(compiled: CompiledProfile, state: DogState) -> dict[str, Zone]:
    """How each tender place is worked, shortened by what this dog has shown."""
    found: dict[str, Zone] = {}
    for name, region in compiled.regions.items():
        factor = state.regions[name].tolerance
        if region.zone is None and factor >= 1:
            continue
        level: Level = "medium"
        longest, rest = LEARNED_BOUT, LEARNED_REST
        if region.zone is not None:
            level, longest, rest = region.zone.level, region.zone.bout_minutes, region.zone.rest_minutes
        at_most = max(min(LEAST_BOUT, floor(longest * 2)), floor(longest * factor * 2), 1)
        zone = _zone(region)
        other = found.get(zone, Zone(level, at_most, 1))
        # The regions of a zone are worked together, as the most tender of them allows.
        found[zone] = Zone(
            max(level, other.level, key=LEVELS.index),
            min(at_most, other.at_most),
            max(1, round(rest * 2), other.rest),
        )
    return found


@lru_cache(MOST_READY)
def _stations(profile: Profile) -> Stations:
    by_id: dict[str, list[str]] = {name: [] for name in profile.stations}
    for name, (station, _) in assigned(profile, profile.stations).items():
        by_id[station].append(name)
    numbers = {name: number for number, name in enumerate(by_id)}
    pairs = [(numbers[name], numbers[other]) for name in by_id for other in profile.stations[name].next_door]
    return stations(tuple(profile.regions), by_id.values(), pairs)


class _Together(NamedTuple):
    """The layer targets whose shares are reduced together, called by the first of them, and whether one of them is of the jacket:
    has a region that is carded."""

    target: str | None
    jacket: bool


@lru_cache(MOST_READY)
def _together(profile: Profile) -> dict[str, _Together]:
    """For each layer target those that blends join it to."""
    target_of = {name: target for name, (target, _) in assigned(profile, profile.layer_targets).items()}
    jacket = {target for name, target in target_of.items() if "card" in profile.regions[name].minutes}
    return {
        target: _Together(min(others), not jacket.isdisjoint(others))
        for target, others in joined_targets(profile, target_of).items()
    }
