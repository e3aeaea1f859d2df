"""One posterior of a dog's pace, the final length of its hair and the ages it arrived with, on a grid.

The dog's pace ``k`` is normal about 1; its hair grows ``exp(c)`` times as long as the profile says, ``c`` normal about 0;
each region's pace deviates from the dog's, normal about it; hair that arrived at an age nobody wrote down has that age
as a third unknown of its group, summed over. Pace says when, growing time says how long: the final length does not
contain the pace.

At each node of ``c`` (and of an arrival's age) the likelihood of a region's records is worked out at a few paces of that
region, laid where its lengths put them, and spread to the dog's paces by the normal deviation between regions. All of it
is a rectangle rule on nodes a fraction of a standard deviation apart, which for such smooth curves is exact to far
below a measurement's error. Where what is known is narrower than the grid, the grid is laid anew about it; and where the
regions lie further apart than usual, or closer together, with the deviation that they show.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import partial
from math import erfc, exp, inf, log, pi, sqrt
from typing import NamedTuple

from coatrules.learning.arrival_ages import arrival_ages
from coatrules.learning.hand import HAND, Lesson, either, together
from coatrules.learning.likelihood import MEASURE_MM, ROOT, RegionRecords
from coatrules.learning.observations import Arrival, AtLeast, Came, Felt, Layers, Length, Observation
from coatrules.learning.outlying import Record, outlying
from coatrules.learning.posterior import Axis, OfArrival, OfRegion, Outlier, Posterior
from coatrules.learning.region_paces import PASSES, REACH, weighed

FINAL_SPREAD = 0.25  # of c: within one kennel final lengths differed by a factor of three

_NODES = 9
_FINE = 0.55  # a spread of less than so many steps of the grid is not shown by it
_USUAL_REGIONS = 4  # the usual deviation of regions counts as if so many had shown it. No source
_SETTLED = 0.1  # a deviation that changes by less is what the regions show
_ROUNDS = 24  # what is left out after so many tries is garbage, and all else with it


def learn(
    observations: Iterable[Observation],
    arrivals: Mapping[str, Arrival] | None = None,
    *,
    pace_spread: float,
    region_spread: float = 0.10,
    final_spread: float = FINAL_SPREAD,
    measure_mm: float = MEASURE_MM,
    outlier_sd: float = inf,
) -> Posterior:
    """Returns what all records say of a dog's hair, in whatever order they come.

    arrivals: the groups whose age at the arrival is unknown; a record may name one. pace_spread: standard deviation of
    the pace between dogs. region_spread: between the regions of one dog, as is usual. final_spread: of ``c`` between dogs.
    measure_mm: of a measured length. What lies more than ``outlier_sd`` standard deviations from what all the rest foretells is
    left out, of every region that it speaks of.
    ``ValueError`` for spreads below 0, and for a measure without an error.
    """
    if measure_mm <= 0:
        raise ValueError("a measured length is off by more than 0")
    if min(pace_spread, region_spread, final_spread) < 0:
        raise ValueError("spreads must be 0 or more")
    grid = _Grid(arrivals or {}, pace_spread, region_spread, final_spread, measure_mm, {}, {})
    records = _whole(sorted(observations, key=_place))
    outliers: list[Outlier] = []
    found = grid.posterior(records)
    least = erfc(outlier_sd / ROOT)
    for _ in range(_ROUNDS if outlier_sd < inf else 0):
        rejected = outlying(records, found, least, partial(grid.posterior, near=found))
        if not rejected:
            break
        outliers += [Outlier(one, expected) for at in rejected for one, expected in rejected[at]]
        records = [record for at, record in enumerate(records) if at not in rejected]
        found = grid.posterior(records)
    return found._replace(outliers=tuple(outliers))


def _whole(records: Iterable[Observation]) -> list[Record]:
    """The records put together again as they were written: what tells apart the regions of one is their hair."""
    together: dict[tuple[object, ...], list[Observation]] = {}
    for one in records:
        alone = one.region if one.weight == 1 else None
        together.setdefault((type(one).__name__, one.day, one.visit, one.weight, alone, _what(one)), []).append(one)
    return [tuple(record) for record in together.values()]


def _what(one: Observation) -> object:
    match one:
        case Length():
            return one.length_mm, one.at_end
        case AtLeast():
            return one.length_mm
        case Layers():
            return one.layers
        case Felt():
            return one.comes
        case Came():
            return one.share


def _place(one: Observation) -> tuple[str, str, int, int, str]:
    return one.region, type(one).__name__, one.day, one.visit, repr(one[2:])


_Curve = tuple[tuple[tuple[float, ...], ...], tuple[tuple[float, ...], ...]]
"""Paces of a region and the chance of its records at each, for each age of its arrival."""


_Lessons = tuple[list[list[Lesson]], _Curve]
"""What a region's records tell at each age and each pace of the dog, and their chances over paces of its own."""


class _Column(NamedTuple):
    """All at one value of ``c``. logs: the logarithm of the weight of each pace. curves: of each region. arrivals: the ages
    of each group, and for each pace the share of each."""

    logs: list[float]
    curves: list[_Curve]
    arrivals: list[tuple[tuple[float, ...], list[tuple[float, ...]]]]


class _Grid(NamedTuple):
    """What is known before any record. read: regions by their records. lessons: what a region's records tell, by the region and
    all that it depends on. Both grow while records are left out."""

    arrivals: Mapping[str, Arrival]
    pace_spread: float
    region_spread: float
    final_spread: float
    measure_mm: float
    read: dict[tuple[object, ...], RegionRecords]
    lessons: dict[tuple[object, ...], _Lessons]

    def posterior(self, records: Sequence[Record], near: Posterior | None = None) -> Posterior:
        """What some records say. near: what nearly the same say, about which the grid is laid first: regions that say the same there
        need not be gone through again."""
        by_region: dict[str, list[Observation]] = {}
        for record in records:
            for one in record:
                by_region.setdefault(one.region, []).append(one)
        regions = {name: self._records_of(own) for name, own in by_region.items()}
        # A region of each kind that was measured.
        apart = {own: name for name, own in reversed(list(regions.items())) if own.measured}.values()
        weight = sum(one.weight for record in records for one in record)
        if near is None:
            paces, finals = _nodes(1.0, self.pace_spread * REACH), _nodes(0.0, self.final_spread * REACH)
            spread = self.region_spread
        else:
            paces, finals, spread = near.pace.values, near.final.values, near.region_spread
        for _ in range(PASSES):
            found = self._replace(region_spread=spread)._over(regions, paces, finals, weight)
            k, c, before = _narrowed(found.pace), _narrowed(found.final), spread
            spread = self._apart(found, apart)
            if not records or (k is None and c is None and abs(spread - before) <= _SETTLED * before):
                break
            paces, finals = k or paces, c or finals
        return found._replace(prior_sds=(self.pace_spread, self.final_spread, self.region_spread))

    def _records_of(self, records: Sequence[Observation]) -> RegionRecords:
        """The records of a region, which it shares with all that have the same."""
        key = tuple([(type(one).__name__, *one[1:]) for one in records])
        if key not in self.read:
            self.read[key] = RegionRecords(records, self.measure_mm)
        return self.read[key]

    def _apart(self, found: Posterior, regions: Collection[str]) -> float:
        """How far the paces of regions lie from the dog's: the mean of its square, where the usual one counts as if some regions
        had shown it (a scaled inverse chi-squared prior) and these have their expected squares."""
        if len(regions) < 2 or not self.region_spread:
            return self.region_spread
        squares = _USUAL_REGIONS * self.region_spread**2
        for name in regions:
            squares += sum(weight * ((own - k) ** 2 + var) for weight, k, _, _, own, var in found.hypotheses(name))
        return sqrt(squares / (_USUAL_REGIONS + len(regions) - 2))

    def _over(
        self,
        names: Mapping[str, RegionRecords],
        paces: tuple[float, ...],
        finals: tuple[float, ...],
        observations: float,
    ) -> Posterior:
        regions = Counter(names.values())
        columns = [self._column(regions, paces, c, _step(finals) if len(finals) > 1 else 0.0) for c in finals]
        logs = [column.logs[i] for i in range(len(paces)) for column in columns]
        highest, width = max(logs), len(finals)
        weights = [exp(one - highest) for one in logs]
        whole = sum(weights)
        weights = [weight / whole for weight in weights]
        curves = {
            region: OfRegion(
                region.arrived,
                tuple([column.curves[at][0] for column in columns]) if self.region_spread else (),
                tuple([column.curves[at][1] for column in columns]) if self.region_spread else (),
            )
            for at, region in enumerate(regions)
        }
        return Posterior(
            pace=Axis(paces, tuple([sum(weights[at : at + width]) for at in range(0, len(weights), width)])),
            final=Axis(finals, tuple([sum(weights[at::width]) for at in range(width)])),
            weights=tuple(weights),
            regions={name: curves[region] for name, region in names.items()},
            arrivals={
                name: OfArrival(
                    tuple([column.arrivals[at][0] for column in columns]),
                    tuple([column.arrivals[at][1][i] for i in range(len(paces)) for column in columns]),
                )
                for at, name in enumerate(self.arrivals)
            },
            prior_sds=(self.pace_spread, self.final_spread, self.region_spread),
            region_spread=self.region_spread,
            measure_mm=self.measure_mm,
            observations=observations,
            log_evidence=highest + log(whole) + log(_step(paces) * _step(finals)),
        )

    def _column(self, regions: Mapping[RegionRecords, int], paces: tuple[float, ...], c: float, cell: float) -> _Column:
        factor, hand = exp(c), (HAND * self.measure_mm) ** 2
        curves: dict[RegionRecords, _Curve] = {}
        lessons: list[list[tuple[Lesson, int]]] = [[] for _ in paces]
        for region, count in regions.items():
            if region.arrived is None:
                rows, curves[region] = self._lessons_of(region, factor, (0.0,), paces, cell)
                for at, one in enumerate(rows[0]):
                    lessons[at].append((one, count))
        arrivals = []
        for name, arrival in self.arrivals.items():
            members = [region for region in regions if region.arrived == name]
            ages, priors = arrival_ages(arrival, members, paces, factor, self._region_sd, self.measure_mm)
            of_members = []
            for region in members:
                rows, curves[region] = self._lessons_of(region, factor, ages, paces, cell)
                of_members.append((rows, regions[region]))
            shares_of_paces = []
            for at, of_ages in enumerate(priors):
                cases = []
                for at_age, prior in enumerate(of_ages):
                    case = together([(rows[at_age][at], count) for rows, count in of_members], hand)
                    cases.append(case._replace(log=case.log + prior))
                one, shares = either(cases)
                lessons[at].append((one, 1))
                shares_of_paces.append(shares)
            arrivals.append((ages, shares_of_paces))
        logs = [
            _log_normal(c, self.final_spread) + _log_normal(k - 1, self.pace_spread) + together(of_pace, hand).log
            for k, of_pace in zip(paces, lessons, strict=True)
        ]
        return _Column(logs, [curves[region] for region in regions], arrivals)

    @property
    def _region_sd(self) -> float:
        """Of a region's pace before any record."""
        return sqrt(self.pace_spread**2 + self.region_spread**2)

    def _lessons_of(
        self, region: RegionRecords, factor: float, ages: tuple[float, ...], paces: tuple[float, ...], cell: float
    ) -> _Lessons:
        key = region, factor, ages, paces, cell, self.region_spread
        if key not in self.lessons:
            self.lessons[key] = self._of_region(region, factor, ages, paces, cell)
        return self.lessons[key]

    def _of_region(
        self, region: RegionRecords, factor: float, ages: Sequence[float], paces: Sequence[float], cell: float
    ) -> _Lessons:
        """What a region's records tell at each age and each pace of the dog; and their chances over paces of its own."""
        grown, deviation = region.cycle.grows_weeks * factor, self.region_spread
        if not deviation:
            return [region.lessons_at(paces, grown, age, cell) for age in ages], ((), ())
        scale = log(deviation * sqrt(2 * pi))
        slope = -0.5 / deviation**2
        curves = [weighed(region, grown, age, self._region_sd, deviation, cell) for age in ages]
        rows = []
        for curve in curves:
            nodes = [
                (own, chance, one.mean, one.var + one.mean**2)
                for own, chance, one in zip(curve.paces, curve.chances, curve.lessons, strict=True)
                if chance > 1e-7
            ]
            row = []
            for k in paces:
                total = 1e-300
                mean = square = 0.0
                for own, chance, mean_there, square_there in nodes:
                    off = own - k
                    part = chance * exp(slope * off * off)
                    total += part
                    mean += part * mean_there
                    square += part * square_there
                mean /= total
                row.append(Lesson(log(total) + curve.log_scale - scale, mean, max(square / total - mean**2, 1e-9)))
            rows.append(row)
        return rows, (tuple([curve.paces for curve in curves]), tuple([curve.chances for curve in curves]))


def _log_normal(off: float, sd: float) -> float:
    """The logarithm of a normal's density but for a constant; 0 where the value is known."""
    return -0.5 * (off / sd) ** 2 if sd else 0.0


def _nodes(middle: float, reach: float) -> tuple[float, ...]:
    if not reach:
        return (middle,)
    return tuple([middle + reach * (2 * at / (_NODES - 1) - 1) for at in range(_NODES)])


def _step(nodes: Sequence[float]) -> float:
    return nodes[1] - nodes[0] if len(nodes) > 1 else 1.0


def _narrowed(axis: Axis) -> tuple[float, ...] | None:
    """New nodes where these are too wide for what is known, or end too early; None where they serve."""
    if len(axis.values) == 1:
        return None
    step, sd = _step(axis.values), axis.sd
    if max(axis.weights[0], axis.weights[-1]) > 0.05:
        return _nodes(axis.mean, max(REACH * sd, (axis.values[-1] - axis.values[0]) / 2))
    return None if sd >= _FINE * step else _nodes(axis.mean, REACH * max(sd * 1.1, step / 4))
