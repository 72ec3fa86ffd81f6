"""The last second's readings: how fast the temperature moves, how far the power may still go."""

from __future__ import annotations

from collections import deque

from burnin.guard.cooling.setup import JUMP_SHARE, JUMP_W, Row

OVER_S = 1.0
"""A power reading may be the mean of so long, or stand for so long before it is read anew."""


class Recent:
    """Takes each row of a filter's step. A card with an energy counter is never late."""

    def __init__(self, temp_step_c: float) -> None:
        self._temp_step_c = temp_step_c
        self._rows: deque[Row] = deque()

    def take(self, row: Row) -> None:
        """One more row; what is older than a second goes."""
        self._rows.append(row)
        while row.time_s - self._rows[0].time_s > OVER_S:
            self._rows.popleft()

    def rate_k_per_s(self) -> float:
        """How fast the reading has moved; one step of the code may be chance."""
        first, last = self._rows[0], self._rows[-1]
        if last.energy_j is not None:
            return 0.0
        return max(0.0, abs(last.die_c - first.die_c) - self._temp_step_c) / OVER_S

    def late_w(self) -> float:
        """How far the power has moved: so far it may still have to go."""
        last = self._rows[-1]
        if last.energy_j is not None:
            return 0.0
        powers = [r.power_w for r in self._rows]
        moved_w = max(powers) - min(powers)
        return moved_w if moved_w > max(JUMP_W, JUMP_SHARE * last.power_w) else 0.0
