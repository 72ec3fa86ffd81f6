"""When to stop: the nearer the crossing, the less certainty is asked for.

Far ahead there is time to learn, so a stop needs near certainty; once the time left is hardly more
than a stop needs, the profile's risk decides.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from burnin.thermal.forecast import Forecast


@dataclass(frozen=True)
class Risk:
    """What a profile accepts.

    `sure`: probability of any crossing at which a load is stopped with all the time in the world.
    `near`: probability of a crossing within `stop_s` at which it is stopped at once. `stop_s` is
    the time that a stop needs: latency, sensor lag, reading interval, overshoot. `patience_s`:
    how long certainty must last when the crossing is far. `faulty`: probability of a fault from
    which `sure_faulty` and `near_faulty` hold instead: to stop a sound card costs trust, to stop a
    faulty one costs little.
    """

    sure: float = 0.95
    near: float = 0.3
    sure_faulty: float = 0.4
    near_faulty: float = 0.06
    faulty: float = 0.95
    stop_s: float = 2.0
    far_s: float = 30.0
    sure_distant: float = 0.9
    distant_s: float = 120.0
    patience_s: float = 3.0

    def __post_init__(self) -> None:
        for near, sure in ((self.near, self.sure), (self.near_faulty, self.sure_faulty)):
            if not 0.0 < near <= sure < 1.0:
                raise ValueError(f"risk needs 0 < near ({near}) <= sure ({sure}) < 1")
        if not 0.0 < self.stop_s < self.far_s < self.distant_s:
            raise ValueError(
                f"risk needs 0 < stop_s ({self.stop_s}) < far_s ({self.far_s}) "
                f"< distant_s ({self.distant_s})"
            )

    def asked(self, crossing_in_s: float, faulty: bool) -> float:
        """Probability asked for when the crossing is expected within so many seconds."""
        near, sure = (
            (self.near_faulty, self.sure_faulty) if faulty else (self.near, self.sure)
        )
        if crossing_in_s > self.far_s:
            part = (crossing_in_s - self.far_s) / (self.distant_s - self.far_s)
            return sure + max(0.0, self.sure_distant - sure) * min(1.0, part)
        part = (crossing_in_s - self.stop_s) / (self.far_s - self.stop_s)
        return near + (sure - near) * max(0.0, part)


HORIZONS_S = (4.0, 6.0, 9.0, 13.0, 18.0, 24.0, 35.0, 50.0)
LEARN_S = 15.0
"""In the first seconds under load a crossing further off than `far_s` can wait: plans are made for
a class of cards, so that a sound one is expected to keep its plan until it shows otherwise."""
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

    def stops(
        self, forecast: Forecast, fault_probability: float, loaded_s: float = math.inf
    ) -> bool:
        """Whether to stop on this forecast, the card having been under load for `loaded_s`."""
        risk, now = self._risk, forecast.time_s
        if self._first_s is None:
            self._first_s = now
        self._looks += 1
        if now - self._first_s < FIRST_LOOK_S or self._looks < FIRST_LOOKS:
            return False
        faulty = fault_probability > risk.faulty
        if forecast.any_probability < risk.asked(0.0, faulty):
            self._since_s = None
            return False
        if forecast.within(risk.stop_s) >= risk.asked(0.0, faulty):
            return True
        if not self._certain(forecast, faulty, loaded_s):
            self._since_s = None
            return False
        if self._since_s is None:
            self._since_s = now
        needed = risk.patience_s if forecast.crossing_in_s > 10.0 else 0.4
        return now - self._since_s >= min(needed, 0.3 * forecast.crossing_in_s)

    def _certain(self, forecast: Forecast, faulty: bool, loaded_s: float) -> bool:
        """Whether any horizon has the certainty that it asks for."""
        learning = loaded_s < LEARN_S and forecast.crossing_in_s > self._risk.far_s
        asked = self._risk.asked(forecast.crossing_in_s, faulty)
        if not learning and forecast.any_probability >= asked:
            return True
        return any(forecast.within(h) >= self._risk.asked(h, faulty) for h in HORIZONS_S)
