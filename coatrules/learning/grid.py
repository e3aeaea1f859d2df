"""One posterior of a dog's pace, the final length of its hair and the ages it arrived with, on a grid.

The dog's pace ``k`` is normal about 1; its hair grows ``exp(c)`` times as long as the profile says, ``c`` normal about 0;
each region's pace deviates from the dog's, normal about it; hair that arrived at an age nobody wrote down has that age
as a third unknown of its group, summed over. Pace says when, growing time says how long: the final length does not
contain the pace.

At each node of ``c`` (and of an arrival's age) the likelihood of a region's records is worked out at a few paces of that
region, laid where its lengths put them, and spread to the dog's paces by the normal deviation between regions. All of it
is a rectangle rule on nodes a fraction of a standard deviation apart, which for such smooth curves is exact to far
below a measurement's error. Where what is known is narrower than the grid, the grid is laid anew about it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from math import erfc, exp, inf, log, pi, sqrt
from typing import NamedTuple

from coatrules.learning.likelihood import (
    MEASURE_MM,
    PASSES,
    POINT_STEP,
    REACH,
    ROOT,
    RegionRecords,
)
from coatrules.learning.observations import Arrival, AtLeast, Came, Felt, Layers, Length, Observation
from coatrules.learning.posterior import POINTS, Axis, OfArrival, OfRegion, Outlier, Posterior

FINAL_SPREAD = 0.25  # of c: within one kennel final lengths differed by a factor of three
OUTLIER_SD = 3.5  # standard deviations from all else that is known: one honest record in two thousand

_NODES = 9
_ENDED_POINTS = 3  # ages of hair that was at its end when it arrived and was measured
_MAYBE_ENDED_POINTS = 6  # and of hair that was first measured later
_FINE = 0.55  # a spread of less than so many steps of the grid is not told by it
_SUSPECT = 2.0  # standard deviations from which a record is looked at twice
_CLEAR = 3.0  # the same where so many others are known that one cannot draw them all to itself
_MANY = 12  # records up to which one can
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
    the pace between dogs. region_spread: between the regions of one dog. final_spread: of ``c`` between dogs. measure_mm: of
    a measured length. What lies more than ``outlier_sd`` standard deviations from what all the rest foretells is left out, of
    every region that it speaks of.
    ``ValueError`` for spreads below 0, and for a measure without an error.
    """
    if measure_mm <= 0:
        raise ValueError("a measured length is off by more than 0")
    if min(pace_spread, region_spread, final_spread) < 0:
        raise ValueError("spreads must be 0 or more")
    grid = _Grid(arrivals or {}, pace_spread, region_spread, final_spread, measure_mm)
    records = _whole(sorted(observations, key=_place))
    outliers: list[Outlier] = []
    found = grid.posterior(records)
    least = erfc(outlier_sd / sqrt(2))
    for _ in range(_ROUNDS if outlier_sd < inf else 0):
        outlying = grid.outlying(records, found, least)
        if not outlying:
            break
        outliers += [Outlier(one, expected) for at in outlying for one, expected in outlying[at]]
        records = [record for at, record in enumerate(records) if at not in outlying]
        found = grid.posterior(records)
    return found._replace(outliers=tuple(outliers))


_Record = tuple[Observation, ...]
"""One record, once for each region that it speaks of."""


def _whole(records: Iterable[Observation]) -> list[_Record]:
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


class _Grid(NamedTuple):
    """What is known before any record."""

    arrivals: Mapping[str, Arrival]
    pace_spread: float
    region_spread: float
    final_spread: float
    measure_mm: float

    def posterior(self, records: Sequence[_Record]) -> Posterior:
        by_region: dict[str, list[Observation]] = {}
        for record in records:
            for one in record:
                by_region.setdefault(one.region, []).append(one)
        classes: dict[tuple[object, ...], RegionRecords] = {}
        names: dict[str, RegionRecords] = {}
        for name, own in by_region.items():
            key = tuple([(type(one).__name__, *one[1:]) for one in own])
            if key in classes:
                classes[key].count += 1
            else:
                classes[key] = RegionRecords(own, self.measure_mm)
            names[name] = classes[key]
        weight = sum(one.weight for record in records for one in record)
        paces = _nodes(1.0, self.pace_spread * REACH)
        finals = _nodes(0.0, self.final_spread * REACH)
        for _ in range(PASSES):
            found = self._over(names, list(classes.values()), paces, finals, weight)
            k, c = _narrowed(found.pace), _narrowed(found.final)
            if (k is None and c is None) or not records:
                break
            paces, finals = k or paces, c or finals
        return found

    def _over(
        self,
        names: Mapping[str, RegionRecords],
        regions: Sequence[RegionRecords],
        paces: tuple[float, ...],
        finals: tuple[float, ...],
        observations: float,
    ) -> Posterior:
        alone = [region for region in regions if region.arrived is None]
        groups = {name: [region for region in regions if region.arrived == name] for name in self.arrivals}
        curves: dict[int, tuple[list[tuple[tuple[float, ...], ...]], list[tuple[tuple[float, ...], ...]]]] = {
            id(region): ([], []) for region in regions
        }
        ages_of: dict[str, list[tuple[float, ...]]] = {name: [] for name in groups}
        shares_of: dict[str, list[list[tuple[float, ...]]]] = {name: [] for name in groups}  # by c, then by pace
        columns = []
        cell = _step(finals) if len(finals) > 1 else 0.0
        for c in finals:
            factor = exp(c)
            prior = -0.5 * (c / self.final_spread) ** 2 if self.final_spread else 0.0
            column = [prior - (0.5 * ((k - 1) / self.pace_spread) ** 2 if self.pace_spread else 0.0) for k in paces]
            for region in alone:
                for at, one in enumerate(self._of_region(region, factor, (0.0,), paces, curves, cell)[0]):
                    column[at] += one
            for name, members in groups.items():
                ages, priors = self._ages(self.arrivals[name], members, paces, factor)
                ages_of[name].append(ages)
                rows = [list(prior_of_pace) for prior_of_pace in priors]  # by pace, then by age
                for region in members:
                    for at_age, of_paces in enumerate(self._of_region(region, factor, ages, paces, curves, cell)):
                        for at, one in enumerate(of_paces):
                            rows[at][at_age] += one
                shares_of[name].append([])
                for at, row in enumerate(rows):
                    highest = max(row)
                    shares = [exp(one - highest) for one in row]
                    whole = sum(shares)
                    column[at] += highest + log(whole)
                    shares_of[name][-1].append(tuple([share / whole for share in shares]))
            columns.append(column)
        logs = [columns[j][i] for i in range(len(paces)) for j in range(len(finals))]
        highest = max(logs)
        weights = [exp(one - highest) for one in logs]
        whole = sum(weights)
        weights = [weight / whole for weight in weights]
        width = len(finals)
        known = {
            id(region): OfRegion(region.arrived, *(tuple(curve) for curve in curves[id(region)])) for region in regions
        }
        return Posterior(
            pace=Axis(paces, tuple([sum(weights[at : at + width]) for at in range(0, len(weights), width)])),
            final=Axis(finals, tuple([sum(weights[at::width]) for at in range(width)])),
            weights=tuple(weights),
            regions={name: known[id(region)] for name, region in names.items()},
            arrivals={
                name: OfArrival(
                    tuple(ages_of[name]), tuple([of_c[i] for i in range(len(paces)) for of_c in shares_of[name]])
                )
                for name in groups
            },
            region_spread=self.region_spread,
            measure_mm=self.measure_mm,
            observations=observations,
            log_evidence=highest + log(whole) + log(_step(paces) * _step(finals)),
        )

    def _of_region(
        self,
        region: RegionRecords,
        factor: float,
        ages: Sequence[float],
        paces: Sequence[float],
        curves: Mapping[int, tuple[list[tuple[tuple[float, ...], ...]], list[tuple[tuple[float, ...], ...]]]],
        cell: float,
    ) -> list[list[float]]:
        """The log likelihood of a region's records for each age and each pace of the dog; its curves are kept."""
        grown = region.cycle.grows_weeks * factor
        count, deviation = region.count, self.region_spread
        if not deviation:
            return [[count * one for one in region.logs_at(paces, grown, age, cell)] for age in ages]
        spread = sqrt(self.pace_spread**2 + deviation**2)
        scale = log(deviation * sqrt(2 * pi))
        slope = -0.5 / deviation**2
        rows, own_paces, own_chances = [], [], []
        for age in ages:
            nodes, chances, log_scale = region.over(grown, age, spread, deviation, cell)
            own_paces.append(nodes)
            own_chances.append(chances)
            pairs = [(node, chance) for node, chance in zip(nodes, chances, strict=True) if chance > 1e-7]
            row = []
            for k in paces:
                total = 1e-300
                for node, chance in pairs:
                    off = node - k
                    total += chance * exp(slope * off * off)
                row.append(count * (log(total) + log_scale - scale))
            rows.append(row)
        of_paces, of_chances = curves[id(region)]
        of_paces.append(tuple(own_paces))
        of_chances.append(tuple(own_chances))
        return rows

    def _ages(
        self, arrival: Arrival, members: Sequence[RegionRecords], paces: Sequence[float], factor: float
    ) -> tuple[tuple[float, ...], list[list[float]]]:
        """The nodes of an arrival's age (weeks at pace 1), and for each pace the logarithm of the prior weight of each.

        Half of all hair arrives at its end, half still grows, any age of either as likely; none is older than the dog.
        Where its length was measured, most nodes lie where growing hair is about as long: others would count for nothing.
        """
        cycle = arrival.cycle
        grown, lag = cycle.grows_weeks * factor, cycle.lag_weeks
        ripens, ended = lag + (1 - cycle.spread) * grown, lag + grown
        oldest = ended + cycle.rests_weeks

        def below(age: float) -> float:
            if age <= ripens:
                return 0.5 * max(age - lag, 0.0) / (ripens - lag)
            return 0.5 + 0.5 * min(age - ripens, oldest - ripens) / (oldest - ripens)

        def at(share: float) -> float:
            if share <= 0.5:
                return lag + 2 * share * (ripens - lag)
            return ripens + (2 * share - 1) * (oldest - ripens)

        limits = [oldest if arrival.dog_weeks is None else min(oldest, k * arrival.dog_weeks) for k in paces]
        top = below(max(limits))
        if top <= 0:  # a dog younger than its hair takes to show
            return (max(limits),), [[0.0] for _ in paces]
        cells: list[tuple[float, float]] = []
        first = min((one for region in members for one in region.arriving), default=None)
        if first is not None:
            weeks, mm, _ = first
            error = self.measure_mm / cycle.mm_per_week
            sd = sqrt(error**2 + (self.pace_spread**2 + self.region_spread**2) * weeks**2)
            step = min(POINT_STEP * sd, 1.2 * error)
            middle, stop = lag + mm / cycle.mm_per_week - weeks, ended - weeks * paces[0]
            reach = int(REACH * sd / step + 0.5)
            for point in range(-reach, reach + 1):
                low, high = middle + (point - 0.5) * step, middle + (point + 0.5) * step
                low, high = max(low, lag), min(high, stop)
                if high > low:
                    cells.append((low, high))
            from_ = below(max(cells[-1][1] if cells else 0.0, ended - weeks * paces[-1], lag))
            points = _MAYBE_ENDED_POINTS if weeks else _ENDED_POINTS
        else:
            from_, points = 0.0, _NODES
        if top > from_:
            share = (top - from_) / points
            cells += [(at(from_ + share * point), at(from_ + share * (point + 1))) for point in range(points)]
        ages = tuple([(low + high) / 2 for low, high in cells])
        priors = []
        for limit in limits:
            shares = [below(min(high, limit)) - below(min(low, limit)) for low, high in cells]
            whole = below(limit)
            if whole <= 0:
                shares[0] = whole = 1.0
            priors.append([log(max(share / whole, 1e-12)) for share in shares])
        return ages, priors

    def outlying(
        self, records: Sequence[_Record], found: Posterior, least: float
    ) -> dict[int, list[tuple[Observation, float | None]]]:
        """Of all records the places of those to leave out now, for they are less likely than ``least`` by what the rest
        foretells; and what that expects of each of their regions."""
        if len(records) > _MANY:
            return self._among_many(records, found, least)
        strained = abs(found.pace.mean - 1) > _SUSPECT * self.pace_spread or (
            abs(found.final.mean) > _SUSPECT * self.final_spread
        )
        doubt = erfc(_SUSPECT / ROOT)
        if not strained and all(self._likely(record, found)[0] > doubt for record in records):
            return {}
        worst = least
        outlying: dict[int, list[tuple[Observation, float | None]]] = {}
        for at, record in enumerate(records):
            likely, expected = self._likely(record, self.posterior([*records[:at], *records[at + 1 :]]))
            if likely < worst:
                worst, outlying = likely, {at: expected}
        return outlying

    def _among_many(
        self, records: Sequence[_Record], found: Posterior, least: float
    ) -> dict[int, list[tuple[Observation, float | None]]]:
        """The outlying ones of many records. One of many moves the rest but little: what is not far off by itself is not far
        off by the others. So those that are, at most half of all, are held against the others at once."""
        doubt = erfc(_CLEAR / ROOT)
        paces = {region: found.pace_of(region)[0] for region in found.regions}
        likely = [self._likely_at_mean(record, found, paces) for record in records]
        furthest = sorted(range(len(records)), key=lambda at: likely[at])[: len(records) // 2]
        suspects = {at for at in furthest if likely[at] < doubt}
        if not suspects:
            return {}
        rest = self.posterior([record for at, record in enumerate(records) if at not in suspects])
        judged = {at: self._likely(records[at], rest) for at in sorted(suspects)}
        return {at: expected for at, (chance, expected) in judged.items() if chance < least}

    def _likely(self, record: _Record, found: Posterior) -> tuple[float, list[tuple[Observation, float | None]]]:
        """How likely a record was, on the mean over the regions that it speaks of, and what was expected of each."""
        known: dict[object, tuple[float, float | None]] = {}
        total, expected = 0.0, []
        for one in record:
            key = id(found.regions.get(one.region)), one[1:]  # regions with the same records have one curve
            if key not in known:
                known[key] = self._likely_of(one, found)
            total += known[key][0]
            expected.append((one, known[key][1]))
        return total / len(record), expected

    def _likely_of(self, one: Observation, found: Posterior) -> tuple[float, float | None]:
        if isinstance(one, Length):
            return found.tail(one)
        region, arrived = RegionRecords([one._replace(weight=1.0)], self.measure_mm), None
        arrived = region.arrived
        likely = 0.0
        for weight, _, c, age, own, var in found.hypotheses(one.region, arrived):
            grown = one.cycle.grows_weeks * exp(c)
            logs = region.terms_at([own + point * sqrt(var) for point, _ in POINTS], grown, age)
            likely += weight * sum(chance * exp(log_) for (_, chance), log_ in zip(POINTS, logs, strict=True))
        return likely, None

    def _likely_at_mean(self, record: _Record, found: Posterior, paces: Mapping[str, float]) -> float:
        """How likely a record was on a dog that is just as expected; of hair that arrived, by all that is possible."""
        known: dict[object, float] = {}
        total = 0.0
        for one in record:
            key = id(found.regions.get(one.region)), one[1:]
            if key not in known:
                known[key] = self._at_mean(one, found, paces[one.region])
            total += known[key]
        return total / len(record)

    def _at_mean(self, one: Observation, found: Posterior, pace: float) -> float:
        grown = one.cycle.grows_weeks * exp(found.final.mean)
        if isinstance(one, Length) and one.arrived is None and not one.at_end:
            mm = one.cycle.mm_per_week * min(max(pace * one.weeks - one.cycle.lag_weeks, 0.0), grown)
            return erfc(abs(one.length_mm - mm) / (self.measure_mm * ROOT))
        region = RegionRecords([one._replace(weight=1.0)], self.measure_mm)
        if region.arrived is not None or not region.terms:
            return self._likely_of(one, found)[0]
        return exp(region.terms_at((pace,), grown, 0.0)[0])


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
