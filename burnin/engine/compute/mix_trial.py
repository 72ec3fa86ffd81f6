"""Which mix of work draws most power: each is worked for a moment at the start of full work."""

from __future__ import annotations

from statistics import median

SETTLES_S = 0.6
"""A sensor is refreshed every 0.1 s and averages; what it tells before is of the mix before."""
MIX_S = 1.4
"""Time of a mix: six of them take less than 10 s."""


class MixTrial:
    """Says which mix to work now; call `see` before every slice.

    It goes on only while all the work is asked for, and needs a power reading: without one the
    first mix is worked.
    """

    def __init__(self, mixes: int) -> None:
        self._watts: list[list[float]] = [[] for _ in range(mixes)]
        self._mix = 0
        self._since_s: float | None = None
        self.done = mixes < 2

    def see(self, now_s: float, *, full: bool, power_w: float | None) -> int:
        """The mix to work from `now_s` (monotonic) on."""
        if self.done:
            return self._mix
        if not full or power_w is None:
            # what was begun is not judged by readings of other work
            self._since_s = None
            self._watts[self._mix].clear()
            return self._mix
        if self._since_s is None:
            self._since_s = now_s
        worked_s = now_s - self._since_s
        if worked_s >= SETTLES_S:
            self._watts[self._mix].append(power_w)
        if worked_s >= MIX_S:
            self._next(now_s)
        return self._mix

    def _next(self, now_s: float) -> None:
        self._since_s = now_s
        if self._mix + 1 < len(self._watts):
            self._mix += 1
            return
        self.done = True
        means_w = [median(watts) for watts in self._watts]
        self._mix = means_w.index(max(means_w))
