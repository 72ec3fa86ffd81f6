"""Shares of groups, each with its exact interval, and each compared with the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import fisher_exact

from burnin.core.exact_intervals import ratio_lower, ratio_upper
from burnin.history.statistics.several_tests import corrected
from burnin.history.statistics.survival import Share

_ONE_SIDE = 0.975
LEAST_COUNT = 10
"""A smaller group is shown and compared with nothing."""


@dataclass(frozen=True)
class Counted:
    """Hits of so many."""

    hits: int
    count: int

    @property
    def share(self) -> Share:
        """The share with its exact 95 % interval (Clopper-Pearson)."""
        if not self.count:
            return Share(0.0, 0.0, 1.0)
        low = ratio_lower(self.hits, self.count, _ONE_SIDE) if self.hits else 0.0
        high = ratio_upper(self.hits, self.count, _ONE_SIDE) if self.hits < self.count else 1.0
        return Share(self.hits / self.count, low, high)


def against_the_rest(
    groups: Sequence[Counted],
) -> tuple[tuple[float | None, ...], tuple[float | None, ...]]:
    """Fisher's exact p of each group against all others together, and corrected for their number.

    None where the group or the rest is too small.
    """
    hits, count = sum(g.hits for g in groups), sum(g.count for g in groups)
    p_values = [_p(group, Counted(hits - group.hits, count - group.count)) for group in groups]
    if len(groups) < 2:
        p_values = [None] * len(groups)
    return tuple(p_values), corrected(p_values)


def _p(group: Counted, rest: Counted) -> float | None:
    if group.count < LEAST_COUNT or rest.count < LEAST_COUNT:
        return None
    table = np.array([[c.hits, c.count - c.hits] for c in (group, rest)])
    return float(fisher_exact(table)[1])
