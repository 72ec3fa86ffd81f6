"""How many came back by when, where most have not come back yet: product-limit and log-rank.

Kaplan and Meier 1958 with Greenwood's variance and an interval on the scale of log(-log S)
(Kalbfleisch and Prentice); log-rank as in Mantel 1966. Textbook relations, from memory;
tests/history/test_survival.py compares with an independent library. A card that is still out, or
whose days are not over, is censored: it counts for as long as it was watched.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import chdtrc

from burnin.core.exact_intervals import ratio_lower, ratio_upper

_Z95 = 1.959963984540054
_ONE_SIDE = 0.975


@dataclass(frozen=True)
class Share:
    """A share of 0 to 1 with its 95 % interval."""

    value: float
    low: float
    high: float


@dataclass(frozen=True)
class Curve:
    """The share that came back by each of `days`, with 95 % intervals; `at_risk` just before."""

    days: tuple[float, ...]
    back: tuple[Share, ...]
    at_risk: tuple[int, ...]
    count: int

    def by(self, day: float) -> Share:
        """The share that came back by a day."""
        place = bisect_right(self.days, day)
        if place:
            return self.back[place - 1]
        return Share(0.0, 0.0, ratio_upper(0, self.count, _ONE_SIDE) if self.count else 1.0)


def kaplan_meier(days: Sequence[float], came_back: Sequence[bool]) -> Curve:
    """The share that came back, by the days after which one did."""
    at, event = np.asarray(days, float), np.asarray(came_back, bool)
    moments, backs = np.unique(at[event], return_counts=True)
    risk = _at_risk(at, moments).tolist()
    shares = []
    stays, greenwood = 1.0, 0.0
    for there, back in zip(risk, backs.tolist(), strict=True):
        stays *= 1.0 - back / there
        greenwood += back / (there * (there - back)) if there > back else math.inf
        shares.append(_share(stays, greenwood, len(at)))
    return Curve(tuple(moments.tolist()), tuple(shares), tuple(risk), len(at))


def _at_risk(at: NDArray[np.float64], moments: NDArray[np.float64]) -> NDArray[np.int64]:
    """How many were still watched just before each moment."""
    gone = np.searchsorted(np.sort(at), moments, side="left")
    return (len(at) - gone).astype(np.int64)


def _share(stays: float, greenwood: float, count: int) -> Share:
    if stays <= 0.0:
        return Share(1.0, ratio_lower(count, count, _ONE_SIDE), 1.0)
    width = _Z95 * math.sqrt(greenwood) / abs(math.log(stays))
    low, high = (1.0 - stays ** math.exp(sign * width) for sign in (-1.0, 1.0))
    return Share(1.0 - stays, low, high)


@dataclass(frozen=True)
class LogRank:
    """Whether groups came back alike: `expected` and `seen` returns of each, and p."""

    seen: tuple[float, ...]
    expected: tuple[float, ...]
    p: float


def log_rank(days: ArrayLike, came_back: ArrayLike, groups: ArrayLike) -> LogRank:
    """Compare groups, in the order of their sorted names."""
    at, event = np.asarray(days, float), np.asarray(came_back, bool)
    names, group = np.unique(np.asarray(groups), return_inverse=True)
    moments, place = np.unique(at[event], return_inverse=True)
    back = np.zeros((len(names), len(moments)))
    np.add.at(back, (group[event], place), 1.0)
    there = np.array([_at_risk(at[group == g], moments) for g in range(len(names))], float)
    n, d = there.sum(axis=0), back.sum(axis=0)
    share = there / n
    seen, expected = back.sum(axis=1), (d * share).sum(axis=1)
    factor = np.where(n > 1.0, d * (n - d) / np.maximum(n - 1.0, 1.0), 0.0)
    variance = np.diag((factor * share).sum(axis=1)) - (factor * share) @ share.T
    rest = len(names) - 1
    away = (seen - expected)[:rest]
    inside = variance[:rest, :rest]
    chi2 = float(away @ np.linalg.pinv(inside) @ away) if rest and np.any(inside) else 0.0
    p = float(chdtrc(rest, chi2)) if rest else 1.0
    return LogRank(tuple(seen.tolist()), tuple(expected.tolist()), p)
