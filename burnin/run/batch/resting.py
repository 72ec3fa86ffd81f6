"""What a card without load has read lately: whether it has settled, and between which watts.

A warm card idles above what it idled at cold, and a single high reading is none that lasts (common
practice, no source): what a card is counted at while it rests follows what it reads over a while.
"""

from __future__ import annotations

from collections import deque

SETTLES_S = 60.0
"""So long after its load a card idles as it will for some time (from memory)."""
LATELY_S = 10


class Resting:
    """Readings of one card since its load went off, by the second."""

    def __init__(self) -> None:
        self._since_s: float | None = None
        self._seconds: deque[tuple[int, float, float]] = deque(maxlen=LATELY_S)

    def read(self, now_s: float, watts: float) -> None:
        """A reading without load."""
        if self._since_s is None:
            self._since_s = now_s
        second, low, high = int(now_s), watts, watts
        if self._seconds and self._seconds[-1][0] == second:
            _, low, high = self._seconds.pop()
        self._seconds.append((second, min(low, watts), max(high, watts)))

    def forget(self) -> None:
        """It is worked again, or was until now."""
        self._since_s = None
        self._seconds.clear()

    def settled(self, now_s: float) -> bool:
        """Whether it has rested for so long that it will not fall much further."""
        return self._since_s is not None and now_s - self._since_s >= SETTLES_S

    def lowest_w(self) -> float | None:
        """The lowest reading of late; None: there is none."""
        return min((low for _, low, _ in self._seconds), default=None)

    def highest_w(self) -> float | None:
        """The highest reading of late; None: there is none."""
        return max((high for _, _, high in self._seconds), default=None)
