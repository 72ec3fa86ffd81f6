"""Whether the readings bear out that a limit is near.

Heat under an even power slows down: each part of a heat path is a first-order lag, and their sum
has a falling slope (thermal networks of resistances and capacities; JESD51-14, section 2). A limit
that the slope of now does not reach within some seconds is not reached within them by the power of
now: then model and card disagree, and the card is right. What a fault adds later shows in the slope
before it is dangerous; what a step of power adds shows once the sensor has followed.
"""

from __future__ import annotations

import math
from collections import deque

from burnin.guard.trend import Trend

WINDOWS_S = (2.0, 6.0, 15.0)
"""A leap shows in the first, a creep through whole degrees in the last."""
STEP_MEAN_S = 0.3
LEAST_STEP_W, LEAST_STEP_SHARE = 15.0, 0.1
"""A rise of power that is more than the noise of one that is held."""
_EVEN = math.sqrt(1.0 / 12.0)
"""Standard deviation of a value that is even over one step."""


class Pace:
    """How fast one temperature nears its limit, by its readings alone."""

    def __init__(self, limit_c: float, step_c: float) -> None:
        self._reads_c = limit_c - step_c / 2.0
        self._least_sd_c = step_c * _EVEN
        self._trends = tuple(Trend(window_s) for window_s in WINDOWS_S)

    def see(self, time_s: float, value_c: float) -> None:
        """A reading."""
        for trend in self._trends:
            trend.add(time_s, value_c)

    def reaches_in_s(self) -> float:
        """Seconds until the limit is read at the pace of now; infinite: it does not near it.

        The soonest of a few windows; one standard deviation of the readings about each line is
        counted to the value, since a limit is first read where one scatters upwards.
        """
        return min(self._by(trend) for trend in self._trends)

    def _by(self, trend: Trend) -> float:
        line = trend.line()
        if line is None:
            return math.inf
        gap_c = self._reads_c - line.value - max(self._least_sd_c, line.scatter)
        if gap_c <= 0.0:
            return 0.0
        return gap_c / line.slope_per_s if line.slope_per_s > 0.0 else math.inf


class PowerStep:
    """Whether the power has stepped up within the last `window_s` seconds."""

    def __init__(self, window_s: float, mean_s: float) -> None:
        self._window_s, self._mean_s = window_s, mean_s
        self._lately: deque[tuple[float, float]] = deque()
        self._sum_w = 0.0
        self._lows: deque[tuple[float, float]] = deque()
        self._mean_w = 0.0

    def see(self, time_s: float, power_w: float) -> None:
        """A reading, W."""
        self._lately.append((time_s, power_w))
        self._sum_w += power_w
        while time_s - self._lately[0][0] > self._mean_s:
            self._sum_w -= self._lately.popleft()[1]
        self._mean_w = self._sum_w / len(self._lately)
        while self._lows and self._lows[-1][1] >= self._mean_w:
            self._lows.pop()
        self._lows.append((time_s, self._mean_w))
        while time_s - self._lows[0][0] > self._window_s:
            self._lows.popleft()

    def stepped(self) -> bool:
        """Whether the mean rose by more than a held power's noise."""
        return bool(self._lows) and _is_step(self._lows[0][1], self._mean_w)

    def would_be(self, power_w: float) -> bool:
        """Whether a power to come is such a step."""
        return bool(self._lows) and _is_step(self._mean_w, power_w)


def _is_step(from_w: float, to_w: float) -> bool:
    return to_w - from_w > max(LEAST_STEP_W, LEAST_STEP_SHARE * to_w)
