"""A profile rehearsed: what two years of its own work orders make of a coat.

An average dog, a slow and a fast one come on time or late, with a coat grown out at first; each order is carried out in
full and becomes history for the next. A dog of pace k grows as a profile does whose hair is k times as fast, so that is what
it is worked by: the engine then knows the dog as a groomer does who has measured it often.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, timedelta
from itertools import product
from typing import Any, Final

from attrs import evolve, frozen

from coatrules.coat.measures import standing
from coatrules.coat.queue import Coat, fresh, mass_of
from coatrules.dog.history import Dog, History, Visit
from coatrules.formats.structure import structure
from coatrules.learning.pace import IN_80
from coatrules.order.engine import order
from coatrules.order.work_order import WorkOrder
from coatrules.profile.compiled import CompiledProfile, CompiledRegion, compile_profile
from coatrules.profile.model import LayerTarget, Profile
from coatrules.read_only import ReadOnly
from coatrules.recording.entry import as_planned

WEEKS: Final = 104
SETTLED: Final = 52
"""Weeks after which the coat is held to its targets: it starts grown out, and a year brings any coat round."""
START: Final = date(2001, 1, 1)
"""An arbitrary first day: nothing depends on the calendar."""
LATE: Final = 1.5
"""A dog that comes late comes after one and a half intervals."""


@frozen
class Actor:
    """A dog and its owner: how fast the coat grows against the profile's, and how long an interval becomes."""

    dog: str
    pace: float
    rhythm: str
    stretch: float


@frozen
class Look:
    """What is seen of a target at one visit, of its regions the one that is worst. Weeks from the start, lengths in mm.

    layers (fewest) and longest_mm (greatest) are before the work, cover (least) is straight after it. comes_easily: the ripe part
    (least) of what is pulled; None where nothing is.
    """

    week: float
    layers: int
    longest_mm: float
    oldest_weeks: float
    cover: float
    comes_easily: float | None = None


@frozen
class TargetRun:
    """What became of one layer target. ``see_through``, ``overgrown`` and ``few_layers`` count visits once settled.

    reached_week: when the layers wanted first stood in all its regions; None if never. regions: where it was worst.
    """

    looks: tuple[Look, ...]
    reached_week: float | None
    settled: int
    see_through: int
    overgrown: int
    few_layers: int
    regions: Mapping[str, str]


@frozen
class Run:
    """Two years of one dog. ``minutes``: planned at each visit; ``deferred``: visits that had no time for all."""

    actor: Actor
    visits: int
    minutes: tuple[float, ...]
    deferred: int
    targets: Mapping[str, TargetRun]

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Run:
        """Returns a run from what ``to_dict`` gave; raises ``InputError``. Numbers have four places."""
        from coatrules.order.stored_results import stored_result

        return stored_result(cls, data, "rehearsal")

    def to_dict(self) -> dict[str, Any]:
        """Returns the run as plain data by ``schemas/rehearsal.schema.json``."""
        from coatrules.order.plain_data import result_data

        fields: dict[str, Any] = result_data(self)
        return {"format": 1} | fields


@frozen
class Wanted:
    """What a layer target asks for: layers, the least cover straight after the work (None where the whole coat comes out), and the
    shortest and longest hair in mm."""

    layers: int
    cover_at_least: float | None
    longest_mm: tuple[float, ...] | None


@frozen
class Rehearsal:
    """A profile rehearsed with every dog. ``every_weeks``, ``minutes``: its usual visit; ``wanted``: its layer targets; ``labels``: of
    its regions."""

    profile_id: str
    profile_label: str
    profile_sha256: str
    every_weeks: float
    minutes: float
    wanted: Mapping[str, Wanted]
    labels: Mapping[str, str]
    runs: tuple[Run, ...]

    @property
    def keeps_to_targets(self) -> bool:
        """Whether the dogs that the profile is made for were, once settled, at every visit as each target wants them."""
        return all(map(keeps_to_targets, usual_runs(self.runs)))

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Rehearsal:
        """Returns a rehearsal from what ``to_dict`` gave; raises ``InputError``. Numbers have four places."""
        from coatrules.order.stored_results import stored_part, stored_result

        return stored_result(cls, data, "rehearsal", stored_part("profile", "id", "label", "sha256"))

    def to_dict(self) -> dict[str, Any]:
        """Returns the rehearsal as plain data by ``schemas/rehearsal.schema.json``: every look is a point of a picture."""
        from coatrules.order.plain_data import result_data

        data: dict[str, Any] = result_data(
            {
                "profile": {"id": self.profile_id, "label": self.profile_label, "sha256": self.profile_sha256},
                "every_weeks": self.every_weeks,
                "minutes": self.minutes,
                "weeks": WEEKS,
                "settled_from_week": SETTLED,
                "wanted": self.wanted,
                "labels": self.labels,
                "runs": self.runs,
            }
        )
        return {"format": 1} | data


def rehearsal(profile: Profile, runs: Iterable[Run]) -> Rehearsal:
    """Returns the runs of a profile with what it wants."""
    return Rehearsal(
        profile_id=profile.id,
        profile_label=profile.label,
        profile_sha256=profile.sha256,
        every_weeks=profile.visit.every_weeks,
        minutes=profile.visit.minutes,
        wanted={name: _wanted(target) for name, target in profile.layer_targets.items()},
        labels={name: region.label for name, region in profile.regions.items()},
        runs=tuple(runs),
    )


def _wanted(target: LayerTarget) -> Wanted:
    cover = None if target.cover is None or target.full_strip else target.cover.at_least
    return Wanted(layers=target.layers, cover_at_least=cover, longest_mm=target.longest_mm)


def actors(profile: Profile) -> list[Actor]:
    """The dogs of a rehearsal: the slow and the fast one are those that one dog in ten is slower or faster than."""
    spread = IN_80 * profile.visit.pace_spread
    dogs = (("average", 1.0), ("slow", 1 - spread), ("fast", 1 + spread))
    rhythms = (("on-time", 1.0), ("late", LATE))
    return [Actor(*dog, *rhythm) for dog, rhythm in product(dogs, rhythms)]


def rehearse(profile: Profile, actor: Actor) -> Run:
    """Two years of visits of one dog, worked by a profile; some tenths of a second."""
    compiled = compile_profile(at_pace(profile, actor.pace))
    every = timedelta(days=max(1, round(profile.visit.every_weeks * actor.stretch * 7)))
    history = History(format=1, dog=Dog(id="rehearsal"))
    orders = []
    day = START
    while day < START + timedelta(weeks=WEEKS):
        today = order(compiled, history, day)
        orders.append(today)
        history = evolve(history, visits=(*history.visits, carried_out(today)))
        day += every
    return Run(
        actor,
        visits=len(orders),
        minutes=tuple(order.minutes_planned for order in orders),
        deferred=sum(bool(order.deferred) for order in orders),
        targets={name: _target(compiled, name, orders) for name in profile.layer_targets if _regions(compiled, name)},
    )


def at_pace(profile: Profile, pace: float) -> Profile:
    """The profile whose typical dog grows as this one's does at a pace."""
    coats = {
        name: evolve(
            coat,
            lag_weeks=coat.lag_weeks / pace,
            mm_per_week=coat.mm_per_week * pace,
            grows_weeks=coat.grows_weeks / pace,
            rests_weeks=coat.rests_weeks / pace,
        )
        for name, coat in profile.coats.items()
    }
    return evolve(profile, coats=ReadOnly(coats))


def carried_out(today: WorkOrder) -> Visit:
    """The visit that a work order becomes when all of it is done."""
    return structure({"visit": today.date.isoformat(), **as_planned(today)}, Visit)


def _regions(compiled: CompiledProfile, target: str) -> list[CompiledRegion]:
    return [r for r in compiled.regions.values() if r.hand is not None and r.target_id == target]


def _target(compiled: CompiledProfile, name: str, orders: list[WorkOrder]) -> TargetRun:
    target = compiled.profile.layer_targets[name]
    regions = _regions(compiled, name)
    wanted = _wanted(target)
    cover = wanted.cover_at_least or 0.0
    longest = wanted.longest_mm[1] if wanted.longest_mm is not None else float("inf")
    by_region = {region.id: [_look(region, order) for order in orders] for region in regions}
    looks = [_worst(series) for series in zip(*by_region.values(), strict=True)]
    settled = [index for index, look in enumerate(looks) if look.week >= SETTLED]
    last = (
        by_region if not settled else {name: [series[index] for index in settled] for name, series in by_region.items()}
    )
    return TargetRun(
        looks=tuple(looks),
        reached_week=next((look.week for look in looks if look.layers >= target.layers), None),
        settled=len(settled),
        see_through=sum(looks[index].cover < cover - 1e-9 for index in settled),
        overgrown=sum(looks[index].longest_mm > longest + 1e-9 for index in settled),
        few_layers=sum(looks[index].layers < target.layers for index in settled),
        regions={
            "cover": min(last, key=lambda region: min(look.cover for look in last[region])),
            "longest_mm": max(last, key=lambda region: max(look.longest_mm for look in last[region])),
            "layers": min(last, key=lambda region: min(look.layers for look in last[region])),
        },
    )


def _look(region: CompiledRegion, today: WorkOrder) -> Look:
    facts = today.all_facts[region.id]
    share = sum(step.share or 0.0 for step in today.steps if step.region == region.id and step.bout == 1)
    day = today.date.toordinal()
    coat = Coat(tuple(fresh(mass_of(part), pulled.toordinal()) for part, pulled in today.hair[region.id]))
    after = standing(coat.pulled(region.growth, 1.0, day, share), region.growth, 1.0, day)
    return Look(
        week=(today.date - START).days / 7,
        layers=_whole(facts["layers"]),
        longest_mm=_number(facts["longest_mm"]),
        oldest_weeks=_number(facts["oldest_weeks"]),
        cover=after.cover,
        comes_easily=_comes_easily(today, region.id, share) if share else None,
    )


def _comes_easily(today: WorkOrder, region: str, share: float) -> float:
    """Returns the ripe part of a share that is pulled of a region, the oldest hair first."""
    left, ripe = share, 0.0
    for (mass, _), ripe_mass in zip(today.hair[region], today.ripe[region], strict=True):
        part = min(left, mass)
        left -= part
        ripe += part * ripe_mass / mass
    return ripe / share


def _worst(looks: tuple[Look, ...]) -> Look:
    return Look(
        week=looks[0].week,
        layers=min(look.layers for look in looks),
        longest_mm=max(look.longest_mm for look in looks),
        oldest_weeks=max(look.oldest_weeks for look in looks),
        cover=min(look.cover for look in looks),
        comes_easily=min((look.comes_easily for look in looks if look.comes_easily is not None), default=None),
    )


def _number(fact: object) -> float:
    assert isinstance(fact, int | float)
    return float(fact)


def _whole(fact: object) -> int:
    assert isinstance(fact, int)
    return fact


def usual_runs(runs: Sequence[Run]) -> list[Run]:
    """The runs of the dogs that a profile is made for: of average pace, coming on time."""
    return [run for run in runs if run.actor.pace == 1 and run.actor.stretch == 1]


def keeps_to_targets(run: Run) -> bool:
    """Whether a dog, once settled, was at every visit as each target wants it."""
    return not any(target.see_through or target.overgrown or target.few_layers for target in run.targets.values())


def settled_looks(run: TargetRun) -> Iterator[Look]:
    """Returns what was seen once the coat had settled."""
    return (look for look in run.looks if look.week >= SETTLED)
