"""What forecasts missed by on other hosts: where a run starts before it has judged its own."""

from __future__ import annotations

from typing import TypeAlias

LEVELS = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.85, 0.9, 0.92, 0.94, 0.95, 0.96, 0.97, 0.98,
    0.99, 1.0)  # fmt: skip
"""Shares of the judged forecasts."""

Quantiles: TypeAlias = tuple[float, ...]
"""Of an error over its scale, one a level."""

PRIOR: dict[float, Quantiles] = {
    5.0: (0.06, 0.15, 0.24, 0.34, 0.46, 0.6, 0.78, 1.04, 1.19, 1.53, 1.73, 2.0, 2.17, 2.37, 2.55,
        2.87, 3.99, 6.1),
    10.0: (0.06, 0.17, 0.28, 0.39, 0.54, 0.7, 0.92, 1.19, 1.44, 1.83, 2.07, 2.36, 2.65, 3.0, 3.59,
        4.3, 5.16, 6.35),
    30.0: (0.08, 0.21, 0.36, 0.52, 0.71, 0.96, 1.19, 1.48, 1.74, 2.05, 2.3, 2.54, 2.77, 3.1, 3.76,
        4.49, 6.6, 7.54),
}  # fmt: skip
"""Seconds ahead: what `python -m tests.evaluation.band --prior` prints of 27 records of nine hosts
with cards in a stream of air, each host counting the same. Cards with fans or water start from
these too: no record of one is at hand."""
