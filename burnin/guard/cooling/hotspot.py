"""How far the hot spot lies above the die: a resistance of its own, known on a grid.

Excess = r x power. A settled power level gives one observation, however often it is read: both
sensors answer in whole steps, and repeated codes add nothing.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

GOOD_K_PER_W, GOOD_LOG_SD = 0.024, 0.32
"""7 to 15 K of excess at full power on a card of the 300 to 450 W class."""
BARE_K_PER_W, BARE_LOG_SD = 0.105, 0.50
BARE_PRIOR = 0.12
LEVEL_W = 25.0
SETTLED_SD_K, MOVING_SD_K = 0.45, 0.9
WINDOW = 12
"""Readings that a level averages over: the excess of a level may drift."""


class HotSpot:
    """Posterior of the hot spot's resistance, from pairs of hot spot and die readings."""

    def __init__(self, settled_w: float = 0.0) -> None:
        """`settled_w`: power that goes with the first readings."""
        import numpy as np

        self.grid: Array = np.exp(np.linspace(math.log(0.005), math.log(0.5), 70))
        log = np.log(self.grid)
        good = np.exp(-0.5 * ((log - math.log(GOOD_K_PER_W)) / GOOD_LOG_SD) ** 2) / GOOD_LOG_SD
        bare = np.exp(-0.5 * ((log - math.log(BARE_K_PER_W)) / BARE_LOG_SD) ** 2) / BARE_LOG_SD
        self._good = (1.0 - BARE_PRIOR) * good / good.sum()
        self._bare = BARE_PRIOR * bare / bare.sum()
        self._levels: dict[int, tuple[float, float, int]] = {}
        self._filtered_w = settled_w
        self._seen: tuple[float, float] | None = None
        self.seen = False
        self.mass: Array = self._good + self._bare
        self.bare_probability = BARE_PRIOR

    def add(self, dt_s: float, power_w: float, excess_k: float, lag_s: float) -> None:
        """One pair of readings, `dt_s` after the last."""
        self._filtered_w += (power_w - self._filtered_w) * (1.0 - math.exp(-dt_s / lag_s))
        settled = abs(power_w - self._filtered_w) < 0.015 * power_w + 1.5
        key = round(self._filtered_w / LEVEL_W) if settled else -1
        mean_w, mean_k, count = self._levels.get(key, (0.0, 0.0, 0))
        if not settled:
            count = 0
        count += 1
        share = 1.0 / min(count, WINDOW)
        mean_w += (self._filtered_w - mean_w) * share
        mean_k += (excess_k - mean_k) * share
        if settled:
            self._levels.pop(-1, None)
        self._levels[key] = (mean_w, mean_k, count)
        self.seen = True
        self._weigh(power_w)

    def _weigh(self, power_w: float) -> None:
        import numpy as np

        log_like = np.zeros_like(self.grid)
        for key, (mean_w, mean_k, count) in self._levels.items():
            expected = self.grid * mean_w
            if key == -1:
                spread = MOVING_SD_K**2 + (0.2 * self.grid * (power_w - mean_w)) ** 2
            else:
                spread = SETTLED_SD_K**2 + 0.5 / count + (0.02 * expected) ** 2
            off = np.minimum((mean_k - expected) ** 2 / spread, 60.0)
            log_like -= 0.5 * (off + np.log(spread))
        like = np.exp(log_like - log_like.max())
        good, bare = self._good * like, self._bare * like
        total = float(good.sum() + bare.sum())
        self.mass = (good + bare) / total
        self.bare_probability = float(bare.sum()) / total

    def draws(self, quantiles: Array) -> Array:
        """Resistances in K/W at these quantiles (0 to 1) of the posterior."""
        import numpy as np

        cumulative = np.cumsum(self.mass)
        result: Array = np.exp(np.interp(quantiles, cumulative, np.log(self.grid)))
        return result

    def interval(self) -> tuple[float, float, float]:
        """Median and the bounds of the 95 % interval, K/W."""
        import numpy as np

        low, middle, high = self.draws(np.array([0.025, 0.5, 0.975])).tolist()
        return middle, low, high
