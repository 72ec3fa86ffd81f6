"""How far the hot spot lies above the die: a resistance of its own, known on a grid.

Excess = offset + r x power. A settled power level gives one observation, however often it is read:
both sensors answer in whole steps, and repeated codes add nothing. The offset is what the two
sensors differ by: an idle card tells of that, not of r. While the die moves, one sensor may be
ahead of the other, or the power reading late.
"""

from __future__ import annotations

import math
from collections import deque
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
OFFSET_SD_K = 1.2
"""Two sensors that are off by 1.5 K at most, each in its own way."""
MOVES_OVER_S, MOVES_K = 2.0, 3.0
"""A die that moved by more within this time is on its way: nothing has settled."""
AHEAD_S = 0.5
"""So much may one sensor, or the power, be ahead of the other."""


class HotSpot:
    """Posterior of the hot spot's resistance, from pairs of hot spot and die readings."""

    def __init__(self, settled_w: float = 0.0, settled_sd_w: float = 0.0) -> None:
        """`settled_w`: power that goes with the first readings, and how sure that is."""
        import numpy as np

        self.grid: Array = np.exp(np.linspace(math.log(0.005), math.log(0.5), 70))
        log = np.log(self.grid)
        good = np.exp(-0.5 * ((log - math.log(GOOD_K_PER_W)) / GOOD_LOG_SD) ** 2) / GOOD_LOG_SD
        bare = np.exp(-0.5 * ((log - math.log(BARE_K_PER_W)) / BARE_LOG_SD) ** 2) / BARE_LOG_SD
        self._good = (1.0 - BARE_PRIOR) * good / good.sum()
        self._bare = BARE_PRIOR * bare / bare.sum()
        self._levels: dict[int, tuple[float, float, int]] = {}
        self._filtered_w, self._unsure_w = settled_w, settled_sd_w
        self._die_c: deque[tuple[float, float]] = deque()
        self._now_s = 0.0
        self.seen = False
        self.mass: Array = self._good + self._bare
        self.bare_probability = BARE_PRIOR

    def add(
        self, dt_s: float, power_w: float, excess_k: float, lag_s: float, die_c: float,
        late_w: float = 0.0,
    ) -> None:
        """One pair of readings, `dt_s` after the last: how far the hot spot is above `die_c`.

        `late_w`: how far the power may still have to go, where it is read late.
        """
        left = math.exp(-dt_s / lag_s)
        self._filtered_w += (power_w - self._filtered_w) * (1.0 - left)
        self._unsure_w *= left
        moved_k = self._moved_k(dt_s, die_c)
        away_w = max(abs(power_w - self._filtered_w), self._unsure_w, late_w)
        steady_w = away_w < 0.015 * power_w + 1.5
        settled = steady_w and moved_k <= MOVES_K
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
        unsure_w = math.hypot(self._unsure_w, late_w)
        self._weigh(power_w, unsure_w, AHEAD_S / MOVES_OVER_S * moved_k)

    def _moved_k(self, dt_s: float, die_c: float) -> float:
        """How far the die has moved within the last seconds."""
        self._now_s += dt_s
        self._die_c.append((self._now_s, die_c))
        while self._now_s - self._die_c[0][0] > MOVES_OVER_S:
            self._die_c.popleft()
        codes = [c for _, c in self._die_c]
        return max(codes) - min(codes)

    def _weigh(self, power_w: float, unsure_w: float, ahead_k: float) -> None:
        """Posterior over the grid; the offset, alike on every level, is integrated out."""
        import numpy as np

        log_like = np.zeros_like(self.grid)
        information, pull = np.zeros_like(self.grid), np.zeros_like(self.grid)
        for key, (mean_w, mean_k, count) in self._levels.items():
            expected = self.grid * mean_w
            if key == -1:
                late_k = 0.2 * self.grid * (power_w - mean_w)
                unsure_k = self.grid * unsure_w
                spread = MOVING_SD_K**2 + late_k**2 + unsure_k**2 + ahead_k**2
            else:
                spread = SETTLED_SD_K**2 + 0.5 / count + (0.02 * expected) ** 2
            off = mean_k - expected
            log_like -= 0.5 * (off**2 / spread + np.log(spread))
            information += 1.0 / spread
            pull += off / spread
        shared = 1.0 + OFFSET_SD_K**2 * information
        log_like += 0.5 * (OFFSET_SD_K**2 * pull**2 / shared - np.log(shared))
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
