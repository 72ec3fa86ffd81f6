"""A card's power curve, identified while it works: watts above rest for full work.

A secant through the present working point, which moves with clocks, heat and the card's own limits.
"""

from __future__ import annotations

import math

CURVE_S = 0.8
"""Time constant with which the curve is identified anew while the power climbs."""
STEADY_CURVE_S = 2.0
"""The same once the target is held: the curve moves only as the card heats, and what flickers
faster is the work's own noise, not to be chased."""
LEAST_SHARE = 0.02
"""A window with less work than this says nothing of the curve."""


class PowerCurve:
    """`idle_w` is the power at rest, `watts_per_share` what full work adds; None: not known yet."""

    def __init__(self, idle_w: float | None) -> None:
        self.idle_w = idle_w
        self.watts_per_share: float | None = None

    def identify(self, power_w: float, share: float, step_s: float, tau_s: float) -> None:
        """Learn from a window that ended `step_s` after the one before; `tau_s`: how fast."""
        if self.idle_w is None:
            self.idle_w = power_w * 0.5 if share > 0.0 else power_w
        if share < LEAST_SHARE:
            return
        secant_w = max(1.0, power_w - self.idle_w) / share
        if self.watts_per_share is None:
            self.watts_per_share = secant_w
            return
        weight = 1.0 - math.exp(-step_s / tau_s)
        self.watts_per_share += weight * (secant_w - self.watts_per_share)

    def share_for(self, power_w: float) -> float | None:
        """The share of work that this power asks for, 0 to 1; None while the curve is unknown."""
        if self.watts_per_share is None or self.idle_w is None:
            return None
        return max(0.0, min(1.0, (power_w - self.idle_w) / self.watts_per_share))

    def share_of_rise(self, rise_w: float) -> float:
        """The share that adds `rise_w`; 0 while the curve is unknown."""
        return rise_w / (self.watts_per_share or math.inf)
