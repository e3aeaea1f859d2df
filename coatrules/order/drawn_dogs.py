"""Two hundred dogs like this one (``learning.draws``): on which days the work suits each of them, and the hair of each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from attrs import evolve

from coatrules.coat.growth import Growth
from coatrules.coat.queue import Coat
from coatrules.dog.equivalence import once_per_class
from coatrules.dog.state import DogState
from coatrules.learning.draws import Dates, Drawn, Due, draw_dogs, whole_dog, within
from coatrules.order.good_days import Limit
from coatrules.profile.compiled import CompiledProfile


class DrawnHair(NamedTuple):
    """One region's hair on one of the dogs: how it grows, at which pace, and its coat."""

    growth: Growth
    pace: float
    coat: Coat


def dates_of(compiled: CompiledProfile, state: DogState, limits: Sequence[Limit]) -> Dates:
    """Returns the days of each dog: on which the last region is there, and up to which the first is not too late. Of the limits
    those by the calendar are left out, which are the same for all."""
    (dates,) = dates_of_each(compiled, state, (limits,))
    return dates


def dates_of_each(compiled: CompiledProfile, state: DogState, visits: Sequence[Sequence[Limit]]) -> list[Dates]:
    """Returns the same for the limits of each of several visits, of the same dogs."""
    by_hair = [[limit for limit in limits if limit.event is not None] for limits in visits]
    same_pace = _representatives(compiled, state, [limit.region for limits in by_hair for limit in limits])
    if not same_pace:
        return [Dates((), ()) for _ in visits]
    events = [limit.event for limits in by_hair for limit in limits]
    groups = dict.fromkeys(event.arrived for event in events if event is not None and event.arrived is not None)
    dogs = draw_dogs(state.pace.posterior, same_pace.values(), groups)
    return [whole_dog(dogs, _dues(compiled, same_pace, limits)) for limits in by_hair]


def _dues(compiled: CompiledProfile, same_pace: Mapping[str, str], limits: Sequence[Limit]) -> list[Due]:
    dues: dict[Due, None] = {}
    for limit in limits:
        growth = compiled.regions[limit.region].growth
        ranges = growth.range_of("lag_weeks"), growth.range_of("rests_weeks")
        wait, end = (limit.event, None) if limit.bound == "earliest" else (None, limit.event)
        dues[Due(same_pace[limit.region], growth, wait, end, *ranges)] = None
    return list(dues)


def drawn_hair(
    compiled: CompiledProfile, state: DogState, coats: Mapping[str, Coat]
) -> Iterator[Mapping[str, DrawnHair]]:
    """Yields for each dog the hair of each region whose coat is given, as that coat would be on it: what the dog came with is
    as old as it may have been."""
    same_pace = _representatives(compiled, state, coats)
    groups = {own.group: None for own in map(state.regions.__getitem__, coats) if own.group is not None}
    typical = {id(growth): growth for growth in (compiled.regions[name].growth for name in coats)}
    for dog in draw_dogs(state.pace.posterior, same_pace.values(), groups):
        grown = {key: _growth_of(dog, growth) for key, growth in typical.items()}
        yield {
            name: _hair_of(dog, state, name, grown[id(compiled.regions[name].growth)], dog.paces[same_pace[name]], coat)
            for name, coat in coats.items()
        }


def _representatives(compiled: CompiledProfile, state: DogState, regions: Iterable[str]) -> dict[str, str]:
    """Returns for each region the one whose pace it has: of one pace are regions of which the profile and the records of hair say
    the same, however their work was written down."""
    marks = {name: (state.region_classes[name], state.pace.of(name), state.pace.sd_of(name)) for name in regions}
    return once_per_class(marks, str)


def _growth_of(dog: Drawn, typical: Growth) -> Growth:
    return evolve(
        typical,
        lag_weeks=within(typical.range_of("lag_weeks"), typical.lag_weeks, dog.lag),
        grows_weeks=typical.grows_weeks * dog.factor,
        full_mm=0.0,
        rests_weeks=within(typical.range_of("rests_weeks"), typical.rests_weeks, dog.rests),
    )


def _hair_of(dog: Drawn, state: DogState, region: str, growth: Growth, pace: float, coat: Coat) -> DrawnHair:
    own, oldest = state.regions[region], coat.cohorts[0]
    if own.group is not None and oldest.day == own.start:
        came = own.start + round(own.arrival_weeks * 7 / state.pace.of(region))
        day = min(came - round(dog.ages[own.group] * 7 / pace), came)
        coat = Coat((oldest._replace(day=day), *coat.cohorts[1:]), coat.cuts)
    return DrawnHair(growth, pace, coat)
