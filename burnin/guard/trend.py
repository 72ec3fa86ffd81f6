"""The trend of a signal over its last seconds, from what a coarse sensor tells."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass

MOST_WAITING = 200
"""Points that wait to be counted until somebody asks: most trends are asked at times alone."""
SUMMED_ANEW_AFTER = 1000
"""Points after which the running sums are formed anew, so that rounding does not add up."""


@dataclass(frozen=True)
class Line:
    """Through the points of a window: its value now, its slope, the points' deviation from it."""

    value: float
    slope_per_s: float
    scatter: float


class Trend:
    """Least-squares slope of (time, value) over the last `window_s` seconds."""

    def __init__(self, window_s: float) -> None:
        self._window_s = window_s
        self._points: deque[tuple[float, float]] = deque()
        self._new: list[tuple[float, float]] = []
        self._origin = (0.0, 0.0)
        self._added = 0
        self._sum_t = self._sum_v = self._sum_tt = self._sum_tv = self._sum_vv = 0.0

    def add(self, time_s: float, value: float) -> None:
        """Append a point; times must not decrease."""
        self._new.append((time_s, value))
        if len(self._new) >= MOST_WAITING:
            self._take_in()

    def _take_in(self) -> None:
        """Count the points that were added since anybody asked, and no more those too old."""
        points, new = self._points, self._new
        if not new:
            return
        self._new = []
        too_old_s = new[-1][0]
        while points and too_old_s - points[0][0] > self._window_s:
            self._count(points.popleft(), -1.0)
        if not points or self._added >= SUMMED_ANEW_AFTER:
            self._sum_anew(new[0])
        self._added += len(new)
        for point in new:
            if too_old_s - point[0] <= self._window_s:
                points.append(point)
                self._count(point, 1.0)

    def _count(self, point: tuple[float, float], sign: float) -> None:
        """Take a point into the sums, or out of them."""
        t, v = point[0] - self._origin[0], point[1] - self._origin[1]
        self._sum_t += sign * t
        self._sum_v += sign * v
        self._sum_tt += sign * t * t
        self._sum_tv += sign * t * v
        self._sum_vv += sign * v * v

    def _sum_anew(self, first: tuple[float, float]) -> None:
        """Times and values are counted from the oldest point, or from the first to come."""
        self._origin = self._points[0] if self._points else first
        self._added = 0
        self._sum_t = self._sum_v = self._sum_tt = self._sum_tv = self._sum_vv = 0.0
        for known in self._points:
            self._count(known, 1.0)

    def slope_per_s(self) -> float:
        """Slope in units a second; 0 until a third of the window is filled."""
        line = self.line()
        return 0.0 if line is None else line.slope_per_s

    def line(self) -> Line | None:
        """The least-squares line; None until a third of the window is filled."""
        self._take_in()
        count = len(self._points)
        if count < 3 or self._points[-1][0] - self._points[0][0] < self._window_s / 3:
            return None
        spread = self._sum_tt - self._sum_t * self._sum_t / count
        if spread <= 0.0:
            return None
        together = self._sum_tv - self._sum_t * self._sum_v / count
        slope = together / spread
        now_s = self._points[-1][0] - self._origin[0]
        value = self._origin[1] + self._sum_v / count + slope * (now_s - self._sum_t / count)
        left = self._sum_vv - self._sum_v * self._sum_v / count - slope * together
        return Line(value, slope, math.sqrt(max(0.0, left / count)))

    def mean_rise_per_s(self) -> float:
        """(last - first) over the time between; 0 until the window is nearly filled."""
        self._take_in()
        if len(self._points) < 2:
            return 0.0
        span = self._points[-1][0] - self._points[0][0]
        if span < 0.8 * self._window_s:
            return 0.0
        return (self._points[-1][1] - self._points[0][1]) / span
