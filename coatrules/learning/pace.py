"""The dog's own pace, learned from what was measured and seen on it.

Each measured length is one point on a line through the origin whose slope is that region's pace: for hair neither cut
nor full grown, ``length + mm_per_week * breakthrough_weeks = pace * mm_per_week * age``. A count of layers says which hair
is through and which is not, and so between which bounds the pace lies. The dog's pace is normal about 1, a region's about
the dog's, a measurement about the truth: for lengths the answer is the closed form of a two-level normal model (``shrink``).
A count tells bounds, not a point; it is taken in as the normal that has the same mean and variance as the region's pace
cut at these bounds (moment matching, repeated until all counts agree: expectation propagation, Minka 2001, from memory).

No effect of the calendar: after clipping, 37 Labradors regrew their coat as fast in every season (P = 0.12; Diaz et al.,
Veterinary Dermatology 15:25-30, 2004), and no source gives a figure for pulled hair.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from math import erfc, exp, inf, isfinite, pi, sqrt
from typing import NamedTuple

from attrs import field, frozen

from coatrules.coat.growth import Growth
from coatrules.coat.measures import LAYER_MASS, standing
from coatrules.coat.queue import Coat
from coatrules.learning.shrinkage import Evidence, Shrunk, shrink
from coatrules.read_only import NOTHING, read_only

LEAST, MOST = 0.4, 2.5  # outside of this the record is wrong rather than the dog unusual
CONTRARY = 3.5  # standard deviations from all else that is known: one honest measurement in two thousand
IN_80 = 1.2816  # standard deviations either side of the mean that hold 80 % of a normal


class Observation(NamedTuple):
    """The longest hair of a region, measured: its age in calendar weeks, its length in mm, and how such hair grows.

    day: ordinal it was measured on. visit: its place in the history. weight: 1 over the regions that one measurement was
    said of.
    """

    region: str
    age_weeks: float
    length_mm: float
    growth: Growth
    day: int = 0
    visit: int = -1
    weight: float = 1.0


class LayerCount(NamedTuple):
    """Layers counted in a region, and the bounds of the pace that would show as many; no pace does where ``least > most``."""

    region: str
    layers: int
    least: float
    most: float
    growth: Growth
    day: int = 0
    visit: int = -1
    weight: float = 1.0

    def error(self, measure_mm: float) -> float:
        """How surely breakthrough is seen, as a standard deviation of the pace: hair is noticed to ``measure_mm``."""
        return measure_mm / (self.growth.mm_per_week * self.growth.breakthrough_weeks)


class Outlier(NamedTuple):
    """A record that does not fit all else that is known; it was left out. ``expected``: length in mm or None."""

    measured: Observation | LayerCount
    expected: float | None


@frozen(kw_only=True)
class Pace:
    """How fast this dog's coat comes, 1 being the profile's typical dog: mean and standard deviation.

    observations: how many lengths and counts it rests on, one said of many regions counting once. regions: mean and standard
    deviation of each measured region. doubtful: regions whose lengths alone give a pace outside 0.4 to 2.5; they count for
    nothing here. region_spread: standard deviation between the regions of one dog. lengths, counts: what it was learned
    from. contrary: what was left out.
    """

    mean: float
    sd: float
    observations: int = 0
    regions: Mapping[str, tuple[float, float]] = field(default=NOTHING, converter=read_only)
    rejected: tuple[str, ...] = ()
    region_spread: float = 0.10
    lengths: tuple[Observation, ...] = ()
    counts: tuple[LayerCount, ...] = ()
    contrary: tuple[Outlier, ...] = ()

    def of(self, region: str) -> float:
        """The pace to plan a region with: its own, or the dog's where nothing was measured there."""
        return self.regions[region][0] if region in self.regions else self.mean

    def sd_of(self, region: str) -> float:
        """The standard deviation of a region's pace."""
        return self.regions[region][1] if region in self.regions else sqrt(self.sd**2 + self.region_spread**2)

    def within_80(self, region: str) -> tuple[float, float]:
        """The pace between which and which a region's lies in 80 of 100 such dogs, from slow to fast."""
        mean, sd = self.of(region), self.sd_of(region)
        return max(mean - IN_80 * sd, LEAST), min(mean + IN_80 * sd, MOST)


def learn(
    observations: Iterable[Observation],
    counts: Iterable[LayerCount] = (),
    *,
    spread: float,
    region_spread: float = 0.10,
    measure_mm: float = 2.0,
    contrary_sd: float = inf,
) -> Pace:
    """The pace of a dog, from lengths measured and layers counted on it and what its breed is like.

    spread: standard deviation of the pace between dogs. region_spread: between the regions of one dog. measure_mm: of
    a measurement. Lengths of hair that is under the skin or full grown tell no pace and are passed over. What lies more
    than ``contrary_sd`` standard deviations from what all the rest foretells is left out, the furthest first.
    ``ValueError`` for spreads below 0 or a measurement without error.
    """
    if spread < 0 or region_spread < 0 or measure_mm <= 0:
        raise ValueError("spreads must be 0 or more, and the error of a measurement more than 0 mm")
    model = _Model(spread, region_spread, measure_mm)
    lengths = [one for one in observations if one.age_weeks > 0 and 0 < one.length_mm < one.growth.full_mm]
    told = [count for count in counts if count.growth.breakthrough_weeks > 0]
    contrary = [Outlier(count, None) for count in told if count.least > count.most]
    told = [count for count in told if count.least <= count.most and (count.least > 0 or isfinite(count.most))]
    if isfinite(contrary_sd):
        _leave_out(model, lengths, told, contrary, contrary_sd)

    alone = model.evidence(lengths)
    rejected = tuple(sorted(r for r, (precision, sum_) in alone.items() if not LEAST <= sum_ / precision <= MOST))
    contrary += [Outlier(one, model.length(one, 1.0)) for one in lengths if one.region in rejected]
    lengths = [one for one in lengths if one.region not in rejected]
    evidence = model.evidence(lengths)
    found = model.shrunk(_sum(evidence, model.sites(evidence, model.joined(told))))
    return Pace(
        mean=found.mean,
        sd=sqrt(found.var),
        observations=round(sum(one.weight for one in lengths) + sum(count.weight for count in told)),
        regions={region: (mean, sqrt(var)) for region, (mean, var) in found.regions.items()},
        rejected=rejected,
        region_spread=region_spread,
        lengths=tuple(lengths),
        counts=tuple(told),
        contrary=tuple(contrary),
    )


def _leave_out(
    model: _Model, lengths: list[Observation], told: list[LayerCount], contrary: list[Outlier], most_sd: float
) -> None:
    """Moves what does not fit the rest from ``lengths`` and ``told`` to ``contrary``."""
    while True:
        evidence = model.evidence(lengths)
        worst = model.furthest(lengths, told, evidence, model.sites(evidence, model.joined(told)), most_sd)
        if worst is None:
            return
        contrary.append(worst)
        if isinstance(worst.measured, Observation):
            lengths.remove(worst.measured)
        else:
            told.remove(worst.measured)


class _Model(NamedTuple):
    spread: float
    region_spread: float
    measure_mm: float

    def shrunk(self, evidence: Mapping[str, Evidence]) -> Shrunk:
        return shrink(evidence, usual=1.0, spread=self.spread, region_spread=self.region_spread)

    def of_length(self, one: Observation) -> Evidence:
        x = one.growth.mm_per_week * one.age_weeks
        y = one.length_mm + one.growth.mm_per_week * one.growth.breakthrough_weeks
        precision = one.weight / self.measure_mm**2
        return precision * x * x, precision * x * y

    def length(self, one: Observation, pace: float) -> float:
        return one.growth.length(one.age_weeks * pace)

    def evidence(self, lengths: Iterable[Observation]) -> dict[str, Evidence]:
        """Each region's least-squares slope through the origin, as evidence."""
        found: dict[str, Evidence] = {}
        for one in lengths:
            found[one.region] = _add(found.get(one.region, (0.0, 0.0)), self.of_length(one))
        return found

    def joined(self, counts: Iterable[LayerCount]) -> dict[str, LayerCount]:
        """The narrowest bounds of each region: one hair that is through says what many after it repeat."""
        found: dict[str, LayerCount] = {}
        for count in counts:
            before = found.get(count.region)
            if before is not None:
                # Two counts that miss each other by the error of seeing meet in the gap between them.
                low, high = sorted((max(before.least, count.least), min(before.most, count.most)))
                count = count._replace(least=low, most=high, weight=max(before.weight, count.weight))
            found[count.region] = count
        return found

    def sites(self, evidence: Mapping[str, Evidence], counts: Mapping[str, LayerCount]) -> dict[str, Evidence]:
        """What the counts add to the evidence of their regions."""
        sites: dict[str, Evidence] = dict.fromkeys(counts, (0.0, 0.0))
        for _ in range(30):
            moved = 0.0
            for region, count in counts.items():
                old = sites[region]
                without = _sum(evidence, {**sites, region: (0.0, 0.0)})
                mean, var = self.shrunk(without).of(region)
                sites[region] = self._site(count, mean, var, old)
                moved = max(moved, abs(sites[region][0] - old[0]) * var)
            if moved < 1e-6:
                break
        return sites

    def _site(self, count: LayerCount, mean: float, var: float, old: Evidence) -> Evidence:
        """The normal evidence that moves ``mean`` and ``var`` to those of a pace within the count's bounds."""
        seen_var = var + count.error(self.measure_mm) ** 2
        cut = _cut_normal(mean, seen_var, count.least, count.most)
        if cut is None or var <= 0:
            return old
        gain = var / seen_var
        new_mean = mean + gain * (cut[0] - mean)
        new_var = var - gain**2 * (seen_var - cut[1])
        precision = max(1 / new_var - 1 / var, 0.0)
        return count.weight * precision, count.weight * ((precision + 1 / var) * new_mean - mean / var)

    def furthest(
        self,
        lengths: Iterable[Observation],
        counts: Iterable[LayerCount],
        evidence: Mapping[str, Evidence],
        sites: Mapping[str, Evidence],
        most_sd: float,
    ) -> Outlier | None:
        """Of all records more than ``most_sd`` standard deviations from what the rest foretells, the one furthest from what
        the other regions foretell: of two in one region that contradict each other, the less likely one."""
        away, worst = 0.0, None
        both = _sum(evidence, sites)
        for one in lengths:
            precision, sum_ = self.of_length(one)
            mean, var = self.shrunk({**both, one.region: _add(both[one.region], (-precision, -sum_))}).of(one.region)
            if self._miss(one, mean, var) > most_sd:
                others = self._without(both, one.region)
                miss = self._miss(one, *others)
                if miss > away:
                    away, worst = miss, Outlier(one, self.length(one, mean))
        bounds: dict[str, tuple[float, float]] = {}
        for count in counts:
            error = count.error(self.measure_mm)
            mean, var = self.shrunk(_sum(evidence, {**sites, count.region: (0.0, 0.0)})).of(count.region)
            miss = max(count.least - mean, mean - count.most, 0.0) / sqrt(var + error**2)
            low, high = bounds.get(count.region, (0.0, inf))
            apart = max(count.least - high, low - count.most, 0.0) / (sqrt(2) * error)
            bounds[count.region] = (max(low, count.least), min(high, count.most))
            if max(miss, apart) > max(most_sd, away):
                away, worst = max(miss, apart), Outlier(count, None)
        return worst

    def _without(self, evidence: Mapping[str, Evidence], region: str) -> tuple[float, float]:
        return self.shrunk({name: told for name, told in evidence.items() if name != region}).of(region)

    def _miss(self, one: Observation, mean: float, var: float) -> float:
        """How far a length lies from what a pace foretells, in standard deviations. A measurement said of many regions is one
        measurement: its error is no larger for that."""
        x = one.growth.mm_per_week * one.age_weeks
        y = one.length_mm + one.growth.mm_per_week * one.growth.breakthrough_weeks
        return abs(y - x * mean) / sqrt(self.measure_mm**2 + x * x * var)


def _add(one: Evidence, other: Evidence) -> Evidence:
    return max(one[0] + other[0], 0.0), one[1] + other[1]


def _sum(one: Mapping[str, Evidence], other: Mapping[str, Evidence]) -> dict[str, Evidence]:
    found = dict(one)
    for region, evidence in other.items():
        found[region] = _add(found.get(region, (0.0, 0.0)), evidence)
    return found


def _cut_normal(mean: float, var: float, least: float, most: float) -> tuple[float, float] | None:
    """Mean and variance of a normal cut to ``least`` .. ``most``; None where almost none of it lies there."""
    sd = sqrt(var)
    low, high = (least - mean) / sd, (most - mean) / sd
    flip = -1.0 if low + high > 0 else 1.0  # the lower tail keeps its digits
    if flip < 0:
        low, high = -high, -low
    share = (erfc(-high / sqrt(2)) - erfc(-low / sqrt(2))) / 2
    if share < 1e-12:
        return None
    at_low, at_high = _density(low), _density(high)
    shift = (at_low - at_high) / share
    low_part = low * at_low if isfinite(low) else 0.0
    high_part = high * at_high if isfinite(high) else 0.0
    return mean + flip * sd * shift, var * max(1 + (low_part - high_part) / share - shift**2, 0.0)


def _density(z: float) -> float:
    return exp(-z * z / 2) / sqrt(2 * pi)


class Stretch(NamedTuple):
    """Paces between which the same number of layers stands."""

    least: float
    most: float
    layers: int


def stretches(coat: Coat, growth: Growth, day: int, slowest: float = LEAST, fastest: float = MOST) -> list[Stretch]:
    """The layers that stand on ``day`` at every pace from ``slowest`` to ``fastest``, from slow to fast. The coat must be uncut.

    Between two paces at which a hair just breaks through, or two neighbours just part or run together, nothing changes:
    one pace of each such stretch is tried.
    """
    ages = [(day - pulled) / 7 for mass, pulled in coat.cohorts if mass >= LAYER_MASS and pulled < day]
    rate, through, gap = growth.mm_per_week, growth.breakthrough_weeks, growth.layer_gap_mm
    together = through + (growth.full_mm - gap) / rate  # the older is full grown, the younger as near as can be
    breaks = {weeks / age for age in ages for weeks in (through, together)}
    breaks |= {gap / rate / (older - younger) for older, younger in pairwise(ages)}
    ends = pairwise([slowest, *sorted(pace for pace in breaks if slowest < pace < fastest), fastest])
    return [Stretch(low, high, standing(coat, growth, (low + high) / 2, day).layers) for low, high in ends]


def bounds_of_count(layers: int, found: Sequence[Stretch]) -> tuple[float, float]:
    """The bounds of the pace at which as many layers stand; the first above the second where at no pace. An end that is
    the end of all stretches is unbounded: 0 or infinity."""
    fits = [stretch for stretch in found if stretch.layers == layers]
    if not fits:
        return inf, 0.0
    least, most = fits[0].least, fits[-1].most
    return (0.0 if least == found[0].least else least), (inf if most == found[-1].most else most)
