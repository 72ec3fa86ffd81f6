"""How much work the slices of a proof ask for: enough to be seen, and little heat."""

from __future__ import annotations

FIRST_SHARE, MOST_SHARE = 0.06, 0.5
MEAN_RISE_W = 40.0
"""Most that a proof may add to the card's idle power, in the mean over its slices."""
_AIM_W = 0.7 * MEAN_RISE_W
_SEEN_W = 8.0
_FASTEST = 1.6
WITHOUT_SENSOR = 0.15


class GentleShare:
    """Share of full work in a slice that is on, from the power that the slices have drawn."""

    def __init__(self, idle_w: float | None) -> None:
        """`idle_w` is the power before the first slice; None: the card tells none."""
        self._idle_w = idle_w
        self._watts: list[float] = []
        self.share = WITHOUT_SENSOR if idle_w is None else FIRST_SHARE

    @property
    def mean_rise_w(self) -> float:
        """Power above idle, in the mean over all samples so far."""
        if self._idle_w is None or not self._watts:
            return 0.0
        return sum(self._watts) / len(self._watts) - self._idle_w

    def see(self, power_w: float | None) -> None:
        """One sample of the card's power."""
        if power_w is not None:
            self._watts.append(power_w)

    def next(self, *, seen: bool) -> float:
        """The share for the next block of slices; `seen`: a counter follows well as it is."""
        if self._idle_w is None:
            if not seen:
                self.share = min(MOST_SHARE, self.share * _FASTEST)
            return self.share
        rise_w = self.mean_rise_w
        if rise_w > _AIM_W:
            self.share = max(0.01, self.share / _FASTEST)
        elif not seen and rise_w < _SEEN_W:
            self.share = min(MOST_SHARE, self.share * _FASTEST)
        return self.share
