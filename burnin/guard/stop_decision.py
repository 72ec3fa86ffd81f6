"""When to stop: at the last responsible moment, and only on what the readings bear out.

A crossing further off than some seconds stops nothing: it warns, and a plan of its own holds back
(the ramp planner). There is time to see whether card or model is right, and of the two the card
is. A load is stopped where the model foresees the crossing within seconds *and* the readings near
the limit at such a pace (`burnin.guard.pace`); where power has just stepped, which no reading shows
yet, or is about to, the model alone decides, and then it must be sure.
"""

from __future__ import annotations

from dataclasses import dataclass

from burnin.thermal.forecast import Forecast


@dataclass(frozen=True)
class Risk:
    """What is accepted. Probabilities 0 to 1, times in seconds.

    `likely`: probability of a crossing within `stop_s` at which a load is stopped, `stop_s` being
    latency, sensor lag, reading interval and the seconds by which forecasts of a crossing miss it.
    `likely_faulty`, `faulty_s`: the same of a card at fault with more than `faulty`: to stop a
    sound card costs trust, to stop a faulty one costs little. `sure`: probability of a crossing
    within `leap_s` at which a power that has just stepped, or is about to as planned, is stopped
    whatever is read so far.
    """

    likely: float = 0.3
    stop_s: float = 4.0
    faulty: float = 0.95
    likely_faulty: float = 0.1
    faulty_s: float = 6.0
    sure: float = 0.9
    leap_s: float = 2.0

    def __post_init__(self) -> None:
        if not 0.0 < self.likely_faulty <= self.likely < self.sure < 1.0:
            raise ValueError(
                f"risk needs 0 < likely_faulty ({self.likely_faulty}) <= likely ({self.likely})"
                f" < sure ({self.sure}) < 1"
            )
        if not 0.0 < self.leap_s < self.stop_s <= self.faulty_s:
            raise ValueError(
                f"risk needs 0 < leap_s ({self.leap_s}) < stop_s ({self.stop_s})"
                f" <= faulty_s ({self.faulty_s})"
            )


FIRST_LOOK_S, FIRST_LOOKS = 1.0, 3
"""Nothing is stopped before so much time and so many forecasts: what was believed beforehand alone
never ends a load."""


@dataclass(frozen=True)
class Borne:
    """What the readings say: seconds to the limit at their pace.

    `leaps`: a step of power is too young to show in them, or about to begin.
    """

    reaches_in_s: float
    leaps: bool = False


class Decision:
    """Judges forecasts in order of time."""

    def __init__(self, risk: Risk) -> None:
        self._risk = risk
        self._first_s: float | None = None
        self._looks = 0

    def stops(self, forecast: Forecast, fault_probability: float, borne: Borne) -> bool:
        """Whether to stop on this forecast."""
        risk, now = self._risk, forecast.time_s
        if self._first_s is None:
            self._first_s = now
        self._looks += 1
        if now - self._first_s < FIRST_LOOK_S or self._looks < FIRST_LOOKS:
            return False
        if borne.leaps and forecast.within(risk.leap_s) >= risk.sure:
            return True
        if borne.reaches_in_s > risk.stop_s:
            return False
        if forecast.within(risk.stop_s) >= risk.likely:
            return True
        return (
            fault_probability > risk.faulty
            and forecast.within(risk.faulty_s) >= risk.likely_faulty
        )
