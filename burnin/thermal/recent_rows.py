"""The last second's readings, and how the power follows its plan.

`Recent`: how fast the temperature moves, how far the power may still go. `PlanGain`: how much more
or less than planned a card really draws, once a step has settled.
"""

from __future__ import annotations

from collections import deque

from burnin.thermal.inputs import JUMP_SHARE, JUMP_W, Plan, Row

OVER_S = 1.0
"""A power reading may be the mean of so long, or stand for so long before it is read anew."""
SHORT_FOR_S = 2.5
"""A power that is still short of its plan after so long is the card's own."""
SETTLED_S = 1.5
"""After a step of power."""
LEAST_W = 20.0
LEAST_GAIN, MOST_GAIN, FOLLOWS = 0.85, 1.1, 0.1


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

    def late_w(self, plan: Plan | None = None) -> float:
        """How far the power may still have to go: as far as it has moved, or as was planned."""
        last = self._rows[-1]
        if last.energy_j is not None:
            return 0.0
        powers = [r.power_w for r in self._rows]
        far_w = max(max(powers) - min(powers), self._short_w(plan, last))
        return far_w if far_w > max(JUMP_W, JUMP_SHARE * last.power_w) else 0.0

    def _short_w(self, plan: Plan | None, last: Row) -> float:
        """What is missing to a step that was to begin within the last seconds."""
        begun = None if plan is None else plan.begun(last.time_s)
        if begun is None or last.time_s - begun[0] > SHORT_FOR_S:
            return 0.0
        return max(0.0, begun[1] - last.power_w)


class PlanGain:
    """Drawn power over planned power, followed slowly; `value` is 1 until something is seen."""

    def __init__(self) -> None:
        self.value = 1.0

    def take(self, plan: Plan | None, time_s: float, power_w: float, jumped_s: float) -> None:
        """One more step of the filter; `jumped_s`: when the power last stepped."""
        planned_w = None if plan is None else plan.watts(time_s)
        if planned_w is None or planned_w < LEAST_W or time_s - jumped_s < SETTLED_S:
            return
        ratio = power_w / planned_w
        if 0.7 < ratio < 1.3:
            self.value += FOLLOWS * (min(MOST_GAIN, max(LEAST_GAIN, ratio)) - self.value)
