"""Two-level shrinkage: what was measured in some regions tells of the whole dog, and the dog of every region.

The dog's own value is normal about what is usual, a region's about the dog's. Each region's evidence comes as a precision
(1 / variance) and a precision-weighted mean, so that evidence adds up and none at all is simply 0. Closed form.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

Evidence = tuple[float, float]
"""Precision, and precision times mean."""


class Shrunk(NamedTuple):
    """Mean and variance for the dog, and for each region that has evidence; ``of`` gives any region."""

    mean: float
    var: float
    region_var: float
    regions: Mapping[str, tuple[float, float]]

    def of(self, region: str) -> tuple[float, float]:
        """Mean and variance of a region, also of one that nothing is known of."""
        return self.regions.get(region, (self.mean, self.var + self.region_var))


def shrink(evidence: Mapping[str, Evidence], *, usual: float, spread: float, region_spread: float) -> Shrunk:
    """The posterior of the dog's value and each region's: usual about ``usual`` with ``spread`` between dogs (a standard
    deviation) and ``region_spread`` between the regions of one dog."""
    var, region_var = spread**2, region_spread**2
    # Multiplied through by the prior's variance, so that a spread of 0 (a value that is known) needs no case of its own.
    total, weighted = 1.0, usual
    for precision, sum_ in evidence.values():
        shared = 1 + region_var * precision
        total += var * precision / shared
        weighted += var * sum_ / shared
    mean, dog_var = weighted / total, var / total
    regions = {}
    for region, (precision, sum_) in evidence.items():
        shared = 1 + region_var * precision
        regions[region] = ((region_var * sum_ + mean) / shared, region_var / shared + dog_var / shared**2)
    return Shrunk(mean, dog_var, region_var, regions)
