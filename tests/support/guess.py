"""An interval that is said to hold eight times in ten, beside the truth."""

from __future__ import annotations

from typing import NamedTuple


class Guess(NamedTuple):
    """An interval of 80 %, the truth, and mean and standard deviation of the truth before any record."""

    low: float
    high: float
    truth: float
    usual: float
    prior_sd: float

    @property
    def held(self) -> bool:
        return self.low <= self.truth <= self.high

    @property
    def score(self) -> float:
        """Of an interval of 80 %, proper (Gneiting and Raftery, Journal of the American Statistical Association 102:359-378, 2007):
        its width, and ten times what the truth lies outside of it. Less is better."""
        return self.high - self.low + 10 * max(self.low - self.truth, self.truth - self.high, 0.0)

    @property
    def score_of_prior(self) -> float:
        """The same of the interval that nothing but the kind of dog gives."""
        half = 1.2816 * self.prior_sd
        return 2 * half + 10 * max(abs(self.truth - self.usual) - half, 0.0)
