"""Centre and width that a few wild values do not move, and ranks as normal deviates."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri
from scipy.stats import rankdata

_OF_NORMAL = 1.482602218505602
"""Standard deviation of a normal distribution over its median absolute deviation."""


def centre_and_width(values: Sequence[float]) -> tuple[float, float]:
    """Median, and the standard deviation that the median absolute deviation stands for."""
    found = np.asarray(values, float)
    middle = float(np.median(found))
    return middle, _OF_NORMAL * float(np.median(np.abs(found - middle)))


def normal_scores(values: Sequence[float]) -> NDArray[np.float64]:
    """Each value as the normal deviate of its rank (van der Waerden): its shape does not count."""
    ranks = rankdata(np.asarray(values, float), method="average")
    scores: NDArray[np.float64] = ndtri(ranks / (len(values) + 1.0))
    return scores


LEAST_FOR_SEASON = 40
"""Of fewer values nobody tells a season from chance."""


def without_season(values: NDArray[np.float64], years: Sequence[float]) -> NDArray[np.float64]:
    """Values less one wave a year, fitted to all of them by least squares; few stay as they are."""
    if len(values) < LEAST_FOR_SEASON:
        return values
    turn = 2.0 * np.pi * np.asarray(years, float)
    waves = np.column_stack([np.ones(len(values)), np.sin(turn), np.cos(turn)])
    fitted, *_ = np.linalg.lstsq(waves, values, rcond=None)
    rest: NDArray[np.float64] = values - waves @ fitted
    # What is left is as wide as before: the chart takes it for standard deviates.
    width = float(np.std(rest))
    return rest / width * float(np.std(values)) if width > 0.0 else rest
