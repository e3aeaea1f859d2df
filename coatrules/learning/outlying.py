"""Which records contradict all else that is known of a dog's hair: those less likely than a bound by what the rest foretells."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from math import erfc, exp, sqrt

from coatrules.learning.hand import length_error
from coatrules.learning.likelihood import ROOT, RegionRecords
from coatrules.learning.observations import Length, Observation
from coatrules.learning.posterior import POINTS, Posterior

OUTLIER_SD = 3.5
"""Standard deviations from all else that is known: one honest record in two thousand."""

_SUSPECT = 2.0  # standard deviations from which a record is looked at twice
_CLEAR = 3.0  # the same where so many others are known that one cannot draw them all to itself
_MANY = 6  # records up to which one can

Record = tuple[Observation, ...]
"""One record, once for each region that it speaks of."""
Expected = list[tuple[Observation, float | None]]
"""What a record says of each region, and the length in mm that was expected there, None where it is no length."""


def outlying(
    records: Sequence[Record],
    found: Posterior,
    least: float,
    learned: Callable[[Sequence[Record]], Posterior],
) -> dict[int, Expected]:
    """Returns which of the records (places) are to be left out now, being less likely than ``least`` by what the rest foretells,
    and what that expects. found: what all of them say; ``learned`` tells what others do."""
    if len(records) > _MANY:
        return _among_many(records, found, least, learned)
    of_pace, of_final, of_region = found.prior_sds
    strained = abs(found.pace.mean - 1) > _SUSPECT * of_pace or abs(found.final.mean) > _SUSPECT * of_final
    # A region may bend to its own records until none of them seems odd.
    apart = [abs(found.pace_of(region)[0] - found.pace.mean) for region in found.regions]
    strained = strained or max(apart, default=0.0) > _SUSPECT * of_region
    likely_by_all = [_likely(record, found)[0] for record in records]
    if not strained and min(likely_by_all, default=1.0) > erfc(_SUSPECT / ROOT):
        return {}
    worst, worst_of_all = least, dict[int, Expected]()
    # However far one draws the others to itself, more than half of them are no less likely than it is.
    furthest = sorted(range(len(records)), key=lambda at: likely_by_all[at])[: len(records) // 2 + 1]
    for at in sorted(furthest):
        likely, expected = _likely(records[at], learned([*records[:at], *records[at + 1 :]]))
        if likely < worst:
            worst, worst_of_all = likely, {at: expected}
    return worst_of_all


def _among_many(
    records: Sequence[Record], found: Posterior, least: float, learned: Callable[[Sequence[Record]], Posterior]
) -> dict[int, Expected]:
    """The outlying ones of many records. One of many moves the rest but little: what is not far off by itself is not far
    off by the others. So those that are, at most half of all, are held against the others at once."""
    paces = {region: found.pace_of(region)[0] for region in found.regions}
    likely = [_likely_at_mean(record, found, paces) for record in records]
    furthest = sorted(range(len(records)), key=lambda at: likely[at])[: len(records) // 2]
    suspects = sorted(at for at in furthest if likely[at] < erfc(_CLEAR / ROOT))
    if not suspects:
        return {}
    rest = learned([record for at, record in enumerate(records) if at not in suspects])
    judged = {at: _likely(records[at], rest) for at in suspects}
    return {at: expected for at, (chance, expected) in judged.items() if chance < least}


def _likely(record: Record, found: Posterior) -> tuple[float, Expected]:
    """How likely a record was, on the mean over the regions that it speaks of, and what was expected of each."""
    known: dict[object, tuple[float, float | None]] = {}
    total, expected = 0.0, []
    for one in record:
        key = id(found.regions.get(one.region)), one[1:]  # regions with the same records have one curve
        if key not in known:
            known[key] = _likely_of(one, found)
        total += known[key][0]
        expected.append((one, known[key][1]))
    return total / len(record), expected


def _likely_of(one: Observation, found: Posterior) -> tuple[float, float | None]:
    if isinstance(one, Length):
        return found.tail(one)
    region = RegionRecords([one._replace(weight=1.0)], found.measure_mm)
    likely = 0.0
    for weight, _, c, age, own, var in found.hypotheses(one.region, region.arrived):
        grown = one.cycle.grows_weeks * exp(c)
        logs = region.terms_at([own + point * sqrt(var) for point, _ in POINTS], grown, age)
        likely += weight * sum(chance * exp(log_) for (_, chance), log_ in zip(POINTS, logs, strict=True))
    return likely, None


def _likely_at_mean(record: Record, found: Posterior, paces: Mapping[str, float]) -> float:
    """How likely a record was on a dog that is just as expected; of hair that arrived, by all that is possible."""
    known: dict[object, float] = {}
    total = 0.0
    for one in record:
        key = id(found.regions.get(one.region)), one[1:]
        if key not in known:
            known[key] = _at_mean(one, found, paces[one.region])
        total += known[key]
    return total / len(record)


def _at_mean(one: Observation, found: Posterior, pace: float) -> float:
    grown = one.cycle.grows_weeks * exp(found.final.mean)
    if isinstance(one, Length) and one.arrived is None and not one.at_end:
        mm = one.cycle.mm_per_week * min(max(pace * one.weeks - one.cycle.lag_weeks, 0.0), grown)
        return erfc(abs(one.length_mm - mm) / (length_error(found.measure_mm) * ROOT))
    region = RegionRecords([one._replace(weight=1.0)], found.measure_mm)
    if region.arrived is not None or not region.terms:
        return _likely_of(one, found)[0]
    return exp(region.terms_at((pace,), grown, 0.0)[0])
