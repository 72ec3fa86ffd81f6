"""Change detector for the middle of a run: a one-sided CUSUM of normal residuals.

g = max(0, g + z - k), alarm at g > h (NIST/SEMATECH e-Handbook 6.3.2.3; run lengths by Siegmund's
approximation). With k = 0.5 and h = 10 fed once a second, the mean time between false alarms is
about 39 hours of white residuals, and a shift of one standard deviation is seen after about 20 s.
"""

from __future__ import annotations

import math

ALLOWANCE = 0.5
"""k: half the shift, in standard deviations, that matters."""
ALARM = 10.0
"""h: about 1.4e5 s between false alarms at one residual a second."""
SUSPICION = 4.0
"""Above this the hypothesis 'something failed at the onset' is opened; nothing is stopped by it."""
BOUND = 4.0
"""Residuals are cut here, so that one bad reading alone never alarms."""


def run_length(h: float, k: float = ALLOWANCE, shift: float = 0.0) -> float:
    """Mean samples to alarm of a one-sided CUSUM by Siegmund's approximation.

    `shift` is the mean of the unit-variance residuals; 0 gives the samples between false alarms.
    (Siegmund, Sequential Analysis, 1985, 2.6; b = h + 1.166.)
    """
    drift, b = shift - k, h + 1.166
    if abs(drift) < 1e-9:
        return b * b
    return (math.exp(-2.0 * drift * b) + 2.0 * drift * b - 1.0) / (2.0 * drift * drift)


class Cusum:
    """The sum, when it last left zero, and whether it is in alarm."""

    def __init__(self, allowance: float = ALLOWANCE, alarm: float = ALARM) -> None:
        if allowance < 0.0 or alarm <= 0.0:
            raise ValueError(f"allowance {allowance} must be 0 or more, alarm {alarm} above 0")
        self._allowance, self._alarm = allowance, alarm
        self.sum = 0.0
        self.onset = 0
        self.count = 0

    def add(self, residual: float) -> bool:
        """Take in one residual of mean 0 and variance 1; true while in alarm."""
        bounded = max(-BOUND, min(BOUND, residual))
        if self.sum == 0.0:
            self.onset = self.count
        self.count += 1
        self.sum = max(0.0, self.sum + bounded - self._allowance)
        return self.sum > self._alarm

    def restart(self) -> None:
        """Begin anew, after the change was taken in."""
        self.sum, self.onset = 0.0, self.count
