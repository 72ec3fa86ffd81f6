"""What the fans' own tachometer tells of a lost fan."""

from __future__ import annotations

STANDS_RPM = 150.0
COLDEST_STOP_C = 57.0
"""A fan that rests by design sets in at 50 to 60 °C and rests again some kelvin below."""
LATEST_START_C = 62.0


class FanEvidence:
    """Log-likelihood for 'the fan is lost' against 'the fan is sound', from speed and heat."""

    def __init__(self) -> None:
        self._turned = False
        self._stood_hot_s = 0.0
        self.stopped_now = False

    def add(self, dt_s: float, fan_rpm: float, die_c: float) -> float:
        """Evidence of `dt_s` more seconds; `stopped_now` is set once when a turning fan stops."""
        self.stopped_now = False
        if fan_rpm > STANDS_RPM:
            self._turned, self._stood_hot_s = True, 0.0
            return -3.0 * dt_s
        if self._turned and die_c >= COLDEST_STOP_C:
            self._turned, self.stopped_now = False, True
            return 6.0
        if die_c >= LATEST_START_C:
            self._stood_hot_s += dt_s
            if self._stood_hot_s > 3.0:
                return 0.7 * dt_s * min(3.0, 1.0 + (die_c - LATEST_START_C) / 3.0)
        return 0.0
