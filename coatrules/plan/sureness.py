"""How sure a plan is: on how many of 200 dogs like this one (``order.drawn_dogs``) a visit comes neither too early nor too late, and
how many are right on the show day. All of them are worked as the plan says, which is made for the typical dog."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date as Date
from typing import NamedTuple

from coatrules.coat.queue import Coat
from coatrules.dog.equivalence import once_per_class
from coatrules.dog.state import DogState
from coatrules.order.drawn_dogs import dates_of_each
from coatrules.order.good_days import Ask, Limit, first_days, last_days
from coatrules.order.next_visit import leading_regions
from coatrules.order.share import asks_nearly_all, of_growing_hair
from coatrules.order.show_ahead import RightOnShow, dogs_right_on
from coatrules.profile.compiled import CompiledProfile


class Pull(NamedTuple):
    """One region at one visit: its coat before the work, and the mass (parts per million) that is pulled of it."""

    coat: Coat
    mass: int


class Doubt(NamedTuple):
    """Of one visit the shares of dogs (0 to 1) on which something that is to be pulled is not ready, and on which something is
    overgrown that is not so on the typical dog."""

    early: float
    late: float


def doubts_of(
    compiled: Sequence[CompiledProfile], state: DogState, visits: Sequence[int], pulls: Mapping[str, Sequence[Pull]]
) -> list[Doubt]:
    """Returns the doubt of each visit (ordinals, rising): of the regions that decide when the dog comes, as for the next visit of an
    order. Where none of them is pulled, all decide. ``compiled``: the profile with the targets of each visit."""
    distinct = {id(of_visit): of_visit for of_visit in compiled}
    class_keys = {
        region: (state.class_keys[region], *(of_visit.region_classes[region] for of_visit in distinct.values()))
        for region in pulls
    }
    deciding = {
        key: _first_of_each(class_keys, [region for region in pulls if region in leading] or pulls)
        for key, leading in {key: leading_regions(of_visit) for key, of_visit in distinct.items()}.items()
    }
    limits = [
        [
            limit
            for region in deciding[id(of_visit)]
            for limit in _limits(of_visit, state, region, since, pulls[region][visit_index])
            if _in_reach(limit, since, day)
        ]
        for visit_index, (of_visit, day, since) in enumerate(zip(compiled, visits, (state.day, *visits), strict=False))
    ]
    doubts = []
    for day, dates in zip(visits, dates_of_each(compiled[0], state, limits), strict=True):
        early, late = [first > day for first in dates.firsts], [last < day for last in dates.lasts]
        doubts.append(Doubt(_share(early), _share(late)))
    return doubts


def _in_reach(limit: Limit, since: int, day: int) -> bool:
    """Whether any dog is likely to come too early or too late by a limit: one whose hair is half or twice as old when it reaches
    what that of the typical dog does (three standard deviations of an unknown pace) is not. Hair whose age nobody knows may be."""
    if limit.event is None or limit.event.arrived is not None:
        return limit.event is not None
    typical, age = since + limit.days - limit.event.day, day - limit.event.day
    return 2 * typical > age if limit.bound == "earliest" else typical < 2 * age


def _limits(compiled: CompiledProfile, state: DogState, region: str, since: int, pull: Pull) -> Iterator[Limit]:
    of_profile, own, pace = compiled.regions[region], state.regions[region], state.pace.of(region)
    target = of_profile.target
    if pull.mass and target is not None:
        ripe = asks_nearly_all(target, pull.mass) and of_growing_hair(target, pull.mass) < pull.mass
        # Of the cover a plan uses all there is: where a dog has less of it, the order of the day pulls a little less.
        yield from first_days(of_profile, own, pace, since, pull.coat, Ask(pull.mass, 0.0, ripe))
    yield from last_days(of_profile, own, pace, since, pull.coat)


def right_on_show(compiled: CompiledProfile, state: DogState, coats: Mapping[str, Coat], show: Date) -> RightOnShow:
    """Returns which of the dogs are right on the show day; ``coats``: of each region after the last visit, of which those count that
    have a length on the day. ``compiled``: the profile with the targets of that day."""
    judged = {
        name: coat
        for name, coat in coats.items()
        if (target := compiled.regions[name].target) is not None and target.show_mm
    }
    return dogs_right_on(compiled, state, judged, show)


def _first_of_each(class_keys: Mapping[str, object], regions: Iterable[str]) -> list[str]:
    """Returns the first region of each class key: what is so of one is so of all."""
    return list(dict.fromkeys(once_per_class({region: class_keys[region] for region in regions}, str).values()))


def _share(dogs: Sequence[bool]) -> float:
    return sum(dogs) / len(dogs) if dogs else 0.0
