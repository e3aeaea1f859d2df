"""The pace and the growing time to reckon with on one dog, read off what its records say together (``grid.learn``).

No effect of the calendar: after clipping, 37 Labradors regrew their coat as fast in every season (P = 0.12; Diaz et al.,
Veterinary Dermatology 15:25-30, 2004), and no source gives a figure for pulled hair.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from math import exp, isfinite

from attrs import field, frozen

from coatrules.coat.growth import Growth
from coatrules.learning.grid import learn
from coatrules.learning.layer_counts import LEAST, MOST
from coatrules.learning.likelihood import MEASURE_MM
from coatrules.learning.observations import Arrival, Layers, Observation
from coatrules.learning.outlying import OUTLIER_SD
from coatrules.learning.posterior import Outlier, Posterior
from coatrules.read_only import NOTHING, read_only

IN_80 = 1.2816  # standard deviations either side of the mean that hold 80 % of a normal


@frozen(kw_only=True)
class Pace:
    """How fast this dog's coat comes, 1 being the profile's typical dog, and how long it grows: mean and standard deviation.

    final: how many times as long as usual its hair becomes, and between which values in 80 of 100 such dogs.
    observations: how many records it rests on, one said of many regions counting once. regions: mean and standard deviation
    of the pace of each region with a record of its own. records: what it was learned from. outliers: what was left out.
    arrived: of each group that arrived alike at an age that nobody wrote down the one to reckon with. posterior: all of it.
    """

    mean: float
    sd: float
    final: float = 1.0
    final_80: tuple[float, float] = (1.0, 1.0)
    observations: int = 0
    regions: Mapping[str, tuple[float, float]] = field(default=NOTHING, converter=read_only)
    records: tuple[Observation, ...] = ()
    outliers: tuple[Outlier, ...] = ()
    arrived: Mapping[str, float] = field(default=NOTHING, converter=read_only)
    posterior: Posterior = field(repr=False)

    def of(self, region: str) -> float:
        """Returns the pace to reckon with in a region: its own, or the dog's where nothing was seen there."""
        return self.regions[region][0] if region in self.regions else self.mean

    def sd_of(self, region: str) -> float:
        """Returns the standard deviation of a region's pace."""
        return self.regions[region][1] if region in self.regions else self.posterior.pace_of(region)[1]

    def within_80(self, region: str) -> tuple[float, float]:
        """Returns the pace between which and which a region's lies in 80 of 100 such dogs, from slow to fast."""
        mean, sd = self.of(region), self.sd_of(region)
        return max(mean - IN_80 * sd, LEAST), min(mean + IN_80 * sd, MOST)

    def typical(self, growth: Growth) -> Growth:
        """Returns how hair of a kind grows on this dog, to reckon with."""
        return growth if self.final == 1 else growth.growing(growth.grows_weeks * self.final)


@lru_cache(maxsize=512)  # what is known of a dog changes at a visit only
def pace_from(
    observations: tuple[Observation, ...],
    arrivals: tuple[tuple[str, Arrival], ...] = (),
    *,
    spread: float,
    region_spread: float = 0.10,
    measure_mm: float = MEASURE_MM,
) -> Pace:
    """Returns the pace of a dog from all that was seen of its hair; ``arrivals``: the groups whose age is not known."""
    impossible = [one for one in observations if isinstance(one, Layers) and one.least > one.most]
    usable = [one for one in observations if not isinstance(one, Layers) or _tells(one)]
    spreads = {"pace_spread": spread, "region_spread": region_spread, "measure_mm": measure_mm}
    posterior = learn(usable, dict(arrivals), **spreads, outlier_sd=OUTLIER_SD)
    posterior = posterior._replace(regions=read_only(posterior.regions), arrivals=read_only(posterior.arrivals))
    outliers = (*(Outlier(one, None) for one in impossible), *posterior.outliers)
    left_out = {id(one.measured) for one in outliers}
    records = tuple([one for one in usable if id(one) not in left_out])
    factor = exp(posterior.final.mean)
    return Pace(
        mean=posterior.pace.mean if records else 1.0,
        sd=posterior.pace.sd if records else spread,
        final=factor if records else 1.0,
        final_80=(exp(posterior.final.quantile(0.1)), exp(posterior.final.quantile(0.9))),
        observations=round(sum(one.weight for one in records)),
        regions={region: posterior.pace_of(region) for region in posterior.regions},
        records=records,
        outliers=outliers,
        arrived={group: posterior.median_arrival(group) for group in posterior.arrivals},
        posterior=posterior,
    )


@lru_cache(maxsize=512)
def evidence(
    observations: tuple[Observation, ...],
    arrivals: tuple[tuple[str, Arrival], ...] = (),
    *,
    spread: float,
    region_spread: float,
    measure_mm: float,
) -> float:
    """Returns the logarithm of how likely it was that all this is seen of one dog, to be compared with as much of other hair."""
    spreads = {"pace_spread": spread, "region_spread": region_spread, "measure_mm": measure_mm}
    return learn(observations, dict(arrivals), **spreads).log_evidence


def _tells(count: Layers) -> bool:
    """Whether a count bounds the pace at all."""
    return count.least <= count.most and (count.least > 0 or isfinite(count.most))
