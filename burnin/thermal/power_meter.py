"""The power that heats the card, from a reading that may alias and a counter that does not.

A power reading is a moment: under a load that is switched on and off it aliases, and its mean over
any time may be wrong by half. The energy counter is exact over any time, but late by up to one
refresh: between refreshes the true energy lies within [counter, counter + power x refresh]. So the
estimate runs on at the present power and is put back into that interval after every row. Energy is
kept, the counter's stairs are smoothed, and a step of power shows within one refresh.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass

REFRESH_S = 0.1
"""Between refreshes of the counter until longer ones are seen (measured on one card: 100 ms)."""
LONGEST_REFRESH_S = 2.0
LEVEL_S = 0.5
"""Time constant of the level that the next second is expected at."""
SWING_WINDOW = 24
"""Changes of the reading that its swing is taken from."""
LEAST_CHANGES = 8
CALM_SHARE, CALM_W = 0.05, 10.0
"""A swing up to this is a held power's own noise."""
ALIASED_LEVEL_S = 2.0
"""Time constant for a swinging power that no counter vouches for."""


@dataclass(frozen=True)
class Power:
    """`mean_w` since the last row; `level_w` to go on with; `swing_w`: standard deviation of the
    power about its mean, 0 where it is held."""

    mean_w: float
    level_w: float
    swing_w: float


class PowerMeter:
    """Takes each row in turn; a new one a run."""

    def __init__(self) -> None:
        self._seen_s: float | None = None
        self._energy_j = 0.0
        self._counter_j: float | None = None
        self._changed_s = 0.0
        self._refresh_s = REFRESH_S
        self._level_w = 0.0
        self._reading_w = self._change_w = 0.0
        self._changes: deque[float] = deque(maxlen=SWING_WINDOW)

    def take(self, time_s: float, power_w: float, energy_j: float | None = None) -> Power:
        """The power since the last row. `energy_j`: the counter, None where there is none."""
        if self._seen_s is None:
            self._seen_s, self._level_w, self._reading_w = time_s, power_w, power_w
            self._anchor(time_s, power_w, energy_j)
            return Power(power_w, power_w, 0.0)
        dt_s = time_s - self._seen_s
        self._seen_s = time_s
        self._note(power_w, energy_j)
        swing_w = self._swing_w()
        if self._stands(time_s, energy_j):
            return self._uncounted(dt_s, power_w, swing_w)
        if energy_j is None or self._counter_j is None or energy_j < self._counter_j:
            self._anchor(time_s, power_w, energy_j)
            return self._uncounted(dt_s, power_w, swing_w)
        return self._counted(time_s, dt_s, power_w, energy_j, swing_w)

    def _note(self, power_w: float, energy_j: float | None) -> None:
        """Keep how far this reading lies from the counter's mean, or from the last reading."""
        if self._counter_j is not None and energy_j is not None:
            if energy_j != self._counter_j:
                self._changes.append(abs(power_w - self._level_w))
        elif power_w != self._reading_w:
            change_w = power_w - self._reading_w
            # a power that only rises, or only falls, does not swing
            self._changes.append(abs(change_w) if change_w * self._change_w < 0.0 else 0.0)
            self._change_w = change_w
        self._reading_w = power_w

    def _stands(self, time_s: float, energy_j: float | None) -> bool:
        """Whether the counter has stood for so long that it counts no more."""
        if energy_j is None or time_s - self._changed_s <= LONGEST_REFRESH_S:
            return False
        if energy_j != self._counter_j:
            self._counter_j = None
        return True

    def _anchor(self, time_s: float, power_w: float, energy_j: float | None) -> None:
        """Begin anew: the counter started, came back, or began from the beginning."""
        self._counter_j, self._changed_s = energy_j, time_s
        self._energy_j = 0.0 if energy_j is None else energy_j + 0.5 * self._refresh_s * power_w

    def _uncounted(self, dt_s: float, power_w: float, swing_w: float) -> Power:
        if swing_w == 0.0:
            self._level_w = power_w
        else:
            self._level_w += (power_w - self._level_w) * -math.expm1(-dt_s / ALIASED_LEVEL_S)
        return Power(self._level_w, self._level_w, swing_w)

    def _counted(
        self, time_s: float, dt_s: float, power_w: float, energy_j: float, swing_w: float
    ) -> Power:
        assert self._counter_j is not None
        if energy_j == self._counter_j:
            stood_s = time_s - self._changed_s
            self._refresh_s = min(LONGEST_REFRESH_S, max(self._refresh_s, stood_s))
        else:
            self._counter_j, self._changed_s = energy_j, time_s
        most_j = energy_j + max(self._level_w, power_w) * self._refresh_s
        before_j = self._energy_j
        self._energy_j = min(max(before_j + self._level_w * dt_s, energy_j), most_j)
        self._energy_j = max(self._energy_j, before_j)
        mean_w = (self._energy_j - before_j) / dt_s
        self._level_w += (mean_w - self._level_w) * -math.expm1(-dt_s / LEVEL_S)
        return Power(mean_w, self._level_w, swing_w)

    def _swing_w(self) -> float:
        """From the median, which one step of power does not move: sd = 1.05 x median of changes.

        Where a counter tells the mean, a reading's distance from it takes the change's place: that
        shows a slow beat of the aliased reading too (sd = 1.48 x median of distances; a power that
        is switched lies apart from its mean nearly all the time, so that 1.05 holds there as well).
        """
        if len(self._changes) < LEAST_CHANGES:
            return 0.0
        ordered = sorted(self._changes)
        swing_w = 1.05 * ordered[len(ordered) // 2]
        return swing_w if swing_w > max(CALM_W, CALM_SHARE * self._level_w) else 0.0
