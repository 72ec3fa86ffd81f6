"""Guards on the watching itself: a card that is gone, a sensor that is silent or stands still."""

from __future__ import annotations

from burnin.core.reading import NotMeasured
from burnin.core.sample import Sample
from burnin.guard.guard import Expectation, Trip


class LostCard:
    """Ends the load when the card no longer answers on its bus."""

    name = "lost card"

    def judge(self, sample: Sample) -> Trip | None:
        """Trip on the first sample of a card that reads all ones or has vanished."""
        if sample.present:
            return None
        return Trip(
            self.name,
            "present",
            None,
            None,
            "card stopped answering: its configuration space reads all ones or is gone",
            "edge connector (power, ground, reset, clock contacts), supply, or the card itself",
            "Power the bench off and on. Look at the edge contacts and the power plugs.",
        )

    def expectation(self) -> Expectation | None:
        """None: nothing is foreseen."""
        return None


class StaleData:
    """Ends the load when the GPU's temperature is unreadable, late, or frozen with all the rest.

    A temperature in whole degrees may stand still for long, and so may a clock; power does not.
    Frozen means that power and every temperature together have not moved while the load is on.
    """

    name = "stale data"

    def __init__(self, stale_after_s: float) -> None:
        self._stale_after_s = stale_after_s
        self._last_good_s: float | None = None
        self._last_s: float | None = None
        self._frozen: tuple[object, ...] | None = None
        self._frozen_since_s = 0.0

    def judge(self, sample: Sample) -> Trip | None:
        """Trip once the temperature is older than allowed."""
        now = sample.elapsed_s
        telemetry = sample.telemetry
        gap = 0.0 if self._last_s is None else now - self._last_s
        self._last_s = now
        if self._last_good_s is None:
            self._last_good_s = now
        if not isinstance(telemetry.gpu_temp_c, NotMeasured):
            self._last_good_s = now
        why = (
            f": {telemetry.gpu_temp_c.reason}"
            if isinstance(telemetry.gpu_temp_c, NotMeasured)
            else ""
        )
        if gap > self._stale_after_s:
            return self._trip(gap, f"no sample for {gap:.1f} s")
        if now - self._last_good_s > self._stale_after_s:
            age = now - self._last_good_s
            return self._trip(age, f"GPU temperature unreadable for {age:.1f} s{why}")
        return self._judge_frozen(sample)

    def _judge_frozen(self, sample: Sample) -> Trip | None:
        now, telemetry = sample.elapsed_s, sample.telemetry
        if sample.load_share <= 0.0 or isinstance(telemetry.power_w, NotMeasured):
            self._frozen = None
            return None
        state = (
            telemetry.power_w,
            telemetry.gpu_temp_c,
            telemetry.hotspot_temp_c,
            telemetry.memory_temp_c,
            telemetry.energy_j,
        )
        if state != self._frozen:
            self._frozen, self._frozen_since_s = state, now
            return None
        age = now - self._frozen_since_s
        if age <= 2 * self._stale_after_s:
            return None
        return self._trip(age, f"no sensor has moved for {age:.1f} s under load")

    def _trip(self, age_s: float, reason: str) -> Trip:
        return Trip(
            self.name,
            "gpu_temp_c",
            age_s,
            self._stale_after_s,
            f"{reason}; at most {self._stale_after_s:g} s allowed",
            "driver or sensor",
            "The load is off. Is the driver alive? Read the card again before the next try.",
        )

    def expectation(self) -> Expectation | None:
        """None: nothing is foreseen."""
        return None
