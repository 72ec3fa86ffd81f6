"""The trend of a signal over its last seconds, from what a coarse sensor tells."""

from __future__ import annotations

from collections import deque


class Trend:
    """Least-squares slope of (time, value) over the last `window_s` seconds."""

    def __init__(self, window_s: float) -> None:
        self._window_s = window_s
        self._points: deque[tuple[float, float]] = deque()

    def add(self, time_s: float, value: float) -> None:
        """Append a point; times must not decrease."""
        self._points.append((time_s, value))
        while self._points and time_s - self._points[0][0] > self._window_s:
            self._points.popleft()

    def slope_per_s(self) -> float:
        """Slope in units a second; 0 until a third of the window is filled."""
        if len(self._points) < 3:
            return 0.0
        first = self._points[0][0]
        if self._points[-1][0] - first < self._window_s / 3:
            return 0.0
        count = len(self._points)
        mean_t = sum(t - first for t, _ in self._points) / count
        mean_v = sum(v for _, v in self._points) / count
        spread = sum((t - first - mean_t) ** 2 for t, _ in self._points)
        if spread == 0.0:
            return 0.0
        shared = sum((t - first - mean_t) * (v - mean_v) for t, v in self._points)
        return shared / spread

    def mean_rise_per_s(self) -> float:
        """(last - first) over the time between; 0 until the window is nearly filled."""
        if len(self._points) < 2:
            return 0.0
        span = self._points[-1][0] - self._points[0][0]
        if span < 0.8 * self._window_s:
            return 0.0
        return (self._points[-1][1] - self._points[0][1]) / span
