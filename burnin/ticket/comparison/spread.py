"""When a value lies outside what is usual: robust spread, and what is known of a value's own error.

The spread of a group is 1.4826 times the median of the distances from its median, which is the
standard deviation where values are normally distributed and stays put where a few are far off
(Rousseeuw and Croux 1993, section 1). A value is far off from 3.5 spreads on: that is the modified
z-score of Iglewicz and Hoaglin (1993; NIST e-Handbook 1.3.5.17). Beside few records chance alone
reaches that often, so that more is asked there: what one value in a hundred reaches.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence

from burnin.core.reading import Reading

ROBUST = 1.4826
FAR = 3.5
FEWEST = 5
"""Records below which no spread is told."""
CHANCE = 0.01
"""At most this share of values lies far off by chance."""
_FAR_BESIDE = ((5, 14.4), (6, 8.1), (8, 5.9), (10, 5.0), (12, 4.4), (15, 4.0), (20, FAR))
"""Spreads that one value in a hundred exceeds beside so many, where all are of one normal
distribution (simulated, 400,000 draws each; tests/ticket/test_comparison.py draws anew)."""
_LEAST_SHARE = 0.02
"""A measured value that came without an uncertainty is taken to be known this well (estimate)."""
_EXACT = ("lanes", "GT/s", "GiB", "bytes")


def robust_spread(values: Sequence[float]) -> tuple[float, float]:
    """Median and robust spread; raises ValueError for no values."""
    if not values:
        raise ValueError("no values")
    middle = statistics.median(values)
    return middle, ROBUST * statistics.median(abs(v - middle) for v in values)


def far_from(records_count: int) -> float:
    """Spreads from which on a value is far off beside so many records; infinite for too few."""
    return next((far for count, far in reversed(_FAR_BESIDE) if records_count >= count), math.inf)


def known_within(reading: Reading, value: float, *, counts: bool) -> float:
    """Expanded uncertainty (k = 2) of a reading's value, also where the reading carries none.

    A count that nobody doubts still varies from run to run: twice its root (Poisson). `counts`:
    all values compared are whole numbers, so that this one is no share.
    """
    if reading.uncertainty > 0.0 or reading.unit in _EXACT:
        return reading.uncertainty
    if reading.unit == "" and counts:
        return 2.0 * math.sqrt(abs(value))
    return _LEAST_SHARE * abs(value)
