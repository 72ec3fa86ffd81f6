"""When to stop: the nearer the crossing, the less certainty is asked for.

Far ahead there is time to learn, so a stop needs near certainty; once the time left is hardly more
than a stop needs, the profile's risk decides.
"""

from __future__ import annotations

from dataclasses import dataclass

from burnin.guard.cooling.forecast import Forecast


@dataclass(frozen=True)
class Risk:
    """What a profile accepts.

    `sure`: probability of any crossing at which a load is stopped with all the time in the world.
    `near`: probability of a crossing within `stop_s` at which it is stopped at once. `stop_s` is
    the time that a stop needs: latency, sensor lag, reading interval, overshoot. `patience_s`:
    how long certainty must last when the crossing is far.
    """

    sure: float = 0.97
    near: float = 0.35
    stop_s: float = 2.5
    far_s: float = 30.0
    patience_s: float = 3.0

    def __post_init__(self) -> None:
        if not 0.0 < self.near <= self.sure < 1.0:
            raise ValueError(f"risk needs 0 < near ({self.near}) <= sure ({self.sure}) < 1")
        if not 0.0 < self.stop_s < self.far_s:
            raise ValueError(f"risk needs 0 < stop_s ({self.stop_s}) < far_s ({self.far_s})")

    def asked(self, crossing_in_s: float) -> float:
        """Probability asked for when the crossing is expected in so many seconds."""
        part = (crossing_in_s - self.stop_s) / (self.far_s - self.stop_s)
        return self.near + (self.sure - self.near) * min(1.0, max(0.0, part))


class Decision:
    """Judges forecasts in order of time."""

    def __init__(self, risk: Risk) -> None:
        self._risk = risk
        self._since_s: float | None = None

    def stops(self, forecast: Forecast) -> bool:
        """Whether the load is to be stopped on this forecast."""
        risk, now = self._risk, forecast.time_s
        if forecast.within(risk.stop_s) >= risk.near:
            return True
        if not self._certain(forecast):
            self._since_s = None
            return False
        if self._since_s is None:
            self._since_s = now
        needed = risk.patience_s if forecast.crossing_in_s > 10.0 else 0.4
        return now - self._since_s >= min(needed, 0.3 * forecast.crossing_in_s)

    def _certain(self, forecast: Forecast) -> bool:
        """Whether any horizon has the certainty that it asks for."""
        if forecast.any_probability < self._risk.near:
            return False
        return any(
            forecast.within(h) >= self._risk.asked(h)
            for h in (4.0, 6.0, 9.0, 13.0, 18.0, 24.0, 1e9)
        )
