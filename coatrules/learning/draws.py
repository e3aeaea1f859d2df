"""Dates that hold for the whole dog: 200 dogs that all fit what is known of this one, the same for every order.

Draws are fixed points, no random ones: the n-th has as coordinates the fractions of ``n * sqrt(prime)``, one prime each
for the pace, the final length, the lag, the rest, every group that arrived alike and every different region. They are
mapped through the posterior's own inverse, so that what was measured never starves them. One draw is one dog: two
regions of a slow dog are slow together, and a date is held by all of its regions or not at all.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from math import ceil, exp, inf, sqrt
from statistics import NormalDist
from typing import NamedTuple

from coatrules.coat.growth import Growth
from coatrules.learning.posterior import Inverse, Posterior

DRAWS = 200
SURE = 160  # of 200: eight times in ten
# Of the pace, the final length, the lag and the rest; arrivals and regions take the primes after. Of all 24 ways to share
# out these four, this one holds closest to eight in ten over 50 kinds of dogs (0.79 to 0.84; in the order 2, 3, 5, 7 the
# windows of one region hold 0.88).
_DOG_PRIMES = (5, 3, 7, 2)
_FIRST_REGION = len(_DOG_PRIMES)
_SLOWEST = 0.2
_ROUNDING = 1e-9


class Milestone(NamedTuple):
    """An age of hair, as so many times its lag, its growing time and its rest, and so many weeks more (all at pace 1)."""

    lag: float
    grows: float
    rests: float
    weeks: float


class Event(NamedTuple):
    """Hair reaches an age: pulled on ``day`` (ordinal), or arrived then with a group's unknown age."""

    milestone: Milestone
    day: int
    arrived: str | None = None


class Due(NamedTuple):
    """A region's part in a date. No ``first``: it waits for nothing; no ``last``: nothing of it can be too late.

    region: by which the posterior knows it; regions that are alike share one. lag_range, rests_range: the 10th and 90th
    percentile of its kind's lag and rest in weeks.
    """

    region: str
    cycle: Growth
    first: Event | None
    last: Event | None
    lag_range: tuple[float, float] | None = None
    rests_range: tuple[float, float] | None = None


class Drawn(NamedTuple):
    """One dog. factor: its hair grows so many times as long. lag, rests: where they lie in their ranges (0 to 1).

    paces: of each region. ages: of each group's hair when it arrived, in weeks at pace 1.
    """

    factor: float
    lag: float
    rests: float
    paces: Mapping[str, float]
    ages: Mapping[str, float]


class Dates(NamedTuple):
    """First and last day (ordinals) of each draw. No first: a dog of which nothing waits. No last: nothing can be late."""

    firsts: tuple[int, ...]
    lasts: tuple[int, ...]

    def ready(self, draws: int = SURE) -> int | None:
        """Returns the first day on which in so many draws nothing is too early."""
        return sorted(self.firsts)[draws - 1] if self.firsts else None

    def latest(self, draws: int = SURE) -> int | None:
        """Returns the last day on which in so many draws nothing is too late."""
        return sorted(self.lasts)[len(self.lasts) - draws] if self.lasts else None

    def best(self) -> int | None:
        """Returns the first of the days that most draws allow; None where nothing waits."""
        if not self.firsts:
            return None
        lasts: Sequence[float] = self.lasts or [inf] * len(self.firsts)
        # A draw in which something is late before all is there allows the day on which all is there, and no other.
        steps: list[tuple[float, int]] = [(day, 1) for day in self.firsts]
        steps += [(max(last, day) + 0.5, -1) for day, last in zip(self.firsts, lasts, strict=True)]
        steps.sort()
        best, most, allow = self.firsts[0], 0, 0
        for at, (day, step) in enumerate(steps):
            allow += step
            if allow > most and (at + 1 == len(steps) or steps[at + 1][0] > day):
                best, most = int(day), allow
        return best


def when_long(cycle: Growth, length_mm: float) -> Milestone:
    """Returns the age at which the longest hair reaches a length."""
    return Milestone(1, 0, 0, length_mm / cycle.mm_per_week)


def when_ripe(cycle: Growth, share: float, kept: float = 1.0) -> Milestone:
    """Returns the age at which ``share`` (0 to 1) is ripe of a cohort of which ``kept`` is left, the rest having come ripe."""
    return Milestone(1, 1 - cycle.spread * kept * (1 - share), 0, 0)


def when_loose(cycle: Growth, share: float, kept: float = 1.0) -> Milestone:
    """Returns the age at which ``share`` (0 to 1) is loose of a cohort of which ``kept`` is left, the rest having come ripe."""
    return when_ripe(cycle, share, kept)._replace(rests=1)


def draw_dogs(posterior: Posterior, regions: Iterable[str], arrivals: Iterable[str] = ()) -> tuple[Drawn, ...]:
    """Returns 200 dogs that fit what is known, with the paces of the regions (each named once) and the arrival ages asked
    for. An arrival is drawn with the regions that the posterior says arrived with it."""
    return _drawn(_ByIdentity(posterior), tuple(dict.fromkeys(regions)), tuple(arrivals))


class _ByIdentity:
    """A posterior as the key of what follows from it: all dogs of which nothing was measured share one, and comparing two by
    what they hold would cost as much as it saves."""

    __slots__ = ("posterior",)

    def __init__(self, posterior: Posterior) -> None:
        self.posterior = posterior

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _ByIdentity) and self.posterior is other.posterior

    def __hash__(self) -> int:
        return id(self.posterior)


@lru_cache(maxsize=32)
def _drawn(of: _ByIdentity, named: tuple[str, ...], arrivals: tuple[str, ...]) -> tuple[Drawn, ...]:
    posterior = of.posterior
    known = posterior.regions
    groups = list(dict.fromkeys([*arrivals, *(known[r].arrived or "" for r in named if r in known)]))
    groups = [group for group in groups if group in posterior.arrivals]
    primes = _primes(_FIRST_REGION + len(groups) + len(named))
    shares = [_fractions(prime) for prime in primes]
    width = len(posterior.final.values)
    paces, finals = posterior.pace.values, posterior.final.values
    of_pace = Inverse(paces, posterior.pace.weights)
    of_final = [
        Inverse(finals, [weight / row if row > 0 else 1 / width for weight in posterior.weights[at * width :][:width]])
        for at, row in enumerate(posterior.pace.weights)
    ]
    step = paces[1] - paces[0] if len(paces) > 1 else 1.0
    c_step = finals[1] - finals[0] if width > 1 else 1.0
    normals = [_normals(prime) for prime in primes[_FIRST_REGION + len(groups) :]]
    spread = posterior.region_spread
    shrunk: dict[tuple[str, int, int], tuple[float, float]] = {}
    dogs = []
    for n in range(DRAWS):
        k = of_pace.at(shares[0][n])
        place = min(max((k - paces[0]) / step, 0.0), len(paces) - 1.0)
        below = min(int(place), max(len(paces) - 2, 0))
        part = place - below
        c = of_final[below].at(shares[1][n])
        if part:
            c += part * (of_final[below + 1].at(shares[1][n]) - c)
        at_k = int(place + 0.5)
        at_c = min(max(int((c - finals[0]) / c_step + 0.5), 0), width - 1)
        ages, places = {}, {}
        for group, share in zip(groups, shares[_FIRST_REGION:], strict=False):
            of_group = posterior.arrivals[group]
            age, places[group] = _age(of_group.ages[at_c], of_group.weights[at_k * width + at_c], share[n])
            ages[group] = age
        own = {}
        for region, normal in zip(named, normals, strict=True):
            found = known.get(region)
            if found is None:
                own[region] = max(k + spread * normal[n], _SLOWEST)
                continue
            at_age = places[found.arrived] if found.arrived is not None else 0
            key = region, at_k * width + at_c, at_age
            if key not in shrunk:
                shrunk[key] = found.at(at_c, at_age, paces[at_k], spread)
            mean, var = shrunk[key]
            # What the region's own records leave open of its pace, it shares with the dog's.
            mean += (k - paces[at_k]) * (var / spread**2 if spread else 1.0)
            own[region] = max(mean + sqrt(var) * normal[n], _SLOWEST)
        dogs.append(Drawn(exp(c), shares[2][n], shares[3][n], own, ages))
    return tuple(dogs)


def whole_dog(dogs: Sequence[Drawn], dues: Sequence[Due]) -> Dates:
    """Returns the first day on which all regions are there and the last on which none is too late, of each draw."""
    # Of regions that wait for the same age of the same hair the slowest is the last to reach it, the fastest the first.
    by_limit: dict[tuple[object, ...], tuple[Due, list[str]]] = {}
    for due in dues:
        by_limit.setdefault(due[1:], (due, []))[1].append(due.region)
    columns = _Columns(dogs)
    firsts: list[list[float]] = []
    lasts: list[list[float]] = []
    for due, regions in by_limit.values():
        slow, fast = columns.slowest_and_fastest(regions)
        for event, of_dogs, soon, late in ((due.first, firsts, fast, slow), (due.last, lasts, slow, fast)):
            if event is not None:
                ages = columns.ages_at(event, due)
                of_dogs.append(
                    [
                        event.day + 7 * age / (later if age > 0 else sooner)
                        for age, sooner, later in zip(ages, soon, late, strict=True)
                    ]
                )
    return Dates(
        tuple([ceil(day - _ROUNDING) for day in (map(max, zip(*firsts, strict=True)))]),
        tuple([ceil(day - _ROUNDING) - 1 for day in (map(min, zip(*lasts, strict=True)))]),
    )


class _Columns:
    """Dogs as a list of each of their figures."""

    def __init__(self, dogs: Sequence[Drawn]) -> None:
        self.dogs = dogs
        self.factors = [dog.factor for dog in dogs]

    def slowest_and_fastest(self, regions: Sequence[str]) -> tuple[list[float], list[float]]:
        """Of each dog the lowest and the highest pace of some regions."""
        paces = [[dog.paces[region] for dog in self.dogs] for region in regions]
        if len(paces) == 1:
            return paces[0], paces[0]
        return list(map(min, *paces)), list(map(max, *paces))

    def ages_at(self, event: Event, due: Due) -> list[float]:
        """Of each dog the age of hair at an event, in weeks at pace 1."""
        of_lag, of_grows, of_rests, weeks = event.milestone
        cycle = due.cycle
        ages = [0.0] * len(self.dogs)
        if of_lag:
            ages = [of_lag * within(due.lag_range, cycle.lag_weeks, dog.lag) for dog in self.dogs]
        if of_grows:
            grows = cycle.grows_weeks
            ages = [age + of_grows * (grows * factor) for age, factor in zip(ages, self.factors, strict=True)]
        if of_rests:
            ages = [
                age + of_rests * within(due.rests_range, cycle.rests_weeks, dog.rests)
                for age, dog in zip(ages, self.dogs, strict=True)
            ]
        group = event.arrived
        if group is None:
            return [age + weeks for age in ages]
        return [age + weeks - dog.ages[group] for age, dog in zip(ages, self.dogs, strict=True)]


def within(ends: tuple[float, float] | None, value: float, share: float) -> float:
    """Returns the value at a share (0 to 1) of what is possible: the ends are the 10th and 90th percentile, linear from each
    to the value and as steep beyond, never below 0. Without a range, the value."""
    if ends is None:
        return value
    low, high = ends
    return max(value + (share - 0.5) / 0.4 * (high - value if share > 0.5 else value - low), 0.0)


def _age(ages: Sequence[float], weights: Sequence[float], share: float) -> tuple[float, int]:
    """The age below which a share of the weight lies, each node's spread over its cell, and the node."""
    reached, last = 0.0, len(ages) - 1
    for at, weight in enumerate(weights):
        if reached + weight >= share or at == last:
            low = (ages[max(at - 1, 0)] + ages[at]) / 2
            high = (ages[at] + ages[min(at + 1, last)]) / 2
            return low + (high - low) * (min(max((share - reached) / weight, 0.0), 1.0) if weight > 0 else 0.5), at
        reached += weight
    raise ValueError("no ages")


@lru_cache(maxsize=64)
def _fractions(prime: int) -> tuple[float, ...]:
    root = sqrt(prime)
    return tuple([n * root % 1 for n in range(1, DRAWS + 1)])


@lru_cache(maxsize=64)
def _normals(prime: int) -> tuple[float, ...]:
    """The standard normal values below which those fractions lie."""
    return tuple(map(NormalDist().inv_cdf, _fractions(prime)))


@lru_cache(maxsize=8)
def _primes(count: int) -> tuple[int, ...]:
    found = sorted(_DOG_PRIMES)
    number = found[-1]
    while len(found) < count:
        number += 1
        if all(number % prime for prime in found):
            found.append(number)
    return (*_DOG_PRIMES, *found[_FIRST_REGION:])
