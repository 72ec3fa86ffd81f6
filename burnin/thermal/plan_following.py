"""How much more or less than planned a card really draws, once a step has settled."""

from __future__ import annotations

from burnin.thermal.forecast import Plan

SETTLED_S = 1.5
"""After a step of power."""
LEAST_W = 20.0
LEAST, MOST, FOLLOWS = 0.85, 1.1, 0.1


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
            self.value += FOLLOWS * (min(MOST, max(LEAST, ratio)) - self.value)
