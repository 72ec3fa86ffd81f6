"""How much work the slices of a proof ask for: enough to be seen, and little heat."""

from __future__ import annotations

FIRST_SHARE, MOST_SHARE, LEAST_SHARE = 0.06, 0.5, 0.02
"""Below the least, a slice is lost in the noise of a sensor; what a card then still draws above its
idle power is what its clocks take to wake, and no share makes it less."""
MEAN_RISE_W = 40.0
"""Most that a proof may add to the card's idle power, in the mean over its slices."""
MOST_J = 800.0
"""Most heat above idle that a proof may take, on whatever card: its longest, at `MEAN_RISE_W`."""
_AIM_W = 0.7 * MEAN_RISE_W
_SEEN_W = 8.0
_FASTEST = 1.6
_LONGEST_GAP_S = 2.0
WITHOUT_SENSOR = 0.12
"""Held on a card that tells no power: a card of 660 W is then worked with 40 W in the mean, and a
share of busy time of 12 % is seen."""


class GentleShare:
    """Share of full work in a slice that is on, from the power that the slices have drawn."""

    def __init__(self, idle_w: float | None) -> None:
        """`idle_w` is the power before the first slice; None: the card tells none."""
        self._idle_w = idle_w
        self._watts: list[float] = []
        self._last_s: float | None = None
        self.energy_j = self._block_j = self._begun_j = 0.0
        self.share = WITHOUT_SENSOR if idle_w is None else FIRST_SHARE

    @property
    def knows_idle(self) -> bool:
        """Whether the card told its power before the first slice: only then heat is counted."""
        return self._idle_w is not None

    @property
    def mean_rise_w(self) -> float:
        """Power above idle, in the mean over all samples so far."""
        if self._idle_w is None or not self._watts:
            return 0.0
        return sum(self._watts) / len(self._watts) - self._idle_w

    @property
    def spent(self) -> bool:
        """Whether another block of slices like the last would take the proof over its heat."""
        return self.energy_j + self._block_j > MOST_J

    def see(self, at_s: float, power_w: float | None) -> None:
        """One sample of the card's power, at a moment (s); `energy_j` is what it adds above idle.

        Samples further apart than a sensor may pause count as if it had told its last until then.
        """
        if power_w is None or self._idle_w is None:
            return
        if self._last_s is not None:
            gap_s = min(at_s - self._last_s, _LONGEST_GAP_S)
            self.energy_j += max(0.0, power_w - self._idle_w) * gap_s
        self._last_s = at_s
        self._watts.append(power_w)

    def next(self, *, seen: bool) -> float:
        """The share for the next block of slices; `seen`: a counter follows well as it is.

        Where the card tells no power nobody knows what more work would draw: it stays as it is.
        """
        if self._idle_w is None:
            return self.share
        self._block_j, self._begun_j = self.energy_j - self._begun_j, self.energy_j
        rise_w = self.mean_rise_w
        if rise_w > _AIM_W:
            self.share = max(LEAST_SHARE, self.share / _FASTEST)
        elif not seen and rise_w < _SEEN_W:
            self.share = min(MOST_SHARE, self.share * _FASTEST)
        return self.share
