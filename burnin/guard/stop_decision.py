"""When to stop: at the last responsible moment, and only on what the readings bear out.

A crossing further off than some seconds stops nothing: it warns, and a plan of its own holds back
(the ramp planner). There is time to see whether card or model is right, and of the two the card
is. A load is stopped where the model foresees the crossing within seconds *and* the readings near
the limit at such a pace (`burnin.guard.pace`); where power has just stepped, which no reading shows
yet, or is about to, the model alone decides, and then it must be sure. One noisy reading can make a
fault of nothing: until a fault has been believed for some time it warns, and stops nothing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from burnin.thermal.forecast import Forecast


@dataclass(frozen=True)
class Risk:
    """What is accepted. Probabilities 0 to 1, times in seconds.

    `likely`: probability of a crossing within `stop_s` at which a load is stopped, `stop_s` being
    latency, sensor lag, reading interval and the seconds by which forecasts of a crossing miss it.
    `likely_faulty`, `faulty_s`: the same of a card at fault with more than `faulty`: to stop a
    sound card costs trust, to stop a faulty one costs little. `sure`: probability of a crossing
    within `leap_s` of a step at which a power that has just stepped, or is about to as planned, is
    stopped whatever is read so far. `likely_leaping`: `likely` while such a step is young, whose
    own pace the readings then show. `believed_s`: a fault stops nothing before it has been likelier
    than not for so long in every forecast; until then only what a sound card would do counts.
    """

    likely: float = 0.3
    stop_s: float = 4.0
    faulty: float = 0.95
    likely_faulty: float = 0.1
    faulty_s: float = 6.0
    sure: float = 0.9
    leap_s: float = 2.0
    likely_leaping: float = 0.5
    believed_s: float = 1.5

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
        if not self.likely <= self.likely_leaping <= self.sure:
            raise ValueError(
                f"risk needs likely ({self.likely}) <= likely_leaping ({self.likely_leaping})"
                f" <= sure ({self.sure})"
            )


FIRST_LOOK_S, FIRST_LOOKS = 1.0, 3
"""Nothing is stopped before so much time and so many forecasts: what was believed beforehand alone
never ends a load."""


@dataclass(frozen=True)
class Borne:
    """What the readings say: seconds to the limit at their pace.

    `leaps_in_s`: seconds until the plan has the power step up, 0 where it just did and no reading
    shows it yet; None: neither.
    """

    reaches_in_s: float
    leaps_in_s: float | None = None


BELIEVED_FROM = 0.5
"""A fault is believed from this probability on: likelier than not."""


class Decision:
    """Judges forecasts in order of time."""

    def __init__(self, risk: Risk) -> None:
        self._risk = risk
        self._first_s: float | None = None
        self._looks = 0
        self._believed_from_s = math.inf

    def stops(self, forecast: Forecast, fault_probability: float, borne: Borne) -> bool:
        """Whether to stop on this forecast."""
        risk, now = self._risk, forecast.time_s
        if self._first_s is None:
            self._first_s = now
        self._looks += 1
        young = self._is_young(now, fault_probability)
        if now - self._first_s < FIRST_LOOK_S or self._looks < FIRST_LOOKS:
            return False
        within = forecast.within_though_sound if young else forecast.within
        leaps_in_s = borne.leaps_in_s
        if leaps_in_s is not None and within(leaps_in_s + risk.leap_s) >= risk.sure:
            return True
        if borne.reaches_in_s > risk.stop_s:
            return False
        soon = within(risk.stop_s)
        if leaps_in_s is not None and soon < risk.likely_leaping:
            return False
        if soon >= risk.likely:
            return True
        return (
            not young
            and fault_probability > risk.faulty
            and within(risk.faulty_s) >= risk.likely_faulty
        )

    def _is_young(self, now_s: float, fault_probability: float) -> bool:
        """Whether the belief in a fault is too young to stop for; one from the start is not."""
        if fault_probability < BELIEVED_FROM:
            self._believed_from_s = math.inf
        elif self._believed_from_s == math.inf:
            self._believed_from_s = -math.inf if self._looks == 1 else now_s
        return now_s - self._believed_from_s < self._risk.believed_s
