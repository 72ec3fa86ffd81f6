"""Upper bound on a link's bit error rate from bits moved and errors seen.

With k errors in N bits, the bound at confidence c is the λ/N with P(X ≤ k | Poisson λ) = 1 - c,
which is ½·χ²(c; 2k + 2)/N; with none it is -ln(1 - c)/N. All lanes share the traffic, and any
error may have been on one of them: bits per lane are the total over the width, errors are not
divided (law 12). Requirement of the PCI Express base specification: 1e-12 per lane (as quoted by
Astera Labs; the specification itself was not at hand).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from burnin.card.rates import GENERATIONS
from burnin.core.exact_intervals import CONFIDENCE, poisson_lower, poisson_upper

__all__ = ["CONFIDENCE", "Direction", "poisson_lower", "poisson_upper", "seconds_to_show"]


@dataclass(frozen=True)
class Direction:
    """Traffic of one direction: payload bytes moved inside checked packets, errors counted.

    `errors` is the most that there can have been (a bound must not be too low),
    `errors_at_least` the fewest (a refutation must not be too easy).
    """

    moved_bytes: int
    errors: int
    errors_at_least: int
    width_lanes: int

    @property
    def bits_per_lane(self) -> float:
        """Bits that each lane carried."""
        return self.moved_bytes * 8.0 / self.width_lanes

    def bound_per_lane(self, confidence: float = CONFIDENCE) -> float:
        """Upper bound of one lane's bit error rate; infinite before any bit was moved."""
        bits = self.bits_per_lane
        return poisson_upper(self.errors, confidence) / bits if bits else math.inf

    def bound_of_average(self, confidence: float = CONFIDENCE) -> float:
        """Upper bound of the mean over all lanes: a bad lane can hide in it."""
        return self.bound_per_lane(confidence) / self.width_lanes

    def shown(self, rate: float) -> bool:
        """Whether every lane is proven to be at most at `rate`."""
        return self.bound_per_lane() <= rate

    def refuted(self, rate: float) -> bool:
        """Whether the link as a whole is proven to be worse than `rate` on all lanes.

        If even the average over the lanes lies above the rate, then at least one lane does.
        """
        bits = self.moved_bytes * 8.0
        return bool(bits) and poisson_lower(self.errors_at_least) / bits > rate


def seconds_to_show(rate: float, generation: int) -> float:
    """Time at a lane's full rate until `rate` is shown at 95 % without an error.

    Both directions and all lanes run at once, so neither changes it. Traffic that fills less of
    the line takes longer in proportion.
    """
    return poisson_upper(0) / rate / (GENERATIONS[generation].speed_gts * 1e9)
