"""When to stop: at the last responsible moment, and on the certainty that its nearness asks for.

A crossing that is further off than `last_s` stops nothing: it warns, and a plan of its own holds
back (the ramp planner). There is time to see whether card or model is right, and of the two the
card is. What lies within the time that a stop needs is stopped on the profile's risk; in between
the certainty asked for grows in a line.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from burnin.thermal.forecast import Forecast


@dataclass(frozen=True)
class Risk:
    """What a profile accepts.

    `near`: probability of a crossing within `stop_s` at which a load is stopped at once. `stop_s`
    is the time that a stop needs: latency, sensor lag, reading interval, overshoot. `sure`:
    probability of a crossing within `last_s` at which it is stopped; `last_s` is `stop_s` and the
    time in which one more decision can go wrong: two forecasts, and the seconds by which forecasts
    of a crossing miss it. `patience_s`: how long that certainty must last. `faulty`: probability of
    a fault from which `sure_faulty` and `near_faulty` hold instead: to stop a sound card costs
    trust, to stop a faulty one costs little.
    """

    sure: float = 0.95
    near: float = 0.3
    sure_faulty: float = 0.4
    near_faulty: float = 0.06
    faulty: float = 0.95
    stop_s: float = 2.0
    last_s: float = 8.0
    patience_s: float = 0.4

    def __post_init__(self) -> None:
        for near, sure in ((self.near, self.sure), (self.near_faulty, self.sure_faulty)):
            if not 0.0 < near <= sure < 1.0:
                raise ValueError(f"risk needs 0 < near ({near}) <= sure ({sure}) < 1")
        if not 0.0 < self.stop_s < self.last_s:
            raise ValueError(f"risk needs 0 < stop_s ({self.stop_s}) < last_s ({self.last_s})")

    def asked(self, crossing_in_s: float, faulty: bool) -> float:
        """Probability asked for of a crossing within so many seconds; infinite beyond `last_s`."""
        if crossing_in_s > self.last_s:
            return math.inf
        near, sure = (
            (self.near_faulty, self.sure_faulty) if faulty else (self.near, self.sure)
        )
        part = (crossing_in_s - self.stop_s) / (self.last_s - self.stop_s)
        return near + (sure - near) * max(0.0, part)


HORIZONS_S = (3.0, 4.0, 5.0, 6.0, 7.0, 8.0)
FIRST_LOOK_S, FIRST_LOOKS = 1.0, 3
"""Nothing is stopped before so much time and so many forecasts: what was believed beforehand alone
never ends a load."""


class Decision:
    """Judges forecasts in order of time."""

    def __init__(self, risk: Risk) -> None:
        self._risk = risk
        self._first_s: float | None = None
        self._since_s: float | None = None
        self._looks = 0

    def stops(self, forecast: Forecast, fault_probability: float) -> bool:
        """Whether to stop on this forecast."""
        risk, now = self._risk, forecast.time_s
        if self._first_s is None:
            self._first_s = now
        self._looks += 1
        if now - self._first_s < FIRST_LOOK_S or self._looks < FIRST_LOOKS:
            return False
        faulty = fault_probability > risk.faulty
        if forecast.within(risk.stop_s) >= risk.asked(risk.stop_s, faulty):
            return True
        if not any(forecast.within(h) >= risk.asked(h, faulty) for h in HORIZONS_S):
            self._since_s = None
            return False
        if self._since_s is None:
            self._since_s = now
        return now - self._since_s >= risk.patience_s - 1e-6
