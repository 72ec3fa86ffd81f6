"""The core's own supply on the board, and what a sudden rise of the load does to it.

The capacitors behind a regulator give what the load asks for until the regulator follows, within
microseconds to milliseconds; with fewer of them the voltage falls further (textbook, dV = I dt/C).
"""

from __future__ import annotations

from burnin.sim.causes.kinds import RailCause
from burnin.sim.scenario.model import Scenario


class Rail:
    """`drooped`: whether the load has just risen by more than the capacitors could carry."""

    def __init__(self, scenario: Scenario) -> None:
        self._holds_w = [c.holds_step_w for c in scenario.causes if isinstance(c, RailCause)]
        self._before_w = 0.0
        self.drooped = False

    def advance(self, power_w: float) -> None:
        """The card draws `power_w` from now on."""
        rise_w, self._before_w = power_w - self._before_w, power_w
        self.drooped = any(rise_w > holds_w for holds_w in self._holds_w)
