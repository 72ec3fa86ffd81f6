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

CONFIDENCE = 0.95


def poisson_upper(errors: int, confidence: float = CONFIDENCE) -> float:
    """Largest mean count that `errors` still allow at `confidence`; ½·χ²(confidence; 2k + 2).

    Raises ValueError for a negative count or a confidence outside 0 to 1.
    """
    if errors < 0 or not 0.0 < confidence < 1.0:
        raise ValueError(f"errors {errors} and confidence {confidence} give no bound")
    low, high = 0.0, 10.0 + 3.0 * (errors + 1)
    for _ in range(200):
        middle = (low + high) / 2.0
        if _poisson_cdf(errors, middle) > 1.0 - confidence:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


def poisson_lower(errors: int, confidence: float = CONFIDENCE) -> float:
    """Smallest mean count that `errors` still allow at `confidence`; 0 without errors."""
    if errors == 0:
        return 0.0
    low, high = 0.0, float(errors)
    for _ in range(200):
        middle = (low + high) / 2.0
        if 1.0 - _poisson_cdf(errors - 1, middle) < 1.0 - confidence:
            low = middle
        else:
            high = middle
    return (low + high) / 2.0


def _poisson_cdf(count: int, mean: float) -> float:
    if mean <= 0.0:
        return 1.0
    logs = (k * math.log(mean) - mean - math.lgamma(k + 1) for k in range(count + 1))
    return math.fsum(math.exp(value) for value in logs)


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
