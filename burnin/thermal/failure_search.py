"""Looks for what fails in the middle of a run: a change of the residual, a fan that stops.

What is suspected opens a hypothesis that began a while ago (`failure_branches`); nothing is stopped
by a suspicion alone.
"""

from __future__ import annotations

import math

from burnin.thermal.change_detector import SUSPICION, Cusum
from burnin.thermal.failure_branches import Branches, Step
from burnin.thermal.fan_evidence import FanEvidence
from burnin.thermal.filter_bank import Bank
from burnin.thermal.inputs import Row

MAY_REST_C = 60.0
"""Below this a fan that nobody reads may stand by design."""
SETTLE_S = 4.0
"""The first seconds after a jump of power are left out."""
CUSUM_EVERY_S = 1.0
OPENED_EVERY_S = 6.0
FANS_STOPPED_STEPS = 3
"""A fan that is read as standing stopped about so many steps ago."""


class FailureSearch:
    """Follows a bank step by step; `alarm_at_s`: when the change was last beyond chance."""

    def __init__(self, bank: Bank) -> None:
        self._bank, self._branches = bank, Branches(bank)
        self._fans, self._cusum = FanEvidence(), Cusum()
        self._residual_s = self._opened_s = -math.inf
        self._onset = 0
        self.alarm_at_s: float | None = None

    def note(self, step: Step) -> None:
        """The bank has taken this step."""
        self._branches.note(step)

    def see_residual(self, row: Row, residual: float, jumped_s: float) -> None:
        """CUSUM on one residual a second; `jumped_s`: when the power last stepped."""
        now = row.time_s
        if now - self._residual_s < CUSUM_EVERY_S - 1e-6 or now - jumped_s < SETTLE_S:
            return
        self._residual_s = now
        if self._cusum.sum == 0.0:
            self._onset = self._branches.index
        alarm = self._cusum.add(residual)
        if self._cusum.sum > SUSPICION and now - self._opened_s > OPENED_EVERY_S:
            self._opened_s = now
            self._branches.open(self._onset, may_rest=row.die_c < MAY_REST_C)
        if alarm:
            self.alarm_at_s = now
            self._cusum.restart()

    def see_fans(self, row: Row, dt_s: float) -> None:
        """What the tachometer tells over `dt_s`; nothing where it is not read."""
        if row.fan_rpm is None:
            return
        lost = self._fans.add(dt_s, row.fan_rpm, row.die_c)
        if self._fans.stopped_now:
            self._branches.open(self._branches.index - FANS_STOPPED_STEPS)
        for place, h in enumerate(self._bank.hypotheses):
            if h.air and not h.fan_turns:
                self._bank.log_weight[place] += lost
